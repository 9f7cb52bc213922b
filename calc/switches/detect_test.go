package switches_test

import (
	"math"
	"testing"

	"gaugewright/calc/switches"
)

// trace is a ramp of 0.1 a sample with the contact as zeros and ones.
func trace(contact string) switches.Trace {
	x := switches.Trace{}
	for i := range contact {
		x.T, x.P, x.Contact = append(x.T, float64(i)), append(x.P, float64(i)/10), append(x.Contact, contact[i] == '1')
	}
	return x
}

// A change is dated at its first edge, between the two samples around it. An edge after which the
// old state stays is a disturbance. Derived in Transitions.
func TestTransitions(t *testing.T) {
	for _, tt := range []struct {
		contact string
		at      []int
		bounces int
	}{
		{"0000011111", []int{5}, 0},
		{"0000010111", []int{5}, 1},
		{"0001000000", nil, 0},
		{"0001111000", []int{3, 7}, 0},
	} {
		list, err := switches.Transitions(trace(tt.contact), 3, 5)
		if err != nil || len(list) != len(tt.at) {
			t.Errorf("%s: %+v, %v", tt.contact, list, err)
			continue
		}
		for i, at := range tt.at {
			c := list[i]
			if c.Index != at || math.Abs(c.Middle-(float64(at)-0.5)/10) > 1e-12 || math.Abs(c.HalfWidth-0.05) > 1e-12 ||
				i == 0 && c.Bounces != tt.bounces {
				t.Errorf("%s: %+v, want a change at sample %d", tt.contact, c, at)
			}
		}
	}
	if _, err := switches.Transitions(switches.Trace{T: []float64{0, 0}, P: []float64{1, 2}, Contact: []bool{false, true}}, 1, 1); err == nil {
		t.Error("a time that does not rise is taken")
	}
}

// By hand: 2, 4, 4, 4, 5, 5, 7, 9 have the mean 5 and the
// sum of squares about it 32, so s = √(32/7).
func TestDescribe(t *testing.T) {
	d := switches.Describe([]float64{2, 4, 4, 4, 5, 5, 7, 9})
	if d.N != 8 || d.Mean != 5 || d.Min != 2 || d.Max != 9 || d.Range != 7 || !d.HasSD ||
		math.Abs(d.SD-math.Sqrt(32.0/7)) > 1e-12 {
		t.Errorf("%+v", d)
	}
}
