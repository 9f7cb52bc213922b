package switches

import (
	"math"

	"gaugewright/calc/numeric"
)

// Statistics are those of one kind of point over the cycles.
type Statistics struct {
	N                     int
	Mean, Min, Max, Range float64
	SD                    float64 // n−1
	HasSD                 bool    // false for a single value
}

// Describe returns the statistics of values; n = 0 gives N = 0 and nothing else.
func Describe(values []float64) Statistics {
	s := Statistics{N: len(values)}
	if s.N == 0 {
		return s
	}
	s.Min, s.Max = values[0], values[0]
	for _, v := range values {
		s.Min, s.Max = min(s.Min, v), max(s.Max, v)
	}
	s.Range = s.Max - s.Min
	s.Mean = numeric.Mean(values)
	if s.N > 1 {
		s.SD, s.HasSD = numeric.StdDev(values), true
	}
	return s
}

// Reasons of a verdict that is not "pass".
const (
	ReasonSetPoint = "set point"
	ReasonDeadBand = "dead band"
	ReasonNoSet    = "no actuation"
	ReasonNoReset  = "no reset"
	ReasonAtStart  = "actuated at start"
	ReasonSampling = "sampling" // between two samples the pressure crosses a limit
)

// Judged is the result of comparing a switch's cycles with its specification.
type Judged struct {
	DeadBands []float64
	Verdict   string
	Reason    string
}

// Judge compares the points of all cycles with the specification.
//
// Takes:   set and reset points of the cycles in order; nominal ± tolerance; the dead band's
// limits, if any.
// Gives:   "undecided" for a contact that was actuated at the start; "fail" if it never acted or
// never reset, or if any set point lies further than the tolerance from nominal or any dead band
// outside its limits; else "pass". Points at a limit are inside, compared as decimals
// (numeric.CompareDecimals at 12 significant digits).
// Source:  common practice, no source; every reading and not the mean alone must be in tolerance:
// MIL-PRF-24236D 4.6.3.1 (thermal analogue).
func Judge(set, reset []float64, nominal, tolerance float64, band []float64, atStart bool) Judged {
	j := Judged{Verdict: "pass"}
	for i := range reset {
		if i < len(set) {
			j.DeadBands = append(j.DeadBands, math.Abs(set[i]-reset[i]))
		}
	}
	fail := func(reason string) Judged {
		j.Verdict, j.Reason = "fail", reason
		return j
	}
	switch {
	case atStart:
		j.Verdict, j.Reason = "undecided", ReasonAtStart
		return j
	case len(set) == 0:
		return fail(ReasonNoSet)
	case len(reset) == 0:
		return fail(ReasonNoReset)
	}
	for _, s := range set {
		if Beyond(math.Abs(s-nominal), tolerance, nominal) {
			return fail(ReasonSetPoint)
		}
	}
	if len(band) == 2 {
		for _, d := range j.DeadBands {
			if Beyond(band[0], d, nominal) || Beyond(d, band[1], nominal) {
				return fail(ReasonDeadBand)
			}
		}
	}
	return j
}

// sampled leaves a verdict open if a point lies between two samples on different sides of a limit.
// A point with both samples outside still fails.
//
// Takes:   the set points with half the distance between the samples around each, that of the reset
// points, and the specification as for Judge.
func (j *Judged) sampled(set, setHalf, resetHalf []float64, nominal, tolerance float64, band []float64) {
	switch j.Reason {
	case ReasonAtStart, ReasonNoSet, ReasonNoReset:
		return
	}
	open, outside := false, ""
	look := func(x, limit, half float64, reason string) { // x above limit is outside
		switch {
		case Beyond(x-half, limit, nominal) || half == 0 && Beyond(x, limit, nominal):
			if outside == "" {
				outside = reason
			}
		case Beyond(x+half, limit, nominal):
			open = true
		}
	}
	for i, s := range set {
		look(math.Abs(s-nominal), tolerance, setHalf[i], ReasonSetPoint)
	}
	for i, d := range j.DeadBands {
		if len(band) == 2 {
			half := setHalf[i] + resetHalf[i]
			look(d, band[1], half, ReasonDeadBand)
			look(-d, -band[0], half, ReasonDeadBand)
		}
	}
	switch {
	case outside != "":
		j.Verdict, j.Reason = "fail", outside
	case open:
		j.Verdict, j.Reason = "undecided", ReasonSampling
	}
}

// Beyond reports whether x lies above limit by more than the rounding of a difference of numbers as
// large as scale: 12 digits of it.
func Beyond(x, limit, scale float64) bool {
	return x-limit > float64(1e-12*max(math.Abs(scale), math.Abs(limit)))
}
