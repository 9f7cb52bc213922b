package uncertainty

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Shape is the distribution that a term is thought to have.
type Shape string

// The shapes.
const (
	Normal      Shape = "normal"
	Rectangular Shape = "rectangular"
	Triangular  Shape = "triangular"
	Arcsine     Shape = "arcsine"
)

// FromHalfWidth returns the standard uncertainty of a distribution that ends at ± half.
//
//	rectangular half/√3;  triangular half/√6;  arcsine half/√2
//
// Takes:   half ≥ 0 and one of the three shapes that end.
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
	DOF         float64 // +Inf where it is taken as well known
	Shape       Shape
}

// Correlation says how two terms move together.
type Correlation struct {
	A, B int // indexes of the terms
	R    float64
}

// Budget is a combined uncertainty.
type Budget struct {
	U             float64
	DOF           float64 // effective; +Inf where no term has a finite one that counts
	Used          float64 // the whole number taken for the quantile, or +Inf
	K, Expanded   float64
	Contributions []float64 // sensitivity times u, without sign
	Shares        []float64 // of u²; with correlations a share may be negative, and they still add to 1
}

// TwoSigma is the probability within two standard deviations of a normal distribution, the coverage
// where none is asked for.
const TwoSigma = 0.9544997361036416

// Combine combines terms by the law of propagation.
//
//	u² = Σ c_i² u_i² + 2 Σ_{i<j} r_ij c_i c_j u_i u_j;  ν_eff = u⁴ / Σ (c_i u_i)⁴/ν_i, truncated to a whole number;  U = t_{(1+p)/2}(ν) · u
//
// Takes:   at least one term; correlations, each pair once; coverage p between 0 and 1, or 0 for
// that of k = 2.
// Gives:   the budget. With unlimited degrees of freedom and no coverage asked for, k is 2 exactly.
// Refuses: Fault range for a correlation outside −1 … 1 or a set of them that no variables can
// have; conflict for a pair named twice; undecidable where fewer than one degree of freedom is
// left.
// Source:  GUM (JCGM 100:2008) 5.2.2, G.4.1, G.4.2 (the truncation: G.4.1).
func Combine(terms []Term, correlations []Correlation, coverage float64) (Budget, error) {
	var f Factors
	return f.Combine(terms, correlations, coverage)
}

// Factors keeps the coverage factors that it has found, for budgets that share their degrees of
// freedom.
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
	o.coverage, o.dof, o.k = coverage, dof, factor(coverage, dof)
	return o.k
}

// Without returns u, k, degrees of freedom and U of a budget of uncorrelated terms with one of
// them, well known, taken out.
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

// Combine is Combine, with the factors known so far.
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
	calculation := make([]float64, 5*n)
	b := Budget{
		Contributions: calculation[:n:n], Shares: calculation[n : 2*n : 2*n], DOF: math.Inf(1), Used: math.Inf(1),
	}
	signed := calculation[2*n : 3*n]
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
	// everything is counted in units of the largest contribution, so that no square overflows or
	// vanishes
	parts, row := calculation[3*n:4*n], calculation[4*n:]
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

// whole truncates degrees of freedom; a number that only the rounding of the sums keeps below a
// whole one is that one.
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

// matrix returns the full correlation matrix, after checking that there are variables with it.
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
			return nil, document.Refuse(document.CodeConflict, field, "this pair stands twice")
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

// flat is how far below zero a pivot may fall by rounding alone; full correlation makes pivots of
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
			case math.Abs(rest) > 1e-6: // a direction without width cannot move with another
				return nil, false
			}
		}
	}
	return l, true
}
