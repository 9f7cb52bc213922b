package plant_test

import (
	"testing"

	"gaugewright/server/plant"

	"github.com/google/go-cmp/cmp"
)

func TestRecordsAsTheyStood(t *testing.T) {
	w := start(t)
	v := w.make("visit", "", plant.Set{Field: "started", Value: "2026-03-04T08:00:00.000Z"})
	r := w.make("run", v.ID, plant.Set{Field: "label", Value: "as found"})
	then, err := w.store.Last()
	if err != nil {
		t.Fatal(err)
	}
	want := [2]string{string(v.Bytes()), string(r.Bytes())}
	v = w.edit(
		v, plant.Set{Field: "started", Value: "2026-03-05T08:00:00.000Z"},
		plant.Set{Field: "reopened.x", Value: doc{"reason": "x"}},
	)
	w.edit(r, plant.Set{Field: "label", Value: "repeat"})
	later := w.make("run", v.ID, plant.Set{Field: "label", Value: "repeat"})
	past := plant.AsOf(w.store, then)
	got, ok, err := past.Record(v.ID)
	kids, err2 := past.Children(v.ID)
	if err != nil || err2 != nil || !ok || len(kids) != 1 {
		t.Fatal(ok, len(kids), err, err2)
	}
	if d := cmp.Diff(want, [2]string{string(got.Bytes()), string(kids[0].Bytes())}); d != "" {
		t.Error(d)
	}
	if _, ok, err := past.Record(later.ID); ok || err != nil {
		t.Error("what came later was not there:", err)
	}
	now, _, err := plant.AsOf(w.store, then+9).Record(v.ID)
	if err != nil || string(now.Bytes()) != string(v.Bytes()) {
		t.Error("nothing has come since:", err)
	}
}
