package burst

import (
	"strconv"

	"gaugewright/calc/document"
)

// Detector holds what distinguishes a burst from venting, a leak past the disc, an electrical spike
// and noise.
type Detector struct {
	Drop   float64 // fraction of the maximum that must be lost
	Window float64 // s: how far back the maximum may lie
	Hold   int     // samples that must stay low
	Spike  float64 // a single sample that stands out by more is not a pressure
	Arm    float64 // pressure that the maximum must have reached
}

// Found is what the detector found.
type Found struct {
	Burst      bool
	Peak       float64 // largest recorded value before the drop; without a burst the largest of the trace
	PeakIndex  int
	DropIndex  int
	RawMaximum float64 // largest sample of all, spikes included
}

// Detect looks for the burst.
//
//	spike k: p[k] − max(p[k−1], p[k+1]) > threshold;  M(i) = max of the other samples with t_i − window ≤ t_k < t_i (the latest of equals)
//	burst at the first i with M ≥ arm and p[i … i+hold−1] ≤ (1 − drop) M
//
// Takes:   times in s, rising, and pressures, of equal length n ≥ 3; a Detector.
// Gives:   the burst with the largest recorded value, never extrapolated.
// Refuses: Fault shape for unequal or short lengths, range for a time that does not rise (naming
// the sample).
// Source:  derived here.
func Detect(t, p []float64, d Detector) (Found, error) {
	n := len(t)
	if len(p) != n || n < 3 {
		return Found{}, document.Refuse(
			document.CodeShape, "trace", "t_s and p need the same number of samples, at least three",
		)
	}
	for i := 1; i < n; i++ {
		if !(t[i] > t[i-1]) {
			return Found{}, document.Refuse(
				document.CodeRange, "trace.t_s["+strconv.Itoa(i)+"]", "the time does not rise",
			)
		}
	}
	raw := 0
	best := -1
	queue := make([]int, 0, n) // indices of samples whose values fall, the first being the maximum in the window
	head := 0
	for i := range n {
		if p[i] > p[raw] {
			raw = i
		}
		for head < len(queue) && t[queue[head]] < t[i]-d.Window {
			head++
		}
		if head < len(queue) {
			m := queue[head]
			if low := float64((1 - d.Drop) * p[m]); p[m] >= d.Arm && stays(p, i, d.Hold, low) {
				return Found{Burst: true, Peak: p[m], PeakIndex: m, DropIndex: i, RawMaximum: largest(p)}, nil
			}
		}
		if spike(p, i, d.Spike) {
			continue
		}
		if best < 0 || p[i] >= p[best] {
			best = i
		}
		for len(queue) > head && p[queue[len(queue)-1]] <= p[i] {
			queue = queue[:len(queue)-1]
		}
		queue = append(queue, i)
	}
	if best < 0 {
		best = raw
	}
	for best > 0 && p[best-1] == p[best] { // the first sample of a plateau: when the pressure was reached
		best--
	}
	return Found{Peak: p[best], PeakIndex: best, RawMaximum: p[raw]}, nil
}

func largest(p []float64) float64 {
	m := p[0]
	for _, x := range p {
		if x > m {
			m = x
		}
	}
	return m
}

func stays(p []float64, i, hold int, low float64) bool {
	if i+hold > len(p) {
		return false
	}
	for _, x := range p[i : i+hold] {
		if x > low {
			return false
		}
	}
	return true
}

func spike(p []float64, k int, threshold float64) bool {
	if k == 0 || k == len(p)-1 {
		return false
	}
	return p[k]-max(p[k-1], p[k+1]) > threshold
}
