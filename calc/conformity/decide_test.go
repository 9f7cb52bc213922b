package conformity_test

import (
	"math"
	"testing"

	"gaugewright/calc/conformity"
	"gaugewright/calc/numeric"
)

func exact(s string) numeric.Exact {
	x, _ := numeric.ParseExact(s)
	return x
}

// Simple acceptance, acceptance with a guard band of U, and conditional results on both sides:
// ILAC-G8:09/2019, 4.2.1 to 4.2.3. U = 0.02 about an upper limit of 1; a value that equals a limit
// is inside.
func TestDecisionRules(t *testing.T) {
	limits := conformity.Limits{High: exact("1"), HasHigh: true}
	for _, tt := range []struct {
		rule  conformity.Rule
		value string
		want  string
	}{
		{conformity.Simple, "1", "pass"}, {conformity.Simple, "1.0001", "fail"},
		{conformity.Guarded, "0.98", "pass"}, {conformity.Guarded, "0.9801", "fail"},
		{conformity.GuardedFour, "0.98", "pass"}, {conformity.GuardedFour, "1", conformity.ConditionalPass},
		{conformity.GuardedFour, "1.0001", conformity.ConditionalFail}, {conformity.GuardedFour, "1.0201", "fail"},
	} {
		d := conformity.Decide(exact(tt.value), exact("0.01"), exact("2"), exact("1"), limits, tt.rule, 0, 0)
		if d.Verdict != tt.want {
			t.Errorf("%s at %s: %s, want %s", tt.rule, tt.value, d.Verdict, tt.want)
		}
	}
}

// The normal distribution function at 0, 1 and 2 is 0.5, 0.841345 and 0.977250 (standard
// tables).
func TestConformance(t *testing.T) {
	limits := conformity.Limits{High: exact("1"), HasHigh: true}
	for value, want := range map[string]float64{"1": 0.5, "0.99": 0.841345, "0.98": 0.977250} {
		if p := conformity.Conformance(exact(value), exact("0.01"), limits, 0); math.Abs(p-want) > 5e-7 {
			t.Errorf("%s: %.6f, want %.6f", value, p, want)
		}
	}
}
