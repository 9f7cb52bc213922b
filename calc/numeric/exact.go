package numeric

import (
	"math"
	"strconv"
)

// Exact is a fraction of whole numbers of any length: what a decimal text says, without rounding. The zero value is 0.
type Exact struct {
	negative bool
	num      natural
	less1    natural // denominator − 1, so that the zero value is 0/1
}

func exactOf(negative bool, num, den natural) Exact {
	if len(num) == 0 {
		return Exact{}
	}
	return Exact{negative, num, den.minus(natural{1})}
}

func (a Exact) den() natural { return a.less1.plus(natural{1}) }

// The bounds of a text taken as exact: beyond float64's own range there is nothing to compare, and longer texts only cost time.
const (
	maxExactExponent = 400
	maxExactDigits   = 800
)

// ParseExact reads a decimal number: an optional sign, digits with at most one point, an optional exponent.
//
// Refuses: ok is false for anything else, for more than 800 characters and for exponents beyond ±400.
func ParseExact(s string) (x Exact, ok bool) {
	if len(s) == 0 || len(s) > maxExactDigits {
		return Exact{}, false
	}
	i, negative := 0, false
	if s[0] == '-' || s[0] == '+' {
		negative = s[0] == '-'
		i++
	}
	var num natural
	digits, after, point := 0, 0, false
	for ; i < len(s); i++ {
		c := s[i]
		if c == '.' && !point {
			point = true
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		num = num.times(natural{10}).plus(naturalOf(uint64(c - '0')))
		digits++
		if point {
			after++
		}
	}
	if digits == 0 {
		return Exact{}, false
	}
	exponent := 0
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		n, err := strconv.Atoi(s[i+1:])
		if err != nil || n < -maxExactExponent || n > maxExactExponent {
			return Exact{}, false
		}
		exponent, i = n, len(s)
	}
	if i != len(s) {
		return Exact{}, false
	}
	exponent -= after
	if exponent >= 0 {
		return exactOf(negative, num.times(powerOfTen(exponent)), natural{1}), true
	}
	return exactOf(negative, num, powerOfTen(-exponent)), true
}

// ExactOf returns the decimal number that the shortest text of x says: 0.1, not the binary fraction beside it.
func ExactOf(x float64) (Exact, bool) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return Exact{}, false
	}
	return ParseExact(strconv.FormatFloat(x, 'e', -1, 64))
}

// ExactInt returns n.
func ExactInt(n int) Exact {
	if n < 0 {
		return exactOf(true, naturalOf(-uint64(n)), natural{1})
	}
	return exactOf(false, naturalOf(uint64(n)), natural{1})
}

// Sign returns −1, 0 or 1.
func (a Exact) Sign() int {
	switch {
	case len(a.num) == 0:
		return 0
	case a.negative:
		return -1
	}
	return 1
}

// Neg returns −a.
func (a Exact) Neg() Exact { return exactOf(!a.negative, a.num, a.den()) }

// Abs returns |a|.
func (a Exact) Abs() Exact { return exactOf(false, a.num, a.den()) }

// Add returns a + b.
func (a Exact) Add(b Exact) Exact {
	ad, bd := a.den(), b.den()
	x, y, den := a.num, b.num, ad
	if ad.cmp(bd) != 0 {
		x, y, den = x.times(bd), y.times(ad), ad.times(bd)
	}
	if a.negative == b.negative {
		return exactOf(a.negative, x.plus(y), den)
	}
	if x.cmp(y) >= 0 {
		return exactOf(a.negative, x.minus(y), den)
	}
	return exactOf(b.negative, y.minus(x), den)
}

// Sub returns a − b.
func (a Exact) Sub(b Exact) Exact { return a.Add(b.Neg()) }

// Mul returns a·b.
func (a Exact) Mul(b Exact) Exact {
	return exactOf(a.negative != b.negative, a.num.times(b.num), a.den().times(b.den()))
}

// Div returns a/b; ok is false if b is 0.
func (a Exact) Div(b Exact) (quotient Exact, ok bool) {
	if b.Sign() == 0 {
		return Exact{}, false
	}
	return exactOf(a.negative != b.negative, a.num.times(b.den()), a.den().times(b.num)), true
}

// Cmp returns −1, 0 or 1 as a is below, equal to or above b.
func (a Exact) Cmp(b Exact) int { return a.Sub(b).Sign() }

// Float returns the float64 nearest to a, ties to even; ±Inf beyond the range.
func (a Exact) Float() float64 {
	if len(a.num) == 0 {
		return 0
	}
	den := a.den()
	shift := 66 - (a.num.bits() - den.bits())
	if shift > 1074+3 { // below the smallest normal numbers the last bit stands at 2^-1074
		shift = 1074 + 3
	}
	num := a.num
	if shift >= 0 {
		num = num.shifted(shift)
	} else {
		den = den.shifted(-shift)
	}
	q, rest := num.over(den)
	// keep 53 bits and the lower ones as a sticky bit, by hand, so that only one rounding happens
	extra := q.bits() - 53
	if extra < 3 {
		extra = 3
	}
	kept, low := q.splitAt(extra)
	half := natural{1}.shifted(extra - 1)
	c := low.cmp(half)
	if c > 0 || (c == 0 && (len(rest) > 0 || kept.odd())) {
		kept = kept.plus(natural{1})
	}
	x := math.Ldexp(kept.float(), extra-shift)
	if a.negative {
		return -x
	}
	return x
}

func (a natural) odd() bool { return len(a) > 0 && a[0]&1 == 1 }

// float returns a number below 2^54 as float64; up to 2^53 it is exact.
func (a natural) float() float64 {
	var x float64
	for i := len(a) - 1; i >= 0; i-- {
		x = float64(x*(1<<32)) + float64(a[i])
	}
	return x
}

func (a natural) splitAt(n int) (high, low natural) {
	high = a
	for range n {
		high = high.halved()
	}
	return high, a.minus(high.shifted(n))
}

// Decimal returns a with the given number of digits after the point, half away from zero.
func (a Exact) Decimal(digits int) string {
	if digits < 0 {
		digits = 0
	}
	den := a.den()
	q, rest := a.num.times(powerOfTen(digits)).over(den)
	if rest.shifted(1).cmp(den) >= 0 {
		q = q.plus(natural{1})
	}
	s := q.digits()
	for len(s) <= digits {
		s = "0" + s
	}
	if digits > 0 {
		s = s[:len(s)-digits] + "." + s[len(s)-digits:]
	}
	if a.negative && len(q) > 0 {
		return "-" + s
	}
	return s
}

// Text returns a in full if it ends within most digits after the point, without trailing zeros; else rounded to that many, and exact
// is false.
func (a Exact) Text(most int) (text string, exact bool) {
	den := a.den()
	_, rest := a.num.times(powerOfTen(most)).over(den)
	s := a.Decimal(most)
	if most > 0 {
		for s[len(s)-1] == '0' {
			s = s[:len(s)-1]
		}
		if s[len(s)-1] == '.' {
			s = s[:len(s)-1]
		}
	}
	return s, len(rest) == 0
}

// CompareDecimals returns −1, 0 or 1 as the decimal text a is below, equal to or above b, without rounding; ok is false if one of them
// is not a decimal number that ParseExact takes.
func CompareDecimals(a, b string) (order int, ok bool) {
	x, ok1 := ParseExact(a)
	y, ok2 := ParseExact(b)
	if !ok1 || !ok2 {
		return 0, false
	}
	return x.Cmp(y), true
}

// FormatDecimals returns x with the given number of digits after the point, half away from zero, decided on the shortest decimal text
// of x: 2.675 becomes 2.68, though the binary number lies below the tie.
func FormatDecimals(x float64, digits int) string {
	e, ok := ExactOf(x)
	if !ok {
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	return e.Decimal(digits)
}

// RoundDecimals returns x rounded to digits after the point, half away from zero, decided on the shortest decimal text of x. Negative
// digits round before the point. A value without so many digits stays itself.
func RoundDecimals(x float64, digits int) float64 {
	e, ok := ExactOf(x)
	if !ok || digits > 330 || digits < -330 {
		return x
	}
	if digits >= 0 {
		r, _ := ParseExact(e.Decimal(digits))
		return r.Float()
	}
	scale := exactOf(false, powerOfTen(-digits), natural{1})
	q, _ := e.Div(scale)
	r, _ := ParseExact(q.Decimal(0))
	return r.Mul(scale).Float()
}

// RoundSignificant returns x rounded to the given number of significant digits, half away from zero, as RoundDecimals does.
func RoundSignificant(x float64, digits int) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) || digits < 1 || digits > 17 {
		return x
	}
	s := strconv.FormatFloat(math.Abs(x), 'e', -1, 64)
	at := len(s) - 1
	for s[at] != 'e' {
		at--
	}
	exponent, _ := strconv.Atoi(s[at+1:])
	return RoundDecimals(x, digits-1-exponent)
}

// DecimalPlaces returns the number of digits after the point that a decimal text shows: 2 of "2.50", 3 of "25e-3", 0 of "250".
func DecimalPlaces(s string) int {
	places, point := 0, false
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '.':
			point = true
		case c == 'e' || c == 'E':
			n, err := strconv.Atoi(s[i+1:])
			if err == nil {
				places -= n
			}
			if places < 0 {
				return 0
			}
			return places
		case point && c >= '0' && c <= '9':
			places++
		}
	}
	return places
}
