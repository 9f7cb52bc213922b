package world

import (
	"flag"
	"maps"
	"os"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var (
	seedFlag  = flag.Uint64("seed", 0, "play this one world only")
	seedsFlag = flag.Int("seeds", 60, "how many worlds to play")
	stepsFlag = flag.Int("steps", 150, "steps of each before it becomes quiet")
)

// TestWorlds plays many bad days; a failing one prints its seed, and -seed plays it again.
func TestWorlds(t *testing.T) {
	if *seedFlag != 0 {
		w := play(*seedFlag, *stepsFlag, t.TempDir(), "")
		t.Logf("%d steps, %d changes, %v", w.steps, len(w.made), w.counts)
		for _, f := range w.failures {
			t.Error(f)
		}
		return
	}
	start := time.Now()
	counts := map[string]int{}
	var steps, changes int
	var mu sync.Mutex
	var next atomic.Uint64
	var wait sync.WaitGroup
	root := t.TempDir()
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for seed := next.Add(1); seed <= uint64(*seedsFlag); seed = next.Add(1) {
				dir, err := os.MkdirTemp(root, "w")
				if err != nil {
					t.Error(err)
					return
				}
				w := play(seed, *stepsFlag, dir, "")
				if err := os.RemoveAll(dir); err != nil {
					t.Error(err)
				}
				mu.Lock()
				for _, f := range w.failures {
					t.Errorf("seed %d: %s\n\tgo test ./sync/world -run Worlds -seed %d -steps %d", seed, f, seed, *stepsFlag)
				}
				steps, changes = steps+w.steps, changes+len(w.made)
				for k, n := range w.counts {
					counts[k] += n
				}
				mu.Unlock()
			}
		})
	}
	wait.Wait()
	t.Logf("%d worlds, %d steps, %d changes in %v: %v", *seedsFlag, steps, changes, time.Since(start).Round(time.Millisecond), counts)
	for _, k := range []string{"acknowledgement lost", "clock", "cloned", "contested", "crash", "dropped", "evicted", "late", "portal", "repeated", "reply cut", "restored", "revoked"} {
		if counts[k] == 0 && *seedsFlag >= 40 {
			t.Errorf("no world had %q: %v", k, slices.Sorted(maps.Keys(counts)))
		}
	}
}
