package work

import (
	"math"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// As shares of the span: FarShare is how far a reading may be from its step's pressure,
// outsideShare how far beyond the range's ends, before it is doubted. Common practice, no source.
const (
	FarShare     = 0.2
	outsideShare = 0.05
)

// doubtedLimits is how many limits a value may be off before it is more likely mistyped than
// measured. Common practice, no source.
const doubtedLimits = 4

// aimed is the aim of one reading: its target, and its permissible band if it is judged.
type aimed struct {
	id        string
	unit, of  string
	target    float64
	hasTarget bool
	low, high float64
	hasBand   bool
}

// aim holds the aims of a run's readings, and what the instrument can show.
type aim struct {
	steps      []aimed
	own        string // unit of the instrument, with the ends of its range
	span       [2]float64
	signal     string // unit of its output, "" if it has none
	output     [2]float64
	resolution string  // its resolution in its own unit, "" if not known
	shown      string  // its own unit if a value was typed in another one, else ""
	tenth      float64 // then a tenth of its resolution, in the unit of the value
}

// Expanding lays a document's method out as a plan.
type Expanding func(in *document.Reader, p *Plan) error

// Mistyped doubts values with common typing and reading errors: a slipped decimal point, a missing
// digit, more digits than can be read.
func Mistyped(expand Expanding) Doubting {
	return func(in *document.Reader, e *Entry, kept []Entry) ([]Doubt, error) {
		a, err := aimOf(expand, in)
		if err != nil {
			return nil, err
		}
		a, kept = a.in(e, kept)
		return a.doubts(e, kept), nil
	}
}

// MistypedOrAway does the same, but first stops the work if nothing seems to be connected.
func MistypedOrAway(expand Expanding) Doubting {
	return func(in *document.Reader, e *Entry, kept []Entry) ([]Doubt, error) {
		a, err := aimOf(expand, in)
		if err != nil {
			return nil, err
		}
		a, kept = a.in(e, kept)
		return append(a.connected(e, kept), a.doubts(e, kept)...), nil
	}
}

// aimOf lays out the readings that a plan asks for.
func aimOf(expand Expanding, in *document.Reader) (*aim, error) {
	out := document.NewWriter(nil)
	out.Begin()
	out.BeginList("steps")
	if err := expand(in, &Plan{Out: out, Screen: 1}); err != nil {
		return nil, err
	}
	out.EndList()
	out.End()
	if err := out.Err(); err != nil {
		return nil, err
	}
	v, err := document.Parse(out.Bytes())
	if err != nil {
		return nil, err
	}
	a := &aim{}
	for _, s := range document.Open(v).List("steps") {
		if s.Text("do") != "read" {
			continue
		}
		one := aimed{id: s.Text("id"), unit: s.TextOr("unit", ""), of: s.TextOr("of", "indicated")}
		if d, ok := s.OptionalDecimal("target"); ok {
			one.target, one.hasTarget = d.Value, true
		}
		low, below := s.OptionalDecimal("low")
		high, above := s.OptionalDecimal("high")
		if below && above {
			one.low, one.high, one.hasBand = low.Value, high.Value, true
		}
		a.steps = append(a.steps, one)
	}
	it := in.Object("instrument")
	a.span = [2]float64{it.Number("low"), it.Number("high")}
	a.own = it.TextOr("unit", "")
	if r, ok := it.OptionalDecimal("resolution"); ok {
		a.resolution = r.Text
	}
	if o, ok := it.OptionalObject("output"); ok {
		a.output = [2]float64{o.Number("low"), o.Number("high")}
		a.signal = o.TextOr("unit", "")
		Skim(o)
	}
	Skim(it)
	return a, in.Err()
}

// in converts the aims of a run and its values to the unit in which a value was typed, if that is
// another unit of the same kind.
func (a *aim) in(e *Entry, kept []Entry) (*aim, []Entry) {
	to, known := units.Find(e.Unit)
	if s := a.step(e.Step); s == nil || !known || !e.isPressure() || e.Unit == s.unit || e.Unit == a.own ||
		e.Unit == a.signal {
		return a, kept
	}
	turn := func(unit *string, numbers ...*float64) bool {
		from, ok := units.Find(*unit)
		if !ok || from.Kind != to.Kind {
			return false
		}
		*unit = e.Unit
		for _, x := range numbers {
			*x = to.FromSI(from.ToSI(*x))
		}
		return true
	}
	b := *a
	b.steps = append([]aimed(nil), a.steps...)
	for i := range b.steps {
		s := &b.steps[i]
		turn(&s.unit, &s.target, &s.low, &s.high)
	}
	if by, ok := numeric.ParseExact(a.resolution); ok {
		b.tenth = by.Float() / 10
	}
	zero := 0.0 // for a scale with a shifted zero
	if turn(&b.own, &b.span[0], &b.span[1], &b.tenth, &zero) {
		b.shown, b.tenth = a.own, b.tenth-zero
	}
	list := append([]Entry(nil), kept...)
	for i := range list {
		turn(&list[i].Unit, &list[i].X)
	}
	return &b, list
}

// step returns the aim of a reading, nil if the plan does not ask for it.
func (a *aim) step(id string) *aimed {
	for i := range a.steps {
		if a.steps[i].id == id {
			return &a.steps[i]
		}
	}
	return nil
}

// rangeOf returns the ends of the instrument's indication in a unit.
func (a *aim) rangeOf(unit string) (ends [2]float64, ok bool) {
	switch unit {
	case a.own:
		return a.span, true
	case "", a.signal:
		return a.output, a.signal != "" && unit != ""
	}
	return ends, false
}

// isPressure reports whether a value is a pressure at the instrument or at the standard.
func (e *Entry) isPressure() bool {
	return e.Number && (e.Of == "indicated" || e.Of == "applied" || e.Of == "before_tap")
}

func beyond(x float64, ends [2]float64, share float64) bool {
	more := float64(share * (ends[1] - ends[0]))
	return x < ends[0]-more || x > ends[1]+more
}

// doubts names what looks mistyped about a value. It refuses nothing.
func (a *aim) doubts(e *Entry, kept []Entry) []Doubt {
	s := a.step(e.Step)
	ends, known := a.rangeOf(e.Unit)
	if s == nil || !known || !e.isPressure() {
		return nil
	}
	middle, most, aims := a.should(s, e, kept, ends)
	d := Doubt{Level: LevelAsk}
	switch {
	case beyond(e.X, ends, outsideShare):
		d.Code, d.Message = "outside_range", "this lies outside the instrument's range"
	case aims && math.Abs(e.X-middle) > most:
		d.Code, d.Message = "far", "this is far from the step's pressure. Is a digit missing?"
	default:
		return a.finer(e)
	}
	if aims && math.Abs(middle) > most/2 { // near zero any smaller value would fit
		d.Suggest = Slipped(e.Text, middle, float64(most/2))
	}
	return []Doubt{d}
}

// should returns what a value should be, and how far off it may be without a doubt: doubtedLimits
// times the limit of its step, or of the widest other step if it has none, or a share of the span
// in a run without limits. A pressure recorded at the standard for the step shifts what the
// instrument should show.
func (a *aim) should(s *aimed, e *Entry, kept []Entry, ends [2]float64) (middle, most float64, aims bool) {
	most = float64(FarShare * (ends[1] - ends[0]))
	if s.unit != e.Unit {
		return 0, most, false
	}
	own := e.Of == s.of || e.Of == "before_tap" && s.of == "indicated"
	half := 0.0
	if own {
		for i := range a.steps {
			if o := &a.steps[i]; o.hasBand && o.unit == s.unit && o.of == s.of {
				half = max(half, float64((o.high-o.low)/2))
			}
		}
	}
	switch {
	case own && s.hasBand:
		middle, half, aims = float64((s.low+s.high)/2), float64((s.high-s.low)/2), true
	case s.hasTarget:
		middle, aims = s.target, true
	}
	if half > 0 {
		most = float64(doubtedLimits * half)
	}
	if s.hasTarget && own && s.of == "indicated" {
		for i := range kept {
			if v := &kept[i]; v.Step == e.Step && v.Of == "applied" && v.Number && v.Unit == s.unit {
				middle += v.X - s.target
			}
		}
	}
	return middle, most, aims
}

// Slipped returns the value that was probably meant: with the decimal point one or two places off,
// or with the other sign. It returns the nearest that fits.
func Slipped(text string, middle, within float64) string {
	x, ok := numeric.ParseExact(text)
	if !ok {
		return ""
	}
	best, found := within, ""
	for _, by := range [...]string{"10", "100", "0.1", "0.01", "-1"} {
		f, _ := numeric.ParseExact(by)
		y := x.Mul(f)
		if off := math.Abs(y.Float() - middle); off <= best {
			best = off
			found, _ = y.Text(15)
		}
	}
	return found
}

// finer doubts a reading finer than the instrument's resolution.
func (a *aim) finer(e *Entry) []Doubt {
	if a.shown != "" {
		return a.finerInOther(e)
	}
	by, ok := numeric.ParseExact(a.resolution)
	x, isNumber := numeric.ParseExact(e.Text)
	if !ok || !isNumber || by.Sign() <= 0 || e.Unit != a.own || e.Of == "applied" {
		return nil
	}
	n := math.Round(x.Float() / by.Float())
	if math.Abs(n) > 1e9 {
		return nil
	}
	near := by.Mul(numeric.ExactInt(int(n)))
	if near.Cmp(x) == 0 {
		return nil
	}
	meant, _ := near.Text(15)
	return []Doubt{
		{
			Level: LevelAsk, Code: "finer",
			Message: "this is finer than it can be read: the smallest step is " + a.resolution + " " + a.own,
			Suggest: meant,
		},
	}
}

// finerInOther doubts a reading in another unit than the instrument's if its last digit is worth
// less than a tenth of the resolution. Common practice, no source.
func (a *aim) finerInOther(e *Entry) []Doubt {
	last := 1.0
	if _, places, ok := strings.Cut(e.Text, "."); ok {
		for range places {
			last /= 10
		}
	}
	if !(last < a.tenth) || e.Of == "applied" || strings.ContainsAny(e.Text, "eE") {
		return nil
	}
	return []Doubt{{
		Level: LevelAsk, Code: "finer",
		Message: "this is finer than it can be read: the smallest step is " + a.resolution + " " + a.shown,
	}}
}

// connected stops the work if the last two readings are far from their steps' pressures: most
// likely something is not connected.
func (a *aim) connected(e *Entry, kept []Entry) []Doubt {
	far := func(v *Entry) bool {
		s := a.step(v.Step)
		ends, known := a.rangeOf(v.Unit)
		if s == nil || !known || !v.Number || v.Of != "indicated" && v.Of != "applied" {
			return false
		}
		if beyond(v.X, ends, outsideShare) {
			return true
		}
		return s.hasTarget && s.unit == v.Unit && math.Abs(v.X-s.target) > float64(FarShare*(ends[1]-ends[0]))
	}
	if !far(e) {
		return nil
	}
	for i := len(kept) - 1; i >= 0; i-- {
		v := &kept[i]
		if a.step(v.Step) == nil || v.Step == e.Step || v.Of != "indicated" && v.Of != "applied" {
			continue
		}
		if !far(v) {
			return nil
		}
		return DoubtOf(LevelStop, "not_connected", "two readings one after the other are far from the pressure of their steps: is the instrument connected, and to the right line?")
	}
	return nil
}
