package certificates

import (
	"cmp"
	"math"
	"strings"

	"gaugewright/calc/numeric"
	"gaugewright/server/plant"
)

// places counts the decimals of a number as it was typed.
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

// decimalsOf returns the decimals of an uncertainty of two significant digits: 2 for 0.96, 0 for
// 12, −1 for 120. Where rounding makes a digit more of it (0.996 is 1.0), they are those of the
// rounded number.
func decimalsOf(expanded float64) int {
	rounded := numeric.RoundSignificant(expanded, 2)
	return 1 - int(math.Floor(math.Log10(rounded)+1e-12))
}

// two writes an uncertainty with two significant digits, to the nearest.
func two(x *float64) string {
	if x == nil || *x <= 0 {
		return "–"
	}
	return fixed(x, decimalsOf(*x))
}

// tiny is below what a number is written with a power of ten.
const tiny = 1e-4

// small2 writes an uncertainty with two significant digits, a very small one with a power of ten.
func small2(x *float64) string {
	if x == nil || *x <= 0 || *x >= tiny {
		return two(x)
	}
	rounded := numeric.RoundSignificant(*x, 2)
	return figure(&rounded)
}

// mostMore is how many digits more than U bears a value may get, so that its side of a limit shows.
const mostMore = 6

// sided returns the decimals to which a value is rounded: those wanted, or so many more that
// rounding moves it neither to the other side of a limit nor onto it.
func sided(x float64, decimals int, limits ...*float64) int {
	for more := range mostMore + 1 {
		near, keeps := numeric.RoundDecimals(x, decimals+more), true
		for _, l := range limits {
			keeps = keeps && (l == nil || cmp.Compare(near, *l) == cmp.Compare(x, *l))
		}
		if keeps {
			return decimals + more
		}
	}
	return decimals
}
