package work

import "gaugewright/calc/document"

// Levels of a doubt.
const (
	LevelRefuse = "refuse" // the value is not kept
	LevelAsk    = "ask"    // the value is kept if a reason is given
	LevelStop   = "stop"   // the work stops until a person has checked
)

// Entry is a value that is about to be kept in a run.
type Entry struct {
	Step, Of, Text, Unit string
	X                    float64
	Number               bool
	Height               float64 // height of the place, m
	HasHeight            bool
	Sure                 bool // the reader has given a reason why it is right
}

// Doubt is a reason to question a value.
type Doubt struct {
	Level, Code, Message string
	Suggest              string // the value that was perhaps meant, "" if unknown
}

// DoubtOf returns a list of one Doubt.
func DoubtOf(level, code, message string) []Doubt {
	return []Doubt{{Level: level, Code: code, Message: message}}
}

// Doubting lays out a document's method and returns the doubts about a value that is about to be
// kept, given the values kept before.
type Doubting func(in *document.Reader, e *Entry, kept []Entry) ([]Doubt, error)

// Undoubted doubts no value.
func Undoubted(in *document.Reader, _ *Entry, _ []Entry) ([]Doubt, error) {
	for _, name := range []string{"method", "instrument"} {
		Skim(in.Object(name))
	}
	return nil, in.Err()
}
