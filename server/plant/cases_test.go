package plant_test

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/server/plant"
	"gaugewright/sync/clock"
	"gaugewright/sync/merge"
)

// records is a source of a visit and its runs.
type records struct {
	plant.Source
	runs []merge.State
}

func (r records) Children(string) ([]merge.State, error) { return r.runs, nil }

func plain(t *testing.T, v any) (out any) {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// state reads a record of a case.
func state(t *testing.T, raw json.RawMessage) merge.State {
	t.Helper()
	var v struct {
		ID, Kind, Site, Parent string
		Fields                 map[string]struct {
			Heads []struct {
				Change, Author, Device, Wall, Stamp string
				Value                               json.RawMessage
			}
			Replaced []string
		}
	}
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	s := merge.State{ID: v.ID, Kind: v.Kind, Site: v.Site, Parent: v.Parent}
	for _, name := range slices.Sorted(maps.Keys(v.Fields)) {
		f := merge.Field{Name: name, Replaced: v.Fields[name].Replaced}
		for _, h := range v.Fields[name].Heads {
			stamp, err := clock.Parse(h.Stamp)
			if err != nil {
				t.Fatal(err)
			}
			f.Heads = append(
				f.Heads,
				merge.Head{
					Change: h.Change, Value: h.Value, Author: h.Author, Device: h.Device, Wall: h.Wall, Stamp: stamp,
				},
			)
		}
		s.Fields = append(s.Fields, f)
	}
	return s
}

// TestVisitsAreReadAsOnThePhone reads the cases with which the phone's calculation is tested too.
func TestVisitsAreReadAsOnThePhone(t *testing.T) {
	files, err := filepath.Glob("../../testdata/visits/*.json")
	if err != nil || len(files) < 2 {
		t.Fatal("there are no cases of visits:", files, err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var cases []struct {
			About string
			Visit json.RawMessage
			Runs  []json.RawMessage
			Want  map[string]any
		}
		if err := json.Unmarshal(b, &cases); err != nil || len(cases) == 0 {
			t.Fatal(f, len(cases), err)
		}
		for _, c := range cases {
			t.Run(c.About, func(t *testing.T) {
				var src records
				for _, r := range c.Runs {
					src.runs = append(src.runs, state(t, r))
				}
				got := read(t, state(t, c.Visit), src)
				for name, want := range c.Want {
					if have, ok := got[name]; ok && !cmp.Equal(want, have) {
						t.Errorf("%s: %s", name, cmp.Diff(want, have))
					}
				}
			})
		}
	}
}

func read(t *testing.T, visit merge.State, src records) map[string]any {
	t.Helper()
	v, err := plant.ReadVisit(visit)
	if err != nil {
		t.Fatal(err)
	}
	runs, err := plant.Runs(src, v.ID)
	if err != nil {
		t.Fatal(err)
	}
	order, reported := []string{}, map[string]string{}
	for _, r := range runs {
		order = append(order, r.ID)
	}
	found, left := v.Speaking(runs)
	if found != nil {
		reported["as_found"] = found.ID
	}
	if left != nil {
		reported["as_left"] = left.ID
	}
	b, err := v.Sheet(&plant.Run{}, false)
	if err != nil {
		t.Fatal(err)
	}
	var sheet map[string]any
	if err := json.Unmarshal(b, &sheet); err != nil {
		t.Fatal(err)
	}
	delete(sheet, "captures")
	delete(sheet, "complete")
	covers := plant.Covered(&v, runs)
	if !slices.IsSorted(covers) {
		t.Error("what is covered is not in order:", covers)
	}
	return map[string]any{"status": string(v.Status), "reported": plain(t, reported), "runs": plain(t, order),
		"summary": plain(t, v.Summarise(runs)), "covers": plain(t, covers), "sheet": plain(t, sheet)}
}
