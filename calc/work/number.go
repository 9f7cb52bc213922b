package work

import (
	"strconv"
	"strings"

	"gaugewright/calc/numeric"
)

// Figure formats a measured or calculated number for a sentence: in plain digits if that is short,
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

// PlainFigure formats a number as Figure does, but in a form that parses as a number.
func PlainFigure(x float64) string { return numeric.Significant(x, 4) }

// Shortly formats a set or typed number, such as an altitude or a rate.
func Shortly(x float64) string { return numeric.Places(x, 3) }

// PressureText formats a pressure for a step, to six significant digits.
func PressureText(x float64) string {
	return numeric.Places(numeric.RoundSignificant(x, 6), 9)
}
