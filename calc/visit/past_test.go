package visit_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/calc"
)

func call(t *testing.T, name, doc string) map[string]any {
	t.Helper()
	var got map[string]any
	if err := json.Unmarshal(calc.Call(name, []byte(doc)), &got); err != nil {
		t.Fatal(err)
	}
	delete(got, "calc")
	return got
}

// TestPast: means and limits worked by hand.
func TestPast(t *testing.T) {
	const points = `[{"point":"5","direction":"up","error":0.02,"limit":0.1},{"point":"5","direction":"down","error":0.04,"limit":0.1},` +
		`{"point":"5.0","direction":"up","error":0.03,"limit":0.08},{"point":"10","direction":"up","error":null,"limit":null}]`
	const left = `"as_left":{"points":[{"point":"5","error":0}]}`
	got := call(t, "past", `{"visits":[
		{"started":"2025-03-01T08:00:00Z","adjusted":true,"summary":{"as_found":{"worst_fraction":0.5,"points":`+points+`},`+left+`}},
		{"started":"2024-03-01T15:00:00Z","summary":{"as_found":{"worst_fraction":0.9,"points":[{"point":"5","error":0.5}]},`+left+`}},
		{"started":"2024-03-01T08:00:00Z","summary":{"as_found":{"points":`+points+`}}},
		{"started":"2023-03-01T08:00:00Z","summary":{"as_found":{"points":[]}}},
		{"started":"2025-09-01T08:00:00Z","draft":true,"summary":{"as_found":{"worst_fraction":1.5,"points":`+points+`}}},
		{"started":"2026-03-01T08:00:00Z"}]}`)
	mean := 0.0
	for _, e := range []float64{0.02, 0.04, 0.03} { // in this order, as the sum is rounded
		mean += e
	}
	want := map[string]any{"found_fraction": 0.5, "shares": []any{}, "history": []any{
		map[string]any{"date": "2024-03-01", "errors": []any{map[string]any{"point": "5", "error": 0.5}}},
		map[string]any{"date": "2025-03-01", "adjusted": true, "left": []any{
			map[string]any{"point": "5", "error": 0.0},
		},
			"errors": []any{map[string]any{"point": "5", "error": mean / 3, "limit": 0.08}}},
	}}
	if diff := cmp.Diff(want, got); diff != "" || math.Abs(mean/3-0.03) > 1e-15 {
		t.Error(diff)
	}
}

func TestKin(t *testing.T) {
	visits := `[{"instrument":"a","verdict":"pass"},{"instrument":"b","verdict":"fail"},{"instrument":"c","verdict":"pass"},{"instrument":"d","verdict":"pass"},` +
		`{"instrument":"a","verdict":"undecided"},{"instrument":"gone","verdict":"fail"}]`
	got := call(t, "kin", `{"instrument":{"limit":{"class":"1"},"interval_months":12},"instruments":[{"id":"a","limit":{"class":"1"},"interval_months":12},
		{"id":"b","limit":{"class":"1"},"interval_months":12},{"id":"c","limit":{"class":"1.6"},"interval_months":12},{"id":"d","limit":{"class":"1"}}],"visits":`+visits+`}`)
	if want := map[string]any{"passed": 1.0, "of": 2.0, "enough": false}; !cmp.Equal(want, got) {
		t.Error(cmp.Diff(want, got))
	}
}
