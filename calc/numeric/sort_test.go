package numeric_test

import (
	"math"
	"math/rand/v2"
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

// TestSortMany checks the radix sort, with both signs, both zeros, the smallest numbers and
// infinities.
func TestSortMany(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 1))
		x := make([]float64, 4096+r.IntN(4000))
		for i := range x {
			x[i] = r.NormFloat64() * math.Pow(10, float64(r.IntN(40)-20))
		}
		copy(
			x,
			[]float64{
				0, math.Copysign(0, -1), math.Inf(1), math.Inf(-1), math.SmallestNonzeroFloat64,
				-math.SmallestNonzeroFloat64, math.MaxFloat64, 1, 1, -1,
			},
		)
		want := slices.Clone(x)
		slices.Sort(want)
		numeric.Sort(x)
		if !slices.Equal(x, want) {
			t.Fatalf("seed %d: not in order", seed)
		}
	}
}
