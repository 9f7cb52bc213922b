package numeric

import "math"

// betaShape holds the parts of x^a·y^b/B(a, b) that depend only on a and b: many values of x share
// them.
type betaShape struct{ a, b, root, rest float64 }

// stirlingHalf is needed by every Student t distribution.
var stirlingHalf = stirlingRest(0.5)

func shapeOf(a, b float64) betaShape {
	ofA := stirlingHalf
	if a != 0.5 {
		ofA = stirlingRest(a)
	}
	return betaShape{
		a: a, b: b, root: math.Sqrt(a / (a + b) * b / (2 * math.Pi)),
		rest: stirlingRest(a+b) - ofA - stirlingRest(b),
	}
}

// front returns x^a·y^b/B(a, b) for x + y = 1. The formula is expanded about the maximum, so that
// large a and b lose no digits.
func (s *betaShape) front(x, y float64) float64 {
	a, b := s.a, s.b
	d := float64(x*b) - float64(y*a)
	return float64(
		s.root * Exp(s.rest-float64(a*excess(d/a, x*(a+b)/a))-float64(b*excess(-d/b, y*(a+b)/b))),
	)
}

// BetaInc returns the regularised incomplete beta function I_x(a, b), to 1e-13 relative for a and b
// below 1e5.
//
// Takes:   a, b > 0, 0 ≤ x ≤ 1; else NaN.
// Source:  continued fraction of Abramowitz and Stegun 26.5.8, evaluated by Lentz's method.
func BetaInc(a, b, x float64) float64 {
	if !(a > 0) || !(b > 0) || !(x >= 0 && x <= 1) {
		return nan()
	}
	s, y := shapeOf(a, b), 1-x
	lower, _ := s.both(x, y, s.front(x, y))
	return lower
}

// both returns I_x(a, b) and 1 − I_x(a, b) from the front of x and y, which the caller has. y = 1 −
// x is passed separately, because the caller may know it more exactly.
func (s *betaShape) both(x, y, front float64) (lower, upper float64) {
	a, b := s.a, s.b
	switch {
	case x == 0:
		return 0, 1
	case y == 0:
		return 1, 0
	}
	if x > (a+1)/(a+b+2) {
		upper = least1(front * betaFraction(b, a, y) / b)
		return 1 - upper, upper
	}
	lower = least1(front * betaFraction(a, b, x) / a)
	return lower, 1 - lower
}

func betaFraction(a, b, x float64) float64 {
	c := 1.0
	d := 1 / fence(1-(a+b)*x/(a+1))
	h := d
	for m := 1.0; m < 1e5; m++ {
		k := m * (b - m) * x / ((a + float64(2*m) - 1) * (a + float64(2*m)))
		d = 1 / fence(1+float64(k*d))
		c = fence(1 + k/c)
		h = float64(h * float64(d*c))
		k = -(a + m) * (a + b + m) * x / ((a + float64(2*m)) * (a + float64(2*m) + 1))
		d = 1 / fence(1+float64(k*d))
		c = fence(1 + k/c)
		step := float64(d * c)
		h = float64(h * step)
		if math.Abs(step-1) < 2e-16 {
			break
		}
	}
	return h
}

// BetaQuantile returns the value that a beta variable stays below with probability p, to 1e-12
// relative to the nearer end of 0 … 1.
//
// Takes:   0 ≤ p ≤ 1, a, b > 0; else NaN.
// Source:  guarded Newton steps on the logit of the value, in which both tails are nearly straight.
func BetaQuantile(p, a, b float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(a > 0) || !(b > 0):
		return nan()
	case p == 0:
		return 0
	case p == 1:
		return 1
	}
	middle := Log(a / b)
	x0, y0 := a/(a+b), b/(a+b)
	shape := shapeOf(a, b)
	front0 := shape.front(x0, y0)
	low0, up0 := shape.both(x0, y0, front0)
	start := middle
	if p < low0 {
		start = middle + float64(Log(p/low0)/(front0/low0+a)*2)
	} else {
		start = middle - float64(Log((1-p)/up0)/(front0/up0+b)*2)
	}
	s := solve(start, func(s float64) (value, slope float64) {
		x, y := logistic(s)
		front := shape.front(x, y)
		lower, upper := shape.both(x, y, front)
		if p > 0.5 {
			return Log((1 - p) / upper), front / upper
		}
		return Log(lower / p), front / lower
	})
	x, _ := logistic(s)
	return x
}

// logistic returns 1/(1+e^−s) and 1/(1+e^s).
func logistic(s float64) (x, y float64) {
	if s > 0 {
		e := Exp(-s)
		return 1 / (1 + e), e / (1 + e)
	}
	e := Exp(s)
	return e / (1 + e), 1 / (1 + e)
}

// ClopperPearson returns the exact two-sided interval for a probability seen k times in n trials.
//
// Takes:   0 ≤ k ≤ n, n ≥ 1, 0 < confidence < 1.
// Source:  C. Clopper and E. Pearson, Biometrika 26 (1934) 404-413 (from memory), by beta
// quantiles.
func ClopperPearson(k, n int, confidence float64) (low, high float64) {
	tail := float64((1 - confidence) / 2)
	low, high = 0, 1
	if k > 0 {
		low = BetaQuantile(tail, float64(k), float64(n-k+1))
	}
	if k < n {
		high = BetaQuantile(1-tail, float64(k+1), float64(n-k))
	}
	return low, high
}
