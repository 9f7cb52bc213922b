package uncertainty

import (
	"math"
	"sync"
	"testing"
)

// TestFactorsFoundAgain: a cached coverage factor has the bits of a calculated one, from several
// goroutines at once, at the ends of the cache and beyond.
func TestFactorsFoundAgain(t *testing.T) {
	freedoms := []float64{math.Inf(1), 2.5, 1e6}
	for dof := 1; dof <= len(found)+2; dof++ {
		freedoms = append(freedoms, float64(dof))
	}
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for _, coverage := range []float64{0, 0.95} {
				for _, dof := range freedoms {
					first, again, want := usual(coverage, dof), usual(coverage, dof), factor(coverage, dof)
					if first != want || again != want {
						t.Errorf("coverage %g, %g degrees of freedom: %v, then %v, not %v", coverage, dof, first, again, want)
					}
				}
			}
		})
	}
	all.Wait()
	if found[len(found)-1].Load() == 0 || found[1].Load() == 0 {
		t.Error("the factors are not kept")
	}
}
