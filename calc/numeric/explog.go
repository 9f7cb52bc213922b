package numeric

import "math"

// ln 2 in a head of 32 bits, whose product with an exponent is exact, and the rest.
const (
	ln2Head = 0.6931471803691238
	ln2Tail = 1.9082149292705877e-10
)

// 1/n! as exact quotients rounded once by the compiler.
const (
	f3  = 1.0 / 6
	f4  = f3 / 4
	f5  = f4 / 5
	f6  = f5 / 6
	f7  = f6 / 7
	f8  = f7 / 8
	f9  = f8 / 9
	f10 = f9 / 10
	f11 = f10 / 11
	f12 = f11 / 12
	f13 = f12 / 13
	f14 = f13 / 14
	f15 = f14 / 15
	f16 = f15 / 16
	f17 = f16 / 17
)

// expReduce returns k and r + c with x + extra = k·ln 2 + r + c and |r| ≤ 0.35.
func expReduce(x, extra float64) (k int, r, c float64) {
	n := math.Floor(x/math.Ln2 + 0.5)
	high := x - float64(n*ln2Head)
	low := float64(n * ln2Tail)
	r = high - low
	return int(n), r, ((high - r) - low) + extra
}

// expTail returns e^r − 1 − r for |r| ≤ 0.35 by the power series, cut where the next term is below
// 1e-17 of the sum.
func expTail(r float64) float64 {
	q := f13 + float64(r*f14)
	q = f12 + float64(r*q)
	q = f11 + float64(r*q)
	q = f10 + float64(r*q)
	q = f9 + float64(r*q)
	q = f8 + float64(r*q)
	q = f7 + float64(r*q)
	q = f6 + float64(r*q)
	q = f5 + float64(r*q)
	q = f4 + float64(r*q)
	q = f3 + float64(r*q)
	q = 0.5 + float64(r*q)
	return float64(float64(r*r) * q)
}

// Exp returns e to the power x, within 1 unit of the last place; 0 below −746 and +Inf above 709.8.
//
// Source: derived here: x = k·ln 2 + r, power series in r.
func Exp(x float64) float64 { return expSum(x, 0) }

// expSum returns e^(x+extra) for a small extra.
func expSum(x, extra float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x > 709.79:
		return math.Inf(1)
	case x < -746:
		return 0
	}
	k, r, c := expReduce(x, extra)
	e := expTail(r)
	return math.Ldexp(1+(r+(e+float64(c*(1+r+e)))), k)
}

// Expm1 returns e^x − 1 without loss near zero, within 2 units of the last place.
func Expm1(x float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x > 709.79:
		return math.Inf(1)
	case x < -40:
		return -1
	}
	k, r, c := expReduce(x, 0)
	if k == 0 {
		return r + expTail(r)
	}
	e := pair{r, expTail(r) + float64(c*(1+r))} // c is below 1e-17 here
	if k > 60 {
		return math.Ldexp(1+(e.hi+e.lo), k)
	}
	s := twoSum(1-math.Ldexp(1, -k), e.hi)
	return math.Ldexp(s.hi+(s.lo+e.lo), k)
}

var (
	ln2   = pair{0.6931471805599453, 2.3190468138462996e-17}
	third = pair{0.3333333333333333, 1.850371707708594e-17}
)

// logPair returns ln x to about 64 bits for finite x > 0.
//
//	x = 2^k·m, √½ ≤ m < √2, s = (m−1)/(m+1), ln m = 2s + 2s³(1/3 + s²/5 + s⁴/7 + …)
//
// Source: the atanh series; cut where the next term is below 1e-20 of the sum.
func logPair(x float64) pair {
	m, k := math.Frexp(x)
	if m < math.Sqrt2/2 {
		m *= 2
		k--
	}
	s := over(pair{m - 1, 0}, twoSum(m, 1))
	z := s.times(s)
	p := 1.0 / 23
	for n := 21.0; n >= 5; n -= 2 {
		p = 1/n + float64(z.hi*p)
	}
	w := third.plus(z.timesFloat(p))
	cube := s.times(z).times(w)
	l := s.plus(cube).doubled()
	if k == 0 {
		return l
	}
	return ln2.timesFloat(float64(k)).plus(l)
}

// Log returns the natural logarithm of x, within 1 unit of the last place; −Inf of 0, NaN below.
func Log(x float64) float64 {
	if l, done := logEdge(x); done {
		return l
	}
	l := logPair(x)
	return l.hi + l.lo
}

func logEdge(x float64) (float64, bool) {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 1):
		return x, true
	case x < 0:
		return nan(), true
	case x == 0:
		return math.Inf(-1), true
	}
	return 0, false
}

// nan returns always the same bit pattern. The NaNs that processors make differ in the sign bit.
func nan() float64 { return math.Float64frombits(0x7ff8000000000001) }

// Log1p returns ln(1 + x) without loss near zero, within 1 unit of the last place; −Inf of −1, NaN
// below.
func Log1p(x float64) float64 {
	if l, done := logEdge(1 + x); done {
		return l
	}
	if math.Abs(x) < 1e-18 {
		return x
	}
	u := twoSum(1, x)
	l := logPair(u.hi)
	return l.hi + (l.lo + u.lo/u.hi)
}

// Pow returns x to the power y for x ≥ 0, within 2 units of the last place while |y·ln x| < 700.
// The logarithm carries 64 bits, so that large exponents do not enlarge its rounding.
//
// Takes:   x ≥ 0, any finite y.
// Gives:   NaN for x < 0; 1 for y = 0 or x = 1.
func Pow(x, y float64) float64 {
	switch {
	case y == 0 || x == 1:
		return 1
	case math.IsNaN(x) || math.IsNaN(y) || x < 0 || math.IsInf(y, 0):
		return nan()
	case x == 0 && y > 0:
		return 0
	case x == 0:
		return math.Inf(1)
	case math.IsInf(x, 1) && y > 0:
		return x
	case math.IsInf(x, 1):
		return 0
	case y == 1:
		return x
	}
	l := logPair(x)
	if rough := float64(l.hi * y); rough > 720 {
		return math.Inf(1)
	} else if rough < -760 {
		return 0
	}
	if math.Abs(y) < 1e-290 {
		return 1
	}
	e := l.timesFloat(y)
	return expSum(e.hi, e.lo)
}
