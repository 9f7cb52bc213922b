package programme

import (
	"strconv"
)

// Step is one step; Do decides which fields are used. Numbers are decimal texts, as typed, in the
// programme's unit.
type Step struct {
	Line    int    // line in the text it was read from, from 1
	Do      string // one of the words below
	Unit    string // unit
	Mode    string // unit: "gauge", "absolute" or "" if not stated
	Target  string // set, ramp, exercise
	Rate    string // set (may be ""), ramp; per second
	Until   string // ramp: "contact" or "drop"
	Within  string // settle: half of the band
	Seconds string // hold, settle
	AtMost  string // settle: the longest wait in seconds
	Name    string // read; ask: name of the answer, may be ""
	From    string // read
	As      string // ask
	Text    string // ask, note, stop
	Count   int    // exercise; read: how many times, 0 for once; repeat: how often, or the most passes of an "until", 0 if unstated
	When    *Expr  // if, repeat until
	Steps   []Step // repeat, if
	Else    []Step // if; settle, ramp and repeat until: what to do if it was not reached
}

// The words a step begins with.
const (
	Unit     = "unit"
	Set      = "set"
	Ramp     = "ramp"
	Hold     = "hold"
	Settle   = "settle"
	Read     = "read"
	Ask      = "ask"
	Exercise = "exercise"
	Vent     = "vent"
	Repeat   = "repeat"
	If       = "if"
	Note     = "note"
	Stop     = "stop"
)

var (
	untils  = []string{"contact", "drop"}
	modes   = []string{"gauge", "absolute"}
	sources = []string{"gauge", "standard", "thermometer", "barometer"}
	answers = []string{"number", "yes", "text", "photo"}
)

// reserved reports whether a word cannot be a name.
func reserved(s string) bool {
	switch s {
	case "and", "or", "not", "abs", "min", "max", "mean", Unit, Set, Ramp, Hold, Settle, Read, Ask, Exercise, Vent, Repeat, If, "else", Note, Stop,
		"at", "until", "for", "from", "as", "into", "to", "times", "within":
		return true
	}
	return false
}

// Fault is why a text is not a programme: "syntax" or "limit", with its line.
type Fault struct {
	Line    int
	Code    string
	Message string
}

// Error returns the message led by its line.
func (f *Fault) Error() string { return "line " + strconv.Itoa(f.Line) + ": " + f.Message }

// moves reports whether a step changes the pressure.
func (s *Step) moves() bool {
	switch s.Do {
	case Set, Ramp, Exercise, Vent:
		return true
	}
	return false
}

// readsPressure reports whether a step reads a pressure of the system.
func (s *Step) readsPressure() bool {
	return s.Do == Read && (s.From == "gauge" || s.From == "standard")
}

//go:noinline
func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

//go:noinline
func isName(s string) bool {
	if s == "" || len(s) > MaxName || reserved(s) {
		return false
	}
	for i := 0; i < len(s); i++ {
		if !letter(s[i]) && (i == 0 || !digit(s[i])) {
			return false
		}
	}
	return true
}

// isUnit reports whether a spelling can follow the word unit. The check finds out whether it is a
// known unit.
func isUnit(s string) bool {
	for i := 0; i < len(s); i++ {
		if within(" \t\n;#", s[i]) {
			return false
		}
	}
	return s != "" && len(s) <= MaxName && isText(s)
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_' }
func digit(c byte) bool  { return c >= '0' && c <= '9' }

//go:noinline
func isText(s string) bool {
	if len(s) > MaxText {
		return false
	}
	for _, r := range s {
		if r == 0xFFFD || r < 0x20 && r != '\n' && r != '\t' || r == 0x7F {
			return false
		}
	}
	return true
}
