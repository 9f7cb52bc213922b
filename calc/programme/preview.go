package programme

import (
	"strconv"

	"gaugewright/calc/numeric"
)

// Preview lists every step of a programme once, in the order written; what a condition decides
// becomes a note in words.
func Preview(steps []Step, unit, mode string) []Instance {
	w := &walker{
		rec: &Record{Done: map[string]int64{}}, course: &Course{Unit: unit, Mode: mode},
		passes: map[int]int{}, values: map[string]numeric.Exact{}, screen: 1,
	}
	w.target = w.zero()
	w.preview(steps)
	return w.course.Steps
}

func (w *walker) say(s *Step, text string) {
	w.put(Instance{ID: w.pass(s), Step: s, Do: Note, Text: text}, true)
	w.fresh = true
}

func (w *walker) preview(steps []Step) {
	for i := range steps {
		s := &steps[i]
		w.beyond = 0 // list the whole programme
		switch s.Do {
		case If:
			w.say(s, "If "+s.When.String()+":")
			w.preview(s.Steps)
			w.otherwise(s)
		case Repeat:
			if s.When == nil {
				w.say(s, "Repeat "+strconv.Itoa(s.Count)+" times:")
			} else {
				w.say(s, "Repeat until "+s.When.String()+", at most "+strconv.Itoa(s.Count)+" times:")
			}
			w.preview(s.Steps)
			w.otherwise(s)
		case Settle:
			w.put(Instance{ID: w.pass(s), Step: s, Do: Settle, Of: "settle"}, true)
			w.fresh = true
			w.otherwise(s)
		case Ramp:
			_, move := w.way(s)
			w.put(Instance{ID: w.pass(s), Step: s, Do: Ramp, Move: move}, true)
			w.fresh = true
			w.otherwise(s)
		case Stop:
			w.put(Instance{ID: w.pass(s), Step: s, Do: Note, Text: "Stop: " + s.Text}, true)
		default:
			w.step(s)
		}
	}
}

func (w *walker) otherwise(s *Step) {
	if len(s.Else) == 0 {
		return
	}
	w.say(s, "Otherwise:")
	w.preview(s.Else)
	w.fresh = true
}

// Gives reports whether a step reads or asks a number with that name.
func Gives(steps []Step, name string) bool {
	for i := range steps {
		s := &steps[i]
		if s.Name == name && (s.Do == Read || s.Do == Ask && s.As == "number") || Gives(s.Steps, name) ||
			Gives(s.Else, name) {
			return true
		}
	}
	return false
}

// Number returns the number recorded at a step.
func (i *Instance) Number() (numeric.Exact, bool) {
	if len(i.values) == 0 {
		return numeric.Exact{}, false
	}
	return i.values[len(i.values)-1], true
}

// Moment returns when a step was recorded, in ms since 1970.
func (i *Instance) Moment() (int64, bool) { return i.at, i.timed }

// Value returns the value of a name at the end of the course.
func (c *Course) Value(name string) (numeric.Exact, bool) {
	x, ok := c.values[name]
	return x, ok
}
