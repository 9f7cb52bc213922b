package gauge

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Output is a transmitter's output signal. Errors are counted on it: the signal less the ideal
// signal, as IEC 61298-2 does (from memory).
type Output struct {
	Unit       string
	Low, High  numeric.Exact
	SquareRoot bool
	Resolution float64 // resolution of the meter that reads it
	MeterU     float64 // standard uncertainty of that meter
}

// ReadOutput reads an output {low, high, unit, law?, resolution?, meter_u?}.
func ReadOutput(in *document.Reader) *Output {
	out := &Output{Low: readExact(in, "low"), High: readExact(in, "high"), Unit: in.Choice("unit", "mA", "V")}
	out.SquareRoot = in.ChoiceOr("law", "linear", "square-root") == "square-root"
	out.Resolution, out.MeterU = in.NumberOr("resolution", 0), in.NumberOr("meter_u", 0)
	switch {
	case in.Err() != nil:
	case out.Low.Cmp(out.High) >= 0:
		in.Fail(document.CodeRange, "high", "must lie above low")
	case out.Resolution < 0:
		in.Fail(document.CodeRange, "resolution", "must not be below zero")
	case out.MeterU < 0:
		in.Fail(document.CodeRange, "meter_u", "must not be below zero")
	}
	return out
}

// Ideal returns the signal that a pressure should give.
//
//	linear: o_low + span·x;  square-root: o_low + span·√x, below zero mirrored;  x = (p − low)/(high − low)
//
// Takes:   pressure and range, exact.
// Gives:   the signal; an irrational root is given to 30 digits and more and never equals a
// decimal.
// Source:  the two laws of differential-pressure flow transmitters: common practice.
func (o *Output) Ideal(pressure, low, high numeric.Exact) numeric.Exact {
	x, _ := pressure.Sub(low).Div(high.Sub(low))
	if o.SquareRoot {
		root := x.Abs().Sqrt()
		if x.Sign() < 0 {
			root = root.Neg()
		}
		x = root
	}
	return o.Low.Add(x.Mul(o.High.Sub(o.Low)))
}

// Pressure returns the pressure that a signal stands for.
//
// Gives:   false for a square-root output at and below zero, where the signal does not determine
// the pressure.
func (o *Output) Pressure(signal, low, high float64) (float64, bool) {
	x := (signal - o.Low.Float()) / (o.High.Sub(o.Low).Float())
	if o.SquareRoot {
		if !(x > 0) {
			return 0, false
		}
		x = float64(x * x)
	}
	return low + float64(x*(high-low)), true
}

// slope returns how much the signal changes with the pressure. For the square-root law that is the
// tangent 1/(2√x), capped near zero at the secant from zero over delta, 1/√δ, because the tangent
// grows without bound there.
//
// Source:  derived here.
func (o *Output) slope(pressure, low, high, delta float64) float64 {
	span := high - low
	k := o.High.Sub(o.Low).Float() / span
	if !o.SquareRoot {
		return k
	}
	x, d := math.Abs((pressure-low)/span), math.Abs(delta/span)
	if d == 0 {
		d = 1e-9
	}
	return k / max(float64(2*math.Sqrt(x)), math.Sqrt(d))
}
