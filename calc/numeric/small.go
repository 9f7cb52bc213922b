package numeric

import (
	"math"
	"math/bits"
	"strconv"
)

// A fraction whose numerator and denominator fit in 63 bits is kept in two words; a larger one is
// kept in naturals. A result never depends on which form a value has.

// small is a fraction of two words.
type small struct {
	negative bool
	num, den uint64 // den > 0, both below 2^63
}

const wordLimit = 1 << 63

func (a Exact) small() small {
	s := small{num: uint64(a.n), den: uint64(a.d1) + 1}
	if a.n < 0 {
		s.negative, s.num = true, uint64(-a.n)
	}
	return s
}

func (s small) exact() Exact {
	n := int64(s.num)
	if s.negative {
		n = -n
	}
	return Exact{n: n, d1: int64(s.den - 1)}
}

// ofWords returns a fraction of two words, reduced only where it must be to fit.
func ofWords(negative bool, num, den uint64) (Exact, bool) {
	if num == 0 {
		return Exact{}, true
	}
	if num >= wordLimit || den >= wordLimit {
		g := gcd(num, den)
		num, den = num/g, den/g
		if num >= wordLimit || den >= wordLimit {
			return Exact{}, false
		}
	}
	return small{negative, num, den}.exact(), true
}

func gcd(a, b uint64) uint64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func times(a, b uint64) (uint64, bool) {
	high, low := bits.Mul64(a, b)
	return low, high == 0
}

// sum returns a + b if it fits in words.
func (s small) sum(o small) (Exact, bool) {
	x, y, den, ok := s.num, o.num, s.den, true
	switch {
	case s.den == o.den:
	case s.den%o.den == 0:
		y, ok = times(y, s.den/o.den)
	case o.den%s.den == 0:
		x, ok = times(x, o.den/s.den)
		den = o.den
	default:
		// over the least common denominator
		g := gcd(s.den, o.den)
		var ok1, ok2, ok3 bool
		x, ok1 = times(s.num, o.den/g)
		y, ok2 = times(o.num, s.den/g)
		den, ok3 = times(s.den, o.den/g)
		ok = ok1 && ok2 && ok3
	}
	if !ok || x >= wordLimit || y >= wordLimit {
		return Exact{}, false
	}
	if s.negative == o.negative {
		return ofWords(s.negative, x+y, den)
	}
	if x >= y {
		return ofWords(s.negative, x-y, den)
	}
	return ofWords(o.negative, y-x, den)
}

// product returns a·b if it fits in words.
func (s small) product(o small) (Exact, bool) {
	num, ok1 := times(s.num, o.num)
	den, ok2 := times(s.den, o.den)
	if ok1 && ok2 && num < wordLimit && den < wordLimit {
		return ofWords(s.negative != o.negative, num, den)
	}
	g, h := gcd(s.num, o.den), gcd(o.num, s.den)
	num, ok1 = times(s.num/g, o.num/h)
	den, ok2 = times(s.den/h, o.den/g)
	if !ok1 || !ok2 {
		return Exact{}, false
	}
	return ofWords(s.negative != o.negative, num, den)
}

// order compares a and b.
func (s small) order(o small) int {
	if s.negative != o.negative {
		if s.negative {
			return -1
		}
		return 1
	}
	h1, l1 := bits.Mul64(s.num, o.den)
	h2, l2 := bits.Mul64(o.num, s.den)
	c := 0
	switch {
	case h1 < h2 || h1 == h2 && l1 < l2:
		c = -1
	case h1 > h2 || l1 > l2:
		c = 1
	}
	if s.negative {
		return -c
	}
	return c
}

// decimal returns the digits of |a|·10^places, half away from zero, if everything fits in words.
func (s small) decimal(places int) (digits string, ok bool) {
	if places >= len(tens) {
		return "", false
	}
	scaled, fits := times(s.num, tens[places])
	if !fits {
		return "", false
	}
	q, rest := scaled/s.den, scaled%s.den
	if rest >= s.den-rest {
		q++
	}
	return strconv.FormatUint(q, 10), true
}

// ends reports whether a is a whole number of 10^-places; ok is false if that does not fit in
// words.
func (s small) ends(places int) (ends, ok bool) {
	if places >= len(tens) {
		return false, false
	}
	scaled, fits := times(s.num, tens[places])
	return fits && scaled%s.den == 0, fits
}

// float returns the float64 nearest to a, ties to even.
func (s small) float() float64 {
	const whole = 1 << 53
	if s.num == 0 {
		return 0
	}
	var x float64
	if s.num <= whole && s.den <= whole {
		x = float64(s.num) / float64(s.den) // both are exact, so that only one rounding happens
	} else {
		// at least 62 bits of the quotient with a sticky bit, then one rounding to 53
		up, down := bits.LeadingZeros64(s.num)-1, bits.LeadingZeros64(s.den)
		q, rest := bits.Div64(s.num<<up, 0, s.den<<down)
		extra := bits.Len64(q) - 53
		kept, low, half := q>>extra, q&(1<<extra-1), uint64(1)<<(extra-1)
		if low > half || low == half && (rest > 0 || kept&1 == 1) {
			kept++
		}
		x = math.Ldexp(float64(kept), extra-64+down-up)
	}
	if s.negative {
		return -x
	}
	return x
}
