package gauge

import (
	"strconv"

	"gaugewright/calc/applied"
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/head"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/units"
)

// Reading is one reading at a point. Pressures are exact, in the instrument's unit; a transmitter's
// signal is in the unit of its output.
type Reading struct {
	Field     string // its path in the document, for readings of other calculations than gauge
	Series    string
	Up        bool
	Point     numeric.Exact // nominal
	Applied   numeric.Exact // at the instrument
	Shown     numeric.Exact // with a gauge standard beside a barometer: Applied less the pressure of the air
	Indicated numeric.Exact
	BeforeTap numeric.Exact
	HasTap    bool
	Mounting  int     // counted from 1; 0 is the first
	Typed     float64 // the applied pressure at the standard as typed, before any correction
	Read      float64 // the instrument's reading as typed, before its meter's correction
	Corrected bool    // Applied differs from the typed value

	ideal, deviation numeric.Exact
	off              float64 // the error
	level            float64 // the reading, shifted to where its point is met exactly
	at               int     // its point
	number           int     // place in the list of calculation gauge, from 1
}

func (r *Reading) where() string {
	if r.number == 0 {
		return r.Field
	}
	return "readings[" + strconv.Itoa(r.number-1) + "].indicated"
}

// Task is everything that the judgement of a gauge needs.
type Task struct {
	Unit          string
	Mode          string  // "gauge", "absolute", "differential" or ""
	Pascals       float64 // pascals in one unit
	Low, High     numeric.Exact
	Resolution    float64
	Limit         Limit
	Output        *Output
	Standard      *standard.Standard
	Meter         *standard.Standard // reads a transmitter's output; nil if not given
	Barometer     *standard.Standard // beside a gauge standard, for an absolute pressure; else nil
	HasStandard   bool
	Rule          conformity.Rule
	K             numeric.Exact // used if HasK
	HasK          bool
	Coverage      float64 // 0 means the one of k = 2
	Guard         numeric.Exact
	Least         float64
	Around        head.Around
	Coefficient   float64 // of temperature, per cent of span and kelvin
	Reference     float64 // temperature in °C
	Repeatability float64 // used when one cycle shows none: full width, per cent of span
	Site          *head.Site
	Planned       int // number of planned test points; 0 if no plan asks for the readings
	Readings      []Reading
	Warnings      []Warning

	heads   [2]float64 // smallest and largest correction in Pa
	sites   bool       // a correction for a column was applied
	source  applied.Source
	air     float64            // the barometer's reading as typed, in the unit
	airOff  numeric.Exact      // its correction
	terms   []uncertainty.Term // of the latest point
	factors uncertainty.Factors
	lines   []budgetLine // of all points, one after the other
}

// ReadDecision reads the decision of a document: the rule with its parameters.
func ReadDecision(in *document.Reader, t *Task) {
	t.Rule = conformity.Rule(
		in.Choice(
			"rule", string(conformity.Simple), string(conformity.Guarded), string(conformity.GuardedFour),
			string(conformity.Managed), string(conformity.Probability),
		),
	)
	t.Guard, t.Least = numeric.ExactInt(1), in.NumberOr("min_probability", 0.95)
	t.K, t.HasK = optionalExact(in, "k")
	if f, ok := optionalExact(in, "guard_factor"); ok {
		t.Guard = f
	}
	if in.Has("coverage") {
		ReadCoverage(in, t)
	}
	// The ratio that a standard must reach matters when it is chosen; here it is only checked.
	ratio, hasRatio := in.Optional("needed_ratio")
	switch {
	case in.Err() != nil:
	case hasRatio && !(ratio > 0):
		in.Fail(document.CodeRange, "needed_ratio", "must be above zero")
	case t.HasK && t.K.Sign() <= 0:
		in.Fail(document.CodeRange, "k", "must be above zero")
	case t.Guard.Cmp(numeric.ExactInt(-1)) < 0 || t.Guard.Cmp(numeric.ExactInt(5)) > 0:
		in.Fail(document.CodeRange, "guard_factor", "must be from -1 to 5")
	case !(t.Least >= 0.5 && t.Least < 1):
		in.Fail(document.CodeRange, "min_probability", "must be from 0.5 to below 1")
	}
}

// ReadCoverage reads the coverage probability, from which k follows with the degrees of freedom.
func ReadCoverage(in *document.Reader, t *Task) {
	c, ok := in.Optional("coverage")
	switch {
	case !ok || in.Err() != nil:
	case !(c > 0.5 && c < 0.9999):
		in.Fail(document.CodeRange, "coverage", "must be between 0.5 and 0.9999")
	case t.HasK:
		in.Fail(document.CodeConflict, "coverage", "give the coverage or k, not both")
	default:
		t.Coverage = c
	}
}

// ReadRange reads low, high and resolution.
func ReadRange(in *document.Reader, t *Task) {
	t.Low, t.High = readExact(in, "low"), readExact(in, "high")
	t.Resolution = in.NumberOr("resolution", 0)
	switch {
	case in.Err() != nil:
	case t.Low.Cmp(t.High) >= 0:
		in.Fail(document.CodeRange, "high", "must lie above low")
	case t.Resolution < 0:
		in.Fail(document.CodeRange, "resolution", "must not be below zero")
	}
}

// ReadSurroundings reads the ambient air, in the form of calculation gauge (pressure_pa, humidity)
// or of a visit (pressure_hpa, humidity_percent).
func ReadSurroundings(in *document.Reader, t *Task) {
	a := &t.Around
	a.Ambient = units.StandardAtmosphere
	t.Reference = t.Limit.ReferenceTemperature()
	s, ok := in.OptionalObject("surroundings")
	if !ok {
		return
	}
	a.TemperatureC, a.HasTemperature = s.Optional("temperature_c")
	a.PressurePa, a.HasPressure = s.Optional("pressure_pa")
	a.Humidity, a.HasHumidity = s.Optional("humidity")
	a.HumidField = s.Path("humidity")
	hpa, has := s.Optional("pressure_hpa")
	percent, wet := s.Optional("humidity_percent")
	s.Optional("height_m") // height of the place; package work compares the air pressure with it
	if in.Err() == nil && (has && a.HasPressure || wet && a.HasHumidity) {
		s.Fail(document.CodeConflict, "pressure_hpa", "is given twice, in two units")
	}
	if has {
		a.PressurePa, a.HasPressure = float64(hpa*100), true
	}
	if wet {
		a.Humidity, a.HasHumidity = percent/100, true
	}
	if a.HasPressure {
		a.Ambient = a.PressurePa
	}
	ReadTemperature(s, t)
	if in.Err() == nil && a.HasPressure && !IsAir(a.PressurePa) {
		s.Fail(
			document.CodeRange, map[bool]string{true: "pressure_hpa", false: "pressure_pa"}[has],
			NoAir,
		)
	}
}

// ReadOwn reads what is known about the instrument beforehand: its repeatability and the effect of
// temperature.
func ReadOwn(in *document.Reader, t *Task) {
	readRepeatability(in, t)
	ReadTemperature(in, t)
}

// readRepeatability reads a full width in per cent of span, for use when one cycle shows none.
func readRepeatability(in *document.Reader, t *Task) {
	w, ok := in.Optional("repeatability_percent")
	if !ok {
		return
	}
	t.Repeatability = w
	if in.Err() == nil && !(w >= 0 && w <= 100) {
		in.Fail(document.CodeRange, "repeatability_percent", "must be from 0 to 100")
	}
}

// ReadTemperature reads the effect of temperature. It enters as a half-width, not as a correction,
// because its sign is not known.
func ReadTemperature(in *document.Reader, t *Task) {
	if r, ok := in.Optional("reference_temperature_c"); ok {
		t.Reference = r
	}
	c, ok := in.Optional("temperature_coefficient_percent_per_k")
	if !ok {
		return
	}
	if in.Err() == nil && c < 0 {
		in.Fail(document.CodeRange, "temperature_coefficient_percent_per_k", "must not be below zero")
	}
	t.Coefficient = c
}

// ReadHead reads the column between standard and instrument, in either of its forms.
func ReadHead(in *document.Reader, t *Task) {
	h, ok := in.OptionalObject("head")
	if !ok {
		return
	}
	mode := t.Mode
	if t.Barometer != nil { // the typed values are readings of the gauge standard
		mode = "gauge"
	}
	s := head.ReadSite(h, mode, &t.Around)
	if in.Err() != nil {
		return
	}
	if err := s.Holds(float64(t.High.Float() * t.Pascals)); err != nil {
		f := document.AsFault(err)
		in.Fail(f.Code, f.Field, f.Message)
		return
	}
	t.Site = &s
	for _, n := range s.Notes {
		t.warn(n.Code, n.Field, n.Message)
	}
}

func (t *Task) warn(code, field, message string) {
	t.Warnings = append(t.Warnings, Warning{code, field, message})
}

// readReadings reads the readings of calculation gauge.
func readReadings(in *document.Reader, t *Task, pointerSet bool) {
	list := in.List("readings")
	t.Readings = make([]Reading, 0, len(list))
	for i, r := range list {
		t.Readings = append(t.Readings, Reading{})
		one := &t.Readings[i]
		one.Up, one.number = r.Choice("direction", "up", "down") == "up", i+1
		if v, ok := r.Raw("series"); ok && (v.Kind == document.String || v.Kind == document.Number) {
			one.Series = v.Text
		} else if in.Err() == nil {
			r.Fail(document.CodeMissing, "series", "a reading needs its series")
		}
		one.Mounting = r.WholeOr("mounting", 1, 100, 1)
		if r.Flag("remounted", false) && one.Mounting == 1 {
			one.Mounting = 2
		}
		one.Point = readExact(r, "point")
		applied, hasApplied := optionalExact(r, "applied")
		switch {
		case hasApplied:
			one.Applied = applied
		case pointerSet && in.Err() == nil:
			r.Fail(
				document.CodeMissing, "applied",
				"with the pointer set to the mark, the applied pressure is what is read",
			)
		default:
			one.Applied = one.Point
		}
		indicated, hasIndicated := optionalExact(r, "indicated")
		switch {
		case hasIndicated:
			one.Indicated = indicated
		case pointerSet:
			one.Indicated = one.Point
		case in.Err() == nil:
			r.Fail(document.CodeMissing, "indicated", "the reading itself is missing")
		}
		one.BeforeTap, one.HasTap = optionalExact(r, "before_tap")
		if in.Err() != nil {
			return
		}
		t.place(one)
	}
	if in.Err() == nil && len(t.Readings) == 0 {
		in.Fail(document.CodeShape, "readings", "at least one reading is needed")
	}
}

// Add puts a reading into the task and corrects its pressure at the standard, once: by the
// standard's certificate and by the head. Outside the certificate's points there is no correction,
// and Evaluate refuses the standard there.
func (t *Task) Add(r Reading) {
	t.Readings = append(t.Readings, r)
	t.place(&t.Readings[len(t.Readings)-1])
}

func (t *Task) place(r *Reading) {
	r.Typed, r.Read = r.Applied.Float(), r.Indicated.Float()
	if t.Barometer != nil {
		r.Typed, r.Corrected = r.Shown.Float(), true
	}
	if t.Meter != nil {
		if x, ok := t.Meter.Correction(r.Read); ok && x != 0 {
			c := numeric.Twelve(x)
			r.Indicated, r.BeforeTap, r.Corrected = r.Indicated.Add(c), r.BeforeTap.Add(c), true
		}
	}
	if t.HasStandard || t.Site != nil || t.Barometer != nil {
		t.correct(r)
	}
	if t.Output == nil {
		r.ideal = r.Applied
	} else {
		r.ideal = t.Output.Ideal(r.Applied, t.Low, t.High)
	}
	r.deviation = r.Indicated.Sub(r.ideal)
	r.off = r.deviation.Float()
}

func (t *Task) correct(r *Reading) {
	if t.source.Pascals == 0 {
		t.source = applied.Source{Site: t.Site, Pascals: t.Pascals}
		if t.HasStandard {
			t.source.Standard = t.Standard
		}
	}
	c := t.source.At(r.Typed)
	if c.Certified {
		r.Applied, r.Corrected = r.Applied.Add(c.Certificate), true
	}
	if t.Barometer != nil && t.airOff.Sign() != 0 {
		r.Applied, r.Corrected = r.Applied.Add(t.airOff), true
	}
	switch {
	case t.Site == nil:
	case !c.Stands:
		t.warn(
			"no_head", r.where(),
			"there is no column of gas at a pressure below zero: the difference of level is not corrected here",
		)
	case c.HeadPa != 0:
		if !t.sites {
			t.heads, t.sites = [2]float64{c.HeadPa, c.HeadPa}, true
		}
		t.heads[0], t.heads[1] = min(t.heads[0], c.HeadPa), max(t.heads[1], c.HeadPa)
		r.Applied, r.Corrected = r.Applied.Add(c.Column), true
	}
}
