package plant_test

import (
	"context"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"github.com/google/go-cmp/cmp"
)

// world is a store that drafts its own changes. Every value in these tests is invented.
type world struct {
	t       *testing.T
	store   *store.Store
	drafter plant.Drafter
	now     time.Time
}

func start(t *testing.T) *world {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return &world{
		t, s, plant.Drafter{Device: "d1", Author: "a1", Random: rand.NewChaCha8([32]byte{1})},
		time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC),
	}
}

func (w *world) keep(c change.Change, s merge.State, err error) merge.State {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
	r, err := w.store.Add(context.Background(), []change.Change{c})
	if err != nil || len(r.Accepted) != 1 {
		w.t.Fatal(r, err)
	}
	w.now = w.now.Add(time.Minute)
	return s
}

func (w *world) make(kind, parent string, set ...plant.Set) merge.State {
	w.t.Helper()
	return w.keep(w.drafter.New(kind, "", parent, w.now, set...))
}

func (w *world) edit(s merge.State, set ...plant.Set) merge.State {
	w.t.Helper()
	return w.keep(w.drafter.Edit(s, w.now, set...))
}

type doc = map[string]any

func gauge(tag, serial string) []plant.Set {
	return []plant.Set{
		{"tag", tag}, {"serial", serial}, {"description", "filter outlet"}, {
			"range", doc{"low": "0", "high": "10.0", "unit": "bar", "mode": "gauge"},
		},
		{"resolution", "0.05"}, {
			"limit", doc{"rule": "en837", "class": "1.6", "stop_pin": true},
		}, {"label", "abc" + strings.ToLower(serial)},
		{"interval_months", 12}, {"cautions", []string{"oxygen"}},
	}
}

func capture(step, value string, more ...string) doc {
	d := doc{"step": step, "of": "indicated", "value": value, "unit": "bar", "at": "2026-03-04T08:00:00.000Z"}
	for i := 0; i+1 < len(more); i += 2 {
		d[more[i]] = more[i+1]
	}
	return d
}

func TestInstrumentKeepsItsDigits(t *testing.T) {
	w := start(t)
	w.make("instrument", "", gauge("PI-1", "S1")...)
	w.make("instrument", "", gauge("PI-2", "S2")...)
	for _, text := range []string{"PI-1", "ABCs1", " S1 "} {
		got, err := plant.Find(w.store, text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if got.Tag != "PI-1" || got.Range.High != "10.0" || got.Limit.Class != "1.6" || !got.Limit.StopPin ||
			got.IntervalMonths != 12 || got.Cautions[0] != "oxygen" {
			t.Errorf("%q: %+v", text, got)
		}
	}
	if _, err := plant.Find(w.store, "PI-3"); !errors.Is(err, plant.ErrNotFound) {
		t.Error("not there:", err)
	}
	w.make("instrument", "", gauge("PI-1", "S9")...)
	if _, err := plant.Find(w.store, "PI-1"); !errors.Is(err, plant.ErrSeveral) {
		t.Error("two of one tag:", err)
	}
	all, err := plant.All(w.store, "instrument", plant.ReadInstrument)
	if err != nil || len(all) != 3 {
		t.Error(len(all), err)
	}
}

func TestErrorsNameRecordAndField(t *testing.T) {
	w := start(t)
	s := w.make("instrument", "", plant.Set{Field: "range", Value: doc{"low": "zero", "high": "1", "unit": "bar"}})
	_, err := plant.LoadInstrument(w.store, s.ID)
	if !errors.Is(err, plant.ErrValue) || !strings.Contains(err.Error(), s.ID) ||
		!strings.Contains(err.Error(), "range") || !strings.Contains(err.Error(), "zero") {
		t.Error(err)
	}
	if _, err := plant.LoadVisit(w.store, s.ID); !errors.Is(err, plant.ErrKind) {
		t.Error(err)
	}
	if _, err := plant.LoadVisit(w.store, "nobody"); !errors.Is(err, plant.ErrNotFound) {
		t.Error(err)
	}
}

func TestContestedFieldsAreNamed(t *testing.T) {
	w := start(t)
	s := w.make("instrument", "", plant.Set{Field: "place", Value: "east"})
	other := plant.Drafter{Device: "d2", Author: "a2", Random: rand.NewChaCha8([32]byte{2})}
	mine := w.edit(s, plant.Set{Field: "place", Value: "north"})
	c, _, err := other.Edit(s, w.now, plant.Set{Field: "place", Value: "south"}) // has not seen north
	both, err2 := merge.Apply(mine, c)
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	got, err := plant.ReadInstrument(both)
	if err != nil || !cmp.Equal(got.Contested, []string{"place"}) {
		t.Error(got.Contested, err)
	}
}

func TestStatusOfAVisit(t *testing.T) {
	w := start(t)
	i := w.make("instrument", "", gauge("PI-1", "S1")...)
	s := w.make(
		"visit", i.ID, plant.Set{Field: "instrument", Value: i.ID},
		plant.Set{Field: "started", Value: "2026-03-04T08:00:00.000Z"},
	)
	is := func(want plant.Status) {
		t.Helper()
		v, err := plant.LoadVisit(w.store, s.ID)
		if err != nil || v.Status != want {
			t.Fatalf("%s, want %s; %v", v.Status, want, err)
		}
	}
	is(plant.Open)
	s = w.edit(
		s,
		plant.Set{
			Field: "signature", Value: doc{"name": "J. Alder", "at": "2026-03-04T09:00:00.000Z", "covers": []string{}},
		},
	)
	is(plant.Signed)
	s = w.edit(s, plant.Set{Field: "returned.r1", Value: doc{"remark": "which standard?"}})
	is(plant.Returned)
	s = w.edit(
		s,
		plant.Set{
			Field: "signature", Value: doc{"name": "J. Alder", "at": "2026-03-04T10:00:00.000Z", "covers": []string{}},
		},
	)
	is(plant.Signed)
	s = w.edit(s, plant.Set{Field: "approval", Value: doc{"certificate": "c1", "covers": []string{}}})
	is(plant.Approved)
	s = w.edit(s, plant.Set{Field: "reopened.o1", Value: doc{"reason": "the serial is another one"}})
	is(plant.Reopened)
	s = w.edit(
		s,
		plant.Set{
			Field: "signature", Value: doc{"name": "J. Alder", "at": "2026-03-04T11:00:00.000Z", "covers": []string{}},
		},
	)
	is(plant.Signed)
	s = w.edit(s, plant.Set{Field: "returned.r2", Value: doc{"remark": "and the maker?"}})
	is(plant.Returned)
	s = w.edit(
		s,
		plant.Set{
			Field: "signature", Value: doc{"name": "J. Alder", "at": "2026-03-04T12:00:00.000Z", "covers": []string{}},
		},
	)
	is(plant.Signed)
	if v, err := plant.LoadVisit(w.store, s.ID); err != nil || v.Approval != nil || len(v.Reopenings) != 1 ||
		v.Reopenings[0].Text != "the serial is another one" {
		t.Error(v.Approval, v.Reopenings, err)
	}
	s = w.edit(s, plant.Set{Field: "approval", Value: doc{"certificate": "c2", "covers": []string{}}})
	is(plant.Approved)
	older := w.make("visit", i.ID, plant.Set{Field: "started", Value: "2025-03-04T08:00:00.000Z"})
	past, err := plant.History(w.store, i.ID)
	if err != nil || len(past) != 2 || past[0].ID != older.ID || past[1].Returns[0].Text != "which standard?" ||
		past[1].Approval.By != "a1" {
		t.Error(past, err)
	}
}

func TestSupersededCapturesStayButDoNotCount(t *testing.T) {
	w := start(t)
	v := w.make("visit", "", plant.Set{Field: "started", Value: "2026-03-04T08:00:00.000Z"})
	r := w.make(
		"run", v.ID, plant.Set{Field: "label", Value: "as found"},
		plant.Set{Field: "capture.zz", Value: capture("s1", "2.50")},
	)
	r = w.edit(r, plant.Set{Field: "capture.aa", Value: capture("s2", "5.0")})
	w.edit(r, plant.Set{Field: "capture.bb", Value: capture("s1", "2.55", "supersedes", "zz", "reason", "read again")})
	runs, err := plant.Runs(w.store, v.ID)
	if err != nil || len(runs) != 1 || len(runs[0].Captures) != 3 {
		t.Fatal(runs, err)
	}
	var got []string
	for _, c := range runs[0].Effective() {
		got = append(got, c.Step+"="+string(c.Value))
	}
	if want := []string{"s2=5.0", "s1=2.55"}; !cmp.Equal(got, want) {
		t.Error(cmp.Diff(want, got))
	}
	if len(plant.Covers(runs)) != 3 {
		t.Error("three changes made the run:", plant.Covers(runs))
	}
}

func TestWhichRunsSpeak(t *testing.T) {
	run := func(label string, whole, closed bool) plant.Run {
		r := plant.Run{Label: label, Finding: &plant.Finding{Complete: whole, Verdict: label}}
		if closed {
			r.ClosedAt = "2026-03-04T08:00:00.000Z"
		}
		return r
	}
	for _, c := range []struct {
		name        string
		returned    bool
		runs        []plant.Run
		found, left int // index, −1 for none
	}{
		{"nothing yet", false, nil, -1, -1},
		{"open run does not speak", false, []plant.Run{run("as found", true, false)}, -1, -1},
		{
			"a whole run goes before a broken one", false,
			[]plant.Run{run("as found", false, true), run("as found", true, true)}, 1, -1,
		},
		{
			"the first as-found stays the as-found", false,
			[]plant.Run{run("as found", true, true), run("repeat", true, true)}, 0, -1,
		},
		{
			"after a return the last one", true, []plant.Run{run("as found", true, true), run("repeat", true, true)}, 1,
			-1,
		},
		{
			"adjusted twice", false,
			[]plant.Run{run("as found", true, true), run("as left", true, true), run("repeat", true, true)},
			0, 2,
		},
	} {
		v := plant.Visit{}
		if c.returned {
			v.Returns = []plant.Remark{{}}
		}
		at := func(i int) *plant.Run {
			if i < 0 {
				return nil
			}
			return &c.runs[i]
		}
		found, left := v.Speaking(c.runs)
		if found != at(c.found) || left != at(c.left) {
			t.Errorf("%s: %v %v", c.name, found, left)
		}
	}
}

func TestARunSinceTheReopeningSpeaks(t *testing.T) {
	w := start(t)
	v := w.make("visit", "", plant.Set{Field: "started", Value: "2026-03-04T08:00:00.000Z"})
	run := func(label string) {
		w.make("run", v.ID, plant.Set{Field: "label", Value: label}, plant.Set{
			Field: "closed", Value: doc{"at": "2026-03-04T08:30:00.000Z"},
		},
			plant.Set{Field: "finding", Value: doc{"verdict": label, "complete": true}})
	}
	speaks := func(want int) {
		t.Helper()
		got, err := plant.LoadVisit(w.store, v.ID)
		if err != nil {
			t.Fatal(err)
		}
		runs, err := plant.Runs(w.store, v.ID)
		if err != nil {
			t.Fatal(err)
		}
		if found, left := got.Speaking(runs); found != &runs[want] || left != nil {
			t.Errorf("%+v %+v, want run %d", found, left, want)
		}
	}
	run("as found")
	run("repeat")
	v = w.edit(v, plant.Set{Field: "approval", Value: doc{"certificate": "c1", "covers": []string{}}})
	speaks(0)
	v = w.edit(v, plant.Set{Field: "reopened.o1", Value: doc{"reason": "x"}})
	speaks(0) // reopening alone alters no result
	run("repeat")
	speaks(2)
}

func TestSheetCarriesWhatWasTyped(t *testing.T) {
	w := start(t)
	v := w.make("visit", "",
		plant.Set{
			Field: "method", Value: doc{"id": "m", "version": 1, "name": "n", "definition": doc{"kind": "gauge"}},
		},
		plant.Set{
			Field: "item",
			Value: doc{
				"tag": "PI-1", "range": doc{"low": "0", "high": "10.0", "unit": "bar", "mode": "gauge"},
				"resolution": "0.05", "limit": doc{"rule": "en837", "class": "1"},
			},
		},
		plant.Set{
			Field: "standard",
			Value: doc{
				"id":       "s",
				"range":    doc{"low": "0", "high": "20", "unit": "bar", "of_span_percent": "0.05", "k": "2"},
				"snapshot": doc{"name": "x"},
			},
		},
		plant.Set{Field: "surroundings", Value: doc{"temperature_c": "21.5"}})
	w.make(
		"run", v.ID, plant.Set{Field: "label", Value: "as found"},
		plant.Set{Field: "capture.aa", Value: capture("s1", "2.50")},
	)
	visit, err := plant.LoadVisit(w.store, v.ID)
	if err != nil {
		t.Fatal(err)
	}
	runs, err := plant.Runs(w.store, v.ID)
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := visit.Sheet(&runs[0], true)
	if err != nil {
		t.Fatal(err)
	}
	var got, want any
	if err := json.Unmarshal(sheet, &got); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(`{"method":{"kind":"gauge"},"instrument":{"low":"0","high":"10.0","unit":"bar","mode":"gauge","resolution":"0.05",
		"limit":{"rule":"en837","class":"1"}},"standard":{"ranges":[{"low":"0","high":"20","of_span_percent":"0.05","k":"2"}]},
		"surroundings":{"temperature_c":"21.5"},"captures":[{"step":"s1","of":"indicated","value":"2.50","unit":"bar","at":"2026-03-04T08:00:00.000Z"}],"complete":true}`), &want); err != nil {
		t.Fatal(err)
	}
	if !cmp.Equal(want, got) {
		t.Error(cmp.Diff(want, got))
	}
}
