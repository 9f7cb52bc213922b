package work

import "gaugewright/calc/document"

// How grave it is what speaks against a value.
const (
	LevelRefuse = "refuse" // it is not kept
	LevelAsk    = "ask"    // it is kept with a reason
	LevelStop   = "stop"   // the work stops until somebody has looked
)

// Entry is a value that is about to be kept in a run.
type Entry struct {
	Step, Of, Text, Unit string
	X                    float64
	Number               bool
	Height               float64 // of the place, m
	HasHeight            bool
	Sure                 bool // whoever read it has said why it is right
}

// Doubt is what speaks against a value.
type Doubt struct {
	Level, Code, Message string
	Suggest              string // the value that was perhaps meant, "" where none comes to mind
}

// DoubtOf is one thing that speaks against a value.
func DoubtOf(level, code, message string) []Doubt {
	return []Doubt{{Level: level, Code: code, Message: message}}
}

// Doubting lays a document's method out and returns what speaks against a value that is about to be
// kept, with what the run has kept already.
type Doubting func(in *document.Reader, e *Entry, kept []Entry) ([]Doubt, error)

// Undoubted speaks against no value.
func Undoubted(in *document.Reader, _ *Entry, _ []Entry) ([]Doubt, error) {
	for _, name := range []string{"method", "instrument"} {
		Skim(in.Object(name))
	}
	return nil, in.Err()
}
