package numeric

import "math"

const halfLn2Pi = 0.9189385332046728

// stirlingRest returns ln Γ(x) − [(x − ½)·ln x − x + ½·ln 2π] for x > 0.
//
// Source: Stirling's series (Abramowitz and Stegun 6.1.42; coefficients from the Bernoulli numbers)
// from 10 on, recurrence below.
func stirlingRest(x float64) float64 {
	if x < 10 {
		// one product instead of a sum of logarithms
		product, y := 1.0, x
		for y < 10 {
			product = float64(product * y)
			y++
		}
		l := logPair(x)
		main := l.timesFloat(x - 0.5)
		return lgammaLarge(y) - Log(product) - (main.hi + main.lo) + x - halfLn2Pi
	}
	z := 1 / float64(x*x)
	s := 43867.0 / 244188
	s = -3617.0/122400 + float64(z*s)
	s = 1.0/156 + float64(z*s)
	s = -691.0/360360 + float64(z*s)
	s = 1.0/1188 + float64(z*s)
	s = -1.0/1680 + float64(z*s)
	s = 1.0/1260 + float64(z*s)
	s = -1.0/360 + float64(z*s)
	s = 1.0/12 + float64(z*s)
	return s / x
}

func lgammaLarge(x float64) float64 {
	l := logPair(x)
	main := twoProduct(x-0.5, l.hi)
	s := twoSum(main.hi, -x)
	return s.hi + (s.lo + main.lo + float64((x-0.5)*l.lo) + halfLn2Pi + stirlingRest(x))
}

// Lgamma returns the logarithm of the gamma function of x > 0, to 4e-15 absolute below 10 and 1e-15
// relative above; NaN for x ≤ 0.
func Lgamma(x float64) float64 {
	switch {
	case !(x > 0):
		return nan()
	case math.IsInf(x, 1):
		return x
	case x == 1 || x == 2:
		return 0
	case x >= 10:
		return lgammaLarge(x)
	}
	product, y := 1.0, x
	for y < 10 {
		product = float64(product * y)
		y++
	}
	return lgammaLarge(y) - Log(product)
}

// excess returns u − ln(1 + u) ≥ 0 for u > −1 without loss near zero; whole is 1 + u, which is used
// if u is near −1.
func excess(u, whole float64) float64 {
	if u < -0.4 || u > 0.6 {
		return u - Log(whole)
	}
	s := u / (2 + u)
	z := float64(s * s)
	sum := 1.0 / 33
	for n := 31.0; n >= 3; n -= 2 {
		sum = 1/n + float64(z*sum)
	}
	return float64(u*s) - float64(float64(2*float64(s*z))*sum)
}

// GammaInc returns the regularised lower incomplete gamma function P(a, x), to 1e-13 relative for a
// below 1e5.
//
// Takes:   a > 0, x ≥ 0; else NaN.
// Source:  power series below a + 1, continued fraction above (Abramowitz and Stegun 6.5.29,
// 6.5.31).
func GammaInc(a, x float64) float64 {
	p, _ := gammaBoth(a, x)
	return p
}

// gammaBoth returns P(a, x) and 1 − P(a, x); the smaller of them has no loss.
func gammaBoth(a, x float64) (lower, upper float64) {
	switch {
	case !(a > 0) || !(x >= 0):
		return nan(), nan()
	case x == 0:
		return 0, 1
	case math.IsInf(x, 1):
		return 1, 0
	}
	// x^a·e^−x/Γ(a), expanded about its maximum
	front := float64(math.Sqrt(a/(2*math.Pi)) * Exp(-float64(a*excess((x-a)/a, x/a))-stirlingRest(a)))
	if x < a+1 {
		term, sum := 1/a, 1/a
		for n := 1.0; n < 1e6; n++ {
			term = float64(term*x) / (a + n)
			sum += term
			if term < float64(sum*1e-17) {
				break
			}
		}
		lower = least1(float64(front * sum))
		return lower, 1 - lower
	}
	b := x + 1 - a
	c, d := 1e300, 1/b
	h := d
	for n := 1.0; n < 1e6; n++ {
		k := -float64(n * (n - a))
		b += 2
		d = 1 / fence(float64(k*d)+b)
		c = fence(b + k/c)
		step := float64(c * d)
		h = float64(h * step)
		if math.Abs(step-1) < 1e-16 {
			break
		}
	}
	upper = float64(front * h)
	return 1 - upper, upper
}

// fence keeps a denominator of a continued fraction from being zero.
func fence(x float64) float64 {
	if math.Abs(x) < 1e-300 {
		return 1e-300
	}
	return x
}

// ChiSquareCDF returns the probability that a chi-square variable with dof degrees of freedom is at
// most x.
func ChiSquareCDF(x, dof float64) float64 {
	if x <= 0 && dof > 0 {
		return 0
	}
	return GammaInc(float64(dof/2), float64(x/2))
}

// ChiSquareQuantile returns the value that a chi-square variable stays below with probability p, to
// 1e-12 relative.
//
// Takes:   0 ≤ p < 1, dof > 0; else NaN.
// Source:  start from Wilson and Hilferty's cube (from memory), then guarded Newton steps.
func ChiSquareQuantile(p, dof float64) float64 {
	if !(p >= 0 && p < 1) || !(dof > 0) {
		return nan()
	}
	if p == 0 {
		return 0
	}
	a := float64(dof / 2)
	v := 2 / (9 * dof)
	root := 1 - v + float64(NormalQuantile(p)*math.Sqrt(v))
	x := float64(a * root * root * root)
	if !(root > 0.1) {
		// P(a, x) ≈ x^a/Γ(a+1) near zero
		x = Exp((Log(p) + Lgamma(a+1)) / a)
	}
	if x < 1e-300 {
		return 0
	}
	// solved in ln x, where the tails are nearly straight
	s := solve(Log(x), func(s float64) (value, slope float64) {
		x := Exp(s)
		lower, upper := gammaBoth(a, x)
		density := float64(math.Sqrt(a/(2*math.Pi)) * Exp(-float64(a*excess((x-a)/a, x/a))-stirlingRest(a)))
		if p > 0.5 {
			return Log((1 - p) / upper), density / upper
		}
		return Log(lower / p), density / lower
	})
	return float64(2 * Exp(s))
}

// solve finds the root of an increasing function by Newton steps; a step that leaves the bracket is
// replaced by bisection. Non-finite values count as below the root to the left of the start and as
// above it to the right.
func solve(start float64, f func(x float64) (value, slope float64)) float64 {
	low, high := math.Inf(-1), math.Inf(1)
	x := start
	for range 200 {
		v, slope := f(x)
		if v == 0 {
			return x
		}
		if v < 0 {
			low = x
		} else {
			high = x
		}
		next := x - v/slope
		step := math.Abs(next - x)
		if step <= float64(4e-16*math.Abs(next)) || (step <= float64(1e-9*math.Abs(next)) && math.Abs(v) < 1e-7) {
			return next // Newton squares the error: the step after this one would be below the last place
		}
		if !(next > low && next < high) || math.IsInf(next, 0) {
			switch {
			case math.IsInf(low, -1):
				next = x - 1 - math.Abs(x)
			case math.IsInf(high, 1):
				next = x + 1 + math.Abs(x)
			default:
				next = low + float64((high-low)/2)
			}
			if next == low || next == high {
				return next
			}
		}
		x = next
	}
	return x
}

func least1(x float64) float64 {
	if x > 1 {
		return 1
	}
	return x
}
