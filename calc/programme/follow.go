package programme

import (
	"strconv"

	"gaugewright/calc/numeric"
)

// MaxInstances caps the steps of one run of a programme: more than a week of readings once a
// minute.
const MaxInstances = 20000

// ahead is how many steps beyond the current one are listed, if they are known already.
const ahead = 200

// Instance is one step as it is to be done: a line of the programme, on one of its passes.
type Instance struct {
	ID   string // "l4.2": line 4 of the canonical text, second time
	Step *Step
	Do   string // as in a plan document; control words are none
	As   string // of an ask
	Text string
	Name string // of a value: under which expressions know it
	Of   string // what its captures are of
	Unit string // in which they are typed
	Way  string // of a set: up or down
	Move string // of a set or ramp: raise, lower or stay; "" where the pressure before it is not known
	Mode string // of the pressures: gauge or absolute
	Most string // of a set, ramp or exercise that raises the pressure: what must not be exceeded

	MostIsOverload bool // that is the instrument's overload limit
	Cycle          int  // which pass of the repeat it is in, 0 outside one
	Cycles         int  // of how many
	Optional       bool
	Screen         int
	Done           bool
	Over           bool // a settle that its values have decided
	Settled        bool
	values         []numeric.Exact
	at             int64
	timed          bool
}

// Branch is a decision of a programme with its reason.
type Branch struct {
	ID     string // of the line and pass that decided
	Line   int
	Taken  string // "then", "else", "on", "again" or "met"
	Reason string
}

// Flag is something about the recording of a step that a reader should know.
type Flag struct{ Step, Code, Message string }

// Datum is one effective capture.
type Datum struct {
	Step, Of string
	Text     string        // as typed; yes or no of an answer
	Value    numeric.Exact // in the unit of the step
	Number   bool
	At       int64 // ms
	Timed    bool
	Index    int // among the captures, for faults
}

// Record is what has been recorded of a run.
type Record struct {
	Data []Datum // in the order written
	// Traces are the samples of loggers that decide a wait for rest, by its id.
	Traces map[string][]Datum
	Done   map[string]int64 // ms, for steps without a value; a begun wait has its id with ".begun"
	// Whole treats steps without a value as done if the recorded values imply it. A sheet does not
	// keep such steps.
	Whole bool
	Over  bool // with Whole: the run is closed
}

// Course is how far a run of a programme has come.
type Course struct {
	Unit, Mode string
	Steps      []Instance // done, current, and those that must follow
	Current    []string   // ids of the current screen's steps
	Branches   []Branch
	Flags      []Flag
	Ended      bool   // no other steps can follow
	Stop       string // why the run ended before its last line
	Finished   bool   // ended, and every step done
	values     map[string]numeric.Exact
}

type walker struct {
	rec     *Record
	data    map[string][]int
	course  *Course
	values  map[string]numeric.Exact
	passes  map[int]int
	screen  int
	fresh   bool // the next step begins a new screen
	hold    bool // the screen has a wait
	answers bool // the screen asks for a value
	target  string
	ramped  bool // the step that led there was a ramp
	beyond  int  // steps laid out since the first that is not done
	last    int64
	begun   bool // last is set
	turns   int  // passes of repeats, also of those that ask for nothing
	cycle   int  // pass of the innermost repeat with a fixed count
	cycles  int
	fault   error
}

// Follow returns how far a run of a programme has come. It depends on nothing but the record: the
// same record always gives the same answer.
//
// Takes:   steps as Parse gives them from their canonical text, the unit to use if the programme
// states none, and the record.
// Gives:   the steps done with ids that never change, those to do, every decision with its reason,
// and what is odd about the clock.
// Refuses: Fault limit beyond MaxInstances steps.
func Follow(steps []Step, unit, mode string, rec Record) (Course, error) {
	w := &walker{
		rec: &rec, data: map[string][]int{}, course: &Course{Unit: unit, Mode: mode},
		values: map[string]numeric.Exact{}, passes: map[int]int{}, screen: 1,
	}
	for i := range rec.Data {
		id := rec.Data[i].Step
		w.data[id] = append(w.data[id], i)
	}
	if len(steps) > 0 && steps[0].Do == Unit {
		w.course.Unit = steps[0].Unit
		if steps[0].Mode != "" {
			w.course.Mode = steps[0].Mode
		}
	}
	w.target = w.zero()
	over := w.list(steps)
	if w.fault != nil {
		return Course{}, w.fault
	}
	w.course.Ended = over || w.course.Stop != ""
	w.course.values = w.values
	w.finish()
	return *w.course, nil
}

// list follows steps and reports whether their end was reached. It is not reached if the next steps
// are not known yet.
func (w *walker) list(steps []Step) bool {
	for i := range steps {
		if !w.step(&steps[i]) || w.fault != nil {
			return false
		}
	}
	return true
}

// turn counts a pass of a repeat. It refuses a programme that repeats endlessly without anything to
// do.
func (w *walker) turn(s *Step) bool {
	if w.turns++; w.turns > 2*MaxInstances && w.fault == nil {
		w.fault = &Fault{
			s.Line, "limit", "the repeats have come to more than " + strconv.Itoa(2*MaxInstances) + " passes",
		}
	}
	return w.fault == nil
}

func (w *walker) pass(s *Step) string {
	w.passes[s.Line]++
	return "l" + strconv.Itoa(s.Line) + "." + strconv.Itoa(w.passes[s.Line])
}

func (w *walker) step(s *Step) bool {
	if w.beyond > ahead {
		return false
	}
	switch s.Do {
	case Unit:
		return true
	case If:
		return w.choose(s)
	case Repeat:
		return w.repeat(s)
	case Stop:
		i := w.put(Instance{ID: w.pass(s), Step: s, Do: Note, Text: s.Text}, true)
		w.tick(i)
		w.course.Stop = s.Text
		return false
	case Settle:
		return w.settle(s)
	case Ramp:
		return w.ramp(s)
	case Read:
		return w.read(s)
	case Ask:
		return w.ask(s)
	}
	one := Instance{ID: w.pass(s), Step: s, Do: s.Do, Text: s.Text}
	switch s.Do {
	case Set:
		one.Way, one.Move = w.way(s)
	case Exercise, Vent:
		w.target, w.ramped = w.zero(), false
	}
	w.tick(w.put(one, s.Do != Hold || w.hold || w.answers))
	return w.fault == nil
}

// zero returns the pressure of a vented system; "" in absolute pressure, where it depends on the
// day.
func (w *walker) zero() string {
	if w.course.Mode == "absolute" {
		return ""
	}
	return "0"
}

// way follows the pressure to a step's target and returns the direction and the move that leads
// there.
func (w *walker) way(s *Step) (direction, move string) {
	order, known := numeric.CompareDecimals(s.Target, w.target)
	ramped := w.ramped // the pressure is somewhere on the way to the target
	w.target, w.ramped = s.Target, s.Do == Ramp
	switch {
	case !known:
		return "", ""
	case order > 0:
		direction, move = "up", "raise"
	case order < 0:
		direction, move = "down", "lower"
	default:
		move = "stay"
	}
	if ramped {
		move = ""
	}
	return direction, move
}

// put adds one instance, on a new screen or on that of the step before it.
func (w *walker) put(one Instance, fresh bool) *Instance {
	list := w.course.Steps
	if len(list) >= MaxInstances {
		if w.fault == nil {
			w.fault = &Fault{
				one.Step.Line, "limit", "the run has come to more than " + strconv.Itoa(MaxInstances) + " steps",
			}
		}
		return &Instance{}
	}
	if (fresh || w.fresh) && len(list) > 0 {
		w.screen++
	}
	if fresh || w.fresh {
		w.hold, w.answers = false, false
	}
	w.fresh = false
	w.hold = w.hold || one.Do == Hold
	w.answers = w.answers || one.Do == Read
	one.Screen, one.Mode, one.Cycle, one.Cycles = w.screen, w.course.Mode, w.cycle, w.cycles
	w.course.Steps = append(list, one)
	return &w.course.Steps[len(list)]
}

// moment notes when a step was recorded, and flags a clock that went back.
func (w *walker) moment(i *Instance, at int64) {
	if !i.timed || at > i.at {
		i.at = at
	}
	i.timed = true
	if w.begun && at < w.last {
		w.flag(i.ID, "clock", "the clock went back by "+strconv.FormatInt((w.last-at+999)/1000, 10)+" s before this was recorded; waits are counted anew from here")
	}
	w.last, w.begun = at, true
}

func (w *walker) flag(step, code, message string) {
	if n := len(w.course.Flags); n > 0 && w.course.Flags[n-1].Step == step && w.course.Flags[n-1].Code == code {
		return
	}
	w.course.Flags = append(w.course.Flags, Flag{step, code, message})
}

// tick handles a step that has no value.
func (w *walker) tick(i *Instance) {
	before, known := w.last, w.begun
	if at, ok := w.rec.Done[i.ID+".begun"]; ok {
		w.moment(i, at)
		before, known = at, true
	}
	at, ok := w.rec.Done[i.ID]
	switch {
	case ok:
		i.Done = true
		w.moment(i, at)
		if i.Do == Hold && known {
			w.early(i, at-before)
		}
	case w.rec.Whole:
		i.Done = true
	}
	w.after(i)
}

func (w *walker) early(i *Instance, ms int64) {
	if ms >= 0 && float64(ms)/1000 < value(i.Step.Seconds) {
		w.flag(i.ID, "short", "the wait of "+i.Step.Seconds+" s was left after "+shown(float64(ms/100)/10)+" s")
	}
}

func (w *walker) after(i *Instance) {
	if !i.Done || w.beyond > 0 {
		w.beyond++
	}
}

// entries returns the captures of a step.
func (w *walker) entries(id, of string) []*Datum {
	var list []*Datum
	for _, k := range w.data[id] {
		if d := &w.rec.Data[k]; d.Of == of {
			list = append(list, d)
		}
	}
	return list
}

func (w *walker) read(s *Step) bool {
	id := w.pass(s)
	of, unit := "indicated", w.course.Unit
	switch s.From {
	case "standard":
		of = "applied"
	case "thermometer":
		unit = "°C"
	case "barometer":
		unit = "hPa"
	}
	n := max(s.Count, 1)
	var got []numeric.Exact
	for k := 1; k <= n && w.fault == nil; k++ {
		one := Instance{ID: id, Step: s, Do: Read, Name: s.Name, Of: of, Unit: unit}
		if s.Count > 0 {
			one.ID += "." + strconv.Itoa(k)
		}
		i := w.put(one, false)
		for _, d := range w.entries(i.ID, of) {
			i.values = []numeric.Exact{d.Value} // the last one written
			i.Done = true
			if d.Timed {
				w.moment(i, d.At)
			}
		}
		got = append(got, i.values...)
		w.after(i)
	}
	delete(w.values, s.Name)
	if len(got) == n {
		w.values[s.Name] = mean(got)
	}
	return w.fault == nil
}

// ask reads an answer. A no where a yes is required stops the run.
func (w *walker) ask(s *Step) bool {
	i := w.put(Instance{ID: w.pass(s), Step: s, Do: Ask, As: s.As, Text: s.Text, Name: s.Name, Of: "answer"}, true)
	w.fresh = true
	answer := w.answer(i)
	delete(w.values, s.Name)
	if answer == nil {
		return w.fault == nil
	}
	if s.Name != "" {
		switch s.As {
		case "number":
			w.values[s.Name] = answer.Value
		case "yes":
			w.values[s.Name] = yes(answer.Text == "yes")
		}
		return true
	}
	if s.As == "yes" && answer.Text == "no" {
		w.vent(s, i.ID)
		w.course.Stop = short(s.Text) + " was answered with no"
		return false
	}
	return true
}

// vent adds a vent to a run that ends before its last line.
func (w *walker) vent(s *Step, id string) {
	w.tick(w.put(Instance{ID: id + ".vent", Step: s, Do: Vent}, true))
}

func (w *walker) answer(i *Instance) *Datum {
	var answer *Datum
	for _, d := range w.entries(i.ID, "answer") {
		answer = d
		i.Done = true
		if i.As == "number" {
			i.values = []numeric.Exact{d.Value}
		}
		if d.Timed {
			w.moment(i, d.At)
		}
	}
	w.after(i)
	return answer
}

// ramp adds a ramp, and asks whether its event occurred if the programme has a branch for the case
// that it did not.
func (w *walker) ramp(s *Step) bool {
	id := w.pass(s)
	_, move := w.way(s)
	w.tick(w.put(Instance{ID: id, Step: s, Do: Ramp, Move: move}, true))
	if len(s.Else) == 0 || w.fault != nil {
		return w.fault == nil
	}
	text, met, not := "Did the contact operate before the end of the ramp?", "the contact operated", "the contact did not operate up to "+s.Target
	if s.Until == "drop" {
		text, met, not = "Did the pressure drop before the end of the ramp?", "the pressure dropped", "the pressure did not drop up to "+s.Target
	}
	i := w.put(Instance{ID: id + ".met", Step: s, Do: Ask, As: "yes", Text: text, Of: "answer"}, false)
	w.fresh = true
	answer := w.answer(i)
	switch {
	case answer == nil:
		return false
	case answer.Text == "yes":
		w.branch(id, s, "met", met)
		return true
	}
	w.branch(id, s, "else", not)
	return w.list(s.Else)
}

func (w *walker) branch(id string, s *Step, taken, reason string) {
	w.course.Branches = append(w.course.Branches, Branch{id, s.Line, taken, reason})
}

func (w *walker) value(name string) (numeric.Exact, bool) {
	x, ok := w.values[name]
	return x, ok
}

// weigh decides a condition; known is false if a value is still missing. A condition that cannot be
// decided does not hold.
func (w *walker) weigh(s *Step) (why string, holds, known bool) {
	if !w.has(s.When) {
		return "", false, false
	}
	why, holds, err := s.When.Explain(w.value)
	if err != nil {
		return "this cannot be decided: " + messageOf(err), false, true
	}
	return why, holds, true
}

func (w *walker) has(e *Expr) bool {
	if e.Op == "name" {
		_, ok := w.values[e.Text]
		return ok
	}
	for _, a := range e.Args {
		if !w.has(a) {
			return false
		}
	}
	return true
}

func (w *walker) choose(s *Step) bool {
	why, holds, known := w.weigh(s)
	if !known {
		return false
	}
	id := w.pass(s)
	w.fresh = true
	switch {
	case holds:
		w.branch(id, s, "then", why)
		return w.list(s.Steps)
	case len(s.Else) > 0:
		w.branch(id, s, "else", why)
		return w.list(s.Else)
	}
	w.branch(id, s, "on", why)
	return true
}

func (w *walker) repeat(s *Step) bool {
	if s.When == nil {
		cycle, cycles := w.cycle, w.cycles
		defer func() { w.cycle, w.cycles = cycle, cycles }()
		for n := range s.Count {
			w.fresh = true
			w.cycle, w.cycles = n+1, s.Count
			if !w.turn(s) || !w.list(s.Steps) {
				return false
			}
		}
		w.fresh = true
		return true
	}
	cycle, cycles := w.cycle, w.cycles
	w.cycle, w.cycles = 0, 0 // the number of passes is not known
	defer func() { w.cycle, w.cycles = cycle, cycles }()
	most := s.Count
	if most == 0 {
		most = MaxInstances
	}
	for n := 1; n <= most; n++ {
		w.fresh = true
		if !w.turn(s) || !w.list(s.Steps) {
			return false
		}
		why, holds, known := w.weigh(s)
		if !known {
			return false
		}
		id := w.pass(s)
		w.fresh = true
		switch {
		case holds:
			w.branch(id, s, "met", why)
			return true
		case n == most && len(s.Else) > 0:
			w.branch(id, s, "else", why+", "+strconv.Itoa(n)+" times")
			return w.list(s.Else)
		case n == most:
			w.branch(id, s, "on", why+", "+strconv.Itoa(n)+" times")
			return true
		}
		w.branch(id, s, "again", why)
	}
	return true
}

// finish finds the first screen with something to do. A wait counts as done if the step after it on
// the same screen is done.
func (w *walker) finish() {
	list := w.course.Steps
	for i := len(list) - 1; i > 0; i-- {
		if list[i].Done && list[i-1].Do == Hold && list[i-1].Screen == list[i].Screen {
			list[i-1].Done = true
		}
	}
	for i := range list {
		if list[i].Done {
			continue
		}
		for k := range list {
			if list[k].Screen == list[i].Screen {
				w.course.Current = append(w.course.Current, list[k].ID)
			}
		}
		return
	}
	w.course.Finished = w.course.Ended
}
