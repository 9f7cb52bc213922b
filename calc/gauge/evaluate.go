package gauge

import (
	"math"
	"slices"
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// PointResult is what the readings at one test point say.
type PointResult struct {
	Point                            numeric.Exact
	Applied, Mean                    float64
	MeanUp, MeanDown                 float64
	HasUp, HasDown                   bool
	Error, ErrorUp, ErrorDown        float64
	Hysteresis, Repeatability        float64
	Reproducibility, Friction        float64
	HasHysteresis, HasRepeatability  bool
	HasReproducibility, HasFriction  bool
	Limit                            float64
	Limited                          bool
	U, K, Expanded, ErrorSpan, Ratio float64
	HasU                             bool
	Verdict, Reason                  string
	Probability                      float64
}

// Judged is the judgement of one reading.
type Judged struct {
	Error, LimitLow, LimitHigh float64
	Limited                    bool
	Fraction                   float64 // |error| over the limit
	Verdict                    string
}

// Warning says what does not stop an evaluation.
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
	Lines           Lines
	HasLines        bool
	ClassMet        string
	Verdict, Reason string
	Warnings        []Warning
}

// severity orders verdicts from best to worst.
var severity = []string{conformity.Pass, conformity.ConditionalPass, conformity.Undecided, conformity.ConditionalFail, conformity.Fail}

func worse(a, b string) string {
	if slices.Index(severity, b) > slices.Index(severity, a) {
		return b
	}
	return a
}

// cycle is one rise and the fall that belongs to it.
type cycle struct {
	up, down  map[string]*Reading // by the text of the point
	remounted bool
}

// cycles gathers the readings: a rising series begins a cycle, a falling one belongs to the cycle before it that has none yet.
func (t *Task) cycles() ([]cycle, []Warning) {
	var list []cycle
	var warnings []Warning
	where := map[string]int{}
	for i := range t.Readings {
		r := &t.Readings[i]
		name := r.Series + "/down"
		if r.Up {
			name = r.Series + "/up"
		}
		k, known := where[name]
		if !known {
			k = len(list)
			if n := len(list); !r.Up && n > 0 && list[n-1].down == nil {
				k = n - 1
			} else {
				list = append(list, cycle{})
			}
			where[name] = k
		}
		c := &list[k]
		c.remounted = c.remounted || r.Remounted
		side := &c.down
		if r.Up {
			side = &c.up
		}
		if *side == nil {
			*side = map[string]*Reading{}
		}
		at := key(r.Point)
		if (*side)[at] != nil {
			warnings = append(warnings, Warning{"duplicated_point", r.Field, "this series has a reading at this point already; both are judged, the first is used for the spread"})
			continue
		}
		(*side)[at] = r
	}
	return list, warnings
}

func key(x numeric.Exact) string {
	s, _ := x.Text(30)
	return s
}

// level is where a reading would stand on the scale if its point had been met exactly: the point plus the error.
func level(r *Reading) float64 { return r.Point.Add(r.Error()).Float() }

// Evaluate judges the readings.
//
//	zero of a cycle: its rising reading at zero;  f0 = max |down zero − up zero|;  b' = max |(x_k − zero_k) − (x_1 − zero_1)| over the cycles k
//	mounted as the first, per direction;  b the same over the re-mounted cycles;  h = mean |down − up| over the cycles;  mean = mean of the means
//	u² = u_std² + (r² + f0² + b'² + b² + h²)/12 + (temperature half-width)²/3;  error span = U + |mean error|
//
// Every single reading is judged against the limit at its point by the rule; a point has the worst verdict of its readings, the gauge that of its
// points.
//
// Takes:   a Task with at least one reading.
// Gives:   the Result; what is missing is left out and said in a warning.
// Refuses: a Fault of the standard, and conflict where a rule needs an uncertainty and no standard is given.
// Source:  DKD-R 6-1 (2014) clause 8 (formulas from memory), the down series taking the zero of its cycle's up series; limits: see ReadLimit.
func Evaluate(t *Task) (Result, error) {
	var out Result
	if t.Rule != conformity.Simple && !t.HasStandard {
		return out, document.Refuse(document.CodeMissing, "standard", "this decision rule rests on the uncertainty, and the standard is not given")
	}
	list, warnings := t.cycles()
	out.Warnings = warnings
	nominal := t.points()
	zero := ""
	for _, p := range nominal {
		if p.Sign() == 0 {
			zero = key(p)
		}
	}
	out.zeroDeviation(list, zero)
	if !out.HasZero {
		out.warn("no_zero", "readings", "no rising and falling reading at zero: the zero deviation is not known and not in the uncertainty")
	}
	out.gaps(list, nominal)
	if !t.HasStandard {
		out.warn("no_standard", "standard", "no standard is given: no uncertainty is evaluated")
	}
	out.Verdict = ""
	for _, p := range nominal {
		pr, err := t.point(p, list, zero, &out)
		if err != nil {
			return Result{}, err
		}
		out.Points = append(out.Points, pr)
	}
	t.judge(&out)
	t.summary(&out, list)
	t.hysteresis(&out, list)
	return out, nil
}

// hysteresis warns where it is larger than the permissible error, which EN 837-1 (from memory) does not allow; the verdict is of the errors alone.
func (t *Task) hysteresis(out *Result, list []cycle) {
	if t.Limit.rule != "en837" {
		return
	}
	for _, p := range out.Points {
		limit, ok := t.Limit.At(p.Point, p.Point)
		at, sum, n := key(p.Point), numeric.ExactInt(0), 0
		for _, c := range list {
			if up, down := c.up[at], c.down[at]; up != nil && down != nil {
				sum = sum.Add(down.Error().Sub(up.Error()).Abs())
				n++
			}
		}
		if ok && sum.Cmp(limit.Mul(numeric.ExactInt(n))) > 0 {
			out.warn("hysteresis", "readings", "at "+at+" rising and falling readings differ by more than the permissible error; the class may not allow that, whatever the verdict of the errors")
		}
	}
}

func (r *Result) warn(code, field, message string) {
	r.Warnings = append(r.Warnings, Warning{code, field, message})
}

// points returns the distinct nominal points, rising.
func (t *Task) points() []numeric.Exact {
	var list []numeric.Exact
	for i := range t.Readings {
		p := t.Readings[i].Point
		k, known := slices.BinarySearchFunc(list, p, func(a, b numeric.Exact) int { return a.Cmp(b) })
		if !known {
			list = slices.Insert(list, k, p)
		}
	}
	return list
}

func (r *Result) zeroDeviation(list []cycle, zero string) {
	for _, c := range list {
		up, down := c.up[zero], c.down[zero]
		if zero == "" || up == nil || down == nil {
			continue
		}
		r.HasZero = true
		r.ZeroDeviation = max(r.ZeroDeviation, math.Abs(level(down)-level(up)))
	}
}

// gaps warns of a series that lacks a point others have. A falling series that does not return to zero is the commonest.
func (r *Result) gaps(list []cycle, nominal []numeric.Exact) {
	for i, c := range list {
		for _, side := range []struct {
			name     string
			readings map[string]*Reading
		}{{"rising", c.up}, {"falling", c.down}} {
			if side.readings == nil {
				continue
			}
			for _, p := range nominal {
				if side.readings[key(p)] == nil {
					r.warn("missing_point", "readings", "the "+side.name+" series of cycle "+strconv.Itoa(i+1)+" has no reading at "+key(p))
				}
			}
		}
	}
}

func (t *Task) point(p numeric.Exact, list []cycle, zero string, out *Result) (PointResult, error) {
	at := key(p)
	r := PointResult{Point: p}
	var ups, downs, spans, applied, typed []float64
	for _, c := range list {
		up, down := c.up[at], c.down[at]
		for _, one := range []struct {
			reading *Reading
			to      *[]float64
		}{{up, &ups}, {down, &downs}} {
			if one.reading == nil {
				continue
			}
			*one.to = append(*one.to, level(one.reading))
			applied = append(applied, one.reading.Applied.Float())
			typed = append(typed, one.reading.Typed)
			if one.reading.HasTap {
				r.HasFriction = true
				r.Friction = max(r.Friction, math.Abs(one.reading.BeforeTap.Sub(one.reading.Indicated).Float()))
			}
		}
		if up != nil && down != nil {
			spans = append(spans, math.Abs(level(down)-level(up)))
		}
	}
	nominal := p.Float()
	r.Applied = numeric.Mean(applied)
	r.HasUp, r.HasDown = len(ups) > 0, len(downs) > 0
	r.MeanUp, r.MeanDown = numeric.Mean(ups), numeric.Mean(downs)
	switch {
	case r.HasUp && r.HasDown:
		r.Mean = float64((r.MeanUp + r.MeanDown) / 2)
	case r.HasUp:
		r.Mean = r.MeanUp
	default:
		r.Mean = r.MeanDown
	}
	r.Error, r.ErrorUp, r.ErrorDown = r.Mean-nominal, r.MeanUp-nominal, r.MeanDown-nominal
	if len(spans) > 0 {
		r.Hysteresis, r.HasHysteresis = numeric.Mean(spans), true
	}
	r.Repeatability, r.HasRepeatability = spread(list, at, zero, false)
	r.Reproducibility, r.HasReproducibility = spread(list, at, zero, true)
	if limit, ok := t.Limit.At(p, p); ok {
		r.Limit, r.Limited = limit.Float(), true
	}
	if !t.HasStandard {
		return r, nil
	}
	u, _, err := t.Standard.Uncertainty(numeric.Mean(typed))
	if err != nil {
		return r, err
	}
	widths := float64(t.Resolution*t.Resolution) + float64(out.ZeroDeviation*out.ZeroDeviation) + float64(r.Repeatability*r.Repeatability) + float64(r.Reproducibility*r.Reproducibility)
	if r.HasUp && r.HasDown {
		widths += float64(r.Hysteresis * r.Hysteresis)
	}
	r.U = math.Sqrt(float64(u*u) + widths/12 + float64(t.Temperature*t.Temperature)/3)
	r.K, r.HasU = t.K.Float(), true
	r.Expanded = float64(r.K * r.U)
	r.ErrorSpan = r.Expanded + math.Abs(r.Error)
	if r.Limited && r.Expanded > 0 {
		r.Ratio = r.Limit / r.Expanded
	}
	return r, nil
}

// spread is the largest change, per direction, from the first cycle to the later ones: those mounted as it was, or the re-mounted ones.
func spread(list []cycle, at, zero string, remounted bool) (float64, bool) {
	most, found := 0.0, false
	if len(list) == 0 {
		return 0, false
	}
	base := func(c cycle) float64 {
		if z := c.up[zero]; zero != "" && z != nil {
			return level(z)
		}
		return 0
	}
	for _, c := range list[1:] {
		if c.remounted != remounted {
			continue
		}
		for _, pair := range [][2]*Reading{{list[0].up[at], c.up[at]}, {list[0].down[at], c.down[at]}} {
			if pair[0] == nil || pair[1] == nil {
				continue
			}
			found = true
			most = max(most, math.Abs((level(pair[1])-base(c))-(level(pair[0])-base(list[0]))))
		}
	}
	return most, found
}

// judge gives every reading its verdict, every point the worst of its readings, the gauge the worst of its points.
func (t *Task) judge(out *Result) {
	for i := range t.Readings {
		r := &t.Readings[i]
		e := r.Error()
		j := Judged{Error: e.Float()}
		k := slices.IndexFunc(out.Points, func(p PointResult) bool { return p.Point.Cmp(r.Point) == 0 })
		pr := &out.Points[k]
		limit, limited := t.Limit.At(r.Point, r.Applied)
		if limited {
			u, _ := numeric.ExactOf(pr.U)
			d := conformity.Decide(e, u, t.K, t.Factor, conformity.Limits{Low: limit.Neg(), High: limit, HasLow: true, HasHigh: true}, t.Rule, t.Least)
			j.LimitLow, j.LimitHigh, j.Limited, j.Verdict = -limit.Float(), limit.Float(), true, d.Verdict
			if pr.Verdict == "" || worse(pr.Verdict, d.Verdict) != pr.Verdict {
				pr.Verdict, pr.Reason, pr.Probability = d.Verdict, d.Reason, d.Probability
			} else if pr.Verdict == d.Verdict {
				pr.Probability = min(pr.Probability, d.Probability)
			}
			if l := limit.Float(); l > 0 {
				j.Fraction = math.Abs(j.Error) / l
				if !out.HasWorst || j.Fraction > out.WorstFraction {
					out.HasWorst, out.WorstFraction, out.WorstPoint, out.WorstUp = true, j.Fraction, r.Point.Float(), r.Up
				}
			}
		}
		out.Readings = append(out.Readings, j)
	}
	for i := range out.Points {
		p := &out.Points[i]
		if p.Verdict == "" {
			continue
		}
		if out.Verdict == "" || worse(out.Verdict, p.Verdict) != out.Verdict {
			out.Verdict, out.Reason = p.Verdict, p.Reason
		}
	}
	if out.Verdict == "" {
		out.Verdict, out.Reason = conformity.Undecided, "no reading lies where the limit holds"
	}
}

// summary fills in what is said of the gauge as a whole.
func (t *Task) summary(out *Result, list []cycle) {
	span := t.High.Sub(t.Low).Float()
	var x, y []float64
	for _, p := range out.Points {
		x, y = append(x, p.Point.Float()), append(y, p.Mean)
		for _, one := range []struct {
			has   bool
			error float64
		}{{p.HasUp, p.ErrorUp}, {p.HasDown, p.ErrorDown}} {
			if one.has {
				out.MeasuredError = max(out.MeasuredError, float64(math.Abs(one.error)/span*100))
			}
		}
		at := key(p.Point)
		for _, c := range list {
			if c.up[at] != nil && c.down[at] != nil {
				out.HysteresisMost = max(out.HysteresisMost, float64(math.Abs(level(c.down[at])-level(c.up[at]))/span*100))
			}
		}
		for _, up := range []bool{true, false} {
			low, high := math.Inf(1), math.Inf(-1)
			for _, c := range list {
				r := c.down[at]
				if up {
					r = c.up[at]
				}
				if r != nil {
					low, high = min(low, level(r)), max(high, level(r))
				}
			}
			if high >= low {
				out.RepeatableWorst = max(out.RepeatableWorst, float64((high-low)/span*100))
			}
		}
	}
	for i, j := range out.Readings {
		e := float64(j.Error / span * 100)
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
	for _, l := range t.Limit.better() {
		if t.within(&l) {
			out.ClassMet = l.class
			break
		}
	}
}

// within says whether every reading lies inside another limit, by simple acceptance.
func (t *Task) within(l *Limit) bool {
	judged := false
	for i := range t.Readings {
		r := &t.Readings[i]
		limit, ok := l.At(r.Point, r.Applied)
		if !ok {
			continue
		}
		judged = true
		if r.Error().Abs().Cmp(limit) > 0 {
			return false
		}
	}
	return judged
}
