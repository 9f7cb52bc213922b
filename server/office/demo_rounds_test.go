package office

import (
	"slices"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

// TestDemoRoundsCanBeDone checks that on any day of two years each stop of the demo plant's rounds
// has a standard that serves it: who tries the demo is led to no dead end by the calendar.
func TestDemoRoundsCanBeDone(t *testing.T) {
	step := 31
	if testing.Short() {
		step = 365
	}
	for n := 0; n < 730; n += step {
		today := time.Date(2026, 12, 1+n, 0, 0, 0, 0, time.UTC)
		s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
		if err != nil {
			t.Fatal(err)
		}
		clock := func() time.Time { return today.Add(8 * time.Hour) }
		k, err := auth.New(s, clock)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := demo.Seed(t.Context(), s, demo.Options{Seed: 1, Today: today, Years: 1}); err != nil {
			t.Fatal(today, err)
		}
		table, err := New(s, k, clock).Table(Query{Standard: NoStandard, Most: -1})
		if err != nil {
			t.Fatal(today, err)
		}
		tags := map[string]string{}
		for _, g := range table.Rows {
			tags[g.ID] = g.Tag
		}
		rounds, err := plant.All(s, "round", plant.ReadRound)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rounds {
			first, err := plant.LoadInstrument(s, r.Stops[0].Instrument)
			if err != nil || first.Range.Low != "0" {
				t.Errorf("%s: %q begins at %s, which is no ordinary gauge: %v", today.Format(time.DateOnly), r.Title, first.Tag, err)
			}
			for _, stop := range r.Stops {
				if tag, none := tags[stop.Instrument]; none {
					t.Errorf("%s: no standard serves %s of %q", today.Format(time.DateOnly), tag, r.Title)
				}
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if len(rounds) == 0 || slices.ContainsFunc(rounds, func(r plant.Round) bool { return len(r.Stops) == 0 }) {
			t.Fatal(today, "has no rounds")
		}
	}
}
