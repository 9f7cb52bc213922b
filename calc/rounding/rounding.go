// Package rounding decides with how many digits a figure is shown, on the phone and on a
// certificate alike. Stored figures keep every digit.
package rounding

import (
	"cmp"
	"math"
	"strconv"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

const (
	// few is the number of digits of a value that has neither an uncertainty nor a limit.
	few = 4
	// ofLimit is how many digits of its larger limit an error shown beside it has.
	ofLimit = 3
	// noise is the share of the largest neighbouring figure below which a value is only rounding
	// error of binary arithmetic.
	noise = 1e-9
	// mostMore is how many digits beyond those of its uncertainty a value may get, so that its side
	// of a limit shows.
	mostMore = 6
	// tiny is the size below which a number is written with a power of ten.
	tiny = 1e-4
)

// Figure is a value with the data that decide its digits.
type Figure struct {
	Value     float64
	Expanded  *float64 // its expanded uncertainty; nil if none is known
	Low, High *float64 // its limits
	Places    int      // decimals that the instrument can be read to; below 0 if unknown
	Size      float64  // the largest figure beside it, 0 if there is none
	OfLimit   bool     // without an uncertainty, its limits decide its digits, not Places
}

// Decimals returns the decimals of an uncertainty with two significant digits: 2 for 0.96, 0 for
// 12, −1 for 120. If rounding adds a digit (0.996 becomes 1.0), the decimals are those of the
// rounded number.
//
// Source: two digits: JCGM 100:2008, 7.2.6 (from memory).
func Decimals(expanded float64) int {
	return 1 - numeric.Exponent(numeric.RoundSignificant(expanded, 2))
}

// Sided returns the decimals to which a value is rounded: those wanted, or as many more as it takes
// that rounding moves it neither across a limit nor onto it.
func Sided(x float64, decimals int, limits ...*float64) int {
	for more := range mostMore + 1 {
		if sameSide(numeric.RoundDecimals(x, decimals+more), x, limits) {
			return decimals + more
		}
	}
	return decimals
}

// sameSide reports whether two numbers lie alike to each limit: below, on or above it.
func sameSide(a, b float64, limits []*float64) bool {
	for _, l := range limits {
		if l != nil && cmp.Compare(a, *l) != cmp.Compare(b, *l) {
			return false
		}
	}
	return true
}

// Round rounds a figure to two digits of its uncertainty, else to three digits of its limit or to
// one digit more than the resolution. A value that is only rounding error of binary arithmetic
// becomes 0. Rounding never moves a figure across a limit or onto it. If an uncertainty decides,
// Round also returns the decimals to write.
func Round(f *Figure) (x float64, decimals int, given bool) {
	x = f.Value
	limit := 0.0 // the larger one
	for _, l := range []*float64{f.Low, f.High} {
		if l != nil {
			limit = max(limit, math.Abs(*l))
		}
	}
	size := max(f.Size, limit)
	switch {
	case f.Expanded != nil && *f.Expanded > 0:
		decimals, given = Sided(x, Decimals(*f.Expanded), f.Low, f.High), true
		x = numeric.RoundDecimals(x, decimals)
	case f.OfLimit && limit > 0:
		places := max(0, ofLimit-1-numeric.Exponent(limit))
		limits := []*float64{f.Low, f.High}
		if near := numeric.RoundDecimals(x, Sided(x, places, limits...)); sameSide(near, x, limits) {
			x = near
		}
	case f.Places >= 0:
		x = numeric.RoundDecimals(x, Sided(x, f.Places+1, f.Low, f.High))
	case math.Abs(x) < float64(size*noise):
		x = 0
	case f.Low == nil && f.High == nil: // nothing tells its accuracy
		x = numeric.RoundSignificant(x, few)
	}
	return x + 0, decimals, given // no minus before a zero
}

// Text writes a figure as it is shown, with all decimals that its uncertainty gives, in plain
// digits or with a power of ten after an e.
func Text(f *Figure) string {
	x, decimals, given := Round(f)
	if given && decimals >= 0 && (x == 0 || math.Abs(x) >= tiny) {
		s := numeric.FormatDecimals(x, decimals)
		if strings.Trim(s, "-0.") == "" {
			s = strings.TrimPrefix(s, "-")
		}
		return s
	}
	s := Plain(x)
	if near, ok := document.Float(s); !ok || !sameSide(near, x, []*float64{f.Low, f.High}) {
		s = strconv.FormatFloat(x, 'g', -1, 64)
	}
	return s
}

// Plain writes a calculated number with at most six digits, and a very small or large one with four
// and a power of ten.
func Plain(x float64) string {
	r := numeric.RoundSignificant(x, 6)
	if a := math.Abs(r); a != 0 && (a < tiny || a >= 1e9) {
		return strconv.FormatFloat(numeric.RoundSignificant(r, 4), 'g', -1, 64)
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// Uncertainty writes an expanded uncertainty with two significant digits.
func Uncertainty(u float64) string {
	if d := Decimals(u); u >= tiny && d >= 0 {
		return numeric.FormatDecimals(u, d)
	}
	return Plain(numeric.RoundSignificant(u, 2))
}

// Calculations returns the calculation figures.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "figures", Call: calculateFigures}}
}

// calculateFigures is the calculation figures: results of a finding → each as shown, in decimal
// text.
//
// Takes:   {results: [{value, expanded?, limit_low?, limit_high?, unit?, size?, of_limit?}],
// instrument?: {unit?, high?, resolution?}}; size is the largest figure beside a result. A result
// in the instrument's unit is shown no finer than the instrument can be read; with of_limit, three
// digits of the larger limit decide.
// Gives:   {results: [{value, expanded?}]}, in their order.
func calculateFigures(in *document.Reader, out *document.Writer) error {
	var it struct {
		unit, resolution string
		high             float64
	}
	if r, ok := in.OptionalObject("instrument"); ok {
		it.unit, it.resolution = r.TextOr("unit", ""), r.TextOr("resolution", "")
		it.high = r.NumberOr("high", 0)
	}
	optional := func(r *document.Reader, name string) *float64 {
		if x, ok := r.Optional(name); ok {
			return &x
		}
		return nil
	}
	out.BeginList("results")
	for _, r := range in.List("results") {
		f := Figure{
			Value: r.Number("value"), Expanded: optional(r, "expanded"),
			Low: optional(r, "limit_low"), High: optional(r, "limit_high"),
			Places: -1, Size: math.Abs(r.NumberOr("size", 0)), OfLimit: r.Flag("of_limit", false),
		}
		if r.TextOr("unit", "") == it.unit {
			f.Size = max(f.Size, math.Abs(it.high))
			if it.resolution != "" {
				f.Places = numeric.DecimalPlaces(it.resolution)
			}
		}
		if in.Err() != nil {
			break
		}
		out.Begin()
		out.Text("value", Text(&f))
		if f.Expanded != nil {
			out.Text("expanded", Uncertainty(*f.Expanded))
		}
		out.End()
	}
	out.EndList()
	return in.Err()
}

// OfLimit writes an error, given as a fraction of its limit, in whole per cent. Rounding never puts
// it onto the limit or across it: a failure shows "> 100", not "100".
func OfLimit(part float64) string {
	const same = 1e-7 // per cent: rounding error of a quotient of 1
	percent := float64(100 * math.Abs(part))
	whole := math.Round(percent)
	switch {
	case whole != 100 || math.Abs(percent-100) < same:
		return numeric.FormatDecimals(whole, 0)
	case percent > 100:
		return "> 100"
	}
	return "< 100"
}
