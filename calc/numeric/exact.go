package numeric

import (
	"bytes"
	"math"
	"strconv"
)

// Exact is a fraction of whole numbers of any length: what a decimal text says, without rounding.
// The zero value is 0.
type Exact struct {
	n, d1 int64     // numerator and denominator − 1, so that the zero value is 0/1
	long  *fraction // used instead if they do not fit
}

// fraction is a fraction whose numerator or denominator needs more than a word.
type fraction struct {
	negative bool
	num, den natural
}

func exactOf(negative bool, num, den natural) Exact {
	if len(num) == 0 {
		return Exact{}
	}
	if num.bits() <= 63 && den.bits() <= 63 {
		return small{negative, num.word(), den.word()}.exact()
	}
	return Exact{long: &fraction{negative, num, den}}
}

// parts returns the fraction in naturals, from either form.
func (a Exact) parts() fraction {
	if a.long != nil {
		return *a.long
	}
	s := a.small()
	return fraction{s.negative, naturalOf(s.num), naturalOf(s.den)}
}

// The bounds of a text accepted as exact: beyond float64's own range there is nothing to compare,
// and longer texts only cost time.
const (
	maxExactExponent = 400
	maxExactDigits   = 800
)

// ParseExact reads a decimal number: an optional sign, digits with at most one point, an optional
// exponent.
//
// Refuses: ok is false for anything else, for more than 800 characters and for exponents beyond
// ±400.
func ParseExact(s string) (x Exact, ok bool) {
	if len(s) == 0 || len(s) > maxExactDigits {
		return Exact{}, false
	}
	i, negative := 0, false
	if s[0] == '-' || s[0] == '+' {
		negative = s[0] == '-'
		i++
	}
	var long natural
	word, digits, after, point := uint64(0), 0, 0, false
	for ; i < len(s); i++ {
		c := s[i]
		if c == '.' && !point {
			point = true
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		switch d := uint64(c - '0'); {
		case long != nil:
			long = long.times(natural{10}).plus(naturalOf(d))
		case word < wordLimit/10-1:
			word = 10*word + d
		default:
			long = naturalOf(word).times(natural{10}).plus(naturalOf(d))
		}
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
	if long == nil && exponent <= 0 && exponent >= -18 {
		return ofWords(negative, word, tens[-exponent])
	}
	num := long
	if num == nil {
		num = naturalOf(word)
	}
	if exponent >= 0 {
		return exactOf(negative, num.times(powerOfTen(exponent)), natural{1}), true
	}
	return exactOf(negative, num, powerOfTen(-exponent)), true
}

// tens are the powers of ten that fit in 63 bits.
var tens = [19]uint64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
}

// ExactOf returns the decimal number in the shortest text of x: 0.1, not the binary fraction next
// to it.
func ExactOf(x float64) (Exact, bool) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return Exact{}, false
	}
	return ParseExact(strconv.FormatFloat(x, 'e', -1, 64))
}

// Twelve returns a calculated number as a decimal of twelve significant digits, to be added to
// typed values and compared with limits.
func Twelve(x float64) Exact {
	var room [32]byte
	if text, ok := twelve(strconv.AppendFloat(room[:0], x, 'e', -1, 64)); ok {
		e, _ := ParseExact(string(text))
		return e
	}
	e, _ := ExactOf(RoundSignificant(x, 12))
	return e
}

// twelve rounds a text such as -1.2345e-06 in place to twelve digits, half away from zero. It
// returns false if the text has no exponent, or if a carry would change it.
func twelve(text []byte) ([]byte, bool) {
	e := bytes.IndexByte(text, 'e')
	first := 0
	if text[0] == '-' {
		first = 1
	}
	end := first + 13 // after the twelfth digit and the point
	if e < 0 || e <= end {
		return text, e >= 0
	}
	if text[end] >= '5' {
		i := end - 1
		for ; text[i] == '9' || text[i] == '.'; i-- {
			if i == first {
				return nil, false
			}
			if text[i] == '9' {
				text[i] = '0'
			}
		}
		text[i]++
	}
	return append(text[:end], text[e:]...), true
}

// ExactInt returns n.
func ExactInt(n int) Exact {
	if n == math.MinInt {
		return exactOf(true, naturalOf(1<<63), natural{1})
	}
	return Exact{n: int64(n)}
}

// Sign returns −1, 0 or 1.
func (a Exact) Sign() int {
	switch {
	case a.long != nil && a.long.negative, a.n < 0:
		return -1
	case a.long != nil, a.n > 0:
		return 1
	}
	return 0
}

// Neg returns −a.
func (a Exact) Neg() Exact {
	if a.long == nil {
		return Exact{n: -a.n, d1: a.d1}
	}
	return Exact{long: &fraction{!a.long.negative, a.long.num, a.long.den}}
}

// Abs returns |a|.
func (a Exact) Abs() Exact {
	if a.Sign() < 0 {
		return a.Neg()
	}
	return a
}

// Add returns a + b.
func (a Exact) Add(b Exact) Exact {
	if a.long == nil && b.long == nil {
		if c, ok := a.small().sum(b.small()); ok {
			return c
		}
	}
	p, q := a.parts(), b.parts()
	x, y, den := p.num, q.num, p.den
	if p.den.cmp(q.den) != 0 {
		x, y, den = x.times(q.den), y.times(p.den), p.den.times(q.den)
	}
	if p.negative == q.negative {
		return exactOf(p.negative, x.plus(y), den)
	}
	if x.cmp(y) >= 0 {
		return exactOf(p.negative, x.minus(y), den)
	}
	return exactOf(q.negative, y.minus(x), den)
}

// Sub returns a − b.
func (a Exact) Sub(b Exact) Exact { return a.Add(b.Neg()) }

// Mul returns a·b.
func (a Exact) Mul(b Exact) Exact {
	if a.long == nil && b.long == nil {
		if c, ok := a.small().product(b.small()); ok {
			return c
		}
	}
	p, q := a.parts(), b.parts()
	return exactOf(p.negative != q.negative, p.num.times(q.num), p.den.times(q.den))
}

// Div returns a/b; ok is false if b is 0.
func (a Exact) Div(b Exact) (quotient Exact, ok bool) {
	if b.Sign() == 0 {
		return Exact{}, false
	}
	if b.long == nil {
		s := b.small()
		return a.Mul(small{s.negative, s.den, s.num}.exact()), true
	}
	return a.Mul(Exact{long: &fraction{b.long.negative, b.long.den, b.long.num}}), true
}

// Cmp returns −1, 0 or 1 as a is below, equal to or above b.
func (a Exact) Cmp(b Exact) int {
	if a.long == nil && b.long == nil {
		return a.small().order(b.small())
	}
	return a.Sub(b).Sign()
}

// Float returns the float64 nearest to a, ties to even; ±Inf beyond the range.
func (a Exact) Float() float64 {
	if a.long == nil {
		return a.small().float()
	}
	p := a.parts()
	den := p.den
	shift := 66 - (p.num.bits() - den.bits())
	if shift > 1074+3 { // for subnormal numbers the last bit is 2^-1074
		shift = 1074 + 3
	}
	num := p.num
	if shift >= 0 {
		num = num.shifted(shift)
	} else {
		den = den.shifted(-shift)
	}
	q, rest := num.over(den)
	// keep 53 bits, and the lower ones as a sticky bit, so that only one rounding happens
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
	if p.negative {
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
	s, fits := "", false
	if a.long == nil {
		s, fits = a.small().decimal(digits)
	}
	if !fits {
		p := a.parts()
		q, rest := p.num.times(powerOfTen(digits)).over(p.den)
		if rest.shifted(1).cmp(p.den) >= 0 {
			q = q.plus(natural{1})
		}
		s = q.digits()
	}
	zero := s == "0"
	for len(s) <= digits {
		s = "0" + s
	}
	if digits > 0 {
		s = s[:len(s)-digits] + "." + s[len(s)-digits:]
	}
	if a.Sign() < 0 && !zero {
		return "-" + s
	}
	return s
}

// Text returns a in full if it ends within most digits after the point, without trailing zeros;
// else it is rounded to that many and exact is false.
func (a Exact) Text(most int) (text string, exact bool) {
	ends, fits := false, false
	if a.long == nil {
		ends, fits = a.small().ends(most)
	}
	if !fits {
		p := a.parts()
		_, rest := p.num.times(powerOfTen(most)).over(p.den)
		ends = len(rest) == 0
	}
	s := a.Decimal(most)
	if most > 0 {
		for s[len(s)-1] == '0' {
			s = s[:len(s)-1]
		}
		if s[len(s)-1] == '.' {
			s = s[:len(s)-1]
		}
	}
	return s, ends
}

// CompareDecimals returns −1, 0 or 1 as the decimal text a is below, equal to or above b, without
// rounding; ok is false if one of them is not a decimal number that ParseExact takes.
func CompareDecimals(a, b string) (order int, ok bool) {
	x, ok1 := ParseExact(a)
	y, ok2 := ParseExact(b)
	if !ok1 || !ok2 {
		return 0, false
	}
	return x.Cmp(y), true
}

// FormatDecimals returns x with the given number of digits after the point, half away from zero,
// decided on the shortest decimal text of x: 2.675 becomes 2.68, though the binary number is
// below the tie.
func FormatDecimals(x float64, digits int) string {
	e, ok := ExactOf(x)
	if !ok {
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	return e.Decimal(digits)
}

// RoundDecimals returns x rounded to digits after the point, half away from zero, decided on the
// shortest decimal text of x. Negative digits round before the point. A value without so many
// digits stays itself.
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

// RoundSignificant returns x rounded to the given number of significant digits, half away from
// zero, as RoundDecimals does.
func RoundSignificant(x float64, digits int) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) || digits < 1 || digits > 17 {
		return x
	}
	return RoundDecimals(x, digits-1-Exponent(x))
}

// Exponent returns the power of ten of the first digit of a finite x: -3 of 0.0031, 0 of 0.
func Exponent(x float64) int {
	s := strconv.FormatFloat(math.Abs(x), 'e', -1, 64)
	at := len(s) - 1
	for s[at] != 'e' {
		at--
	}
	exponent, _ := strconv.Atoi(s[at+1:])
	return exponent
}

// DecimalPlaces returns the number of digits after the point that a decimal text shows: 2 of
// "2.50", 3 of "25e-3", 0 of "250".
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

// Sqrt returns the square root of a ≥ 0: exact if the root is a fraction of words, else to more
// than 30 digits by one Newton step from the nearest float64. For a number below zero it returns 0.
func (a Exact) Sqrt() Exact {
	if a.Sign() <= 0 {
		return Exact{}
	}
	if a.long == nil {
		s := a.small()
		g := gcd(s.num, s.den)
		if n, ok := wholeRoot(s.num / g); ok {
			if d, ok := wholeRoot(s.den / g); ok {
				return small{false, n, d}.exact()
			}
		}
	}
	start, ok := ExactOf(math.Sqrt(a.Float()))
	if !ok || start.Sign() == 0 {
		return Exact{}
	}
	root, _ := start.Mul(start).Add(a).Div(start.Add(start))
	return root
}

// wholeRoot returns the root of a square below 2^63.
func wholeRoot(x uint64) (uint64, bool) {
	r := uint64(math.Sqrt(float64(x)))
	for r > 0 && r*r > x {
		r--
	}
	for (r+1)*(r+1) <= x {
		r++
	}
	return r, r*r == x
}
