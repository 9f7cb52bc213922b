package conformity_test

import (
	"testing"

	"gaugewright/calc/conformity"
)

// TestWrong: an accepted value is wrong with what is outside, a rejected one with what is inside (JCGM
// 106:2012, specific consumer's and producer's risk; from memory). An undecided one says neither.
func TestWrong(t *testing.T) {
	for verdict, want := range map[string]float64{
		conformity.Pass: 0.25, conformity.ConditionalPass: 0.25, conformity.Fail: 0.75, conformity.ConditionalFail: 0.75,
	} {
		if got, says := conformity.Wrong(verdict, 0.75); got != want || !says {
			t.Errorf("%s: %v, %v", verdict, got, says)
		}
	}
	if got, says := conformity.Wrong(conformity.Undecided, 0.75); says || got != 0 {
		t.Errorf("undecided: %v", got)
	}
}
