//go:build unix

package world

import (
	"flag"
	"fmt"
	"path/filepath"
	"testing"

	"gaugewright/sync/postgres/pgtest"
)

var (
	seedsElsewhere = flag.Int("seeds-elsewhere", 12, "how many worlds with their office in PostgreSQL to play")
	stepsElsewhere = flag.Int("steps-elsewhere", 200, "steps of each")
)

// TestWorldsOnPostgres plays bad days whose office has its plant in PostgreSQL: its server ends
// between any two transactions, and older copies come back by way of a folder.
func TestWorldsOnPostgres(t *testing.T) {
	pg := pgtest.Start(t, "fsync=off") // the machine does not end
	root := quickFolder(t)
	counts := map[string]int{}
	for seed := uint64(1); seed <= uint64(*seedsElsewhere); seed++ {
		w := playIn(seed, *stepsElsewhere, filepath.Join(root, fmt.Sprint(seed)), "", pg.Plant)
		for _, f := range w.failures {
			t.Errorf("seed %d: %s", seed, f)
		}
		for what, n := range w.counts {
			counts[what] += n
		}
	}
	t.Log(counts)
	for _, what := range []string{"brought back", "crash", "restored", "taken in later", "the office wrote"} {
		if counts[what] == 0 && *seedsElsewhere >= 12 {
			t.Errorf("no world had %q", what)
		}
	}
}
