package gauge

import (
	"math"

	"gaugewright/calc/applied"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/uncertainty"
)

// Line codes of a budget. The result has one legend for them, with shape, divisor and the origin of
// the value.
//
//	std cert drift: the standard, its certificate, its drift;  interp step: between the certificate's points, the standard's resolution;  res: resolution
//	zero rep repro hys: zero deviation, repeatability, reproducibility, hysteresis;  temp: temperature;  head grav dens: difference of level, gravity,
//	density of the column;  meter meter_step meter_cert meter_interp meter_drift: the meter that reads an output
//	baro baro_step baro_cert baro_interp baro_drift baro_once: the barometer beside a gauge standard, and the air that it read once
type budgetLine struct {
	Term        string
	Value       float64 // in the unit of the instrument or of its output
	Sensitivity float64
	Divisor     float64
	Shape       uncertainty.Shape
	From        string
	dof         float64
	// filled in
	Contribution, Share float64
}

// meterTerms are the budget codes of the parts of a meter's uncertainty.
var meterTerms = map[string]string{
	"std": "meter", "step": "meter_step", "cert": "meter_cert", "interp": "meter_interp", "drift": "meter_drift",
}

var root12 = math.Sqrt(12)
var root3 = math.Sqrt(3)

// mostOwn is the largest number of lines of a point besides those of the standard; a gauge has two
// less.
const mostOwn = 18

// gather collects the terms of a point. A term of zero has no line.
func (t *Task) gather(r *Result, p *PointResult, typed float64) ([]budgetLine, error) {
	parts, index, err := t.Standard.Parts(typed)
	if err != nil {
		return nil, err
	}
	var own [mostOwn + 8]budgetLine
	lines := own[:0]
	known := math.Inf(1)
	add := func(l budgetLine) {
		if l.Value != 0 {
			lines = append(lines, l)
		}
	}
	sensitivity := 1.0
	if t.Output != nil {
		u := 0.0
		for _, one := range parts {
			u += one.Value / one.Divisor
		}
		sensitivity = t.Output.slope(typed+t.air, t.Low.Float(), t.High.Float(), u)
	}
	for _, one := range parts {
		add(
			budgetLine{
				Term: one.Code, Value: one.Value, Sensitivity: sensitivity, Divisor: one.Divisor,
				Shape: one.Shape, From: applied.Origin(one.Code, index), dof: one.DOF,
			},
		)
	}
	rect := func(term string, value, sensitivity, divisor float64, from string) {
		add(
			budgetLine{
				Term: term, Value: value, Sensitivity: sensitivity, Divisor: divisor,
				Shape: uncertainty.Rectangular, From: from, dof: known,
			},
		)
	}
	if t.Barometer != nil {
		air, err := t.airLines(sensitivity)
		if err != nil {
			return nil, err
		}
		for i := range air {
			add(air[i])
		}
	}
	resolution := t.Resolution
	if t.Output != nil {
		resolution = t.Output.Resolution
	}
	rect("res", resolution, 1, root12, "resolution")
	rect("zero", r.ZeroDeviation, 1, root12, "readings")
	add(r.repeated)
	rect("repro", r.Reproducibility, 1, root12, "readings")
	if p.HasUp && p.HasDown {
		rect("hys", p.Hysteresis, 1, root12, "readings")
	}
	if t.Around.HasTemperature {
		rect(
			"temp", float64(t.Coefficient/100*math.Abs(t.Around.TemperatureC-t.Reference)*t.span()), 1,
			root3, "temperature_coefficient_percent_per_k",
		)
	}
	if t.Site != nil {
		if correction, ok := t.Site.At(float64(typed * t.Pascals)); ok {
			doubt := t.Site.Unsure(float64(typed*t.Pascals), correction)
			rect("head", doubt.Level/t.Pascals, sensitivity, root3, "head.half_width_m")
			rect("grav", doubt.Gravity/t.Pascals, sensitivity, root3, t.Site.GravityFrom)
			rect("dens", doubt.Density/t.Pascals, sensitivity, root3, "head.density_half_width_kg_m3")
		}
	}
	if t.Meter != nil {
		read, _, err := t.Meter.Parts(p.Read)
		if err != nil {
			f := document.AsFault(err)
			return nil, document.Refuse(f.Code, "meter.ranges", "no range of the meter holds the signal")
		}
		for _, one := range read {
			add(
				budgetLine{
					Term: meterTerms[one.Code], Value: one.Value, Sensitivity: 1, Divisor: one.Divisor,
					Shape: one.Shape, From: meterTerms[one.Code], dof: one.DOF,
				},
			)
		}
	} else if t.Output != nil {
		add(
			budgetLine{
				Term: "meter", Value: t.Output.MeterU, Sensitivity: 1, Divisor: 1,
				Shape: uncertainty.Normal, From: "output.meter_u", dof: known,
			},
		)
	}
	if t.lines == nil { // the other points have about as many
		t.lines = make([]budgetLine, 0, (len(lines)+1)*len(r.Points))
	}
	start := len(t.lines)
	t.lines = append(t.lines, lines...)
	return t.lines[start:len(t.lines):len(t.lines)], nil
}

// budget combines the terms of a point twice: with hysteresis for the mean of both directions, and
// without it for a reading of one direction, since each is reported and judged by itself.
//
//	u² = Σ (c_i · value_i/divisor_i)²;  U = k·u, k as given, or from the coverage and the effective degrees of freedom
//
// Source:  GUM (JCGM 100:2008) 5.1.2, G.4.1; the widths of the readings as full widths of
// rectangular distributions: DKD-R 6-1 (2014), from memory.
func (t *Task) budget(r *Result, p *PointResult, typed float64) error {
	list, err := t.gather(r, p, typed)
	if err != nil {
		return err
	}
	p.HasU = true
	if len(list) == 0 {
		p.K = 2
		if t.HasK {
			p.K = t.K.Float()
		}
		p.ErrorSpan = math.Abs(p.Error)
		p.one.k, p.one.kExact = p.K, exactOf(p.K)
		return nil
	}
	t.terms = t.terms[:0]
	between := -1 // index of the hysteresis line
	for i := range list {
		l := &list[i]
		if l.Term == "hys" {
			between = i
		}
		t.terms = append(
			t.terms,
			uncertainty.Term{
				Name: l.Term, U: l.Value / l.Divisor, Sensitivity: l.Sensitivity, DOF: l.dof, Shape: l.Shape,
			},
		)
	}
	b, err := t.factors.Combine(t.terms, nil, t.Coverage)
	if err != nil {
		return err
	}
	for i := range list {
		list[i].Contribution, list[i].Share = b.Contributions[i], b.Shares[i]
	}
	both := t.expanded(&b)
	p.Budget, p.U, p.K, p.DOF, p.Expanded = list, both.u, both.k, both.dof, both.expanded
	if p.one = both; between >= 0 {
		if b, err = t.factors.Without(&b, between, t.Coverage); err != nil {
			return err
		}
		p.one = t.expanded(&b)
	}
	p.ErrorSpan = p.Expanded + math.Abs(p.Error)
	if p.Limited && p.Expanded > 0 {
		p.Ratio = p.Limit / p.Expanded
	}
	return nil
}

// expanded is an uncertainty with its coverage factor.
type expanded struct {
	u, k, dof, expanded float64 // dof: 0 if not limited
	kExact              numeric.Exact
}

func (t *Task) expanded(b *uncertainty.Budget) expanded {
	x := expanded{u: b.U, k: b.K}
	if !math.IsInf(b.DOF, 1) {
		x.dof = b.DOF
	}
	switch {
	case t.HasK:
		x.k, x.kExact = t.K.Float(), t.K
	case x.k == 2:
		x.kExact = numeric.ExactInt(2)
	default:
		x.kExact = exactOf(x.k)
	}
	x.expanded = float64(x.k * x.u)
	return x
}

func exactOf(x float64) numeric.Exact {
	e, _ := numeric.ExactOf(x)
	return e
}

// span returns the span of the scale on which errors are counted.
func (t *Task) span() float64 {
	if t.Output != nil {
		return t.Output.High.Sub(t.Output.Low).Float()
	}
	return t.High.Sub(t.Low).Float()
}
