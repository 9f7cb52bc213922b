package calc_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func certified(points ...doc) doc {
	return doc{
		"unit": "bar", "ranges": []doc{{"low": 0, "high": 20, "absolute": "0.003"}},
		"certificate": doc{"points": points},
	}
}

// TestStandardCalculationWorkedByHand: common practice, no source. At 4 bar the certificate gives error
// 0.001 and U 0.003 (k 2) halfway between its points at 0 and 8; drift 0.001 a year over two years
// is a half-width of 0.002; the range's 0.003 is a half-width too; midway between points whose
// errors differ by 0.002 the curve may lie a quarter of that off the line.
func TestStandardCalculationWorkedByHand(t *testing.T) {
	in := certified(
		doc{"applied": 0, "error": 0, "expanded": "0.002"},
		doc{"applied": 8, "error": "0.002", "expanded": "0.004"},
	)
	in["drift_per_year"], in["years_since"], in["points"], in["limit"] = "0.001", 2, []any{4, 9}, "0.016"
	out := call(t, "standard", in)
	list, ok := out["points"].([]any)
	if !ok {
		t.Fatal(out)
	}
	p := list[0].(doc)
	u := math.Sqrt(0.003*0.003/3 + 0.0015*0.0015 + 0.0005*0.0005/3 + 0.002*0.002/3)
	within(t, "standard", "u", p["u"], u, 1e-15)
	within(t, "standard", "expanded", p["expanded"], 2*u, 1e-15)
	within(t, "standard", "ratio", p["ratio"], 0.016/(2*u), 1e-12)
	within(t, "standard", "correction", p["correction"], -0.001, 1e-15)
	// 0.016/0.00516 is 3.1: below the usual 4
	if p["enough"] != false || out["enough"] != false {
		t.Errorf("%v", out)
	}
	// 9 bar lies within the range and outside the certificate: nothing is extrapolated
	if q := list[1].(doc); q["enough"] != false || q["u"] != nil ||
		!strings.Contains(fmt.Sprint(q["reason"]), "extrapolated") {
		t.Errorf("%v", q)
	}
	if _, has := out["range"]; has {
		t.Errorf("no range serves all points: %v", out)
	}
	in["points"], in["needed_ratio"] = []any{4}, 3
	if out = call(t, "standard", in); out["enough"] != true || out["range"] != 0.0 {
		t.Errorf("%v", out)
	}
}

// TestStandardChoosesRange: of two modules the smaller one serves as far as it reaches; only the
// larger one serves all points.
func TestStandardChoosesRange(t *testing.T) {
	in := doc{
		"unit": "bar",
		"ranges": []doc{
			{"low": 0, "high": 100, "of_span_percent": "0.05"},
			{"low": 0, "high": 10, "of_span_percent": "0.05"},
		},
		"points": []any{0, 5, 10}, "limit": "0.16",
	}
	if out := call(t, "standard", in); out["range"] != 1.0 || out["enough"] != true {
		t.Errorf("%v", out)
	}
	in["points"] = []any{5, 50}
	out := call(t, "standard", in)
	if out["range"] != 0.0 {
		t.Errorf("%v", out)
	}
	if list := out["points"].([]any); list[0].(doc)["range"] != 1.0 || list[1].(doc)["range"] != 0.0 {
		t.Errorf("%v", list)
	}
}

// TestStandardByRisk runs O-PFA-1 and O-PFA-4 of metrology.json: at a ratio of 4 the false accept
// risk is 0.00858, at 1 it is 0.01801.
func TestStandardByRisk(t *testing.T) {
	for _, tt := range []struct {
		ratio, most float64
		enough      bool
	}{
		{4, 0.0086, true}, {4, 0.0085, false}, {1, 0.0181, true}, {1, 0.018, false}, {2000, 1e-3, true},
		{0.05, 0.4, false},
	} {
		out := call(
			t, "standard",
			doc{"unit": "bar", "u": 0.01, "points": []any{1}, "limit": tt.ratio * 0.02, "max_false_accept": tt.most},
		)
		if out["enough"] != tt.enough {
			t.Errorf("ratio %v, at most %v: %v", tt.ratio, tt.most, out)
		}
	}
}

// TestCertificateErrorIsCorrected: the standard reads 0.02 too high at 10 bar, so a gauge that
// agrees with it is wrong by that much. With an error of 0.08 on top the sum meets the limit of 0.1
// exactly, and passes; one digit more fails.
func TestCertificateErrorIsCorrected(t *testing.T) {
	judge := func(way, indicated string) doc {
		s := certified(
			doc{"applied": 0, "error": 0, "expanded": "0.002"},
			doc{"applied": 10, "error": "0.02", "expanded": "0.002"},
		)
		delete(s, "unit")
		r := doc{"series": 1, "direction": "up", "point": 10, "applied": 10, "indicated": indicated}
		return call(
			t, "gauge",
			doc{
				"unit": "bar", "low": 0, "high": 10, "limit": doc{"rule": "en837", "class": "1"},
				"decision": doc{"rule": "simple"}, "method": way, "standard": s, "readings": []doc{r},
			},
		)
	}
	for _, way := range []string{"applied-set", "pointer-set"} {
		out := judge(way, "10")
		list, ok := out["points"].([]any)
		if !ok {
			t.Fatal(out)
		}
		within(t, way, "error", list[0].(doc)["error"], 0.02, 1e-14)
		if v := judge(way, "10.08")["verdict"]; v != "pass" {
			t.Errorf("%s: at the limit: %v", way, v)
		}
		if v := judge(way, "10.0801")["verdict"]; v != "fail" {
			t.Errorf("%s: beyond: %v", way, v)
		}
	}
}

// TestHysteresisBeyondTheClassIsSaid: ±0.1 allowed. Rising −0.06 and falling +0.05 are within, but
// differ by 0.11, so the gauge does not pass. O-EN-hysteresis of metrology.json (from memory).
func TestHysteresisBeyondTheClassIsSaid(t *testing.T) {
	judge := func(down string) doc {
		return call(t, "gauge", doc{"unit": "bar", "low": 0, "high": 10, "limit": doc{"rule": "en837", "class": "1"}, "decision": doc{"rule": "simple"},
			"readings": []doc{
				{"series": 1, "direction": "up", "point": 5, "indicated": "4.94"},
				{"series": 2, "direction": "down", "point": 5, "indicated": down},
			}})
	}
	if out := judge("5.05"); out["verdict"] != "undecided" || !hasWarning(out, "hysteresis") ||
		!strings.Contains(fmt.Sprint(out["reason"]), "at 5 rising and falling") {
		t.Errorf("%v", out)
	}
	if out := judge("5.04"); hasWarning(out, "hysteresis") { // 0.10, exactly what is allowed
		t.Errorf("%v", out["warnings"])
	}
}

// TestStandardIsNoBetterThanAPart: u is at least each of its parts, and grows with each of them.
func TestStandardIsNoBetterThanAPart(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		part := func(name string) float64 { return rapid.Float64Range(0, 0.1).Draw(rt, name) }
		reading, span, drift, expanded := part("of reading"), part("of span"), part("drift"), part("U")+1e-6
		p := rapid.Float64Range(0, 20).Draw(rt, "p")
		in := func(span, drift, expanded float64) float64 {
			out := call(t, "standard", doc{"unit": "bar", "ranges": []doc{
				{"low": 0, "high": 20, "of_reading_percent": reading, "of_span_percent": span, "absolute": 1e-6},
			},
				"certificate": doc{
					"points": []doc{{"applied": 0, "expanded": expanded}, {"applied": 20, "expanded": expanded}},
				},
				"drift_per_year": drift, "years_since": 1, "points": []any{p}, "limit": 1})
			list, ok := out["points"].([]any)
			if !ok {
				rt.Fatalf("%v", out)
			}
			return list[0].(doc)["u"].(float64)
		}
		u := in(span, drift, expanded)
		for name, least := range map[string]float64{"specification": (reading*p/100 + span*0.2 + 1e-6) / math.Sqrt(3), "certificate": expanded / 2, "drift": drift / math.Sqrt(3)} {
			if u < least*(1-1e-12) {
				rt.Fatalf("u %v below its %s, %v", u, name, least)
			}
		}
		if in(span+0.01, drift, expanded) < u || in(span, drift+0.01, expanded) < u ||
			in(span, drift, expanded+0.01) < u {
			rt.Fatal("a larger part made u smaller")
		}
	})
}

func TestStandardRefuses(t *testing.T) {
	base := func() doc { return doc{"unit": "bar", "u": "0.01", "points": []any{1}, "limit": "0.1"} }
	for name, tt := range map[string]struct {
		code, field string
		change      func(d doc)
	}{
		"no limit":       {"missing", "limit", func(d doc) { delete(d, "limit") }},
		"both limits":    {"missing", "limit", func(d doc) { d["limits"] = []any{1} }},
		"limits short":   {"shape", "limits", func(d doc) { delete(d, "limit"); d["limits"] = []any{1, 2} }},
		"below zero":     {"range", "limits[0]", func(d doc) { delete(d, "limit"); d["limits"] = []any{-1} }},
		"two demands":    {"conflict", "needed_ratio", func(d doc) { d["needed_ratio"], d["max_false_accept"] = 4, 0.02 }},
		"no uncertainty": {"range", "u", func(d doc) { d["u"] = 0 }},
		"no point":       {"range", "points", func(d doc) { d["points"] = []any{} }},
		"temperature":    {"unit", "unit", func(d doc) { d["unit"] = "degC" }},
	} {
		d := base()
		tt.change(d)
		e, _ := call(t, "standard", d)["error"].(doc)
		if e["code"] != tt.code || e["field"] != tt.field {
			t.Errorf("%s: got %v, want %s at %s", name, e, tt.code, tt.field)
		}
	}
}
