package burst

import (
	"math"

	"gaugewright/calc/numeric"
)

// Noise is the effect of a record's scatter on its largest value.
type Noise struct {
	SD      float64 // of the samples about the ramp
	Above   float64 // by how much the largest value is above the ramp
	Missing float64 // by how much the ramp rose from the largest value to the last sample before the drop
	U       float64 // standard uncertainty of the largest value that follows
	DOF     float64
}

const (
	rampMost  = 30 // samples before the peak that the ramp is fitted to
	rampLeast = 5
)

// NoiseOf fits a straight line to the samples up to the peak.
//
//	u² = s² + max(above, missing)²/3, with s the residual standard deviation of the line
//
// The largest of many samples is one that noise has raised. Its height above the ramp counts as a
// half-width; it is not corrected.
//
// Takes:   the record and the burst found in it; the threshold beyond which a sample is a spike and
// is left out.
// Gives:   the noise; ok is false with fewer than five samples before the peak.
// Source:  derived here; its coverage: TestBurstNoise.
func NoiseOf(t, p []float64, f Found, threshold float64) (n Noise, ok bool) {
	var x, y []float64
	for i := f.PeakIndex; i >= 0 && len(x) < rampMost; i-- {
		if i == f.PeakIndex || !spike(p, i, threshold) {
			x, y = append(x, t[i]-t[f.PeakIndex]), append(y, p[i])
		}
	}
	if len(x) < rampLeast {
		return Noise{}, false
	}
	meanX, meanY := numeric.Mean(x), numeric.Mean(y)
	xx, xy := make([]float64, len(x)), make([]float64, len(x))
	for i := range x {
		dx := x[i] - meanX
		xx[i], xy[i] = float64(dx*dx), float64(dx*(y[i]-meanY))
	}
	slope := numeric.Sum(xy) / numeric.Sum(xx)
	for i := range x {
		e := y[i] - meanY - float64(slope*(x[i]-meanX))
		xx[i] = float64(e * e)
	}
	n.DOF = float64(len(x) - 2)
	n.SD = math.Sqrt(numeric.Sum(xx) / n.DOF)
	n.Above = math.Abs(f.Peak - (meanY - float64(slope*meanX)))
	n.Missing = max(0, float64(slope*(t[f.DropIndex-1]-t[f.PeakIndex])))
	half := max(n.Above, n.Missing)
	n.U = math.Sqrt(float64(n.SD*n.SD) + float64(half*half)/3)
	return n, true
}
