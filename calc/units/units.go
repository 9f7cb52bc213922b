package units

import (
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// SI quantities as float types.
type (
	Pascal               float64
	Kelvin               float64
	Metre                float64
	MetrePerSecond       float64
	CubicMetre           float64
	Kilogram             float64
	Second               float64
	KilogramPerCubic     float64 // kg/m³
	PascalCubicPerSec    float64 // Pa·m³/s
	MolePerSecond        float64
	MetrePerSecondSquare float64
)

// Kind is what a unit measures.
type Kind string

// The kinds of unit.
const (
	Pressure    Kind = "pressure"
	Temperature Kind = "temperature"
	Length      Kind = "length"
	Speed       Kind = "speed"
	Volume      Kind = "volume"
	Mass        Kind = "mass"
	Time        Kind = "time"
	Leak        Kind = "leak rate"
	Flow        Kind = "molar flow"
	Current     Kind = "current"
	Voltage     Kind = "voltage"
	Ratio       Kind = "ratio"
)

// Unit is one unit: SI = (number + Shift)·Factor.
type Unit struct {
	Name      string
	Kind      Kind
	Factor    float64
	Shift     float64
	Exact     bool   // the factor is exact by definition or convention, not based on a rounded density
	UCUM      string // empty if UCUM has no code
	Spellings []string

	num, den, shift string
}

// Find returns the unit of a spelling. Case matters: mPa is not MPa. Superscripts, the degree sign
// and a middle dot are accepted.
func Find(spelling string) (Unit, bool) {
	s := plain(spelling)
	for i := range table {
		if table[i].Name == s {
			return table[i], true
		}
		for _, other := range table[i].Spellings {
			if other == s {
				return table[i], true
			}
		}
	}
	return Unit{}, false
}

// plain returns a spelling with the signs of the units replaced by ASCII.
func plain(s string) string {
	var out []byte
	for i, r := range s {
		if r < 0x80 {
			if out != nil {
				out = append(out, byte(r))
			}
			continue
		}
		if out == nil {
			out = append(make([]byte, 0, len(s)), s[:i]...)
		}
		switch r {
		case '²':
			out = append(out, '2')
		case '³':
			out = append(out, '3')
		case '₂':
			out = append(out, '2')
		case '·':
			out = append(out, '.')
		case '°':
			out = append(out, "deg"...)
		case 'µ', 'μ':
			out = append(out, 'u')
		default:
			return s // no unit has another sign
		}
	}
	if out == nil {
		return s
	}
	return string(out)
}

// All returns every unit, in the order of the contract.
func All() []Unit { return append([]Unit(nil), table...) }

// HasMode reports whether quantities in a unit are gauge, absolute or differential: only pressures
// are. An unknown spelling may be a pressure.
func HasMode(spelling string) bool {
	u, ok := Find(spelling)
	return !ok || u.Kind == Pressure
}

// ToSI returns the SI value of x in this unit.
func (u Unit) ToSI(x float64) float64 { return float64((x + u.Shift) * u.Factor) }

// FromSI returns the number in this unit of an SI value.
func (u Unit) FromSI(x float64) float64 { return x/u.Factor - u.Shift }

// Interval returns the SI size of a difference of x in this unit; the zero of a temperature scale
// does not matter.
func (u Unit) Interval(x float64) float64 { return float64(x * u.Factor) }

// FromInterval returns the difference in this unit of an SI difference.
func (u Unit) FromInterval(x float64) float64 { return x / u.Factor }

func (u Unit) factor() numeric.Exact {
	num, _ := numeric.ParseExact(u.num)
	den, _ := numeric.ParseExact(u.den)
	f, _ := num.Div(den)
	return f
}

// ExactSI returns the SI value of x without rounding.
func (u Unit) ExactSI(x numeric.Exact) numeric.Exact {
	if u.shift != "" {
		s, _ := numeric.ParseExact(u.shift)
		x = x.Add(s)
	}
	return x.Mul(u.factor())
}

// ExactFromSI returns the number in this unit of an SI value, without rounding.
func (u Unit) ExactFromSI(x numeric.Exact) numeric.Exact {
	x, _ = x.Div(u.factor())
	if u.shift != "" {
		s, _ := numeric.ParseExact(u.shift)
		x = x.Sub(s)
	}
	return x
}

// Compare reports whether a in unit ua is below (−1), equal to (0) or above (1) b in unit ub,
// without rounding: a reading that equals a limit in decimals equals it in any unit.
//
// Takes:   decimal texts; units of one kind.
// Refuses: ok is false for another kind or a text that is not a decimal number.
func Compare(a string, ua Unit, b string, ub Unit) (order int, ok bool) {
	x, ok1 := numeric.ParseExact(a)
	y, ok2 := numeric.ParseExact(b)
	if !ok1 || !ok2 || ua.Kind != ub.Kind {
		return 0, false
	}
	if ua.Name == ub.Name {
		return x.Cmp(y), true
	}
	return ua.ExactSI(x).Cmp(ub.ExactSI(y)), true
}

// Convert converts x from one unit to another of the same kind. In the same unit x is unchanged.
func Convert(x float64, from, to Unit) (value float64, ok bool) {
	if from.Kind != to.Kind {
		return 0, false
	}
	if from.Name == to.Name {
		return x, true
	}
	return to.FromSI(from.ToSI(x)), true
}

// Quantity is a number with its unit, as typed.
type Quantity struct {
	Text  string // the number
	Exact numeric.Exact
	Unit  Unit
}

// Parse reads a quantity such as "2.5 bar" or "-40degC".
//
// Refuses: a document fault "not_a_number" or "unit".
func Parse(s string) (Quantity, error) {
	s = strings.TrimSpace(s)
	end := 0
	for end < len(s) && (s[end] >= '0' && s[end] <= '9' || s[end] == '.' || end == 0 && (s[end] == '-' || s[end] == '+')) {
		end++
	}
	if e := end; e < len(s) && (s[e] == 'e' || s[e] == 'E') {
		e++
		if e < len(s) && (s[e] == '-' || s[e] == '+') {
			e++
		}
		start := e
		for e < len(s) && s[e] >= '0' && s[e] <= '9' {
			e++
		}
		if e > start {
			end = e
		}
	}
	x, ok := numeric.ParseExact(s[:end])
	if !ok {
		return Quantity{}, document.Refuse(
			document.CodeNotANumber, "quantity", document.Quote(s)+" does not begin with a decimal number",
		)
	}
	u, ok := Find(strings.TrimSpace(s[end:]))
	if !ok {
		return Quantity{}, document.Refuse(
			document.CodeUnit, "quantity",
			document.Quote(strings.TrimSpace(s[end:]))+" is not a unit known here",
		)
	}
	return Quantity{Text: s[:end], Exact: x, Unit: u}, nil
}

// Of reads a unit of one of the kinds given from a document's field.
//
// Refuses: a fault "unit" on the field.
func Of(in *document.Reader, field string, kinds ...Kind) Unit {
	s := in.Text(field)
	if in.Err() != nil {
		return Unit{Factor: 1, num: "1", den: "1"}
	}
	u, ok := Find(s)
	for _, k := range kinds {
		if ok && u.Kind == k {
			return u
		}
	}
	if ok && len(kinds) == 0 {
		return u
	}
	if ok {
		in.Fail(
			document.CodeUnit, field, document.Quote(s)+" is a unit of "+string(u.Kind)+", not of "+string(kinds[0]),
		)
	} else {
		in.Fail(document.CodeUnit, field, document.Quote(s)+" is not a unit known here")
	}
	return Unit{Factor: 1, num: "1", den: "1"}
}
