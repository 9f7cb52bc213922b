package certificates

import (
	"strings"

	"gaugewright/calc/numeric"
	"gaugewright/calc/rounding"
	"gaugewright/server/plant"
)

// places counts the decimals of a number as typed.
func places(d plant.Decimal) int {
	if _, after, ok := strings.Cut(string(d), "."); ok {
		return len(after)
	}
	return 0
}

// fixed writes a number rounded to some decimals, half away from zero, decided on its shortest
// decimal text; −1 rounds to tens.
func fixed(x *float64, decimals int) string {
	if x == nil {
		return "–"
	}
	r := *x
	if decimals < 0 {
		r = numeric.RoundDecimals(r, decimals)
	}
	s := numeric.FormatDecimals(r, decimals)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

func signed(x *float64, decimals int) string {
	s := fixed(x, decimals)
	if x != nil && strings.Trim(s, "−0.") != "" && !strings.HasPrefix(s, "−") {
		s = "+" + s
	}
	return s
}

// decimalsOf returns the decimals of an uncertainty of two significant digits.
func decimalsOf(expanded float64) int { return rounding.Decimals(expanded) }

// two writes an uncertainty with two significant digits, to the nearest.
func two(x *float64) string {
	if x == nil || *x <= 0 {
		return "–"
	}
	return fixed(x, decimalsOf(*x))
}

// tiny is the limit below which a number is written with a power of ten.
const tiny = 1e-4

// small2 writes an uncertainty with two significant digits, a very small one with a power of ten.
func small2(x *float64) string {
	if x == nil || *x <= 0 || *x >= tiny {
		return two(x)
	}
	rounded := numeric.RoundSignificant(*x, 2)
	return figure(&rounded)
}

// sided returns how many decimals a rounded value needs to stay on its side of each limit.
func sided(x float64, decimals int, limits ...*float64) int {
	return rounding.Sided(x, decimals, limits...)
}
