package gauge

import (
	"math"
	"strconv"

	"gaugewright/calc/numeric"
	"gaugewright/calc/uncertainty"
)

// Line codes of a budget. Their legend stands once in the result, with shape, divisor and where the value came from.
//
//	std cert drift: the standard, its certificate, its drift;  res: resolution;  zero rep repro hys: zero deviation, repeatability, reproducibility,
//	hysteresis;  temp: temperature;  head grav: difference of level, gravity;  meter: the meter that reads an output
type budgetLine struct {
	Term        string
	Value       float64 // in the unit of the instrument, or of the output
	Sensitivity float64
	Divisor     float64
	Shape       uncertainty.Shape
	From        string
	dof         float64
	// filled in
	Contribution, Share float64
}

var root12 = math.Sqrt(12)
var root3 = math.Sqrt(3)

// mostOwn is the most lines of a point beside those of the standard; of a gauge two less.
const mostOwn = 9

// gather gathers the terms of a point. What is zero has no line.
func (t *Task) gather(r *Result, p *PointResult, typed float64) ([]budgetLine, error) {
	parts, index, err := t.Standard.Parts(typed)
	if err != nil {
		return nil, err
	}
	if t.lines == nil {
		t.lines = make([]budgetLine, 0, (len(parts)+mostOwn)*len(r.Points))
	}
	start := len(t.lines)
	known := math.Inf(1)
	add := func(l budgetLine) {
		if l.Value != 0 {
			t.lines = append(t.lines, l)
		}
	}
	sensitivity := 1.0
	if t.Output != nil {
		u := 0.0
		for _, one := range parts {
			u += one.Value / one.Divisor
		}
		sensitivity = t.Output.slope(typed, t.Low.Float(), t.High.Float(), u)
	}
	for _, one := range parts {
		from := "standard"
		switch {
		case one.Code == "std" && index >= 0:
			from = "standard.ranges[" + strconv.Itoa(index) + "]"
		case one.Code == "std":
			from = "standard.u"
		case one.Code == "cert":
			from = "standard.certificate"
		case one.Code == "drift":
			from = "standard.drift_per_year"
		}
		add(budgetLine{Term: one.Code, Value: one.Value, Sensitivity: sensitivity, Divisor: one.Divisor, Shape: one.Shape, From: from, dof: one.DOF})
	}
	rect := func(term string, value, sensitivity, divisor float64, from string) {
		add(budgetLine{Term: term, Value: value, Sensitivity: sensitivity, Divisor: divisor, Shape: uncertainty.Rectangular, From: from, dof: known})
	}
	resolution := t.Resolution
	if t.Output != nil {
		resolution = t.Output.Resolution
	}
	rect("res", resolution, 1, root12, "resolution")
	rect("zero", r.ZeroDeviation, 1, root12, "readings")
	rect("rep", p.Repeatability, 1, root12, "readings")
	rect("repro", p.Reproducibility, 1, root12, "readings")
	if p.HasUp && p.HasDown {
		rect("hys", p.Hysteresis, 1, root12, "readings")
	}
	if t.Around.HasTemperature {
		rect("temp", float64(t.Coefficient/100*math.Abs(t.Around.TemperatureC-t.Reference)*t.span()), 1, root3, "temperature_coefficient_percent_per_k")
	}
	if t.Site != nil {
		if correction, ok := t.Site.At(float64(typed * t.Pascals)); ok {
			level, gravity := t.Site.Unsure(correction)
			rect("head", level/t.Pascals, sensitivity, root3, "head.half_width_m")
			rect("grav", gravity/t.Pascals, sensitivity, root3, t.Site.GravityFrom)
		}
	}
	if t.Output != nil {
		add(budgetLine{Term: "meter", Value: t.Output.MeterU, Sensitivity: 1, Divisor: 1, Shape: uncertainty.Normal, From: "output.meter_u", dof: known})
	}
	return t.lines[start:len(t.lines):len(t.lines)], nil
}

// budget combines the terms of a point.
//
//	u² = Σ (c_i · value_i/divisor_i)²;  U = k·u, k as given, or from the coverage and the effective degrees of freedom
//
// Source:  GUM (JCGM 100:2008) 5.1.2, G.4.1; the widths of the readings as full widths of rectangular distributions: DKD-R 6-1 (2014), from memory.
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
		p.kExact, _ = numeric.ExactOf(p.K)
		return nil
	}
	t.terms = t.terms[:0]
	for i := range list {
		l := &list[i]
		t.terms = append(t.terms, uncertainty.Term{Name: l.Term, U: l.Value / l.Divisor, Sensitivity: l.Sensitivity, DOF: l.dof, Shape: l.Shape})
	}
	b, err := uncertainty.Combine(t.terms, nil, t.Coverage)
	if err != nil {
		return err
	}
	for i := range list {
		list[i].Contribution, list[i].Share = b.Contributions[i], b.Shares[i]
	}
	p.Budget, p.U, p.K = list, b.U, b.K
	if !math.IsInf(b.DOF, 1) {
		p.DOF = b.DOF
	}
	switch {
	case t.HasK:
		p.K, p.kExact = t.K.Float(), t.K
	case p.K == 2:
		p.kExact = numeric.ExactInt(2)
	default:
		p.kExact, _ = numeric.ExactOf(p.K)
	}
	p.Expanded = float64(p.K * p.U)
	p.ErrorSpan = p.Expanded + math.Abs(p.Error)
	if p.Limited && p.Expanded > 0 {
		p.Ratio = p.Limit / p.Expanded
	}
	return nil
}

// span of the scale on which errors are counted.
func (t *Task) span() float64 {
	if t.Output != nil {
		return t.Output.High.Sub(t.Output.Low).Float()
	}
	return t.High.Sub(t.Low).Float()
}
