package burst

import (
	"math"

	"gaugewright/calc/numeric"
)

// OneSided returns the factor k1 such that mean − k1·s is, with a stated confidence, below a
// stated share of a normal population.
//
//	P(T'_{n−1}(δ) ≤ k1 √n) = confidence,  δ = z_coverage √n   (T' the noncentral t distribution)
//	P = ∫ P(χ²_{n−1} ≥ (n − 1)((z_coverage + x/√n)/k1)²) φ(x) dx, the inner probability being 1 where z_coverage + x/√n < 0
//
// Takes:   n ≥ 2; confidence and coverage between 0 and 1.
// Gives:   k1, to about 1e-8.
// Source:  definition of the tolerance limit by the noncentral t distribution; NIST/SEMATECH
// e-Handbook 7.2.6.3.
func OneSided(n int, confidence, coverage float64) float64 {
	const panels, far = 800, 8.5
	nu, root, z := float64(n-1), math.Sqrt(float64(n)), numeric.NormalQuantile(coverage)
	from := max(-far, -float64(z*root))
	below := 0.0
	if from > -far {
		below = numeric.NormalCDF(from)
	}
	h := (far - from) / panels
	nodes := make([]node, panels+1)
	for i := range nodes {
		x := from + float64(float64(i)*h)
		nodes[i] = node{z + x/root, numeric.NormalPDF(x) * simpson(i, panels) * h / 3}
	}
	return increasing(confidence, func(k float64) float64 {
		sum := below
		for _, x := range nodes {
			r := x.s / k
			sum += float64(x.w * (1 - numeric.ChiSquareCDF(float64(nu*r*r), nu)))
		}
		return sum
	})
}

type node struct{ s, w float64 }

func simpson(i, panels int) float64 {
	switch {
	case i == 0 || i == panels:
		return 1
	case i%2 == 1:
		return 4
	}
	return 2
}

// TwoSided returns the factor k2 such that mean ± k2·s contains, with a stated confidence, a stated
// share of a normal population.
//
//	2 ∫₀^∞ [1 − Fχ²(ν χ²_{1,coverage}(z²/n)/k2²; ν)] φ(z) dz = confidence   (χ²₁ noncentral)
//
// Takes:   n ≥ 2; confidence and coverage between 0 and 1.
// Gives:   k2, to about 1e-8.
// Source:  the exact integral behind the tables of tolerance factors, as in Statistics for
// Environmental Engineers, table 21.1.
func TwoSided(n int, confidence, coverage float64) float64 {
	const panels, far = 400, 8.5
	nu := float64(n - 1)
	h := far / float64(panels)
	nodes := make([]node, panels+1)
	for i := range nodes {
		z := float64(float64(i) * h)
		nodes[i] = node{
			halfWidth(z/math.Sqrt(float64(n)), coverage), 2 * numeric.NormalPDF(z) * simpson(i, panels) * h / 3,
		}
	}
	return increasing(confidence, func(k float64) float64 {
		sum := 0.0
		for _, x := range nodes {
			r := x.s / k
			sum += float64(x.w * (1 - numeric.ChiSquareCDF(float64(nu*r*r), nu)))
		}
		return sum
	})
}

// halfWidth returns r with Φ(c + r) − Φ(c − r) = coverage, by Newton's method.
func halfWidth(c, coverage float64) float64 {
	r := numeric.NormalQuantile(float64((1+coverage)/2)) + c
	for range 50 {
		f := numeric.NormalCDF(c+r) - numeric.NormalCDF(c-r) - coverage
		step := f / (numeric.NormalPDF(c+r) + numeric.NormalPDF(c-r))
		r -= step
		if math.Abs(step) < 1e-13 {
			break
		}
	}
	return r
}

// Howe returns the approximation of k2, √(ν(1 + 1/n)/χ²_{1−confidence,ν})·z_{(1+coverage)/2}.
//
// Source: NIST/SEMATECH e-Handbook 7.2.6.3.
func Howe(n int, confidence, coverage float64) float64 {
	nu := float64(n - 1)
	return float64(numeric.NormalQuantile(float64((1+coverage)/2)) * math.Sqrt(
		nu*(1+1/float64(n))/numeric.ChiSquareQuantile(1-confidence, nu),
	))
}

// increasing solves f(k) = target for a rising f by bracketing and the Illinois rule.
func increasing(target float64, f func(float64) float64) float64 {
	low, high := 1e-3, 2.0
	fl, fh := f(low)-target, f(high)-target
	for fh < 0 && high < 1e6 {
		low, fl = high, fh
		high *= 2
		fh = f(high) - target
	}
	side := 0
	for range 200 {
		k := (float64(low*fh) - float64(high*fl)) / (fh - fl)
		fk := f(k) - target
		if fk == 0 || high-low < 1e-12*high || math.Abs(fk) < 1e-14 {
			return k
		}
		if fk > 0 {
			high, fh = k, fk
			if side == 1 {
				fl /= 2
			}
			side = 1
		} else {
			low, fl = k, fk
			if side == -1 {
				fh /= 2
			}
			side = -1
		}
	}
	return float64((low + high) / 2)
}
