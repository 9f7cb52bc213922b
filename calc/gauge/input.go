package gauge

import (
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/head"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
)

// Reading is one reading at a point. All pressures are exact, in the instrument's unit.
type Reading struct {
	Field     string // where in the document it stands
	Series    string
	Up        bool
	Point     numeric.Exact // nominal
	Applied   numeric.Exact // at the instrument
	Indicated numeric.Exact // as a pressure
	BeforeTap numeric.Exact
	HasTap    bool
	Remounted bool
	Typed     float64 // the applied pressure as typed, before any correction
}

// Error is indicated minus applied.
func (r *Reading) Error() numeric.Exact { return r.Indicated.Sub(r.Applied) }

// Output is a transmitter's output signal.
type Output struct {
	Low, High  numeric.Exact
	SquareRoot bool
}

// Pressure returns the pressure that a signal stands for: linear, or by the square-root law of a differential-pressure flow transmitter.
func (o *Output) Pressure(signal, low, high numeric.Exact) numeric.Exact {
	x, _ := signal.Sub(o.Low).Div(o.High.Sub(o.Low))
	if o.SquareRoot {
		square := x.Mul(x)
		if x.Sign() < 0 {
			square = square.Neg()
		}
		x = square
	}
	return low.Add(x.Mul(high.Sub(low)))
}

// Task is everything a gauge is judged by.
type Task struct {
	Unit        string
	Low, High   numeric.Exact
	Resolution  float64
	Limit       Limit
	Standard    *standard.Standard
	HasStandard bool
	Rule        conformity.Rule
	K           numeric.Exact
	Factor      numeric.Exact
	Least       float64
	Temperature float64 // half-width of the effect of temperature, in the unit; 0 if not stated
	HeadPa      float64 // pressure at the instrument minus that at the standard
	HasHead     bool
	HeadInUnit  numeric.Exact
	Readings    []Reading
}

// ReadDecision takes the decision of a document: the rule and what belongs to it.
func ReadDecision(in *document.Reader, t *Task) {
	t.Rule = conformity.Rule(in.Choice("rule", string(conformity.Simple), string(conformity.Guarded), string(conformity.GuardedFour), string(conformity.Managed), string(conformity.Probability)))
	t.K, t.Factor, t.Least = numeric.ExactInt(2), numeric.ExactInt(1), in.NumberOr("min_probability", 0.95)
	if k, ok := optionalExact(in, "k"); ok {
		t.K = k
	}
	if f, ok := optionalExact(in, "guard_factor"); ok {
		t.Factor = f
	}
	switch {
	case in.Err() != nil:
	case t.K.Sign() <= 0:
		in.Fail(document.CodeRange, "k", "must be above zero")
	case t.Factor.Cmp(numeric.ExactInt(-1)) < 0 || t.Factor.Cmp(numeric.ExactInt(5)) > 0:
		in.Fail(document.CodeRange, "guard_factor", "must be from -1 to 5")
	case !(t.Least >= 0.5 && t.Least < 1):
		in.Fail(document.CodeRange, "min_probability", "must be from 0.5 to below 1")
	}
}

// ReadRange takes unit, low, high and resolution.
func ReadRange(in *document.Reader, t *Task, pascals float64) {
	t.Low, t.High = readExact(in, "low"), readExact(in, "high")
	t.Resolution = in.NumberOr("resolution", 0)
	switch {
	case in.Err() != nil:
	case t.Low.Cmp(t.High) >= 0:
		in.Fail(document.CodeRange, "high", "must lie above low")
	case t.Resolution < 0:
		in.Fail(document.CodeRange, "resolution", "must not be below zero")
	}
	if h, ok := in.OptionalObject("head"); ok {
		c := head.Read(h)
		if in.Err() != nil {
			return
		}
		t.SetHead(head.Correction(c), pascals)
	}
}

// SetHead says how much higher the pressure at the instrument is than at the standard, for readings added from now on.
func (t *Task) SetHead(correctionPa, pascals float64) {
	t.HeadPa, t.HasHead = correctionPa, true
	t.HeadInUnit, _ = numeric.ExactOf(numeric.RoundSignificant(correctionPa/pascals, 12))
}

// readReadings takes the readings of room gauge.
func readReadings(in *document.Reader, t *Task, out *Output, pointerSet bool) {
	for _, r := range in.List("readings") {
		one := Reading{Field: r.Path("indicated"), Up: r.Choice("direction", "up", "down") == "up", Remounted: r.Flag("remounted", false)}
		if v, ok := r.Raw("series"); ok && (v.Kind == document.String || v.Kind == document.Number) {
			one.Series = v.Text
		} else if in.Err() == nil {
			r.Fail(document.CodeMissing, "series", "a reading needs its series")
		}
		one.Point = readExact(r, "point")
		applied, hasApplied := optionalExact(r, "applied")
		switch {
		case hasApplied:
			one.Applied = applied
		case pointerSet && in.Err() == nil:
			r.Fail(document.CodeMissing, "applied", "with the pointer set to the mark, the applied pressure is what is read")
		default:
			one.Applied = one.Point
		}
		indicated, hasIndicated := optionalExact(r, "indicated")
		switch {
		case hasIndicated && out != nil:
			one.Indicated = out.Pressure(indicated, t.Low, t.High)
		case hasIndicated:
			one.Indicated = indicated
		case pointerSet:
			one.Indicated = one.Point
		case in.Err() == nil:
			r.Fail(document.CodeMissing, "indicated", "the reading itself is missing")
		}
		if b, ok := optionalExact(r, "before_tap"); ok {
			if out != nil {
				b = out.Pressure(b, t.Low, t.High)
			}
			one.BeforeTap, one.HasTap = b, true
		}
		t.Add(one)
	}
	if in.Err() == nil && len(t.Readings) == 0 {
		in.Fail(document.CodeShape, "readings", "at least one reading is needed")
	}
}

// Add puts a reading into the task, with the corrections applied to the pressure at the standard, once: that of the standard's certificate and
// that of the head. Outside the certificate's points there is none, and Evaluate refuses the standard there.
func (t *Task) Add(r Reading) {
	r.Typed = r.Applied.Float()
	if t.HasStandard {
		if c, ok := t.Standard.Correction(r.Typed); ok {
			x, _ := numeric.ExactOf(numeric.RoundSignificant(c, 12))
			r.Applied = r.Applied.Add(x)
		}
	}
	if t.HasHead {
		r.Applied = r.Applied.Add(t.HeadInUnit)
	}
	t.Readings = append(t.Readings, r)
}
