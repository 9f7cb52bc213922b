package medium

import (
	"math"

	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// critical holds the data from which the virial coefficients of a gas are estimated: critical
// temperature in K, critical pressure in Pa, acentric factor.
type critical struct {
	name                   string
	kelvin, pascals, omega float64
}

// Source: NIST Chemistry WebBook, rounded (from memory).
var criticals = [...]critical{
	{"nitrogen", 126.19, 3.396e6, 0.0372}, {"air", 132.5, 3.786e6, 0.0335}, {"argon", 150.69, 4.863e6, -0.0022}, {"co2", 304.13, 7.377e6, 0.2239},
}

// Virial coefficients of helium about room temperature, m³/mol and m⁶/mol². Source: from memory.
const (
	heliumB = 11.8e-6
	heliumC = 1.1e-10
)

// virial returns the second and the third virial coefficient of a gas at a temperature in K; ok is
// false for another gas.
//
//	B pc/(R Tc) = 0.1445 − 0.330/Tr − 0.1385/Tr² − 0.0121/Tr³ − 0.000607/Tr⁸ + ω(0.0637 + 0.331/Tr² − 0.423/Tr³ − 0.008/Tr⁸)
//	C pc²/(R Tc)² = 0.01407 + 0.02432/Tr^2.8 − 0.00313/Tr^10.5 + ω(−0.02676 + 0.0177/Tr^2.8 + 0.040/Tr³ − 0.003/Tr⁶ − 0.00228/Tr^10.5)
//
// Source:  B: Tsonopoulos, AIChE J. 20 (1974) 263; C: Orbey and Vera, AIChE J. 29 (1983) 107 (both
// from memory).
func virial(gas string, kelvin float64) (b, c float64, ok bool) {
	if gas == "helium" {
		return heliumB, heliumC, true
	}
	for _, g := range criticals {
		if g.name != gas {
			continue
		}
		x := g.kelvin / kelvin
		x2 := float64(x * x)
		x3 := float64(x2 * x)
		x8 := float64(float64(x3*x3) * x2)
		l := numeric.Log(x)
		p28, p105 := numeric.Exp(float64(2.8*l)), numeric.Exp(float64(10.5*l))
		f0 := 0.1445 - float64(0.33*x) - float64(0.1385*x2) - float64(0.0121*x3) - float64(0.000607*x8)
		f1 := 0.0637 + float64(0.331*x2) - float64(0.423*x3) - float64(0.008*x8)
		g0 := 0.01407 + float64(0.02432*p28) - float64(0.00313*p105)
		g1 := -0.02676 + float64(0.0177*p28) + float64(0.04*x3) - float64(0.003*float64(x3*x3)) - float64(0.00228*p105)
		v := units.MolarGasShort * g.kelvin / g.pascals
		return float64(v * (f0 + float64(g.omega*f1))), float64(float64(v*v) * (g0 + float64(g.omega*g1))), true
	}
	return 0, 0, false
}

// Compressibility returns Z = p/(ρ R T) of a gas.
//
//	p/(R T) = ρ + B ρ² + C ρ³
//
// Takes:   a gas that MolarMass knows, absolute pressure in Pa, °C.
// Gives:   Z; 1 for another gas and for no pressure.
// Source:  virial equation of state to the third coefficient: definition; the coefficients as
// virial says.
func Compressibility(gas string, pressurePa, temperatureC float64) float64 {
	kelvin := temperatureC + units.ZeroCelsius
	b, c, ok := virial(gas, kelvin)
	if !ok || !(pressurePa > 0) || !(kelvin > 0) {
		return 1
	}
	ideal := pressurePa / float64(units.MolarGasShort*kelvin)
	rho := ideal
	for range 100 { // Newton's method, which converges in a few steps while the gas is a gas
		slope := 1 + float64(2*float64(b*rho)) + float64(3*float64(c*float64(rho*rho)))
		if !(slope > 0.05) {
			break
		}
		step := (float64(rho*(1+float64(rho*(b+float64(c*rho))))) - ideal) / slope
		rho -= step
		if math.Abs(step) <= float64(1e-15*rho) {
			break
		}
	}
	return ideal / rho
}

// CompressibilityHalf returns the relative half-width of the density from the equation: 1 %, or 1 %
// for every 100 bar, or a third of the difference from the ideal gas, whichever is largest.
//
// Source:  chosen here, wide.
func CompressibilityHalf(gas string, pressurePa, temperatureC float64) float64 {
	return max(0.01, pressurePa/1e9, math.Abs(Compressibility(gas, pressurePa, temperatureC)-1)/3)
}

// Liquid reports whether carbon dioxide is a liquid, or so near to it that no equation for gases
// holds: above 90 % of its vapour pressure, or above its critical temperature beyond 90 % of the
// critical pressure. The other gases are far above theirs.
//
//	ln(ps/pc) = (Tc/T)(a1 x + a2 x^1.5 + a3 x² + a4 x⁴), x = 1 − T/Tc
//
// Source:  Span and Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509, equation 3.13 (from memory).
func Liquid(gas string, pressurePa, temperatureC float64) bool {
	if gas != "co2" {
		return false
	}
	const tc, pc = 304.1282, 7.3773e6
	t := temperatureC + units.ZeroCelsius
	if t >= tc {
		return pressurePa > 0.9*pc
	}
	x := 1 - t/tc
	sum := float64(-7.0602087*x) + float64(1.9391218*float64(x*math.Sqrt(x))) - float64(1.6463597*float64(x*x)) - float64(
		3.2995634*float64(float64(x*x)*float64(x*x)),
	)
	return pressurePa > float64(0.9*float64(pc*numeric.Exp(float64(tc/t*sum))))
}
