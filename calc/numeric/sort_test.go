package numeric_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/calc/numeric"
)

func TestSort(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		x := rapid.SliceOf(rapid.Float64Range(-3, 3)).Draw(rt, "x")
		want := slices.Clone(x)
		slices.Sort(want)
		numeric.Sort(x)
		if !slices.Equal(x, want) {
			rt.Errorf("got %v, want %v", x, want)
		}
	})
}
