package uncertainty

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/formula"
	"gaugewright/calc/numeric"
)

// Model is a user's measurement model: a formula of quantities, each with a value and a term.
type Model struct {
	Formula      *formula.Formula
	Values       []float64
	Terms        []Term // Propagate fills in the sensitivities
	Correlations []Correlation
	stack        []float64
}

func (m *Model) at(values []float64) float64 { return m.Formula.Value(values, m.stack) }

// Propagate returns the value of a model and its budget, with the sensitivities from its formula.
//
//	c_i = (f(x_i + u_i) − f(x_i − u_i))/(2 u_i)
//
// Gives:   the value and the budget; the sensitivities are in the terms.
// Refuses: Fault undecidable if the formula has no finite value there; those of Combine.
// Source:  GUM (JCGM 100:2008) 5.1.3, note 2.
func (m *Model) Propagate(coverage float64) (y float64, b Budget, err error) {
	m.stack = make([]float64, m.Formula.Depth())
	x := append([]float64(nil), m.Values...)
	y = m.at(x)
	bad := math.IsNaN(y) || math.IsInf(y, 0)
	for i := range m.Terms {
		t := &m.Terms[i]
		if t.Sensitivity = 0; t.U == 0 {
			continue
		}
		x[i] = m.Values[i] + t.U
		up := m.at(x)
		x[i] = m.Values[i] - t.U
		t.Sensitivity = (up - m.at(x)) / float64(2*t.U)
		x[i] = m.Values[i]
		bad = bad || math.IsNaN(t.Sensitivity) || math.IsInf(t.Sensitivity, 0)
	}
	if bad {
		return y, b, document.Refuse(
			document.CodeUndecidable, "formula",
			"the formula has no finite value at the quantities, or a standard uncertainty beside them",
		)
	}
	b, err = Combine(m.Terms, m.Correlations, coverage)
	return y, b, err
}

// Adaptive is the result of the trials of a model.
type Adaptive struct {
	Spread
	Stable    bool    // the results are stable to half a unit of the last requested digit
	Tolerance float64 // that half unit
}

const (
	batch       = 10000 // trials between two checks of stability
	mostBatches = 100
)

// Adapt draws the quantities of a model and evaluates its formula, in batches until mean, standard
// deviation and the ends of the interval are stable.
//
//	after h ≥ 2 batches: 2 s/√h of each of the four, s their standard deviation over the batches, not above δ = 10^l/2, the half unit of the last of
//	digits significant digits of the standard deviation
//
// Takes:   coverage between 0 and 1; significant digits 1 or 2; a seed.
// Gives:   the same numbers for the same seed, on every machine; Stable is false if a million
// trials are not enough.
// Refuses: Fault undecidable if the formula has no finite value for a trial; conflict as Trials.
// Source:  JCGM 101:2008 7.9.
func (m *Model) Adapt(coverage float64, digits int, seed uint64) (Adaptive, error) {
	var a Adaptive
	d, err := newDrawer(m.Terms, m.Correlations, seed)
	if err != nil {
		return a, err
	}
	m.stack = make([]float64, m.Formula.Depth())
	one, x := make([]float64, len(m.Terms)), make([]float64, len(m.Terms))
	all := make([]float64, 0, 2*batch)
	var of [4][]float64
	for h := 1; h <= mostBatches; h++ {
		values := make([]float64, batch)
		for n := range values {
			d.next(one)
			for i := range x {
				x[i] = m.Values[i] + float64(m.Terms[i].U*one[i])
			}
			values[n] = m.at(x)
			if y := values[n]; math.IsNaN(y) || math.IsInf(y, 0) {
				return a, document.Refuse(document.CodeUndecidable, "formula", "the formula has no finite value for trial "+strconv.Itoa((h-1)*batch+n+1)+": a quantity reaches where it has none")
			}
		}
		all = append(all, values...)
		s := spreadOf(values, coverage)
		for i, v := range [...]float64{s.Mean, s.SD, s.Low, s.High} {
			of[i] = append(of[i], v)
		}
		if h < 2 {
			continue
		}
		a.Tolerance, a.Stable = halfUnit(numeric.StdDev(all), digits), true
		for _, list := range of {
			a.Stable = a.Stable && 2*numeric.StdDev(list)/math.Sqrt(float64(h)) <= a.Tolerance
		}
		if a.Stable {
			break
		}
	}
	a.Spread = spreadOf(all, coverage)
	return a, nil
}

// halfUnit returns half a unit of the last of digits significant digits of x.
//
// Source:  JCGM 101:2008 7.9.2.
func halfUnit(x float64, digits int) float64 {
	if !(x > 0) {
		return 0
	}
	l := 0
	for rounded := numeric.RoundSignificant(x, digits); rounded < 1; l-- {
		rounded = float64(rounded * 10)
	}
	for rounded := numeric.RoundSignificant(x, digits); rounded >= 10; l++ {
		rounded /= 10
	}
	half, _ := document.Float("5e" + strconv.Itoa(l-digits))
	return half
}

// calculateModel is the calculation model: {formula, quantities, correlations?, coverage?, trials?:
// {seed, digits?}} → the value with its budget, and trials.
func calculateModel(in *document.Reader, out *document.Writer) error {
	text := in.Text("formula")
	list := in.List("quantities")
	if in.Err() == nil && (len(list) == 0 || len(list) > 50) {
		in.Fail(document.CodeShape, "quantities", "from 1 to 50 quantities are needed")
	}
	var m Model
	var names []string
	for i, one := range list {
		m.Values = append(m.Values, one.Number("value"))
		t := readTerm(one)
		if in.Err() == nil && one.Has("sensitivity") {
			one.Fail(document.CodeConflict, "sensitivity", "follows from the formula; leave it out")
		}
		for j := range i {
			if in.Err() == nil && names[j] == t.Name {
				one.Fail(document.CodeConflict, "name", document.Quote(t.Name)+" is given twice")
			}
		}
		m.Terms, names = append(m.Terms, t), append(names, t.Name)
	}
	m.Correlations = readCorrelations(in, m.Terms)
	coverage, asked := in.Optional("coverage")
	if in.Err() == nil && asked && !(coverage > 0 && coverage < 1) {
		in.Fail(document.CodeRange, "coverage", "must be between 0 and 1")
	}
	trials, wanted := in.OptionalObject("trials")
	seed, digits := 0, 2
	if wanted {
		seed, digits = trials.Whole("seed", 0, math.MaxInt32), trials.WholeOr("digits", 1, 2, 2)
	}
	if err := in.Err(); err != nil {
		return err
	}
	f, used, err := formula.Parse(text, names)
	if err != nil {
		return err
	}
	m.Formula = f
	y, b, err := m.Propagate(coverage)
	if err != nil {
		return err
	}
	out.Number("value", y)
	b.put(out)
	out.BeginList("terms")
	for i, t := range m.Terms {
		out.Begin()
		out.Text("name", t.Name)
		out.Number("value", m.Values[i])
		out.Number("u", t.U)
		out.Number("sensitivity", t.Sensitivity)
		out.Number("contribution", b.Contributions[i])
		out.Number("share", b.Shares[i])
		out.End()
	}
	out.EndList()
	var a Adaptive
	if wanted {
		if !asked {
			coverage = TwoSigma
		}
		if a, err = m.Adapt(coverage, digits, uint64(seed)); err != nil {
			return err
		}
		writeTrials(out, &a, y, b.Expanded)
	}
	out.BeginList("warnings")
	for i := range used {
		if !used[i] {
			out.Warn("unused", "quantities["+strconv.Itoa(i)+"]", document.Quote(names[i])+" is not in the formula")
		}
	}
	if wanted && !a.Stable {
		out.Warn("not_stable", "trials", "a million trials do not make the last digit stable: ask for fewer digits")
	}
	out.EndList()
	return nil
}

// writeTrials writes the result of the trials, and whether the law of propagation agrees with it:
// both ends of y ± U must agree to half a unit of the last digit shown.
//
// Source:  JCGM 101:2008 8.1.3.
func writeTrials(out *document.Writer, a *Adaptive, y, expanded float64) {
	out.BeginObject("trials")
	out.Whole("count", a.Count)
	out.Flag("stable", a.Stable)
	out.Number("mean", a.Mean)
	out.Number("sd", a.SD)
	out.Number("low", a.Low)
	out.Number("high", a.High)
	out.Number("shortest_low", a.ShortestLow)
	out.Number("shortest_high", a.ShortestHigh)
	out.Number("tolerance", a.Tolerance)
	out.Flag("agrees", math.Abs(y-expanded-a.Low) <= a.Tolerance && math.Abs(y+expanded-a.High) <= a.Tolerance)
	out.End()
}
