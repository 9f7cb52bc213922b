package dcc

import (
	"math"
	"strings"

	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// notation says how to write a unit: in the SI, and as it was recorded. If it is an SI unit,
// recorded is "".
type notation struct {
	si       string // D-SI 2.2.1, such as \kilo\pascal
	recorded string // beside it: \bar, or a name after a bar if D-SI has none
	declared string // the name that a statement has to declare, or ""
	from, to units.Unit
}

// plain are the SI units that D-SI writes as they are.
var plain = map[string]string{
	"Pa": `\pascal`, "hPa": `\hecto\pascal`, "kPa": `\kilo\pascal`, "MPa": `\mega\pascal`, "K": `\kelvin`, "m": `\metre`, "mm": `\milli\metre`,
	"m/s": `\metre\second\tothe{-1}`, "s": `\second`, "m3": `\metre\tothe{3}`, "mA": `\milli\ampere`, "A": `\ampere`, "V": `\volt`,
	"Pa.m3/s": `\pascal\metre\tothe{3}\second\tothe{-1}`, "kg": `\kilogram`,
}

// beside are units that D-SI knows and that are not in the SI.
var beside = map[string]string{
	"bar": `\bar`, "mbar": `\milli\bar`, "mmHg": `\mmHg`, "degC": `\degreecelsius`, "min": `\minute`,
	"h": `\hour`,
}

// instead names, for each kind of quantity, the unit that comes first.
var instead = map[units.Kind]string{
	units.Pressure: "kPa", units.Temperature: "K", units.Length: "m", units.Speed: "m/s", units.Time: "s", units.Volume: "m3", units.Leak: "Pa.m3/s",
	units.Current: "mA", units.Voltage: "V",
}

// spelled are units of a rate, which calc/units does not have as one.
var spelled = map[string]string{"Pa/s": `\pascal\second\tothe{-1}`, "kPa/s": `\kilo\pascal\second\tothe{-1}`, "hPa/s": `\hecto\pascal\second\tothe{-1}`,
	"Pa/min": `\pascal\minute\tothe{-1}`, "%": `\percent`, "1": `\one`}

// notationOf finds how to write a unit; ok is false if it can only be given in words.
func notationOf(unit string) (n notation, ok bool) {
	if si, ok := spelled[unit]; ok {
		return notation{si: si}, true
	}
	u, ok := units.Find(unit)
	if !ok {
		return n, false
	}
	if si, ok := plain[u.Name]; ok {
		return notation{si: si}, true
	}
	to, ok := units.Find(instead[u.Kind])
	if !ok {
		return n, false
	}
	n = notation{si: plain[to.Name], recorded: beside[u.Name], from: u, to: to}
	if n.recorded == "" {
		n.declared = strings.NewReplacer(" ", "", "|", "").Replace(u.Name)
		n.recorded = "|" + n.declared
	}
	return n, true
}

// convert writes a decimal text in the SI with the same significant digits: 1.250 bar is 125.0 kPa.
// A text that is not a number stays.
func (n *notation) convert(text string) string {
	if n.recorded == "" {
		return text
	}
	x, ok := numeric.ParseExact(text)
	if !ok {
		return text
	}
	_, after, _ := strings.Cut(text, ".")
	digits := len(after) - int(math.Floor(math.Log10(n.from.Factor/n.to.Factor)))
	if n.from.Shift != n.to.Shift { // the zero of degrees Celsius is at 273.15 K
		digits = max(digits, 2)
	}
	return n.to.ExactFromSI(n.from.ExactSI(x)).Decimal(max(0, digits))
}

func (n *notation) convertAll(texts []string) []string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = n.convert(t)
	}
	return out
}
