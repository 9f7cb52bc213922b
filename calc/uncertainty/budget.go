package uncertainty

import (
	"math"
	"strconv"
	"sync/atomic"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Shape is the assumed distribution of a term.
type Shape string

// The shapes.
const (
	Normal      Shape = "normal"
	Rectangular Shape = "rectangular"
	Triangular  Shape = "triangular"
	Arcsine     Shape = "arcsine"
)

// FromHalfWidth returns the standard uncertainty of a bounded distribution from −half to +half.
//
//	rectangular half/√3;  triangular half/√6;  arcsine half/√2
//
// Takes:   half ≥ 0 and one of the three bounded shapes.
// Gives:   the standard uncertainty; ok is false for a normal distribution, which has no
// half-width.
// Source:  GUM (JCGM 100:2008) 4.3.7, 4.3.9; JCGM 101:2008 6.4.6 for the arcsine.
func FromHalfWidth(half float64, shape Shape) (u float64, ok bool) {
	switch shape {
	case Rectangular:
		return half / math.Sqrt(3), true
	case Triangular:
		return half / math.Sqrt(6), true
	case Arcsine:
		return half / math.Sqrt(2), true
	}
	return 0, false
}

// Term is one line of a budget.
type Term struct {
	Name        string
	U           float64 // standard uncertainty
	Sensitivity float64
	DOF         float64 // +Inf if not limited
	Shape       Shape
}

// Correlation is the correlation of two terms.
type Correlation struct {
	A, B int // indexes of the terms
	R    float64
}

// Budget is a combined uncertainty.
type Budget struct {
	U             float64
	DOF           float64 // effective; +Inf if no contributing term has a finite one
	Used          float64 // the whole number used for the quantile, or +Inf
	K, Expanded   float64
	Contributions []float64 // sensitivity times u, without sign
	Shares        []float64 // of u²; with correlations a share may be negative, and they still add to 1
}

// TwoSigma is the probability within two standard deviations of a normal distribution: the default
// coverage.
const TwoSigma = 0.9544997361036416

// Combine combines terms by the law of propagation.
//
//	u² = Σ c_i² u_i² + 2 Σ_{i<j} r_ij c_i c_j u_i u_j;  ν_eff = u⁴ / Σ (c_i u_i)⁴/ν_i, truncated to a whole number;  U = t_{(1+p)/2}(ν) · u
//
// Takes:   at least one term; correlations, each pair once; coverage p between 0 and 1, or 0 for
// the one of k = 2.
// Gives:   the budget. With unlimited degrees of freedom and the default coverage, k is exactly 2.
// Refuses: Fault range for a correlation outside −1 … 1 or a set of them that no variables can
// have; conflict for a pair named twice; undecidable if fewer than one degree of freedom is left.
// Source:  GUM (JCGM 100:2008) 5.2.2, G.4.1, G.4.2 (the truncation: G.4.1).
func Combine(terms []Term, correlations []Correlation, coverage float64) (Budget, error) {
	var f Factors
	return f.Combine(terms, correlations, coverage)
}

// Factors caches coverage factors for budgets with the same degrees of freedom.
type Factors struct {
	known [4]struct{ coverage, dof, k float64 }
	next  int
}

func (f *Factors) of(coverage, dof float64) float64 {
	for i := range f.known {
		if o := &f.known[i]; o.k > 0 && o.coverage == coverage && o.dof == dof {
			return o.k
		}
	}
	o := &f.known[f.next]
	f.next = (f.next + 1) % len(f.known)
	o.coverage, o.dof, o.k = coverage, dof, usual(coverage, dof)
	return o.k
}

// found caches the factors of the default coverage: for each whole number of degrees of freedom the
// bits of its factor, 0 before it is computed. The gauges of a plant need the same few, and a
// quantile takes as long as writing twenty numbers.
var found [1024]atomic.Uint64

// usual returns factor, from the cache if it was computed before.
func usual(coverage, dof float64) float64 {
	if coverage != 0 || !(dof < float64(len(found))) || dof != math.Floor(dof) {
		return factor(coverage, dof)
	}
	kept := &found[int(dof)]
	if bits := kept.Load(); bits != 0 {
		return math.Float64frombits(bits)
	}
	k := factor(coverage, dof)
	kept.Store(math.Float64bits(k))
	return k
}

// Without returns u, k, degrees of freedom and U of a budget of uncorrelated terms without one of
// them, whose own degrees of freedom must be unlimited.
func (f *Factors) Without(b *Budget, out int, coverage float64) (Budget, error) {
	less := Budget{DOF: math.Inf(1), Used: math.Inf(1)}
	square := 0.0
	for i, c := range b.Contributions {
		if i != out {
			square += float64(c * c)
		}
	}
	less.U = math.Sqrt(square)
	if !math.IsInf(b.DOF, 1) && square > 0 {
		share := square / float64(b.U*b.U)
		less.DOF = float64(b.DOF * float64(share*share))
		if less.Used = whole(less.DOF); less.Used < 1 {
			return Budget{}, document.Refuse(document.CodeUndecidable, "terms", fewFreedoms)
		}
	}
	less.K = f.of(coverage, less.Used)
	less.Expanded = float64(less.K * less.U)
	return less, nil
}

// Combine is the function Combine with the cached factors.
func (f *Factors) Combine(terms []Term, correlations []Correlation, coverage float64) (Budget, error) {
	n := len(terms)
	if n == 0 {
		return Budget{}, document.Refuse(document.CodeMissing, "terms", "a budget needs at least one term")
	}
	var r [][]float64
	if len(correlations) > 0 {
		var err error
		if r, err = matrix(n, correlations); err != nil {
			return Budget{}, err
		}
	}
	floats := make([]float64, 5*n)
	b := Budget{
		Contributions: floats[:n:n], Shares: floats[n : 2*n : 2*n], DOF: math.Inf(1), Used: math.Inf(1),
	}
	signed := floats[2*n : 3*n]
	largest := 0.0
	for i, t := range terms {
		signed[i] = float64(t.Sensitivity * t.U)
		b.Contributions[i] = math.Abs(signed[i])
		largest = max(largest, b.Contributions[i])
	}
	if largest == 0 {
		b.K = f.of(coverage, math.Inf(1))
		return b, nil
	}
	// everything is in units of the largest contribution, so that no square overflows or underflows
	parts, row := floats[3*n:4*n], floats[4*n:]
	for i := range signed {
		if len(correlations) == 0 {
			parts[i] = float64((signed[i] / largest) * (signed[i] / largest))
			continue
		}
		for j := range signed {
			row[j] = float64(r[i][j] * (signed[j] / largest))
		}
		parts[i] = float64((signed[i] / largest) * numeric.Sum(row))
	}
	square := max(0, numeric.Sum(parts))
	b.U = float64(largest * math.Sqrt(square))
	if square > 0 {
		for i := range parts {
			b.Shares[i] = parts[i] / square
		}
	}
	if err := b.freedom(terms, largest, square); err != nil {
		return Budget{}, err
	}
	b.K = f.of(coverage, b.Used)
	b.Expanded = float64(b.K * b.U)
	return b, nil
}

// freedom finds the effective degrees of freedom by Welch and Satterthwaite, from unrounded
// uncertainties.
func (b *Budget) freedom(terms []Term, largest, square float64) error {
	var parts []float64
	for i, t := range terms {
		if c := b.Contributions[i] / largest; c > 0 && !math.IsInf(t.DOF, 1) {
			c2 := float64(c * c)
			parts = append(parts, float64(c2*c2)/t.DOF)
		}
	}
	sum := numeric.Sum(parts)
	if !(sum > 0) || square == 0 {
		return nil
	}
	b.DOF = float64(square*square) / sum
	b.Used = whole(b.DOF)
	if b.Used < 1 {
		return document.Refuse(document.CodeUndecidable, "terms", fewFreedoms)
	}
	return nil
}

const fewFreedoms = "fewer than one effective degree of freedom is left: no coverage factor can be said"

// whole truncates degrees of freedom to a whole number. A number just below a whole one because of
// rounding counts as that one.
func whole(dof float64) float64 {
	if nearest := math.Round(dof); math.Abs(dof-nearest) <= float64(1e-12*nearest) {
		return nearest
	}
	return math.Floor(dof)
}

func factor(coverage, dof float64) float64 {
	if coverage == 0 {
		if math.IsInf(dof, 1) {
			return 2
		}
		coverage = TwoSigma
	}
	return numeric.StudentTQuantile(float64((1+coverage)/2), dof)
}

// matrix returns the full correlation matrix, after checking that variables with it can exist.
func matrix(n int, correlations []Correlation) ([][]float64, error) {
	r := make([][]float64, n)
	for i := range r {
		r[i] = make([]float64, n)
		r[i][i] = 1
	}
	named := make([]bool, n*n)
	for i, c := range correlations {
		field := "correlations[" + strconv.Itoa(i) + "]"
		switch {
		case c.A < 0 || c.A >= n || c.B < 0 || c.B >= n:
			return nil, document.Refuse(document.CodeRange, field, "names a term that is not there")
		case c.A == c.B:
			return nil, document.Refuse(
				document.CodeConflict, field, "a term is wholly correlated with itself; name two",
			)
		case named[c.A*n+c.B]:
			return nil, document.Refuse(document.CodeConflict, field, "this pair is given twice")
		case !(c.R >= -1 && c.R <= 1):
			return nil, document.Refuse(document.CodeRange, field+".r", "must be from -1 to 1")
		}
		named[c.A*n+c.B], named[c.B*n+c.A] = true, true
		r[c.A][c.B], r[c.B][c.A] = c.R, c.R
	}
	if len(correlations) > 0 {
		if _, ok := root(r); !ok {
			return nil, document.Refuse(
				document.CodeRange, "correlations",
				"no quantities can be correlated like this: the matrix has a negative direction",
			)
		}
	}
	return r, nil
}

// flat is how far below zero a pivot may fall by rounding alone. Full correlation gives pivots of
// zero.
const flat = 1e-12

// root returns the lower triangle L with L·Lᵀ = r; ok is false if r is not positive semidefinite.
func root(r [][]float64) (l [][]float64, ok bool) {
	n := len(r)
	l = make([][]float64, n)
	products := make([]float64, 0, n+1)
	for i := range n {
		l[i] = make([]float64, n)
		for j := 0; j <= i; j++ {
			products = append(products[:0], r[i][j])
			for k := range j {
				products = append(products, -float64(l[i][k]*l[j][k]))
			}
			rest := numeric.Sum(products)
			switch {
			case i == j && rest < -flat:
				return nil, false
			case i == j:
				if rest > flat {
					l[i][i] = math.Sqrt(rest)
				}
			case l[j][j] > 0:
				l[i][j] = rest / l[j][j]
			case math.Abs(rest) > 1e-6: // a direction without variance cannot correlate with another
				return nil, false
			}
		}
	}
	return l, true
}
