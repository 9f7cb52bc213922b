package uncertainty

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// MostTrials is the largest number of trials: what JCGM 101 (7.2.2) names as a start, and a few
// seconds on a phone.
const MostTrials = 1000000

// Spread is the result of the trials of a budget, about zero.
type Spread struct {
	Mean, SD                  float64
	Low, High                 float64 // the same probability is left out on either side
	ShortestLow, ShortestHigh float64
	Count                     int
}

// Trials draws every term by its shape and adds them up, count times.
//
// A normal term with finite degrees of freedom is drawn from the scaled t distribution; correlated
// terms must be normal, with unlimited degrees of freedom.
//
// Takes:   terms, correlations as for Combine; coverage between 0 and 1, or 0 for that of k = 2;
// count from 100 to MostTrials.
// Gives:   the same numbers for the same seed, on every machine.
// Refuses: Fault conflict for a correlated term that is not normal or has finite degrees of
// freedom; those of Combine.
// Source:  JCGM 101:2008 6.4, 7.5, 7.7.
func Trials(terms []Term, correlations []Correlation, coverage float64, count int, seed uint64) (Spread, error) {
	d, err := newDrawer(terms, correlations, seed)
	if err != nil {
		return Spread{}, err
	}
	values := make([]float64, count)
	one := make([]float64, len(terms))
	for n := range values {
		d.next(one)
		var sum float64
		for i, t := range terms {
			sum += float64(t.Sensitivity * float64(t.U*one[i]))
		}
		values[n] = sum
	}
	if coverage == 0 {
		coverage = TwoSigma
	}
	return spreadOf(values, coverage), nil
}

// drawer draws all terms at once, correlated ones with their correlation.
type drawer struct {
	source
	terms   []Term
	tied    []bool
	root    [][]float64
	normals []float64
}

func newDrawer(terms []Term, correlations []Correlation, seed uint64) (*drawer, error) {
	r, err := matrix(len(terms), correlations)
	if err != nil {
		return nil, err
	}
	tied := make([]bool, len(terms))
	for _, c := range correlations {
		for _, i := range []int{c.A, c.B} {
			if terms[i].Shape != Normal || !math.IsInf(terms[i].DOF, 1) {
				return nil, document.Refuse(
					document.CodeConflict, "trials",
					"trials of correlated terms need normal ones without degrees of freedom: "+terms[i].Name,
				)
			}
			tied[i] = true
		}
	}
	l, _ := root(r)
	return &drawer{source{draws: document.Draws(seed)}, terms, tied, l, make([]float64, len(terms))}, nil
}

// next draws a value for each term, about zero and in its standard uncertainties.
func (d *drawer) next(one []float64) {
	for i := range d.terms {
		if d.tied[i] {
			d.normals[i] = d.normal()
		}
	}
	for i, t := range d.terms {
		if !d.tied[i] {
			one[i] = d.draw(t)
			continue
		}
		var x float64
		for j := 0; j <= i; j++ {
			if d.tied[j] {
				x += float64(d.root[i][j] * d.normals[j])
			}
		}
		one[i] = x
	}
}

// spreadOf sorts values and returns their spread.
func spreadOf(values []float64, coverage float64) Spread {
	count := len(values)
	s := Spread{Mean: numeric.Mean(values), SD: numeric.StdDev(values), Count: count}
	numeric.Sort(values)
	inside := min(count-1, int(math.Floor(float64(coverage*float64(count))+0.5)))
	first := (count - inside) / 2
	s.Low, s.High = values[first], values[first+inside]
	s.ShortestLow, s.ShortestHigh = s.Low, s.High
	for i := 0; i+inside < count; i++ {
		if values[i+inside]-values[i] < s.ShortestHigh-s.ShortestLow {
			s.ShortestLow, s.ShortestHigh = values[i], values[i+inside]
		}
	}
	return s
}

// source turns seeded bits into draws with mean 0; those of a known shape have standard deviation
// 1.
type source struct {
	draws document.Draws
	spare float64
	has   bool
}

// uniform returns a number in (0, 1), never an end.
func (s *source) uniform() float64 {
	return float64((float64(s.draws.Next()>>11) + 0.5) / (1 << 53))
}

// normal draws by Marsaglia's polar method.
func (s *source) normal() float64 {
	if s.has {
		s.has = false
		return s.spare
	}
	for {
		a, b := float64(2*s.uniform())-1, float64(2*s.uniform())-1
		q := float64(a*a) + float64(b*b)
		if q >= 1 || q == 0 {
			continue
		}
		f := math.Sqrt(float64(-2*numeric.Log(q)) / q)
		s.spare, s.has = float64(b*f), true
		return float64(a * f)
	}
}

func (s *source) draw(t Term) float64 {
	switch t.Shape {
	case Rectangular:
		return float64(math.Sqrt(3) * (float64(2*s.uniform()) - 1))
	case Triangular:
		return float64(math.Sqrt(6) * (s.uniform() - s.uniform()))
	case Arcsine:
		return float64(math.Sqrt2 * numeric.Cos(float64(math.Pi*s.uniform())))
	case Normal:
	}
	z := s.normal()
	if math.IsInf(t.DOF, 1) {
		return z
	}
	return z / math.Sqrt(float64(2*s.gamma(float64(t.DOF/2)))/t.DOF)
}

// gamma draws from the gamma distribution of scale 1, by squeezing a normal variable (Marsaglia and
// Tsang, ACM TOMS 26 (2000) 363, from memory).
func (s *source) gamma(a float64) float64 {
	if a < 1 {
		return float64(s.gamma(a+1) * numeric.Pow(s.uniform(), 1/a))
	}
	d := a - 1.0/3
	c := 1 / math.Sqrt(float64(9*d))
	for {
		x := s.normal()
		v := 1 + float64(c*x)
		if v <= 0 {
			continue
		}
		v = float64(v * float64(v*v))
		if numeric.Log(s.uniform()) < float64(0.5*float64(x*x))+d-float64(d*v)+float64(d*numeric.Log(v)) {
			return float64(d * v)
		}
	}
}
