package office

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// scratch opens an empty store for a test.
func scratch(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// TestContestedRecordsAreFound checks that the first reading of a plant, and what follows it, find
// the contested fields that every record says it has.
func TestContestedRecordsAreFound(t *testing.T) {
	s := scratch(t)
	random := rand.New(rand.NewPCG(3, 4))
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	p := plant.Drafter{Device: "ph0ne", Author: "techn1c1an", Random: rand.NewChaCha8([32]byte{5})}
	var ids []string
	keep := func(c change.Change, state merge.State, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		if r, err := s.Add(t.Context(), []change.Change{c}); err != nil || len(r.Refused) > 0 {
			t.Fatal(err, r.Refused)
		}
	}
	for i := range 40 {
		kind := []string{"instrument", "run", "visit"}[i%3]
		c, state, err := p.New(kind, "", "", at, plant.Set{Field: "label", Value: "A"})
		ids = append(ids, state.ID)
		keep(c, state, err)
	}
	follows := newContests(s)
	for round := range 20 {
		state, _, err := s.Record(ids[random.IntN(len(ids))])
		if err != nil {
			t.Fatal(err)
		}
		for range 1 + random.IntN(2) { // the second has not seen the first
			field := []string{"label", "note", "place"}[random.IntN(3)]
			c, next, err := p.Edit(state, at, plant.Set{Field: field, Value: fmt.Sprint(round, random.IntN(100))})
			keep(c, next, err)
		}
		want := map[string][]string{}
		for _, id := range ids {
			state, _, err := s.Record(id)
			if err != nil {
				t.Fatal(err)
			}
			if fields := contestedFields(&state); len(fields) > 0 {
				want[id] = fields
			}
		}
		first := newContests(s)
		first.loaded = true // nothing of it is kept
		for name, k := range map[string]*contests{"first": first, "follows": follows} {
			if got, err := k.all(); err != nil || !reflect.DeepEqual(got, want) {
				t.Fatalf("round %d, %s: %v, want %v, %v", round, name, got, want, err)
			}
		}
		if round == 19 && len(want) < 2 {
			t.Error("few are contested:", want)
		}
	}
}

// TestFirstLookGoesOn checks that a first look at all records goes on where the last one stopped, with
// what it found until then.
func TestFirstLookGoesOn(t *testing.T) {
	s := scratch(t)
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	p := plant.Drafter{Device: "ph0ne", Author: "techn1c1an", Random: rand.NewChaCha8([32]byte{6})}
	var ids []string
	var changes []change.Change
	for range 6 {
		first, state, err := p.New("instrument", "", "", at, plant.Set{Field: "label", Value: "A"})
		if err != nil {
			t.Fatal(err)
		}
		ids, changes = append(ids, state.ID), append(changes, first)
		for _, label := range []string{"B", "C"} { // neither has seen the other
			c, _, err := p.Edit(state, at, plant.Set{Field: "label", Value: label})
			if err != nil {
				t.Fatal(err)
			}
			changes = append(changes, c)
		}
	}
	if r, err := s.Add(t.Context(), changes); err != nil || len(r.Refused) > 0 {
		t.Fatal(err, r.Refused)
	}
	slices.Sort(ids)
	stopped := newContests(s)
	stopped.at = firstAt{uint64(len(changes)), ids[2]}
	if err := stopped.keep(map[string][]byte{ids[0]: []byte(`["label"]`)}, map[string]bool{}); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second finds all of it kept
		got, err := newContests(s).all()
		if want := []string{ids[0], ids[3], ids[4], ids[5]}; err != nil || !slices.Equal(slices.Sorted(maps.Keys(got)), want) {
			t.Errorf("%v are contested, want %v: %v", got, want, err)
		}
	}
	if v, err := s.Private("contested").Get(keyFirst); err != nil || v != nil {
		t.Errorf("the place of the first look is kept after it: %s, %v", v, err)
	}
}
