package history

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Result is one error that was found at a point.
type Result struct {
	Day     int
	Segment int // counted up by every adjustment
	Error   float64
	U       float64 // standard uncertainty; 0 if not known
}

// Drift describes how the error at a point has moved since the last adjustment.
type Drift struct {
	N, Segments  int
	SlopePerYear float64
	SlopeU       float64
	DOF          int
	level, from  float64 // of the last segment: mean error and mean day
	n, spread    float64 // its number of results; sum of squares of days about the means of all segments
	s            float64
	last         int // day of the latest result
}

// Follow fits a common slope to all segments, each with its own level, and keeps the level of the
// last.
//
//	b = Σ_s Σ (t − t̄_s)(e − ē_s)/Σ_s Σ (t − t̄_s)²;  s² = the larger of Σ residual²/(N − S − 1) and the mean u²
//
// Takes:   results in order of time, at least one of them in the last segment.
// Gives:   the Drift.
// Refuses: Fault undecidable if no degree of freedom is left, that is with fewer than two results
// more than segments, or if all results are of one day.
// Source:  least squares with a common slope (analysis of covariance): textbook; s not below the
// mean u, so that chance does not make a band too narrow: chosen here.
func Follow(list []Result) (Drift, error) {
	d := Drift{N: len(list)}
	type sums struct{ n, t, e float64 }
	var segments []sums
	var of []int
	for _, r := range list {
		k := len(segments) - 1
		if k < 0 || r.Segment != list[len(of)-1].Segment {
			segments = append(segments, sums{})
			k++
		}
		g := &segments[k]
		g.n, g.t, g.e = g.n+1, g.t+float64(r.Day), g.e+r.Error
		of = append(of, k)
		d.last = max(d.last, r.Day)
	}
	d.Segments = len(segments)
	d.DOF = d.N - d.Segments - 1
	var days, errors, uu []float64
	for i, r := range list {
		g := segments[of[i]]
		days, errors, uu = append(days, float64(r.Day)-g.t/g.n), append(errors, r.Error-g.e/g.n), append(uu, float64(r.U*r.U))
	}
	slope, spread, rest := numeric.SlopeFit(days, errors)
	d.spread = spread
	if d.DOF < 1 || d.spread == 0 {
		return d, document.Refuse(document.CodeUndecidable, "history", "too little history: a slope needs two results more than there are stretches between adjustments, on different days")
	}
	for i, e := range rest {
		rest[i] = float64(e * e)
	}
	d.s = math.Sqrt(max(numeric.Sum(rest)/float64(d.DOF), numeric.Mean(uu)))
	g := segments[len(segments)-1]
	d.level, d.from, d.n = g.e/g.n, g.t/g.n, g.n
	d.SlopePerYear = float64(slope * daysOfYear)
	d.SlopeU = float64(d.s / math.Sqrt(d.spread) * daysOfYear)
	return d, nil
}

// At predicts the error found on a day, with the standard deviation of that prediction.
//
//	e = ē + b(t − t̄);  sd² = s²(1 + 1/n + (t − t̄)²/Σ(t − t̄_s)²)
//
// Source:  prediction of one more observation from a fitted line: textbook.
func (d *Drift) At(day float64) (predicted, sd float64) {
	t := day - d.from
	predicted = d.level + float64(d.SlopePerYear/daysOfYear*t)
	return predicted, float64(d.s * math.Sqrt(1+1/d.n+float64(t*t)/d.spread))
}

// Out returns the probability that the error found on a day lies beyond ± limit, by Student's t.
func (d *Drift) Out(day, limit float64) float64 {
	e, sd := d.At(day)
	if sd == 0 {
		if math.Abs(e) > limit {
			return 1
		}
		return 0
	}
	dof := float64(d.DOF)
	return max(0, numeric.StudentTCDF((-limit-e)/sd, dof)+numeric.StudentTCDF((e-limit)/sd, dof))
}
