package programme

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Amount is a number with its exact value, for comparisons that decimals decide.
type Amount struct {
	Text  string
	Value float64
	Exact numeric.Exact
}

// Range is the range and the fastest rate of an instrument or a standard.
type Range struct {
	Low, High Amount
	MaxRate   *Amount // per second; nil if not known
	Mode      string  // "gauge", "absolute" or "" if not stated
}

// Facts are what the programme is checked with. Pressures are in the programme's unit and mode; an
// unknown one is nil.
type Facts struct {
	Unit                 *units.Unit
	Mode                 string // "gauge", "absolute" or "" if not stated
	Ambient              float64
	Instrument, Standard *Range
	AllowsVacuum         *bool
	Weakest, Relief      *Amount
	WeakestPart          string
	Volume               float64 // m³ of gas; 0 if not known
	Nominal, Tolerance   *Amount // of a switch
	Interval             *Amount // s between samples of a ramp
	Leak                 *Leak
	Hysteresis           bool
	Unknown              bool // the state at the start is not known; else vented, confirmed and at rest
}

// Leak is the leak that the programme must be able to see.
type Leak struct{ Limit, Sigma, Interval, Factor float64 }

func amount(in *document.Reader, name string) *Amount {
	d := in.Decimal(name)
	x, ok := numeric.ParseExact(d.Text)
	if in.Err() == nil && !ok {
		in.Fail(document.CodeRange, name, "the number is too long or its exponent too large")
	}
	return &Amount{d.Text, d.Value, x}
}

func optional(in *document.Reader, name string) *Amount {
	if !in.Has(name) {
		in.Raw(name)
		return nil
	}
	return amount(in, name)
}

func above(in *document.Reader, name string) *Amount {
	a := optional(in, name)
	if a != nil && in.Err() == nil && a.Value <= 0 {
		in.Fail(document.CodeRange, name, "must be above zero")
	}
	return a
}

// scale converts amounts from their unit and mode to those of the programme.
type scale struct {
	from, to *units.Unit   // to is nil if the programme does not state its unit
	shift    numeric.Exact // Pa from the zero of one mode to that of the other
}

// scaleOf reads the unit and mode of an object; if absent, its numbers are in those of the
// programme.
//
//go:noinline
func (f *Facts) scaleOf(in *document.Reader, steps []Step) (s scale, mode string) {
	own := f.Mode
	if s.to = f.Unit; len(steps) > 0 && steps[0].Do == Unit {
		if u, ok := units.Find(steps[0].Unit); ok && u.Kind == units.Pressure && s.to == nil {
			s.to = &u
		}
		if own == "" {
			own = steps[0].Mode
		}
	}
	s.from, s.shift = s.to, numeric.ExactInt(0)
	if in.Has("unit") {
		u := units.Of(in, "unit", units.Pressure)
		s.from = &u
	}
	if in.Has("mode") {
		if mode = in.Choice("mode", "gauge", "absolute", "differential"); mode == "differential" {
			mode = "" // between two ports: its zero is that of the programme
		}
	}
	ambient, ok := numeric.ExactOf(f.Ambient)
	switch {
	case !ok || mode == "" || own == "" || mode == own:
	case own == "absolute":
		s.shift = ambient
	case mode == "absolute":
		s.shift = ambient.Neg()
	}
	return s, mode
}

// turn converts an amount to the programme's unit and mode. A rate has no zero to shift.
//
//go:noinline
func (s scale) turn(a *Amount, rate bool) *Amount {
	still := rate || s.shift.Sign() == 0
	if a == nil || s.to == nil || s.from == nil || s.from.Name == s.to.Name && still {
		return a
	}
	x := s.from.ExactSI(a.Exact)
	if !still {
		x = x.Add(s.shift)
	}
	x = s.to.ExactFromSI(x)
	text, _ := x.Text(6)
	return &Amount{text, x.Float(), x}
}

// ReadRange reads a range in its own unit and mode, or without them in those of the programme, and
// returns it in those of the programme.
func (f *Facts) ReadRange(in *document.Reader, steps []Step) *Range {
	s, mode := f.scaleOf(in, steps)
	r := &Range{
		Low: *s.turn(amount(in, "low"), false), High: *s.turn(amount(in, "high"), false),
		MaxRate: s.turn(above(in, "max_rate"), true), Mode: mode,
	}
	if in.Err() == nil && r.Low.Exact.Cmp(r.High.Exact) >= 0 {
		in.Fail(document.CodeConflict, "high", "must be above low")
	}
	return r
}

// ReadFacts reads everything in a document but the programme itself, whose first step states the
// unit of its numbers.
func ReadFacts(in *document.Reader, steps []Step) Facts {
	f := Facts{Ambient: in.NumberOr("ambient_pa", units.StandardAtmosphere)}
	if in.Err() == nil && !(f.Ambient > 0 && f.Ambient < 2e5) {
		in.Fail(document.CodeRange, "ambient_pa", "must be above 0 and below 200000 Pa, absolute")
	}
	if in.Has("unit") {
		u := units.Of(in, "unit", units.Pressure)
		f.Unit = &u
	}
	if in.Has("mode") {
		f.Mode = in.Choice("mode", modes...)
	}
	if r, ok := in.OptionalObject("instrument"); ok {
		f.Instrument = f.ReadRange(r, steps)
		if r.Has("allows_vacuum") {
			b := r.Flag("allows_vacuum", false)
			f.AllowsVacuum = &b
		}
	}
	if r, ok := in.OptionalObject("standard"); ok {
		f.Standard = f.ReadRange(r, steps)
	}
	if r, ok := in.OptionalObject("weakest"); ok {
		s, _ := f.scaleOf(r, steps)
		f.Weakest = s.turn(amount(r, "pressure"), false)
		f.WeakestPart = r.Text("part")
	}
	if v, ok := in.Raw("relief"); ok && v.Kind == document.Object {
		r := in.Object("relief")
		s, _ := f.scaleOf(r, steps)
		f.Relief = s.turn(amount(r, "pressure"), false)
	} else {
		f.Relief = optional(in, "relief")
	}
	if in.Has("volume_m3") {
		f.Volume = in.Positive("volume_m3")
	}
	if r, ok := in.OptionalObject("switch"); ok {
		f.Nominal = amount(r, "nominal")
		f.Tolerance = above(r, "tolerance")
		f.Interval = above(r, "interval_s")
	}
	if r, ok := in.OptionalObject("leak"); ok {
		f.Leak = &Leak{r.Positive("limit_pa_m3_s"), r.Positive("sigma_pa"), r.Positive("interval_s"), 3.29}
		if r.Has("factor") {
			f.Leak.Factor = r.Positive("factor")
		}
		if in.Err() == nil && f.Volume == 0 {
			in.Fail(document.CodeMissing, "volume_m3", "a leak limit needs the volume")
		}
	}
	f.Hysteresis = in.Flag("hysteresis", false)
	f.Unknown = in.ChoiceOr("start", "vented", "unknown") == "unknown"
	return f
}

// base returns the pressure after a vent, in the programme's unit and mode.
//
//go:noinline
func (f *Facts) base() float64 {
	if f.Mode == "absolute" && f.Unit != nil {
		return f.Unit.FromSI(f.Ambient)
	}
	return 0
}

// absolute returns a pressure of the programme as absolute pressure in Pa. The unit must be known.
//
//go:noinline
func (f *Facts) absolute(p float64) float64 {
	if f.Mode == "absolute" {
		return f.Unit.ToSI(p)
	}
	return f.Unit.ToSI(p) + f.Ambient
}

// maxRate returns the fastest change that both instrument and standard allow; nil if neither is
// known.
func (f *Facts) maxRate() (rate *Amount) {
	for _, r := range []*Range{f.Instrument, f.Standard} {
		if r != nil && r.MaxRate != nil && (rate == nil || r.MaxRate.Value < rate.Value) {
			rate = r.MaxRate
		}
	}
	return rate
}
