package points_test

import (
	"strings"
	"testing"

	"gaugewright/calc/points"
)

// Worked out by hand.
func TestPoints(t *testing.T) {
	tests := []struct{ doc, want string }{
		{`{"low":"0","high":"2.5","unit":"bar","count":6}`, `"points":["0","0.5","1","1.5","2","2.5"]`},
		{`{"low":0,"high":0.3,"unit":"bar","count":4}`, `"points":["0","0.1","0.2","0.3"]`},
		{`{"low":"-1","high":"5","unit":"bar","count":6}`, `"points":["-1","0.2","1.4","2.6","3.8","5"]`},
		{`{"low":"0","high":"1","unit":"bar","count":4}`, `"points":["0","0.333333","0.666667","1"]`},
		{
			`{"low":"0","high":"1000","unit":"psi","count":7}`,
			`"points":["0","166.667","333.333","500","666.667","833.333","1000"]`,
		},
		{`{"low":"0","high":"6","unit":"bar","percents":["0","12.5",100]}`, `"points":["0","0.75","6"]`},
		{`{"low":"0","high":"6","unit":"bar","values":["0.10","1.5","6"]}`, `"points":["0.1","1.5","6"]`},
		{`{"low":"0","high":"6","unit":"bar","values":["1","2","1.0"]}`, `"field":"values[2]"`},
		{`{"low":"0","high":"6","unit":"bar","percents":["10","20","10.00"]}`, `"field":"percents[2]"`},
		{`{"low":"0","high":"6","unit":"bar","values":["6.01"]}`, `"field":"values[0]"`},
		{`{"low":"6","high":"6","unit":"bar","count":5}`, `"field":"high"`},
		{`{"low":"0","high":"6","unit":"bar"}`, `"code":"missing"`},
		{`{"low":"0","high":"6","unit":"bar","count":3,"values":["1"]}`, `"code":"conflict"`},
		{`{"low":"0","high":"6","unit":"furlong","count":3}`, `"code":"unit"`},
		{`{"low":"0","high":"6","unit":"bar","count":1}`, `"field":"count"`},
		{
			`{"low":"0","high":"6","unit":"bar","count":3,"directions":"up-down"}`,
			`{"series":2,"direction":"down","point":1,"target":"3"}`,
		},
		{
			`{"low":"0","high":"6","unit":"bar","count":2,"cycles":2}`,
			`{"series":2,"direction":"up","point":1,"target":"6"}`,
		},
	}
	calculate := points.Calculations()[0]
	for _, tt := range tests {
		if got := string(calculate.Run([]byte(tt.doc), "test")); !strings.Contains(got, tt.want) {
			t.Errorf("%s\n got %s\nwant %s", tt.doc, got, tt.want)
		}
	}
	for seed := range uint64(200) {
		doc := points.Samples()[0].Make(seed)
		if got := string(calculate.Run(doc, "test")); strings.Contains(got, `"error"`) {
			t.Fatalf("sample %s: %s", doc, got)
		}
	}
	if n := len(points.Visits(6, "up-down", "up", 2)); n != 24 {
		t.Errorf("%d visits", n)
	}
	if s := points.Visits(3, "up-down", "down", 1); s[0].Point != 2 || s[3].Direction != "up" {
		t.Errorf("%v", s)
	}
}
