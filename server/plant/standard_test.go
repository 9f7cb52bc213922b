package plant_test

import (
	"encoding/json"
	"testing"

	"gaugewright/server/plant"

	"github.com/google/go-cmp/cmp"
)

// TestSheetCarriesTheStandardsCertificate: the office's recalculation has to correct by the same
// points as the phone.
func TestSheetCarriesTheStandardsCertificate(t *testing.T) {
	w := start(t)
	points := []doc{
		{"applied": "0", "error": "0.01", "expanded": "0.004", "k": "2"},
		{"applied": "20", "error": "-0.02", "expanded": "0.006", "k": "2"},
	}
	v := w.make("visit", "", plant.Set{Field: "method", Value: doc{"definition": doc{"kind": "gauge"}}},
		plant.Set{Field: "item", Value: doc{"range": doc{"low": "0", "high": "10", "unit": "bar"}}},
		plant.Set{
			Field: "standard",
			Value: doc{
				"id": "s",
				"range": doc{
					"low": "0", "high": "20", "unit": "bar", "absolute": "0.01", "points": points,
					"drift_per_year": "0.002", "years_since": "0.5",
				},
			},
		})
	visit, err := plant.LoadVisit(w.store, v.ID)
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := visit.Sheet(&plant.Run{}, false)
	if err != nil {
		t.Fatal(err)
	}
	var got struct{ Standard any }
	var want any
	if err := json.Unmarshal(sheet, &got); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(`{"ranges":[{"low":"0","high":"20","absolute":"0.01"}],"certificate":{"points":[{"applied":"0","error":"0.01","expanded":"0.004","k":"2"},
		{"applied":"20","error":"-0.02","expanded":"0.006","k":"2"}]},"drift_per_year":"0.002","years_since":"0.5"}`), &want); err != nil {
		t.Fatal(err)
	}
	if !cmp.Equal(want, got.Standard) {
		t.Error(cmp.Diff(want, got.Standard))
	}
}
