package medium

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Air is the state of moist air and its density.
type Air struct {
	Density         float64 // kg/m³
	Compressibility float64
	SaturationPa    float64
	VapourFraction  float64
	Outside         bool // outside the range that the equation is recommended for
}

// MoistAir returns the density of moist air by the CIPM-2007 equation.
//
// Takes:   absolute pressure in Pa, temperature in °C, relative humidity 0…1, mole fraction of CO2
// (0.0004 is the usual).
// Gives:   density in kg/m³ and the intermediate values; Outside is set beyond 600–1100 hPa or
// 15–27 °C.
// Refuses: pressure outside 1 kPa…200 kPa, temperature outside −40…60 °C, humidity outside 0…1, CO2
// outside 0…0.05 (Fault range).
// Source:  A. Picard, R. S. Davis, M. Gläser, K. Fujii, Metrologia 45 (2008) 149–155; R is the
// paper's 8.314472.
func MoistAir(p, t, humidity, co2 float64) (Air, error) {
	switch {
	case !(p >= 1e3 && p <= 2e5):
		return Air{}, document.Refuse(document.CodeRange, "pressure_pa", "must be from 1000 to 200000 Pa, absolute")
	case !(t >= -40 && t <= 60):
		return Air{}, document.Refuse(document.CodeRange, "temperature_c", "must be from -40 to 60 °C")
	case !(humidity >= 0 && humidity <= 1):
		return Air{}, document.Refuse(document.CodeRange, "humidity", "must be a fraction from 0 to 1 (50 % is 0.5)")
	case !(co2 >= 0 && co2 <= 0.05):
		return Air{}, document.Refuse(document.CodeRange, "co2", "must be a mole fraction from 0 to 0.05")
	}
	const (
		r  = 8.314472
		mv = 18.01528e-3
		a0 = 1.58123e-6
		a1 = -2.9331e-8
		a2 = 1.1043e-10
		b0 = 5.707e-6
		b1 = -2.051e-8
		c0 = 1.9898e-4
		c1 = -2.376e-6
		d  = 1.83e-11
		e  = -0.765e-8
	)
	k := t + units.ZeroCelsius
	ma := float64((28.96546 + float64(12.011*(co2-0.0004))) * 1e-3)
	t2 := float64(t * t)
	psv := numeric.Exp(float64(1.2378847e-5*float64(k*k)) - float64(1.9121316e-2*k) + 33.93711047 - 6.3431645e3/k)
	f := 1.00062 + float64(3.14e-8*p) + float64(5.6e-7*t2)
	xv := float64(humidity * f * psv / p)
	pt := p / k
	z := 1 - float64(
		pt*(a0+float64(a1*t)+float64(a2*t2)+float64((b0+float64(b1*t))*xv)+float64((c0+float64(c1*t))*float64(xv*xv))),
	) +
		float64(float64(pt*pt)*(d+float64(e*float64(xv*xv))))
	rho := float64(p * ma / (z * r * k) * (1 - float64(xv*(1-mv/ma))))
	return Air{
		Density: rho, Compressibility: z, SaturationPa: psv, VapourFraction: xv,
		Outside: p < 60000 || p > 110000 || t < 15 || t > 27,
	}, nil
}
