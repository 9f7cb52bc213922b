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
	// Every second world has such days in any case; the others have more that is only set back.
	eraseAndRestore = flag.Bool("erase-and-restore", false, "let each office with hubs erase and be set back on one day")
	stepsFlag       = flag.Int("steps", 150, "steps of each before it becomes quiet")
)

// quickFolder is in memory if the system has such a place. The worlds lose what they choose to
// lose, and a real disk would only add waiting.
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

// TestMain lets garbage lie longer: the worlds make much and keep little. Longer still costs more in new
// pages than it saves.
func TestMain(m *testing.M) {
	debug.SetGCPercent(600)
	os.Exit(m.Run())
}

// TestAWorldIsPlayedAgain: a seed is always the same day, so that one that fails can be looked at.
func TestAWorldIsPlayedAgain(t *testing.T) {
	for _, seed := range []uint64{5, 8, 17, 23} {
		one, two := play(seed, 760, quickFolder(t), ""), play(seed, 760, quickFolder(t), "")
		if one.steps != two.steps || !maps.Equal(one.written, two.written) || !maps.Equal(one.counts, two.counts) {
			t.Errorf("seed %d: %d and %d steps, %d and %d changes,\n%v\n%v", seed, one.steps, two.steps,
				len(one.made), len(two.made), one.counts, two.counts)
		}
	}
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
	if counts["erased again"] == 0 && *seedsFlag >= 1000 { // it takes an erasure, and an older copy after it
		t.Error("no world had anything erased again")
	}
}
