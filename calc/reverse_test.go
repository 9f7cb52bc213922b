package calc_test

import (
	"encoding/json"
	"strings"
	"testing"
)

// sheetIn is a sheet of one series of three points, judged guarded by U, in a unit.
func sheetIn(t *testing.T, unit string, low, mid, high string, values ...string) doc {
	t.Helper()
	var captures []doc
	for i, v := range values {
		captures = append(
			captures, doc{"step": "s1.up." + string(rune('0'+i)), "of": "indicated", "value": v, "unit": unit},
		)
	}
	return doc{"method": doc{
		"kind": "gauge", "points": doc{"values": []string{low, mid, high}}, "directions": "up",
		"decision": doc{"rule": "guarded"},
	},
		"instrument": doc{
			"low": low, "high": high, "unit": unit, "mode": "gauge",
			"limit": doc{"rule": "en837", "class": "1"},
		}, "captures": captures, "complete": true}
}

// TestReverseWorkedByHand: limit 0.1 bar. With u 0.01 the acceptance limit is 0.08, with u 0.02 it
// is 0.06: an error of 0.07 passed before and does not now; one of 0.05 passes either way. The same
// holds in kPa with the standard stated in bar. A standard that reads 0.02 too high at 10 bar turns
// a reading of 10.07 into a true error of 0.09.
func TestReverseWorkedByHand(t *testing.T) {
	sheets := []doc{
		{"id": "a", "sheet": sheetIn(t, "bar", "0", "5", "10", "0", "5.07", "10.01")},
		{"id": "b", "sheet": sheetIn(t, "bar", "0", "5", "10", "0", "5.05", "10.01")},
		{"id": "c", "sheet": sheetIn(t, "kPa", "0", "500", "1000", "0", "507", "1001")},
		{"id": "d", "sheet": doc{"instrument": doc{"low": 1, "high": 0, "unit": "bar"}}},
	}
	out := call(
		t, "reverse",
		doc{"unit": "bar", "before": doc{"u": "0.01"}, "after": doc{"u": "0.02"}, "affected": sheets},
	)
	list, ok := out["sheets"].([]any)
	if !ok || len(list) != 4 || out["changed"] != 2.0 || out["faults"] != 1.0 {
		t.Fatal(out)
	}
	for i, want := range [][3]any{{"pass", "fail", true}, {"pass", "pass", false}, {"pass", "fail", true}} {
		s := list[i].(doc)
		before, after := s["before"].(doc), s["after"].(doc)
		if before["verdict"] != want[0] || after["verdict"] != want[1] || s["changed"] != want[2] ||
			s["id"] != sheets[i]["id"] {
			t.Errorf("%v", s)
		}
		steps := s["readings"].([]any)
		if changed := want[2].(bool); changed && (len(steps) != 1 || steps[0].(doc)["step"] != "s1.up.1") || !changed &&
			len(steps) != 0 {
			t.Errorf("readings that changed: %v", steps)
		}
	}
	if e := list[3].(doc)["error"].(doc); e["code"] != "range" || e["field"] != "affected[3].sheet.instrument.high" {
		t.Errorf("%v", e)
	}
	certificate := func(error string) doc {
		return doc{"ranges": []doc{{"low": 0, "high": 16, "absolute": "0.0001"}}, "certificate": doc{
			"points": []doc{
				{"applied": 0, "error": 0, "expanded": "0.0001"},
				{"applied": 10, "error": error, "expanded": "0.0001"},
			},
		}}
	}
	out = call(t, "reverse", doc{"unit": "bar", "before": certificate("0"), "after": certificate("0.04"),
		"affected": []doc{{"sheet": sheetIn(t, "bar", "0", "5", "10", "0", "5.00", "10.07")}}})
	s := out["sheets"].([]any)[0].(doc)
	if s["changed"] != true || s["after"].(doc)["verdict"] != "fail" {
		t.Errorf("%v", out)
	}
	within(t, "reverse", "worst before", s["before"].(doc)["worst_fraction"], 0.7, 1e-12)
	within(t, "reverse", "worst after", s["after"].(doc)["worst_fraction"], 1.1, 1e-12)
	for name, tt := range map[string]struct {
		in          doc
		code, field string
	}{
		"no sheets": {
			doc{"unit": "bar", "before": doc{"u": 1}, "after": doc{"u": 1}, "affected": []doc{}}, "range",
			"affected",
		},
		"no after": {doc{"unit": "bar", "before": doc{"u": 1}, "affected": sheets}, "missing", "after"},
		"a length": {doc{"unit": "m", "before": doc{"u": 1}, "after": doc{"u": 1}, "affected": sheets}, "unit", "unit"},
	} {
		if e, _ := call(t, "reverse", tt.in)["error"].(doc); e["code"] != tt.code || e["field"] != tt.field {
			t.Errorf("%s: %v", name, e)
		}
	}
}

// TestReverseIsEvaluate: with the same standard, the verdicts are those of calculation evaluate.
func TestReverseIsEvaluate(t *testing.T) {
	sheet := sheetIn(t, "bar", "0", "5", "10", "0", "5.05", "10.099")
	standard := doc{"u": "0.02"}
	out := call(
		t, "reverse",
		doc{"unit": "bar", "before": standard, "after": standard, "affected": []doc{{"sheet": sheet}}},
	)
	s := out["sheets"].([]any)[0].(doc)
	sheet["standard"] = standard
	b, err := json.Marshal(sheet)
	if err != nil {
		t.Fatal(err)
	}
	whole := evaluate(t, string(b))
	if s["before"].(doc)["verdict"] != whole["verdict"] || !strings.Contains("pass fail", whole["verdict"].(string)) ||
		s["after"].(doc)["worst_fraction"] != whole["worst"].(doc)["fraction"] {
		t.Errorf("%v, by itself %v", s, whole["verdict"])
	}
}

// TestReverseInPart, worked by hand: a standard kept its certificate up to 5 bar and reads 0.04 bar
// too high at 10. A run up to 4 bar is not doubtful. In a run up to 10 bar the reading there is,
// and its error becomes 0.07 + 0.04 = 0.11, over the limit of 0.1. If the new points begin at 5
// bar, the reading at zero is judged as before and the one at 10 bar by the new points: nothing is
// extrapolated, and no reading is lost.
func TestReverseInPart(t *testing.T) {
	standard := func(points ...doc) doc {
		return doc{"ranges": []doc{{"low": 0, "high": 16, "absolute": "0.0001"}}, "certificate": doc{"points": points}}
	}
	point := func(applied, error string) doc { return doc{"applied": applied, "error": error, "expanded": "0.0001"} }
	before := standard(point("0", "0.002"), point("10", "0.002"))
	sheets := []doc{{"id": "low", "sheet": sheetIn(t, "bar", "0", "2", "4", "0", "2.01", "4.01")}, {
		"id": "high", "sheet": sheetIn(t, "bar", "0", "5", "10", "0", "5.00", "10.068"),
	},
		{"id": "kPa", "sheet": sheetIn(t, "kPa", "0", "500", "1000", "0", "500", "1006.8")}}
	for name, tt := range map[string]struct {
		after     doc
		low, high [3]float64 // readings, out, beyond
		worst     float64
	}{
		"whole range": {
			standard(point("0", "0.002"), point("5", "0.002"), point("10", "0.042")), [3]float64{3, 0, 0},
			[3]float64{3, 1, 0}, 1.1,
		},
		"from 5 bar": {standard(point("5", "0.002"), point("10", "0.042")), [3]float64{3, 0, 3}, [3]float64{3, 1, 1}, 1.1},
		"above all":  {standard(point("12", "0.002"), point("16", "0.042")), [3]float64{3, 0, 3}, [3]float64{3, 0, 3}, 0.7},
		"as it was":  {before, [3]float64{3, 0, 0}, [3]float64{3, 0, 0}, 0.7},
		"within the U": {
			standard(point("0", "0.002"), point("10", "0.0021")), [3]float64{3, 0, 0}, [3]float64{3, 0, 0},
			0.701,
		},
	} {
		out := call(t, "reverse", doc{"unit": "bar", "before": before, "after": tt.after, "affected": sheets})
		list, _ := out["sheets"].([]any)
		if len(list) != 3 || out["faults"] != 0.0 {
			t.Fatal(name, out)
		}
		for i, want := range [][3]float64{tt.low, tt.high, tt.high} {
			s := list[i].(doc)
			got, _ := s["taken"].(doc)
			if got["readings"] != want[0] || got["out"] != want[1] || got["beyond"] != want[2] {
				t.Errorf("%s: %s was taken %v, want %v", name, s["id"], got, want)
			}
			if i == 0 {
				if s["changed"] != false {
					t.Errorf("%s: %v", name, s)
				}
				continue
			}
			if s["changed"] != (tt.worst > 1) || len(s["readings"].([]any)) != map[bool]int{true: 1}[tt.worst > 1] {
				t.Errorf("%s: %v", name, s)
			}
			within(t, "reverse", name+", worst", s["after"].(doc)["worst_fraction"], tt.worst, 1e-9)
			within(t, "reverse", name+", worst before", s["before"].(doc)["worst_fraction"], 0.7, 1e-9)
		}
	}
}

// TestReverseOfAMeter by hand: 0 … 10 bar give 4 … 20 mA, the limit of 0.25 % of span is 0.04 mA.
// 12.03 mA is 0.03 mA too much, 0.75 of the limit. A meter that showed 0.02 mA too little there
// makes it 0.05 mA, 1.25 of the limit. Beyond its new points it is judged as before.
func TestReverseOfAMeter(t *testing.T) {
	captures := []doc{}
	for i, v := range []string{"4.000", "12.030", "20.035"} {
		captures = append(
			captures, doc{"step": "s1.up." + string(rune('0'+i)), "of": "indicated", "value": v, "unit": "mA"},
		)
	}
	sheet := doc{
		"method": doc{"kind": "gauge", "points": doc{"values": []string{"0", "5", "10"}}, "directions": "up"},
		"instrument": doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge", "output": doc{"low": "4", "high": "20", "unit": "mA"},
			"limit": doc{"rule": "terms", "of_span_percent": "0.25"}},
		"captures": captures, "complete": true,
	}
	meter := func(at12, last string) doc {
		return doc{"ranges": []doc{{"low": 0, "high": 24, "absolute": "0.0001"}}, "certificate": doc{"points": []doc{
			{"applied": 0, "error": 0, "expanded": "0.0001"}, {"applied": "12.03", "error": at12, "expanded": "0.0001"},
			{"applied": last, "error": at12, "expanded": "0.0001"},
		}}}
	}
	out := call(t, "reverse", doc{
		"unit": "mA", "before": meter("0", "24"), "after": meter("-0.02", "16"),
		"affected": []doc{{"id": "a", "as": "meter", "sheet": sheet}},
	})
	list, ok := out["sheets"].([]any)
	if !ok || len(list) != 1 || out["changed"] != 1.0 {
		t.Fatal(out)
	}
	s := list[0].(doc)
	if s["before"].(doc)["verdict"] != "pass" || s["after"].(doc)["verdict"] != "fail" {
		t.Error(s)
	}
	within(t, "reverse", "worst after", s["after"].(doc)["worst_fraction"], 1.25, 1e-9)
	taken := s["taken"].(doc)
	if taken["readings"] != 3.0 || taken["out"] != 2.0 || taken["beyond"] != 1.0 {
		t.Error(taken)
	}
	if r := s["readings"].([]any); len(r) != 1 || r[0].(doc)["step"] != "s1.up.1" {
		t.Error("the readings that change:", r)
	}
	trip := doc{"method": doc{"kind": "switch"}, "instrument": doc{"unit": "bar"}}
	out = call(t, "reverse", doc{
		"unit": "mA", "before": meter("0", "24"), "after": meter("0", "24"), "affected": []doc{{"as": "meter", "sheet": trip}},
	})
	if e, ok := out["sheets"].([]any)[0].(doc)["error"].(doc); !ok ||
		!strings.Contains(e["message"].(string), "meter") {
		t.Error(out)
	}
}
