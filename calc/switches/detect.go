// Package switches turns rising and falling transits of a pressure switch into its set point, reset
// point and dead band.
package switches

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
)

// Trace is pressure and contact state sampled over time.
type Trace struct {
	T, P    []float64 // seconds rising; pressures
	Contact []bool    // true = actuated
}

// Transition is one change of the contact: where it happened and between which two pressures.
type Transition struct {
	Index     int  // of the first sample in the new state
	To        bool // true = actuated
	T         float64
	Middle    float64 // of the two samples around it
	HalfWidth float64
	Bounces   int // extra pairs of edges before the contact stayed
}

// Transitions finds the changes of the contact that stayed.
//
// A change counts when the new state holds for debounce samples, or to the end of the trace, within
// window seconds of its first edge; it is dated at that first edge. Edges after which the old state
// stays are a disturbance and do not count.
//
// Takes:   a Trace of equal lengths n ≥ 2 with times rising, debounce ≥ 1, window ≥ 0.
// Gives:   the transitions in order of time.
// Refuses: Fault shape for unequal lengths or fewer than two samples, range for a time that does
// not rise (naming the sample).
// Source:  derived here; p = (p[j−1]+p[j])/2 with half width |p[j]−p[j−1]|/2 around the first edge
// j.
func Transitions(tr Trace, debounce int, window float64) ([]Transition, error) {
	n := len(tr.T)
	if len(tr.P) != n || len(tr.Contact) != n {
		return nil, document.Refuse(document.CodeShape, "trace", "t_s, p and contact need the same number of samples")
	}
	if n < 2 {
		return nil, document.Refuse(document.CodeShape, "trace", "at least two samples are needed")
	}
	for i := 1; i < n; i++ {
		if !(tr.T[i] > tr.T[i-1]) {
			return nil, document.Refuse(document.CodeRange, "trace.t_s["+strconv.Itoa(i)+"]", "the time does not rise")
		}
	}
	var list []Transition
	state := tr.Contact[0]
	for j := 1; j < n; {
		if tr.Contact[j] == state {
			j++
			continue
		}
		settled, edges := settle(tr, j, !state, debounce, window)
		if settled < 0 {
			j = skip(tr, j, state)
			continue
		}
		list = append(list, Transition{
			Index: j, To: !state, T: tr.T[j],
			Middle:    float64((tr.P[j-1] + tr.P[j]) / 2),
			HalfWidth: float64(math.Abs(tr.P[j]-tr.P[j-1]) / 2),
			Bounces:   (edges - 1) / 2,
		})
		state = !state
		j = settled
	}
	return list, nil
}

// settle returns the sample where a long enough run of the state to begins within the window, and
// the number of edges from first up to there; −1 if there is none.
func settle(tr Trace, first int, to bool, debounce int, window float64) (start, edges int) {
	edges = 1
	for j := first; j < len(tr.T) && tr.T[j]-tr.T[first] <= window; {
		end := j
		for end < len(tr.T) && tr.Contact[end] == tr.Contact[j] {
			end++
		}
		if tr.Contact[j] == to && (end-j >= debounce || end == len(tr.T)) {
			return j, edges
		}
		j = end
		edges++
	}
	return -1, 0
}

// skip skips an edge that did not last.
func skip(tr Trace, j int, state bool) int {
	for j < len(tr.T) && tr.Contact[j] != state {
		j++
	}
	return j
}
