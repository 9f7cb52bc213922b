package gauge

import (
	"math"
	"slices"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// PointResult is the result at one test point. For a transmitter, all but Point, Applied and Typed
// are in the unit of its output.
type PointResult struct {
	Point                            numeric.Exact
	Applied, Typed, Ideal, Mean      float64
	Read                             float64 // as read, before the meter's correction
	MeanUp, MeanDown                 float64
	HasUp, HasDown, Corrected        bool
	Error, ErrorUp, ErrorDown        float64
	Hysteresis, Repeatability        float64
	Reproducibility, Friction        float64
	HasHysteresis, HasRepeatability  bool
	HasReproducibility, HasFriction  bool
	Limit                            float64
	Limited                          bool
	U, K, Expanded, ErrorSpan, Ratio float64
	DOF                              float64 // effective; 0 if not limited
	HasU                             bool
	Budget                           []budgetLine
	Verdict, Reason                  string
	Probability, Guard, Risk         float64

	one      expanded // for a reading of one direction: without hysteresis
	readings []*Reading
}

// Judged is the judgement of one reading.
type Judged struct {
	Error, LimitLow, LimitHigh float64
	Limited                    bool
	Fraction                   float64 // |error| over the limit
	Verdict                    string
}

// Warning is a problem that does not stop an evaluation.
type Warning struct{ Code, Field, Message string }

// Result is the evaluation of a gauge.
type Result struct {
	Points          []PointResult
	Readings        []Judged
	ZeroDeviation   float64
	HasZero         bool
	WorstPoint      float64
	WorstUp         bool
	WorstFraction   float64
	HasWorst        bool
	Highest, Lowest float64 // errors in per cent of span
	MeasuredError   float64
	HysteresisMost  float64
	RepeatableWorst float64
	Repeatability   float64 // the largest of the points
	Reproducibility float64 // the largest of the points
	Lines           Lines
	HasLines        bool
	ClassMet        string
	RiskAtLimit     float64
	Verdict, Reason string
	Warnings        []Warning

	HasRepeatability bool

	repeated budgetLine
	nearest  []*Reading    // of each point, the one nearest to its limit
	common   []*budgetLine // see legend
}

// severity orders verdicts from best to worst.
var severity = []string{
	conformity.Pass, conformity.ConditionalPass, conformity.Undecided, conformity.ConditionalFail,
	conformity.Fail,
}

func worse(a, b string) string {
	if slices.Index(severity, b) > slices.Index(severity, a) {
		return b
	}
	return a
}

func (r *Result) warn(code, field, message string) {
	r.Warnings = append(r.Warnings, Warning{code, field, message})
}

// Evaluate judges the readings.
//
//	zero of a cycle: its rising reading at zero;  f0 = max |down zero − up zero|;  b' and b: see changes
//	h = mean |down − up| over the cycles;  mean = mean of the means of the directions;  U: see budget;  error span = U + |mean error|
//
// The rule judges every single reading against the limit at its point, with the uncertainty of one
// direction. A point has the worst verdict of its readings, the gauge the worst of its points. The
// probability at a point is that of its reading nearest to the limit, or furthest beyond it. A
// transmitter's errors are counted on its output.
//
// Takes:   a Task with at least one reading.
// Gives:   the Result; a figure that cannot be given is left out, with a warning.
// Refuses: a Fault of the standard, and missing if a rule needs an uncertainty and no standard is
// given.
// Source:  DKD-R 6-1 (2014) clause 8 (formulas from memory), the down series taking the zero of its
// cycle's up series; IEC 61298-2 for outputs (from memory); limits: see ReadLimit.
func Evaluate(t *Task) (Result, error) {
	var out Result
	if t.Rule != conformity.Simple && !t.HasStandard {
		return out, document.Refuse(
			document.CodeMissing, "standard",
			"this decision rule rests on the uncertainty, and the standard is not given",
		)
	}
	out.Warnings = t.Warnings
	points := t.points()
	zero := -1
	out.Points = make([]PointResult, len(points))
	all := make([]*Reading, 0, len(t.Readings))
	for i, p := range points {
		ideal := p
		if t.Output != nil {
			ideal = t.Output.Ideal(p, t.Low, t.High)
		}
		out.Points[i].Point, out.Points[i].Ideal = p, ideal.Float()
		if p.Sign() == 0 {
			zero = i
		}
		counts := 0
		for k := range t.Readings {
			if r := &t.Readings[k]; r.at == i {
				r.level = ideal.Add(r.deviation).Float()
				all = append(all, r)
				counts++
			}
		}
		out.Points[i].readings = all[len(all)-counts:]
	}
	list := t.cycles(len(points), &out)
	t.disorder(&out)
	out.zeroDeviation(list, zero)
	if !out.HasZero {
		out.warn(
			"no_zero", "readings",
			"no rising and falling reading at zero: the zero deviation is not known and not in the uncertainty",
		)
	}
	if t.Planned == 0 { // otherwise the plan names what is missing
		out.gaps(list, points)
	}
	out.changes(list, zero)
	t.repeat(&out, list)
	t.notes(&out)
	var sums pointSums
	for i := range out.Points {
		p := &out.Points[i]
		sums.empty()
		p.means(list, i, &sums)
		if limit, ok := t.Limit.At(p.Point, t.read(p.Point, p.readings[0], true)); ok {
			p.Limit, p.Limited = limit.Float(), true
		}
		if t.HasStandard {
			if err := t.budget(&out, p, p.Typed); err != nil {
				return Result{}, err
			}
		}
	}
	t.judge(&out)
	t.summary(&out, list)
	t.conditions(&out, list)
	return out, nil
}

// notes warns of missing inputs.
func (t *Task) notes(out *Result) {
	if !t.HasStandard {
		out.warn("no_standard", "standard", "no standard is given: no uncertainty is evaluated")
	} else if t.Standard.HasFixed && t.Standard.Fixed == 0 {
		out.warn(
			"no_uncertainty", "standard.u", "an uncertainty of zero is none: the standard has no part in the budget",
		)
	}
	if t.Coefficient > 0 && !t.Around.HasTemperature {
		out.warn(
			"no_temperature", "surroundings.temperature_c",
			"the temperature is not noted: its effect is not in the uncertainty",
		)
	}
	if t.Output != nil && t.Meter == nil && t.Output.MeterU == 0 && t.HasStandard {
		out.warn("no_meter", "meter", "the meter at the output is not given: its uncertainty is not in the budget")
	}
	if t.Output != nil && t.Resolution > 0 && t.Output.Resolution == 0 {
		out.warn("resolution", "output.resolution", "the resolution is that of a display; that of the meter at the output is not given and not in the uncertainty")
	}
	if n := max(t.Planned, len(out.Points)); n < t.Limit.leastPoints() {
		out.warn(
			"few_points", "readings",
			"EN 837-1 asks for ten test points of the classes 0.1 to 0.6 and for five of the others",
		)
	}
}

// read returns the value that an "of reading" limit is a fraction of: the applied pressure, or for
// a transmitter how far its output should be above its low end.
func (t *Task) read(point numeric.Exact, r *Reading, nominal bool) numeric.Exact {
	switch {
	case t.Limit.reading.Sign() == 0:
		return point
	case t.Output == nil && nominal:
		return point
	case t.Output == nil:
		return r.Applied
	case nominal:
		return t.Output.Ideal(point, t.Low, t.High).Sub(t.Output.Low)
	}
	return r.ideal.Sub(t.Output.Low)
}

// means fills in the means and differences of the readings at a point.
func (p *PointResult) means(list []cycle, at int, sums *pointSums) {
	up, down, applied, typed, spans, read := &sums[0], &sums[1], &sums[2], &sums[3], &sums[4], &sums[5]
	for _, c := range list {
		var a, b *Reading
		if c.up != nil {
			a = c.up[at]
		}
		if c.down != nil {
			b = c.down[at]
		}
		for _, r := range [2]*Reading{a, b} {
			if r == nil {
				continue
			}
			if r.Up {
				up.add(r.level)
			} else {
				down.add(r.level)
			}
			applied.add(r.Applied.Float())
			typed.add(r.Typed)
			read.add(r.Read)
			p.Corrected = p.Corrected || r.Corrected
			if r.HasTap {
				p.HasFriction = true
				p.Friction = max(p.Friction, math.Abs(r.BeforeTap.Sub(r.Indicated).Float()))
			}
		}
		if a != nil && b != nil {
			spans.add(math.Abs(b.level - a.level))
		}
	}
	p.Applied, p.Typed, p.Read = applied.mean(), typed.mean(), read.mean()
	p.HasUp, p.HasDown = len(up.list) > 0, len(down.list) > 0
	p.MeanUp, p.MeanDown = up.mean(), down.mean()
	switch {
	case p.HasUp && p.HasDown:
		p.Mean = float64((p.MeanUp + p.MeanDown) / 2)
	case p.HasUp:
		p.Mean = p.MeanUp
	default:
		p.Mean = p.MeanDown
	}
	p.Error, p.ErrorUp, p.ErrorDown = p.Mean-p.Ideal, p.MeanUp-p.Ideal, p.MeanDown-p.Ideal
	if len(spans.list) > 0 {
		p.Hysteresis, p.HasHysteresis = spans.mean(), true
	}
}

// numbers collects a few numbers, without an allocation for the usual count.
type numbers struct {
	list []float64
	few  [12]float64
}

// pointSums holds the numbers of one point and is reused for the next.
type pointSums [6]numbers

func (s *pointSums) empty() {
	for i := range s {
		s[i].list = s[i].few[:0]
	}
}

func (n *numbers) add(x float64) { n.list = append(n.list, x) }

func (n *numbers) mean() float64 {
	if len(n.list) == 0 {
		return 0
	}
	return numeric.Mean(n.list)
}

// summary fills in the figures of the gauge as a whole.
func (t *Task) summary(out *Result, list []cycle) {
	span := t.span()
	x, y := make([]float64, len(out.Points)), make([]float64, len(out.Points))
	for i := range out.Points {
		p := &out.Points[i]
		x[i], y[i] = p.Ideal, p.Mean
		if p.HasUp {
			out.MeasuredError = max(out.MeasuredError, float64(math.Abs(p.ErrorUp)/span*100))
		}
		if p.HasDown {
			out.MeasuredError = max(out.MeasuredError, float64(math.Abs(p.ErrorDown)/span*100))
		}
		low, high := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
		for _, c := range list {
			for k, side := range [2][]*Reading{c.up, c.down} {
				if side != nil && side[i] != nil {
					low[k], high[k] = min(low[k], side[i].level), max(high[k], side[i].level)
				}
			}
			if c.up != nil && c.down != nil && c.up[i] != nil && c.down[i] != nil {
				out.HysteresisMost = max(out.HysteresisMost, float64(math.Abs(c.down[i].level-c.up[i].level)/span*100))
			}
		}
		for k := range low {
			if high[k] >= low[k] {
				out.RepeatableWorst = max(out.RepeatableWorst, float64((high[k]-low[k])/span*100))
			}
		}
	}
	for i := range t.Readings {
		e := float64(t.Readings[i].off / span * 100)
		if i == 0 || e > out.Highest {
			out.Highest = e
		}
		if i == 0 || e < out.Lowest {
			out.Lowest = e
		}
	}
	if len(x) >= 2 {
		out.Lines, out.HasLines = Straight(x, y), true
	}
	out.ClassMet = t.classMet(out, list)
}
