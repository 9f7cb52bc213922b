package numeric

import (
	"math"
	"strconv"
)

// Places formats a number with up to digits decimals, half away from zero, without trailing zeros:
// 2.4996 with three gives 2.5. NaN and infinities give "0".
func Places(x float64, digits int) string {
	e, _ := ExactOf(x)
	s, _ := e.Text(digits)
	return s
}

// Significant formats a number with up to digits significant digits: plain from 0.0001 to 10
// million, beyond that with a power of ten.
func Significant(x float64, digits int) string {
	r := RoundSignificant(x, digits)
	if a := math.Abs(r); a != 0 && (a < 1e-4 || a >= 1e7) {
		return strconv.FormatFloat(r, 'g', -1, 64)
	}
	return Places(r, digits+4)
}

// LastDigit returns the value of one step in the last of places digits after the point: 0.01 for
// two. Beyond twelve it stays that of twelve.
func LastDigit(places int) float64 {
	step := 1.0
	for range min(places, 12) {
		step /= 10
	}
	return step
}
