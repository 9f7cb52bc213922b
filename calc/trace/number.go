package trace

import (
	"math"
	"math/bits"
	"strconv"
)

// tens are the powers of ten that a float64 holds without rounding.
var tens = [...]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
	1e19, 1e20, 1e21, 1e22,
}

// number reads a decimal number with a point or a comma.
//
// Takes:   an optional sign, digits with at most one decimal mark, an optional exponent.
// Gives:   the float64 nearest to what is written.
// Source:  up to 2⁵³ and 10²² digits and power are both exact, so that one division or product is
// correctly rounded; other numbers go to strconv.
func number(b []byte, decimal byte) (float64, bool) {
	if plain, ok := ungrouped(b, decimal); ok {
		b = plain
	}
	var whole uint64
	i, digits, fraction, power := 0, 0, 0, 0
	negative, point, far := false, false, false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		negative = b[i] == '-'
		i++
	}
	for ; i < len(b); i++ {
		c := b[i]
		if c == decimal && !point {
			point = true
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		digits++
		if whole >= 1<<53/10 {
			far = true
		}
		whole = whole*10 + uint64(c-'0')
		if point {
			fraction++
		}
	}
	if digits == 0 {
		return 0, false
	}
	if i < len(b) && (b[i] == 'e' || b[i] == 'E') {
		j, sign, n := i+1, 1, 0
		if j < len(b) && (b[j] == '-' || b[j] == '+') {
			if b[j] == '-' {
				sign = -1
			}
			j++
		}
		for ; j < len(b) && b[j] >= '0' && b[j] <= '9' && n < 3; j++ {
			power = power*10 + int(b[j]-'0')
			n++
		}
		if n == 0 {
			return 0, false
		}
		power *= sign
		i = j
	}
	if i != len(b) {
		return 0, false
	}
	power -= fraction
	if far || power > 22 || power < -22 {
		return long(b, decimal)
	}
	x := float64(whole)
	if power < 0 {
		x /= tens[-power]
	} else {
		x = float64(x * tens[power])
	}
	if negative {
		x = -x
	}
	return x, true
}

// ungrouped removes the thousands separators from a number that has both marks or several
// separators: 1.234,5 and 1,234,567. It leaves a single mark, as in 1.234, since it may be the
// decimal mark.
func ungrouped(b []byte, decimal byte) ([]byte, bool) {
	group := byte(',')
	if decimal == ',' {
		group = '.'
	}
	groups := 0
	for _, c := range b {
		if c == group {
			groups++
		}
	}
	if groups == 0 {
		return nil, false
	}
	plain := make([]byte, 0, len(b))
	digits, marked := 0, false // since the last mark; whether there was a thousands separator
	for i, c := range b {
		switch {
		case c == group:
			if digits == 0 || digits > 3 || marked && digits != 3 {
				return nil, false
			}
			digits, marked = 0, true
			continue
		case c >= '0' && c <= '9':
			digits++
		case (c == '-' || c == '+') && i == 0:
		default: // the decimal mark or an exponent ends the whole part
			if digits != 3 || c == decimal && groups < 1 {
				return nil, false
			}
			for _, rest := range b[i:] {
				if rest == group {
					return nil, false
				}
			}
			return append(plain, b[i:]...), true
		}
		plain = append(plain, c)
	}
	return plain, digits == 3 && groups > 1
}

func long(b []byte, decimal byte) (float64, bool) {
	text := make([]byte, len(b))
	for i, c := range b {
		if c == decimal {
			c = '.'
		}
		text[i] = c
	}
	x, err := strconv.ParseFloat(string(text), 64)
	return x, err == nil && !math.IsInf(x, 0) && !math.IsNaN(x)
}

// nanoseconds reads a number of time units, each of unit nanoseconds, exact to the nanosecond.
func nanoseconds(b []byte, decimal byte, unit int64) (int64, bool) {
	i, negative := 0, false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		negative = b[i] == '-'
		i++
	}
	var whole, part uint64
	scale, digits := uint64(1), 0
	for ; i < len(b) && b[i] >= '0' && b[i] <= '9'; i++ {
		if whole > 1<<60/10 {
			return 0, false
		}
		whole = whole*10 + uint64(b[i]-'0')
		digits++
	}
	if i < len(b) && b[i] == decimal {
		for i++; i < len(b) && b[i] >= '0' && b[i] <= '9'; i++ {
			digits++
			if scale < 1e15 {
				part, scale = part*10+uint64(b[i]-'0'), scale*10
			}
		}
	}
	if digits == 0 {
		return 0, false
	}
	if i < len(b) {
		x, ok := number(b, decimal) // with an exponent
		if !ok || math.Abs(x) > 9e18/float64(unit) {
			return 0, false
		}
		return int64(math.Round(float64(x * float64(unit)))), true
	}
	if whole > uint64(math.MaxInt64/2)/uint64(unit) {
		return 0, false
	}
	high, low := bits.Mul64(part, uint64(unit))
	low, carry := bits.Add64(low, scale/2, 0)
	fraction, _ := bits.Div64(high+carry, low, scale)
	ns := int64(whole)*unit + int64(fraction)
	if negative {
		ns = -ns
	}
	return ns, true
}

// empty reports whether a cell stands for a missing value.
func empty(b []byte) bool {
	if len(b) == 0 {
		return true
	}
	for _, w := range [...]string{"-", "--", "---", "----", "ol", "-ol", "+ol", "o.l", "nan", "na", "n/a", "null"} {
		if same(b, w) {
			return true
		}
	}
	return false
}

// same compares without regard to the case of A to Z; word is in lower case.
func same(b []byte, word string) bool {
	if len(b) != len(word) {
		return false
	}
	for i, c := range b {
		if c >= 'A' && c <= 'Z' {
			c += 'a' - 'A'
		}
		if c != word[i] {
			return false
		}
	}
	return true
}
