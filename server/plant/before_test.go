package plant_test

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/server/plant"
)

// TestSheetSaysWhatWasFoundBefore checks that what keeps a run from passing on the phone also does
// so at the office, and that a mere doubt does not.
func TestSheetSaysWhatWasFoundBefore(t *testing.T) {
	w := start(t)
	for _, c := range []struct {
		name string
		set  []plant.Set
		want string
	}{
		{"nothing", nil, `null`},
		{
			"doubtful, as it was once said",
			[]plant.Set{
				{Field: "condition", Value: doc{"ok": false, "note": "dirty"}},
				{Field: "identity", Value: doc{"ok": false, "note": "x"}},
			},
			`null`,
		},
		{"dirty, and wrong in the register", []plant.Set{{
			Field: "condition", Value: doc{"ok": false, "state": "dirty", "note": "oil"},
		},
			{Field: "identity", Value: doc{"ok": false, "way": "register", "note": "x"}}}, `null`},
		{
			"damaged",
			[]plant.Set{{Field: "condition", Value: doc{"ok": false, "state": "damaged", "note": "glass"}}},
			`{"condition":"damaged"}`,
		},
		{
			"another one",
			[]plant.Set{{Field: "identity", Value: doc{"ok": false, "way": "exchanged", "note": "x"}}},
			`{"identity":"exchanged"}`,
		},
		{
			"not met", []plant.Set{{Field: "cautions", Value: doc{"codes": []string{"vent"}, "met": false}}},
			`{"safe":"no"}`,
		},
		{"put right", []plant.Set{
			{Field: "cautions", Value: doc{"codes": []string{"vent"}, "met": true, "put_right": "vented"}},
		}, `null`},
	} {
		set := append(
			[]plant.Set{
				{Field: "method", Value: doc{"definition": doc{"kind": "gauge"}}},
				{Field: "item", Value: doc{"range": doc{"low": "0", "high": "10", "unit": "bar"}}},
			},
			c.set...,
		)
		v, err := plant.LoadVisit(w.store, w.make("visit", "", set...).ID)
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := v.Sheet(&plant.Run{}, false)
		if err != nil {
			t.Fatal(err)
		}
		var got struct{ Before any }
		var want any
		if err := json.Unmarshal(sheet, &got); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal([]byte(c.want), &want); err != nil {
			t.Fatal(err)
		}
		if !cmp.Equal(want, got.Before) {
			t.Errorf("%s: %s", c.name, cmp.Diff(want, got.Before))
		}
	}
	v, err := plant.LoadVisit(w.store, w.make("visit", "", plant.Set{Field: "not_tested", Value: doc{}}).ID)
	if err != nil || v.NotTested != nil {
		t.Errorf("taken back: %v %v", v.NotTested, err)
	}
}
