package leak

import (
	"math"

	"gaugewright/calc/numeric"
)

// The model of correlated readings: each residual follows φ times the one before, with an unknown φ
// from 0 to mostCorrelation.
const (
	mostCorrelation = 0.98
	correlations    = 25  // number of values of φ that are weighed
	mostReadings    = 120 // above this, means over blocks of equal count replace the readings
	blocks          = 60
)

// noise is what the readings say about the slope if their residuals may be correlated: for each φ
// the slope of generalised least squares, as a deviation from that of ordinary least squares, with
// its standard error and its weight.
type noise struct {
	phi, b, se, weight []float64
	dof                float64
}

// noiseOf weighs the correlations.
//
//	x, e: times about their mean, residuals of the plain line;  Prais–Winsten transform of x, e and 1 by φ;  b(φ), se(φ) of the transformed line
//	L(φ) = rss^(−(n−2)/2) |X'V⁻¹X|^(−1/2) (1 − φ²)^(1/2);  weight ∝ L(φ) (1 + φ)
//
// Takes:   times and residuals of equal length n ≥ 3.
// Gives:   the slopes; none if all residuals are zero.
// Source:  restricted likelihood of a line with autoregressive residuals (from memory: Harville
// 1974); the prior of φ, in proportion to 1 + φ, is chosen here, by simulation: a prior that
// favours small φ errs if few readings are correlated. See TestLeakFalseAcceptance.
func noiseOf(t, e []float64) noise {
	n := len(t)
	if n > mostReadings {
		t, e = averaged(t), averaged(e)
		n = blocks
	}
	mean := numeric.Mean(t)
	span := t[n-1] - t[0]
	var all, inner, cross [5]float64 // sums of 1·x, x·x, 1·e, x·e, e·e; without the ends; with the neighbour
	var last [3]float64
	for i := range n {
		v := [3]float64{1, (t[i] - mean) / span, e[i]}
		for k, of := range [5][2]int{{0, 1}, {1, 1}, {0, 2}, {1, 2}, {2, 2}} {
			p := float64(v[of[0]] * v[of[1]])
			all[k] += p
			if i > 0 && i < n-1 {
				inner[k] += p
			}
			if i > 0 {
				cross[k] += float64(v[of[0]]*last[of[1]]) + float64(last[of[0]]*v[of[1]])
			}
		}
		last = v
	}
	z := noise{dof: float64(n - 2)}
	if all[4] == 0 {
		return z
	}
	best := math.Inf(-1)
	var logs []float64
	for j := range correlations {
		phi := float64(mostCorrelation*float64(j)) / (correlations - 1)
		square := float64(phi * phi)
		ones := float64(n) + float64(square*float64(n-2)) - float64(2*phi*float64(n-1))
		var s [5]float64
		for k := range s {
			s[k] = all[k] + float64(square*inner[k]) - float64(phi*cross[k])
		}
		det := float64(ones*s[1]) - float64(s[0]*s[0])
		a := (float64(s[2]*s[1]) - float64(s[0]*s[3])) / det
		b := (float64(ones*s[3]) - float64(s[0]*s[2])) / det
		rss := s[4] - float64(a*s[2]) - float64(b*s[3])
		if !(rss > 0) || !(det > 0) {
			continue
		}
		l := float64((numeric.Log1p(-square) - numeric.Log(det) - float64(z.dof*numeric.Log(rss))) * 0.5)
		best = max(best, l)
		logs = append(logs, l)
		z.phi = append(z.phi, phi)
		z.b = append(z.b, b/span)
		z.se = append(z.se, math.Sqrt(rss/z.dof*ones/det)/span)
	}
	sum := 0.0
	z.weight = make([]float64, len(logs))
	for j, l := range logs {
		z.weight[j] = float64(numeric.Exp(l-best) * (1 + z.phi[j]))
		sum += z.weight[j]
	}
	for j := range z.weight {
		z.weight[j] /= sum
	}
	return z
}

// averaged returns means over blocks of equal count.
func averaged(list []float64) []float64 {
	means := make([]float64, blocks)
	for i := range means {
		means[i] = numeric.Mean(list[i*len(list)/blocks : (i+1)*len(list)/blocks])
	}
	return means
}

// half returns how far the true slope may lie from that of ordinary least squares with a one-sided
// probability p, on the further of the two sides.
func (z *noise) half(p float64) float64 {
	if len(z.b) == 0 {
		return 0
	}
	if z.dof == 1 {
		return z.single(p)
	}
	return max(z.quantile(p, 1), z.quantile(p, -1))
}

// single is half for three readings. Their one degree of freedom says nothing about φ, so the width
// must do for every φ: the risk grows to at most singleMore times, and for uncorrelated readings it
// stays below the stated one. Weighing the φ would cost width and gain nothing.
//
//	h = max over φ of |b(φ)| + t(1 − 1.5 (1 − p), 1) se(φ)
//
// Source:  derived here. Evenly spaced, se(φ) = se(0) √(3(1 + φ)/(3 − φ)), at most 1.72 se(0).
func (z *noise) single(p float64) float64 {
	k := numeric.StudentTQuantile(1-float64(singleMore*(1-p)), 1)
	h := 0.0
	for j := range z.b {
		h = max(h, math.Abs(z.b[j])+float64(k*z.se[j]))
	}
	return h
}

// singleMore is the factor by which the risk may grow for three correlated readings.
const singleMore = 1.5

// quantile solves Σ weight · T((h − b)/se) = p for h, on one side.
func (z *noise) quantile(p, side float64) float64 {
	above := func(h float64) float64 {
		parts := make([]float64, 0, correlations)
		for j, w := range z.weight {
			if w > 1e-9 {
				parts = append(parts, float64(w*numeric.StudentTCDF((h-float64(side*z.b[j]))/z.se[j], z.dof)))
			}
		}
		return numeric.Sum(parts) - p
	}
	k := numeric.StudentTQuantile(p, z.dof)
	low, high := math.Inf(1), 0.0
	for j, w := range z.weight {
		if w > 1e-9 {
			at := float64(side*z.b[j]) + float64(k*z.se[j])
			low, high = min(low, at), max(high, at)
		}
	}
	// regula falsi between the smallest and the largest quantile of the parts; an end kept twice
	// counts half (Illinois)
	fl, fh := above(low), above(high)
	stayed := 0
	for range 60 {
		if fl >= 0 {
			return low
		}
		if fh <= 1e-12 || !(high-low > float64(1e-10*math.Abs(high))) {
			return high
		}
		x := high - float64(fh*(high-low))/(fh-fl)
		f := above(x)
		switch {
		case math.Abs(f) < 1e-12:
			return x
		case f > 0:
			high, fh = x, f
			if stayed > 0 {
				fl /= 2
			}
			stayed = 1
		default:
			low, fl = x, f
			if stayed < 0 {
				fh /= 2
			}
			stayed = -1
		}
	}
	return high
}
