package world

import (
	"flag"
	"maps"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var (
	seedFlag  = flag.Uint64("seed", 0, "play this one world only")
	seedsFlag = flag.Int("seeds", 100, "how many worlds to play")
	stepsFlag = flag.Int("steps", 150, "steps of each before it becomes quiet")
)

// quickFolder is in memory where the system has such a place: the worlds lose what they choose to
// lose, and a real disk would only be waited for.
func quickFolder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "gaugewright-world-")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// TestMain lets garbage lie longer: the worlds make much and keep little.
func TestMain(m *testing.M) {
	debug.SetGCPercent(1600)
	os.Exit(m.Run())
}

// TestWorlds plays many bad days; a failing one prints its seed, and -seed plays it again.
func TestWorlds(t *testing.T) {
	if *seedFlag != 0 {
		w := play(*seedFlag, *stepsFlag, quickFolder(t), "")
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
	root := quickFolder(t)
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
					t.Errorf(
						"seed %d: %s\n\tgo test ./sync/world -run Worlds -seed %d -steps %d", seed, f, seed, *stepsFlag,
					)
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
	t.Logf("%d worlds, %d steps (what somebody does, requests that arrive), %d changes in %v, %v of processors' time in this process so far, %d processors: %v", *seedsFlag, steps, changes,
		time.Since(start).Round(time.Millisecond), processorTime().Round(time.Millisecond), runtime.GOMAXPROCS(0), counts)
	for _, k := range []string{"acknowledgement lost", "blob torn", "brought back", "clock", "cloned", "contested", "crash", "cut in the first creation", "dropped", "erased", "erased, unsent", "evicted", "handed over", "hub restored", "in a loop", "late", "log torn", "long value", "old file", "overlooked", "pieces",
		"portal", "quota", "repeated", "reply cut", "restored", "returned", "revoked", "taken in later", "the office wrote", "upgraded"} {
		if counts[k] == 0 && *seedsFlag >= 40 {
			t.Errorf("no world had %q: %v", k, slices.Sorted(maps.Keys(counts)))
		}
	}
}
