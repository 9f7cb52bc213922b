package gauge_test

import (
	"slices"
	"testing"

	"gaugewright/calc/gauge"
)

// TestStepsOfALimit: the zones of ASME B40.100 (lower quarter, middle half, upper quarter) and of
// GB/T 1226 (from 90 % on), as calc/SOURCES.md states them.
func TestStepsOfALimit(t *testing.T) {
	for rule, want := range map[string][]float64{"b40.100": {39, 119}, "gb1226": {143}, "en837": nil, "terms": nil} {
		if got := gauge.Steps(rule, -1, 159); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", rule, got, want)
		}
	}
}
