package burst

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Lot is what a sample of burst discs says about their lot.
type Lot struct {
	N                      int
	Mean, SD, Min, Max     float64
	Outside                []int // indices of the discs outside the tolerance
	TwoSided95, TwoSided99 [2]float64
	Lower95, Lower99       float64
	MeanLow, MeanHigh      float64
	RangeLow, RangeHigh    float64
	HasRange, MeanInRange  bool
}

// Confidence is that of every statement about a lot.
const Confidence = 0.95

// Statement computes the lot's statistics and tolerance intervals at 95 % confidence for 95 % and
// 99 % of the discs.
//
// Takes:   two or more burst pressures; marked pressure and its tolerance in the same unit.
// Gives:   mean, s (n − 1), mean ± k2 s, mean − k1 s, the 95 % interval of the mean. The discs are
// taken as a random sample of a normal population.
// Source:  tolerance factors of OneSided and TwoSided; t interval of a mean.
func Statement(values []float64, marked, tolerance float64) Lot {
	l := Lot{N: len(values), Mean: numeric.Mean(values), SD: numeric.StdDev(values), Min: values[0], Max: values[0]}
	for i, v := range values {
		l.Min, l.Max = min(l.Min, v), max(l.Max, v)
		if Beyond(v-marked, tolerance, marked) {
			l.Outside = append(l.Outside, i)
		}
	}
	wide := func(k float64) [2]float64 { return [2]float64{l.Mean - float64(k*l.SD), l.Mean + float64(k*l.SD)} }
	l.TwoSided95 = wide(TwoSided(l.N, Confidence, 0.95))
	l.TwoSided99 = wide(TwoSided(l.N, Confidence, 0.99))
	l.Lower95 = l.Mean - float64(OneSided(l.N, Confidence, 0.95)*l.SD)
	l.Lower99 = l.Mean - float64(OneSided(l.N, Confidence, 0.99)*l.SD)
	half := float64(numeric.StudentTQuantile(0.975, float64(l.N-1)) * l.SD / math.Sqrt(float64(l.N)))
	l.MeanLow, l.MeanHigh = l.Mean-half, l.Mean+half
	return l
}

// Within compares the mean with the manufacturing range about the requested pressure, in per cent
// of that pressure.
func (l *Lot) Within(requested, low, high float64) {
	l.RangeLow, l.RangeHigh = float64(requested*(1+low/100)), float64(requested*(1+high/100))
	l.HasRange = true
	l.MeanInRange = !(l.Mean < l.RangeLow-float64(1e-12*math.Abs(l.RangeLow))) && !(l.Mean > l.RangeHigh+float64(1e-12*math.Abs(l.RangeHigh)))
}

// Small reports whether the discs are too few, or scatter too much, to claim with 95 % confidence
// that 95 % of the lot lies within tolerance.
func (l *Lot) Small(marked, tolerance float64) bool {
	return l.TwoSided95[0] < marked-tolerance || l.TwoSided95[1] > marked+tolerance
}

// Write writes the lot's figures as fields of the open object.
func (l *Lot) Write(out *document.Writer, tolerance float64) {
	out.Whole("n", l.N)
	out.Number("mean", l.Mean)
	out.Number("sd", l.SD)
	out.Number("min", l.Min)
	out.Number("max", l.Max)
	out.Number("range", l.Max-l.Min)
	if l.Mean != 0 {
		out.Number("cv_percent", 100*l.SD/l.Mean)
	}
	out.Number("tolerance", tolerance)
	out.BeginList("outside")
	for _, i := range l.Outside {
		out.NumberItem(float64(i))
	}
	out.EndList()
	pair(out, "interval_95_95", l.TwoSided95[0], l.TwoSided95[1])
	pair(out, "interval_95_99", l.TwoSided99[0], l.TwoSided99[1])
	out.Number("lower_95_95", l.Lower95)
	out.Number("lower_95_99", l.Lower99)
	out.Number("mean_low", l.MeanLow)
	out.Number("mean_high", l.MeanHigh)
	if l.HasRange {
		pair(out, "manufacturing_range", l.RangeLow, l.RangeHigh)
		out.Flag("mean_in_range", l.MeanInRange)
	}
}

// Beyond reports whether a deviation is larger than the tolerance by more than the rounding of
// numbers as large as scale (12 digits).
func Beyond(deviation, tolerance, scale float64) bool {
	return math.Abs(deviation)-tolerance > float64(1e-12*math.Abs(scale))
}

// Tolerance returns the burst tolerance for a marked pressure: 2 psi up to 40 psi, 5 % above.
//
// Takes:   the marked pressure and how many pascals its unit has.
// Gives:   the tolerance in the same unit.
// Source:  ASME UG-127(a)(1), now in Section XIII, as in the Valve Selection Handbook, p. 222.
func Tolerance(marked, pascals float64) float64 {
	const psi = 8896443230521.0 / 1290320000 // Pa, exact by definition
	if marked*pascals <= 40*psi*(1+1e-12) {
		return 2 * psi / pascals
	}
	return float64(0.05 * marked)
}
