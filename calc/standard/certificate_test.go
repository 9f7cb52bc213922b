package standard_test

import (
	"testing"

	"gaugewright/calc/standard"
)

// A standard of −1 … 2 bar with 0.05 % of span promises ± 1.5 mbar: 0.3 bar is 200 times that.
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
