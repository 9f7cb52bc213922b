package standard_test

import (
	"math"
	"testing"

	"gaugewright/calc/standard"
)

// A standard of −1 … 2 bar with 0.05 % of span is specified to ± 1.5 mbar: 0.3 bar is 200 times
// that.
func TestDoubtsOfACertificate(t *testing.T) {
	s := standard.Standard{Ranges: []standard.Range{{Low: -1, High: 2, OfSpan: 0.05, K: 2}}}
	at := func(errors ...float64) []standard.Point {
		var list []standard.Point
		for i, e := range errors {
			list = append(list, standard.Point{Applied: float64(i) - 1, Error: e, Expanded: 0.0004, K: 2})
		}
		return list
	}
	codes := func(points []standard.Point, calibrated, due int) (list []string) {
		s.Points = points
		for _, d := range s.Doubts(calibrated, due, 1000) {
			list = append(list, d.Code+" "+d.Field)
		}
		return list
	}
	for name, tt := range map[string]struct {
		got  []string
		want string
	}{
		"as it should be":  {codes(at(0.0004, -0.0012, 0.0004, 0.001), 990, 1355), ""},
		"in the future":    {codes(at(0), 1001, 1366), "future calibrated"},
		"expired":          {codes(at(0), 500, 999), "expired due"},
		"far at one point": {codes(at(0.0004, 0.3), 990, 1355), "far certificate.points[1].error"},
		"just three times": {codes(at(0.0045), 990, 1355), ""},
		"coarse uncertainty": {
			codes([]standard.Point{{Applied: 0, Expanded: 0.02, K: 2}}, 990, 1355),
			"expanded certificate.points[0].expanded",
		},
	} {
		got := ""
		for i, c := range tt.got {
			if i > 0 {
				got += ", "
			}
			got += c
		}
		if got != tt.want {
			t.Errorf("%s: %q, want %q", name, got, tt.want)
		}
	}
}

// By hand: U₁ = 0.003 for k = 2 and U₂ = 0.006 for k = 3, which is 0.004 for k = 2, give √(3² + 4²) =
// 5 thousandths. The earlier error at 5 lies half-way between 0.002 and 0.004; 20 is not reached.
func TestChanges(t *testing.T) {
	before := []standard.Point{
		{Applied: 0, Error: 0.002, Expanded: 0.003, K: 2}, {Applied: 10, Error: 0.004, Expanded: 0.003, K: 2},
	}
	after := []standard.Point{
		{Applied: 0, Error: 0.007, Expanded: 0.006, K: 3}, {Applied: 5, Error: 0.0005, Expanded: 0.006, K: 3},
		{Applied: 10, Error: -0.002, Expanded: 0.006, K: 3}, {Applied: 20, Error: 0, Expanded: 0.006, K: 3},
	}
	want := []standard.Change{
		{Applied: 0, Before: 0.002, After: 0.007, Drift: 0.005, En: 1},
		{Applied: 5, Before: 0.003, After: 0.0005, Drift: -0.0025, En: -0.5},
		{Applied: 10, Before: 0.004, After: -0.002, Drift: -0.006, En: -1.2},
	}
	got := standard.Changes(before, after)
	if len(got) != len(want) {
		t.Fatalf("%d changes, want %d", len(got), len(want))
	}
	for i, c := range got {
		for _, pair := range [][2]float64{
			{c.Applied, want[i].Applied}, {c.Before, want[i].Before}, {c.After, want[i].After},
			{c.Drift, want[i].Drift}, {c.En, want[i].En},
		} {
			if math.Abs(pair[0]-pair[1]) > 1e-12 {
				t.Errorf("%+v, want %+v", c, want[i])
			}
		}
	}
}
