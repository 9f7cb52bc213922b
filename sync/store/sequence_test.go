package store_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// numbered is a change of a record of its own with a given number of its device.
func numbered(id string, seq uint64, author string) change.Change {
	c := made(id, "r"+id, "visit", "", "tag", `"PI-1"`, seq)
	c.Seq, c.Author = seq, author
	return c
}

// refusing is a judge that takes nothing.
func refusing(store.View, *change.Change) error { return errors.New("no") }

// TestNumbersAreASet: in whatever order numbers come, the spans hold exactly their set and never
// touch, and the rest is missing.
func TestNumbersAreASet(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for world := range 30 {
		s := open(t, t.TempDir())
		times, held := map[uint64]int{}, map[uint64]bool{}
		top := uint64(1 + rng.IntN(40))
		device := ""
		for i := range 1 + rng.IntN(60) {
			c := numbered(fmt.Sprintf("c%d", i), 1+rng.Uint64N(top), "a1")
			device = c.Device
			if rng.IntN(3) == 0 {
				if _, err := s.AddJudged(t.Context(), []change.Change{c}, refusing); err != nil {
					t.Fatal(err)
				}
				held[c.Seq] = true
				continue
			}
			add(t, s, c)
			times[c.Seq]++
		}
		all, err := s.Came()
		if err != nil || len(all) != 1 {
			t.Fatal(world, all, err)
		}
		c := all[device]
		highest, count := uint64(0), uint64(0)
		for n := range top + 2 {
			if times[n] > 0 || held[n] {
				highest = n
			}
		}
		missing := c.Missing()
		for n := uint64(1); n <= top+1; n++ {
			want := n < highest && times[n] == 0 && !held[n]
			if want {
				count++
			}
			if c.Taken.Has(n) != (times[n] > 0) || c.Held.Has(n) != held[n] || c.Twice.Has(n) != (times[n] > 1) ||
				missing.Has(n) != want {
				t.Fatalf("%d: taken %d times, held %v, in %+v; missing %v", n, times[n], held[n], c, missing)
			}
		}
		if missing.Count() != count {
			t.Fatalf("%v has %d numbers, it says %d", missing, count, missing.Count())
		}
		for i := 1; i < len(c.Taken); i++ {
			if c.Taken[i][0] <= c.Taken[i-1][1]+1 {
				t.Fatalf("%v touch", c.Taken)
			}
		}
	}
}

// TestGapsAndRepeatsAreKept: a device's numbers are in the file, survive a restart, and are
// computed from the journal if a file lacks them. A check names gaps and repeats.
func TestGapsAndRepeatsAreKept(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	list := []change.Change{
		numbered("1", 1, "a1"), numbered("2", 2, "a1"), numbered("5", 5, "a2"), numbered("5b", 5, "a2"),
	}
	add(t, s, list...)
	for _, c := range []change.Change{numbered("4", 4, "a1"), numbered("3", 3, "a9")} { // a9 does not write with the device
		if _, err := s.AddJudged(t.Context(), []change.Change{c}, refusing); err != nil {
			t.Fatal(err)
		}
	}
	look := func(s *store.Store) string {
		t.Helper()
		all, err := s.Came()
		if err != nil || len(all) != 1 {
			t.Fatal(all, err)
		}
		c := all[list[0].Device]
		return fmt.Sprint(c.By, c.Taken, c.Held, c.Twice, c.Missing())
	}
	if got, want := look(s), "[a1 a2] [[1 2] [5 5]] [[4 4]] [[5 5]] [[3 3]]"; got != want {
		t.Fatalf("%s, want %s", got, want)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if r := check(t, dir); len(r.Damage) > 0 || len(r.Notes) != 2 {
		t.Fatal(r.Notes, r.Damage)
	}
	altered(t, dir, func(tx *bbolt.Tx) error { return tx.DeleteBucket([]byte("came")) })
	s = open(t, dir)
	if err := s.Note(store.Event{Kind: "x"}); err != nil { // any write will do
		t.Fatal(err)
	}
	if got := look(s); got != "[a1 a2] [[1 2] [5 5]] [] [[5 5]] [[3 4]]" {
		t.Fatal(got)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	altered(t, dir, func(tx *bbolt.Tx) error {
		return tx.Bucket([]byte("came")).Put([]byte(list[0].Device), []byte(`{"by":["a1"],"taken":[[1,5]]}`))
	})
	if r := check(t, dir); len(r.Damage) != 1 {
		t.Fatal(r.Damage)
	}
}

// TestRepeatsHaveABound: numbers that come twice are recorded up to a bound; beyond it only those
// next to recorded ones are.
func TestRepeatsHaveABound(t *testing.T) {
	const most = 1024
	s := open(t, t.TempDir())
	var once, twice []change.Change
	for n := uint64(1); n <= 3*most; n++ {
		once = append(once, numbered(fmt.Sprintf("a%d", n), n, "a1"))
		if n%2 == 0 {
			twice = append(twice, numbered(fmt.Sprintf("b%d", n), n, "a1"))
		}
	}
	add(t, s, once...)
	add(t, s, twice...)
	add(t, s, numbered("c3", 3, "a1"))
	c, err := s.CameOf(once[0].Device)
	if err != nil || len(c.Twice) > most || c.Twice.Count() < most || !c.Twice.Has(3) {
		t.Error(len(c.Twice), c.Twice.Count(), err)
	}
}

// TestDevicesThatTheJournalLacks: numbers of a device without any change in the journal are damage,
// unless its changes were refused.
func TestDevicesThatTheJournalLacks(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	c := numbered("1", 1, "a1")
	if _, err := s.AddJudged(t.Context(), []change.Change{c}, refusing); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if r := check(t, dir); len(r.Damage) > 0 {
		t.Fatal(r.Damage)
	}
	altered(t, dir, func(tx *bbolt.Tx) error {
		return tx.Bucket([]byte("came")).Put([]byte("d9"), []byte(`{"by":["a1"],"taken":[[1,5]]}`))
	})
	if r := check(t, dir); len(r.Damage) != 1 {
		t.Fatal(r.Damage)
	}
}

// TestTooManyGapsAreRefused: nobody can fill the file with numbers that fit nowhere; a number that
// closes a gap is taken.
func TestTooManyGapsAreRefused(t *testing.T) {
	const most = 1024
	s := open(t, t.TempDir())
	var list []change.Change
	for n := uint64(1); n <= most; n++ {
		list = append(list, numbered(fmt.Sprintf("c%d", n), 2*n, "a1"))
	}
	add(t, s, list...)
	r, err := s.Add(t.Context(), []change.Change{numbered("far", 1<<40, "a1")})
	if err != nil || !errors.Is(r.Refused["far"], store.ErrGaps) {
		t.Error(r, err)
	}
	add(t, s, numbered("x1", 1, "a1"), numbered("x3", 3, "a1"), numbered("xn", 2*most+1, "a1"), numbered("x2", 2, "a1"))
}
