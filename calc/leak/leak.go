// Package leak turns pressure and temperature over time into a leak rate, its uncertainty and a verdict.
package leak

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// R is the molar gas constant in J/(mol·K), exact (SI Brochure, 9th edition).
const R = 8.31446261815324

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

	Systematic float64 // standard uncertainty of the rate over the time elapsed that the scatter does not show, Pa·m³/s
	Risk       float64 // of a live decision; 0 is 0.05
}

// Fit is the straight line through the compensated pressures and what it says of the leak.
type Fit struct {
	N                       int
	Slope, SlopeSE          float64 // Pa/s of the compensated pressure
	Rate, RateSE            float64 // Pa·m³/s at the reference temperature, positive for a leak
	Low, High               float64 // 95 % of the slope alone
	U                       float64 // with the volume
	CriticalLevel           float64 // 95 %, one-sided
	TwoPoint, Uncompensated float64
	DurbinWatson            float64
	Curved                  bool    // a quadratic term is significant at 99 %
	Sigma                   float64 // residual standard deviation, Pa
	Start, End              float64 // compensated pressures of the line
	Elapsed, Spacing        float64 // s
}

// LeastSamples is the smallest number of readings that give a slope with an uncertainty: two parameters and one degree of freedom.
const LeastSamples = 3

// Evaluate fits the line.
//
//	pc = p T_ref/T;  b = Sxy/Sxx;  s² = SSE/(n−2);  Q = ∓V b;  CI = Q ± t(0.975, n−2) V s_b;  u² = (V s_b)² + (Q u_V)²
//	critical level = t(0.95, n−2) V s_b;  Durbin–Watson = Σ(e_i − e_{i−1})²/Σe²
//
// Takes:   a Test with n ≥ 3 samples of rising time.
// Gives:   the Fit.
// Refuses: Fault shape for too few samples or samples without spread.
// Source:  ideal gas, mass change: 40 CFR 1065.644; ordinary least squares; critical level after Currie (from memory).
func Evaluate(x Test) (Fit, error) {
	n := len(x.T)
	if n < LeastSamples {
		return Fit{}, document.Refuse(document.CodeShape, "trace", "at least three readings after the skipped time are needed")
	}
	pc := make([]float64, n)
	for i := range pc {
		pc[i] = x.Absolute[i]
		if x.TemperatureC != nil {
			pc[i] = x.Absolute[i] * x.ReferenceK / (x.TemperatureC[i] + 273.15)
		}
	}
	l := line(x.T, pc)
	raw := line(x.T, x.P)
	sign := -x.Volume
	if x.Rise {
		sign = x.Volume
	}
	f := Fit{
		N: n, Slope: l.slope, SlopeSE: l.se,
		Rate: float64(sign * l.slope), RateSE: float64(x.Volume * l.se),
		TwoPoint:      float64(sign * (pc[n-1] - pc[0]) / (x.T[n-1] - x.T[0])),
		Uncompensated: float64(sign * raw.slope),
		DurbinWatson:  l.dw, Sigma: l.sigma,
		Start: l.at(x.T[0]), End: l.at(x.T[n-1]),
		Elapsed: x.T[n-1] - x.T[0], Spacing: (x.T[n-1] - x.T[0]) / float64(n-1),
	}
	dof := float64(n - 2)
	half := float64(numeric.StudentTQuantile(0.975, dof) * f.RateSE)
	f.Low, f.High = f.Rate-half, f.Rate+half
	f.CriticalLevel = float64(numeric.StudentTQuantile(0.95, dof) * f.RateSE)
	volume := float64(f.Rate * x.VolumeRel)
	f.U = math.Sqrt(float64(f.RateSE*f.RateSE) + float64(volume*volume) + float64(x.Systematic*x.Systematic))
	if n > 3 {
		f.Curved = curved(x.T, pc, l)
	}
	return f, nil
}

type fitted struct {
	slope, se, sigma, dw float64
	meanT, meanP         float64
	sxx                  float64
	residual             []float64
}

func (l fitted) at(t float64) float64 { return l.meanP + float64(l.slope*(t-l.meanT)) }

// line is the least-squares line about the means, which keeps the digits of a small slope on a large pressure.
func line(t, p []float64) fitted {
	n := len(t)
	l := fitted{meanT: numeric.Mean(t), meanP: numeric.Mean(p), residual: make([]float64, n)}
	xx, xy := make([]float64, n), make([]float64, n)
	for i := range t {
		dt := t[i] - l.meanT
		xx[i] = float64(dt * dt)
		xy[i] = float64(dt * (p[i] - l.meanP))
	}
	l.sxx = numeric.Sum(xx)
	l.slope = numeric.Sum(xy) / l.sxx
	ee, dd := make([]float64, n), make([]float64, n)
	for i := range t {
		e := p[i] - l.meanP - float64(l.slope*(t[i]-l.meanT))
		l.residual[i] = e
		ee[i] = float64(e * e)
		if i > 0 {
			d := e - l.residual[i-1]
			dd[i] = float64(d * d)
		}
	}
	sse := numeric.Sum(ee)
	l.sigma = math.Sqrt(sse / float64(n-2))
	l.se = l.sigma / math.Sqrt(l.sxx)
	if sse > 0 {
		l.dw = numeric.Sum(dd) / sse
	} else {
		l.dw = 2 // no residuals: nothing correlated
	}
	return l
}

// curved says whether a quadratic term, orthogonal to the line, differs from zero at 99 %.
func curved(t, p []float64, l fitted) bool {
	n := len(t)
	q := make([]float64, n)
	for i := range t {
		d := t[i] - l.meanT
		q[i] = float64(d * d)
	}
	lq := line(t, q)
	qq, qe, ee := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range t {
		qq[i] = float64(lq.residual[i] * lq.residual[i])
		qe[i] = float64(lq.residual[i] * l.residual[i])
		ee[i] = float64(l.residual[i] * l.residual[i])
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

// Decision is the verdict against a permissible rate, and whether waiting can still change it.
type Decision struct {
	Verdict string
	Certain bool
	NeededS float64 // further seconds; 0 if certain
	Known   bool    // NeededS could be estimated
	Bound   string  // what limits the decision: "noise", "volume" or "readings", what the scatter does not show
}

// Decide judges a Fit against a permissible rate.
//
// The verdict is "pass" if rate + U ≤ limit, "fail" if rate − U > limit, else "undecided", with U = 2u. It is certain when the limit
// lies outside a confidence sequence of the rate: the t interval at the level 1 − α·6/(π²(n−2)²), widened by twice the volume's part and
// twice what the scatter does not show. The levels of all looks n = 3, 4, … add up to α, so that looking after every reading is paid for.
//
// Takes:   the Fit, the Test, a limit above zero in Pa·m³/s.
// Gives:   the Decision.
// Source:  guard band after JCGM 106; the union bound over looks and the waiting time τ = (12 Δt (kσV/|Q − L|)²)^(1/3) are derived here.
func Decide(f Fit, x Test, limit float64) Decision {
	d := Decision{Verdict: "undecided", Bound: "noise"}
	expanded := float64(2 * f.U)
	switch {
	case f.Rate+expanded <= limit:
		d.Verdict = "pass"
	case f.Rate-expanded > limit:
		d.Verdict = "fail"
	}
	looks := float64(f.N - 2)
	risk := 0.05 * 6
	if x.Risk > 0 {
		risk = float64(x.Risk * 6)
	}
	alpha := risk / (math.Pi * math.Pi * looks * looks)
	k := numeric.StudentTQuantile(1-float64(alpha/2), looks)
	margin := math.Abs(f.Rate - limit)
	volume := float64(2 * math.Abs(f.Rate) * x.VolumeRel)
	unseen := float64(2 * x.Systematic)
	d.Certain = d.Verdict != "undecided" && margin > float64(k*f.RateSE)+volume+unseen
	if d.Certain {
		d.Known = true
		return d
	}
	if volume >= margin {
		d.Bound = "volume"
		return d
	}
	need := cubeRoot(float64(12 * f.Spacing * square(k*f.Sigma*x.Volume/(margin-volume))))
	if unseen > 0 {
		if unseen > float64(k*f.RateSE) {
			d.Bound = "readings"
		}
		need = f.wait(x, k, margin-volume, unseen)
	}
	d.NeededS, d.Known = max(need-f.Elapsed, f.Spacing), true
	return d
}

// wait is the time after which kσV√(12Δt/τ³) and the unseen part, which falls as 1/τ, are together below a margin.
func (f Fit) wait(x Test, k, margin, unseen float64) float64 {
	above := func(t float64) bool {
		noise := float64(k * f.Sigma * x.Volume * math.Sqrt(12*f.Spacing/(t*t*t)))
		return noise+float64(unseen*f.Elapsed/t) > margin
	}
	low, high := 0.0, f.Elapsed
	for range 60 {
		if !above(high) {
			break
		}
		low, high = high, float64(2*high)
	}
	for range 50 {
		middle := float64((low + high) / 2)
		if above(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

func square(x float64) float64 { return float64(x * x) }

func cubeRoot(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return numeric.Exp(numeric.Log(x) / 3)
}

// Dwell returns the measuring time that a leak of a given rate needs to be seen.
//
//	τ = (12 Δt (kσV/Q)²)^(1/3)
//
// Takes:   volume in m³, noise in Pa (a resolution r counts as r/√12), rate in Pa·m³/s, spacing of readings in s, factor k (3.29 as Currie).
// Gives:   seconds.
// Source:  derived here from the slope's standard deviation σ√(12Δt/τ³) of evenly spaced readings.
func Dwell(volume, sigma, rate, spacing, factor float64) float64 {
	return cubeRoot(float64(12 * spacing * square(factor*sigma*volume/rate)))
}

// Settle returns how long the gas must rest until its cooling looks like less than a fraction of the limit.
//
//	t = τ ln(V p ΔT/(T τ f Q))
//
// Takes:   volume, absolute pressure, temperature step and temperature in K, time constant in s, limit in Pa·m³/s, fraction of it.
// Gives:   seconds; 0 if it is below the fraction from the start.
// Source:  derived here: the apparent leak of a gas cooling exponentially, V p ΔT/(Tτ) exp(−t/τ).
func Settle(volume, pressure, step, temperature, tau, limit, fraction float64) float64 {
	x := volume * pressure * math.Abs(step) / (temperature * tau * fraction * limit)
	if x <= 1 {
		return 0
	}
	return float64(tau * numeric.Log(x))
}

// FinalPressure returns the least pressure that must be left after five minutes in the gas space of a fuel store with up to six nozzles.
//
//	P = p0 exp(−500.887/V)
//
// Takes:   the initial pressure in any unit, the volume in US gallons, above zero.
// Gives:   the pressure in the same unit.
// Source:  California TP-201.3, equation 9-1, from a scan; the rule starts at 2.0 inches of water. Its factor for more nozzles is not legible there.
func FinalPressure(initial, gallons float64) float64 {
	return float64(initial * numeric.Exp(-500.887/gallons))
}

// Volume returns an unknown volume from three pressures at one temperature: of it alone, of an added volume alone, and of both joined.
//
//	V = Va (p2 − pa)/(p1 − p2);  u²(V) = (V u_a)² + u_p² [V² + (Va (p1 − pa)/(p1 − p2))² + Va²]/(p1 − p2)²
//
// Takes:   the added volume and its relative standard uncertainty; pressures of one unit and mode; the standard uncertainty of each.
// Gives:   the volume and its relative standard uncertainty.
// Refuses: Fault range where the pressures give no volume above zero.
// Source:  Boyle's law, p1 V + pa Va = p2 (V + Va); as only differences stand in it, gauge pressures serve as well. Uncertainty by JCGM 100, 5.1.2.
func Volume(added, addedRel, p1, pa, p2, uPressure float64) (volume, rel float64, err error) {
	fall := p1 - p2
	volume = added * (p2 - pa) / fall
	if fall == 0 || !(volume > 0) || math.IsInf(volume, 0) {
		return 0, 0, document.Refuse(document.CodeRange, "captures", "the three pressures give no volume: joined, the pressure must lie between those of the two alone")
	}
	joined := float64(added * (p1 - pa) / fall)
	parts := (float64(volume*volume) + float64(joined*joined) + float64(added*added)) / float64(fall*fall)
	u2 := square(float64(volume*addedRel)) + float64(square(uPressure)*parts)
	return volume, math.Sqrt(u2) / volume, nil
}

// PneumaticTest returns the highest set pressure of the relief of a pneumatic test, and the pressure of its preliminary check.
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
