package numeric

import (
	"math"
	"strconv"
)

// Places writes a number with at most so many digits after the point, half away from zero, without
// zeros at its end: 2.5 of 2.4996 with three. What is no number, or infinite, is "0".
func Places(x float64, digits int) string {
	e, _ := ExactOf(x)
	s, _ := e.Text(digits)
	return s
}

// Significant writes a number with at most so many significant digits, in plain digits from 0.0001
// to 10 million and as a power of ten beyond.
func Significant(x float64, digits int) string {
	r := RoundSignificant(x, digits)
	if a := math.Abs(r); a != 0 && (a < 1e-4 || a >= 1e7) {
		return strconv.FormatFloat(r, 'g', -1, 64)
	}
	return Places(r, digits+4)
}

// LastDigit returns the value of one step of the last of so many digits after the point: 0.01 of
// two. Beyond twelve it stays that of twelve.
func LastDigit(places int) float64 {
	step := 1.0
	for range min(places, 12) {
		step /= 10
	}
	return step
}
