package standard

import "math"

const (
	// movingRange is d₂ for two values: their mean range in standard deviations.
	movingRange = 1.128
	// chartLimit is how many standard deviations the limits lie from the centre line.
	chartLimit = 3
	// chartRun is how many values in a row on one side of the centre line no longer count as
	// chance.
	chartRun = 8
	// ChartLeast is the least number of values for computing limits. Chosen here: with fewer, the
	// moving range says little about the spread.
	ChartLeast = 6
)

// Chart is a control chart of single values.
type Chart struct {
	Centre, Low, High float64
	// Out tells for each value whether it lies beyond the limits; Run whether it ends a run of
	// eight or more on one side of the centre line.
	Out, Run []bool
}

// Control computes the control chart for individuals (Shewhart) of checks in order of time.
//
//	centre = mean of x;  limits = centre ± 3 × mean|xᵢ − xᵢ₋₁| ÷ 1.128
//
// Centre and limits follow from the first base values. Later values are judged by them and do not
// change them. A value is out beyond a limit, or as the last of eight in a row on one side.
//
// Takes:   finite values of one quantity in one unit; base from ChartLeast to their number.
// Gives:   the chart; false if base is out of bounds.
// Source:  ISO 7870-2:2023 (chart for individuals), from memory; d₂ = 1.128 and the rule of eight in a
// row: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 and 6.3.2.2, from memory.
func Control(x []float64, base int) (c Chart, ok bool) {
	if base < ChartLeast || base > len(x) {
		return c, false
	}
	sum, moves := 0.0, 0.0
	for i, v := range x[:base] {
		sum += v
		if i > 0 {
			moves += math.Abs(v - x[i-1])
		}
	}
	c.Centre = sum / float64(base)
	half := float64(chartLimit * moves / float64(base-1) / movingRange)
	c.Low, c.High = c.Centre-half, c.Centre+half
	side, row := 0, 0
	for _, v := range x {
		now := 0
		switch {
		case v > c.Centre:
			now = 1
		case v < c.Centre:
			now = -1
		}
		if now != side {
			side, row = now, 0
		}
		row++
		c.Out = append(c.Out, v < c.Low || v > c.High)
		c.Run = append(c.Run, side != 0 && row >= chartRun)
	}
	return c, true
}

// Agreement returns En for a check of a standard: the error found at a known value, compared with
// the error expected from its certificate.
//
//	En = (e − e₀) / √(U₀² + U²), each U for k = 2
//
// Takes:   the standard with its certificate in force; the applied value; the error that was found
// there, with the expanded uncertainty (k = 2) of the value it was compared with, 0 if not stated.
// Gives:   the expected error, U₀, and En; ErrRange outside every range, and false if both
// uncertainties are zero.
// Source:  ISO 13528:2022 9.7 (the En score), from memory; |En| ≤ 1 is agreement.
func (s *Standard) Agreement(applied, found, expanded float64) (expected, own, en float64, ok bool) {
	u, _, err := s.Uncertainty(applied)
	if err != nil {
		return 0, 0, 0, false
	}
	if correction, is := s.Correction(applied); is {
		expected = -correction
	}
	own = float64(coverage * u)
	both := math.Sqrt(float64(own*own) + float64(expanded*expanded))
	if !(both > 0) {
		return expected, own, 0, false
	}
	return expected, own, (found - expected) / both, true
}
