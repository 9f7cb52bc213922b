package leak

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/units"
)

// Test is one closed volume watched over time.
type Test struct {
	Rise         bool    // vacuum rise; else pressure decay
	Volume       float64 // m³
	VolumeRel    float64 // standard uncertainty of the volume, relative
	ReferenceK   float64
	T            []float64 // s, rising
	P            []float64 // Pa as recorded
	Absolute     []float64 // Pa, absolute
	TemperatureC []float64 // nil if not recorded

	Unseen      func(x *Test, f *Fit) []uncertainty.Term // terms of the rate that the scatter does not show, Pa·m³/s; nil for none
	Coverage    float64                                  // two-sided, of U; 0 is that of k = 2
	Independent bool                                     // the readings lie so far apart that their scatter is uncorrelated
	Planned     float64                                  // measuring time, s; 0: all readings are the planned ones
	Every       float64                                  // s between them
}

// Fit is the straight line through the compensated pressures and the leak that follows from it.
type Fit struct {
	N                       int
	Slope, SlopeSE          float64 // Pa/s of the compensated pressure
	Rate, RateSE            float64 // Pa·m³/s at the reference temperature, positive for a leak
	Low, High               float64 // 95 % of the slope alone, if the readings were independent
	U, K, Expanded          float64 // standard and expanded uncertainty of the rate, of all terms
	DOF                     float64 // effective, of U; +Inf if not limited
	Factor                  float64 // by which RateSE enters U, as the readings may be correlated
	Terms                   []uncertainty.Term
	CriticalLevel           float64 // 95 %, one-sided, if the readings were independent
	TwoPoint, Uncompensated float64
	DurbinWatson            float64
	Curved                  bool    // a quadratic term is significant at 99 %
	Unsettled               bool    // curved, or with scatter so slow that a line means nothing
	Bend                    float64 // Pa/s: possible change of the slope over the time, from the largest residual
	Sigma                   float64 // residual standard deviation, Pa
	Start, End              float64 // compensated pressures of the line
	Elapsed, Spacing        float64 // s

	noise  noise
	unseen []uncertainty.Term
}

// Compensate returns the pressure that gas in a closed volume would have at a reference
// temperature.
//
//	pc = p T_ref/T
//
// Takes:   the absolute pressure in any unit, the reference temperature in K, the gas's in °C.
// Gives:   the pressure in the same unit.
// Source:  ideal gas: 40 CFR 1065.644.
func Compensate(absolute, referenceK, celsius float64) float64 {
	return absolute * referenceK / (celsius + units.ZeroCelsius)
}

// Compensated returns the absolute pressure of one reading at the reference temperature, or as read
// if no temperature was recorded.
func (x *Test) Compensated(i int) float64 {
	if x.TemperatureC == nil {
		return x.Absolute[i]
	}
	return Compensate(x.Absolute[i], x.ReferenceK, x.TemperatureC[i])
}

// Moles returns the molar flow of a leak in mol/s: n = Q/(R T).
//
// Takes:   the leak rate in Pa·m³/s at a temperature in K.
// Source:  ideal gas.
func Moles(rate, kelvin float64) float64 { return rate / (units.MolarGas * kelvin) }

// StandardFlow returns a molar flow as a volume flow at the standard atmosphere, in cm³/min.
//
//	V = n R T/101325 Pa · 6e7 (cm³/min)/(m³/s)
//
// Takes:   mol/s, and the temperature in °C that the volume is stated at.
// Source:  ideal gas at the standard atmosphere: the definition of the standard cubic centimetre.
func StandardFlow(moles, celsius float64) float64 {
	return float64(moles * units.MolarGas * (celsius + units.ZeroCelsius) / units.StandardAtmosphere * 6e7)
}

// LeastSamples is the smallest number of readings that give a slope with an uncertainty: two
// parameters and one degree of freedom.
const LeastSamples = 3

// Evaluate fits the line.
//
//	pc = p T_ref/T;  b = Sxy/Sxx;  s² = SSE/(n−2);  Q = ∓V b;  CI = Q ± t(0.975, n−2) V s_b;  U: see budget
//	critical level = t(0.95, n−2) V s_b;  Durbin–Watson = Σ(e_i − e_{i−1})²/Σe²
//
// Takes:   a Test with n ≥ 3 samples of rising time.
// Gives:   the Fit.
// Refuses: Fault shape for too few samples or samples without spread.
// Source:  ideal gas, mass change: 40 CFR 1065.644; ordinary least squares; critical level after
// Currie (from memory).
func Evaluate(x Test) (Fit, error) {
	n := len(x.T)
	if n < LeastSamples {
		return Fit{}, document.Refuse(
			document.CodeShape, "trace", "at least three readings after the skipped time are needed",
		)
	}
	pc := make([]float64, n)
	for i := range pc {
		pc[i] = x.Compensated(i)
	}
	l, durbinWatson, err := fit(x.T, pc)
	if err != nil {
		return Fit{}, err
	}
	raw, _ := numeric.LinearFit(x.T, x.P)
	sign := -x.Volume
	if x.Rise {
		sign = x.Volume
	}
	f := Fit{
		N: n, Slope: l.Slope, SlopeSE: l.SlopeError,
		Rate: float64(sign * l.Slope), RateSE: float64(x.Volume * l.SlopeError),
		TwoPoint:      float64(sign * (pc[n-1] - pc[0]) / (x.T[n-1] - x.T[0])),
		Uncompensated: float64(sign * raw.Slope),
		DurbinWatson:  durbinWatson, Sigma: l.Residual,
		Start: l.At(x.T[0]), End: l.At(x.T[n-1]),
		Elapsed: x.T[n-1] - x.T[0], Spacing: (x.T[n-1] - x.T[0]) / float64(n-1),
	}
	dof := float64(n - 2)
	half := float64(numeric.StudentTQuantile(0.975, dof) * f.RateSE)
	f.Low, f.High = f.Rate-half, f.Rate+half
	f.CriticalLevel = float64(numeric.StudentTQuantile(0.95, dof) * f.RateSE)
	f.settled(x.T, pc, &l)
	if !x.Independent {
		f.noise = noiseOf(x.T, l.Residuals)
	}
	if x.Unseen != nil {
		f.unseen = x.Unseen(&x, &f)
	}
	b, terms, err := f.budget(&x, x.coverage())
	if err != nil {
		return Fit{}, err
	}
	f.U, f.K, f.Expanded, f.DOF, f.Terms, f.Factor = b.U, b.K, b.Expanded, b.DOF, terms, 1
	if f.RateSE > 0 {
		f.Factor = terms[0].U / f.RateSE
	}
	return f, nil
}

// slowest is the Durbin–Watson figure below which the scatter of fifteen readings or more is so
// slow that it cannot be distinguished from a change of the rate: each residual follows three
// quarters of the one before (DW = 2 − 2φ).
const slowest = 0.5

// settled checks whether a straight line describes the readings. For a long record it uses means
// over blocks, so that a sensor's filter, which U includes, is not mistaken for settling.
func (f *Fit) settled(t, pc []float64, l *numeric.Line) {
	durbinWatson := f.DurbinWatson
	if f.N > mostReadings {
		t, pc = averaged(t), averaged(pc)
		blocks, dw, _ := fit(t, pc)
		l, durbinWatson = &blocks, dw
	}
	if len(t) > 3 {
		f.Curved = curved(t, l)
	}
	f.Unsettled = f.Curved || len(t) >= 15 && durbinWatson < slowest
	most := 0.0
	for _, e := range l.Residuals {
		most = max(most, math.Abs(e))
	}
	f.Bend = float64(12 * most / f.Elapsed)
}

// fit fits a line. If no residual is left, durbinWatson is 2, as for uncorrelated readings.
func fit(t, p []float64) (l numeric.Line, durbinWatson float64, err error) {
	l, ok := numeric.LinearFit(t, p)
	if !ok {
		return l, 0, document.Refuse(document.CodeShape, "trace", "the readings were taken at one time")
	}
	if !(l.SSE > 0) {
		return l, 2, nil
	}
	steps := make([]float64, len(t))
	for i := range steps[1:] {
		steps[i+1] = square(l.Residuals[i+1] - l.Residuals[i])
	}
	return l, numeric.Sum(steps) / l.SSE, nil
}

// curved reports whether a quadratic term, orthogonal to the line, differs from zero at 99 %.
func curved(t []float64, l *numeric.Line) bool {
	n := len(t)
	q := make([]float64, n)
	for i := range t {
		d := t[i] - l.MeanX
		q[i] = float64(d * d)
	}
	lq, _ := numeric.LinearFit(t, q)
	qq, qe, ee := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range t {
		qq[i] = float64(lq.Residuals[i] * lq.Residuals[i])
		qe[i] = float64(lq.Residuals[i] * l.Residuals[i])
		ee[i] = float64(l.Residuals[i] * l.Residuals[i])
	}
	sq := numeric.Sum(qq)
	if sq == 0 {
		return false
	}
	c := numeric.Sum(qe) / sq
	left := numeric.Sum(ee) - float64(c*c*sq)
	if left <= 0 {
		return c != 0 && numeric.Sum(ee) > 0
	}
	se := math.Sqrt(left / float64(n-3) / sq)
	return math.Abs(c) > float64(numeric.StudentTQuantile(0.995, float64(n-3))*se)
}

func square(x float64) float64 { return float64(x * x) }

func cubeRoot(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return numeric.Exp(numeric.Log(x) / 3)
}

// Dwell returns the measuring time needed to detect a leak of a given rate.
//
//	τ = (12 Δt (kσV/Q)²)^(1/3)
//
// Takes:   volume in m³, noise in Pa (a resolution r counts as r/√12), rate in Pa·m³/s, spacing of
// readings in s, factor k (3.29 as Currie).
// Gives:   seconds.
// Source:  derived here from the slope's standard deviation σ√(12Δt/τ³) of evenly spaced readings.
func Dwell(volume, sigma, rate, spacing, factor float64) float64 {
	return cubeRoot(float64(12 * spacing * square(factor*sigma*volume/rate)))
}

// Settle returns how long the gas must rest until its cooling looks like less than a fraction of
// the limit.
//
//	t = τ ln(V p ΔT/(T τ f Q))
//
// Takes:   volume, absolute pressure, temperature step and temperature in K, time constant in s,
// limit in Pa·m³/s, fraction of it.
// Gives:   seconds; 0 if it is below the fraction from the start.
// Source:  derived here: the apparent leak of a gas cooling exponentially, V p ΔT/(Tτ) exp(−t/τ).
func Settle(volume, pressure, step, temperature, tau, limit, fraction float64) float64 {
	x := volume * pressure * math.Abs(step) / (temperature * tau * fraction * limit)
	if x <= 1 {
		return 0
	}
	return float64(tau * numeric.Log(x))
}

// FinalPressure returns the lowest permissible pressure after five minutes in the gas space of a
// fuel store with up to six nozzles.
//
//	P = p0 exp(−500.887/V)
//
// Takes:   the initial pressure in any unit, the volume in US gallons, above zero.
// Gives:   the pressure in the same unit.
// Source:  California TP-201.3, equation 9-1, from a scan; the rule starts at 2.0 inches of water.
// Its factor for more nozzles is not legible there.
func FinalPressure(initial, gallons float64) float64 {
	return float64(initial * numeric.Exp(-500.887/gallons))
}

// Volume returns an unknown volume from three pressures at one temperature: in it alone, in an
// added volume alone, and in both when joined.
//
//	V = Va (p2 − pa)/(p1 − p2);  u²(V) = (V u_a)² + u_p² [V² + (Va (p1 − pa)/(p1 − p2))² + Va²]/(p1 − p2)²
//
// Takes:   the added volume and its relative standard uncertainty; pressures of one unit and mode;
// the standard uncertainty of each.
// Gives:   the volume and its relative standard uncertainty.
// Refuses: Fault range if the pressures give no volume above zero.
// Source:  Boyle's law, p1 V + pa Va = p2 (V + Va); as it contains only differences, gauge
// pressures serve as well. Uncertainty by JCGM 100, 5.1.2.
func Volume(added, addedRel, p1, pa, p2, uPressure float64) (volume, rel float64, err error) {
	fall := p1 - p2
	volume = added * (p2 - pa) / fall
	if fall == 0 || !(volume > 0) || math.IsInf(volume, 0) {
		return 0, 0, document.Refuse(
			document.CodeRange, "captures",
			"the three pressures give no volume: joined, the pressure must lie between those of the two alone",
		)
	}
	joined := float64(added * (p1 - pa) / fall)
	parts := (float64(volume*volume) + float64(joined*joined) + float64(added*added)) / float64(fall*fall)
	u2 := square(float64(volume*addedRel)) + float64(square(uPressure)*parts)
	return volume, math.Sqrt(u2) / volume, nil
}

// PneumaticTest returns the highest set pressure of the relief for a pneumatic test, and the
// pressure of its preliminary check.
//
//	relief ≤ p + min(345 kPa, p/10);  preliminary = min(p/2, 170 kPa)
//
// Takes:   the test pressure in Pa gauge, above zero.
// Gives:   both in Pa gauge.
// Source:  ASME B31.3-2016, 345.5.2 and 345.8(b).
func PneumaticTest(pressure float64) (relief, preliminary float64) {
	over := pressure / 10
	if over > 345e3 {
		over = 345e3
	}
	return pressure + over, min(float64(pressure/2), 170e3)
}
