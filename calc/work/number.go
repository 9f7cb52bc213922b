package work

import (
	"strconv"
	"strings"

	"gaugewright/calc/numeric"
)

// Figure writes a measured or calculated number in a sentence: in plain digits where that is short,
// else with a power of ten, 1.2 × 10⁻⁵.
func Figure(x float64) string {
	mantissa, exponent, long := strings.Cut(PlainFigure(x), "e")
	power, err := strconv.Atoi(exponent)
	if !long || err != nil {
		return mantissa
	}
	raised := []rune(strconv.Itoa(power))
	for i, c := range raised {
		if c == '-' {
			raised[i] = '⁻'
		} else {
			raised[i] = []rune("⁰¹²³⁴⁵⁶⁷⁸⁹")[c-'0']
		}
	}
	return mantissa + " × 10" + string(raised)
}

// PlainFigure writes a number as figure does, in a form that is read as a number again.
func PlainFigure(x float64) string { return numeric.Significant(x, 4) }

// Shortly writes a number that is set or typed, such as an altitude or a rate.
func Shortly(x float64) string { return numeric.Places(x, 3) }

// PressureText writes a pressure for a step, to six significant digits.
func PressureText(x float64) string {
	return numeric.Places(numeric.RoundSignificant(x, 6), 9)
}
