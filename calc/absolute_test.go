package calc_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// absoluteSheet is an absolute gauge of 0 to 4 bar, tested with a gauge standard and a barometer.
// The air is 1000 hPa; the barometer shows 1 hPa too little.
func absoluteSheet(way string, captures ...doc) doc {
	return doc{
		"method": doc{"kind": "gauge", "points": doc{"values": []string{"1", "2"}}, "directions": "up", "way": way},
		"instrument": doc{
			"low": "0", "high": "4", "unit": "bar", "mode": "absolute",
			"limit": doc{"rule": "terms", "absolute": "0.02"},
		},
		"standard": doc{"ranges": []doc{{"low": "-1", "high": "4", "absolute": "0.001"}}},
		"barometer": doc{"ranges": []doc{{"low": "0.8", "high": "1.2", "absolute": "0.0003"}}, "certificate": doc{"points": []doc{
			{"applied": "0.9", "error": "-0.001", "expanded": "0.0002"}, {"applied": "1.1", "error": "-0.001", "expanded": "0.0002"},
		}}},
		"surroundings": doc{"temperature_c": "20", "pressure_hpa": "1000"},
		"captures":     captures, "complete": true,
	}
}

func taken(step, of, value string) doc {
	return doc{"step": step, "of": of, "unit": "bar", "value": value, "at": "2026-03-04T10:00:00Z"}
}

// TestAbsoluteByGaugeStandard is worked by hand. The barometer reads 1 hPa low. With the pointer at
// 2 bar the applied pressure is 1.005 + 1.000 + 0.001 = 2.006 bar; with the gauge standard set to
// 1 bar it is 2.001 bar. The air adds u of 0.0003/√3, 0.0002/2 and, since it was read once,
// 0.001/√3 bar.
func TestAbsoluteByGaugeStandard(t *testing.T) {
	for way, c := range map[string]struct {
		captures []doc
		applied  float64
		error    float64
	}{
		"pointer-set": {[]doc{taken("s1.up.0", "applied", "0.001"), taken("s1.up.1", "applied", "1.005")}, 2.006, -0.006},
		"applied-set": {[]doc{taken("s1.up.0", "indicated", "1.000"), taken("s1.up.1", "indicated", "1.997")}, 2.001, -0.004},
	} {
		out := call(t, "evaluate", absoluteSheet(way, c.captures...))
		if out["error"] != nil {
			t.Fatalf("%s: %v", way, out["error"])
		}
		gauge := out["gauge"].(doc)
		p := out["points"].([]any)[1].(doc)
		within(t, way, "applied", p["applied"], c.applied, 1e-12)
		within(t, way, "error", p["error"], c.error, 1e-12)
		air := gauge["air"].(doc)
		within(t, way, "air", air["read"], 1, 1e-12)
		within(t, way, "air, corrected", air["corrected"], 1.001, 1e-12)
		want := 0.001*0.001/3 + 0.0003*0.0003/3 + 0.0001*0.0001 + 0.001*0.001/3
		within(t, way, "u", p["u"], math.Sqrt(want), 1e-9)
		for _, term := range []string{"baro", "baro_cert", "baro_once"} {
			if !strings.Contains(fmt.Sprint(p["budget"]), term+" ") &&
				!strings.Contains(fmt.Sprint(p["budget"]), term+"]") {
				t.Errorf("%s: no line %s in %v", way, term, p["budget"])
			}
		}
	}
}

// TestAbsoluteRefuses checks that a missing pressure of the air is refused, and so is a barometer
// beside an instrument that does not measure absolute pressure.
func TestAbsoluteRefuses(t *testing.T) {
	in := absoluteSheet("pointer-set")
	in["surroundings"] = doc{"temperature_c": "20"}
	if e := fmt.Sprint(call(t, "evaluate", in)["error"]); !strings.Contains(e, "surroundings.pressure_hpa") {
		t.Error(e)
	}
	in = absoluteSheet("pointer-set")
	in["instrument"].(doc)["mode"] = "gauge"
	if e := fmt.Sprint(call(t, "evaluate", in)["error"]); !strings.Contains(e, "barometer") {
		t.Error(e)
	}
}

// TestAbsolutePlan checks that each step states what the gauge standard shows at its point, and
// that a typed pressure is compared with that reading.
func TestAbsolutePlan(t *testing.T) {
	for way, want := range map[string]string{"applied-set": "", "pointer-set": "0.987"} {
		in := absoluteSheet(way)
		out := call(t, "expand", doc{"method": in["method"], "instrument": in["instrument"], "air_hpa": "1013"})
		if out["error"] != nil {
			t.Fatal(out["error"])
		}
		said := fmt.Sprint(out["steps"])
		if !strings.Contains(said, "at_standard:0.987") {
			t.Errorf("%s: %s", way, said)
		}
		if way == "pointer-set" && !strings.Contains(said, "target:"+want) {
			t.Errorf("%s: the typed value is compared with the whole pressure: %s", way, said)
		}
	}
}

// TestAbsoluteStandards checks that a gauge standard serves an absolute instrument only with a
// barometer, and that its range is compared with the pressures less the air. As a barometer, only
// absolute ranges that reach the air serve.
func TestAbsoluteStandards(t *testing.T) {
	in := absoluteSheet("pointer-set")
	ask := func(rng doc, as string) string {
		q := doc{"method": in["method"], "instrument": in["instrument"], "range": rng}
		if as != "" {
			q[as] = true
		}
		out := call(t, "serves", q)
		if out["error"] != nil {
			t.Fatal(out["error"])
		}
		var codes []string
		for _, o := range out["objections"].([]any) {
			codes = append(codes, o.(doc)["code"].(string))
		}
		return strings.Join(codes, " ")
	}
	gauge := func(low, high string) doc {
		return doc{"low": low, "high": high, "unit": "bar", "mode": "gauge", "absolute": "0.001"}
	}
	absolute := func(low, high string) doc {
		return doc{"low": low, "high": high, "unit": "hPa", "mode": "absolute", "absolute": "0.3"}
	}
	for _, c := range []struct {
		rng      doc
		as, want string
	}{
		{gauge("-1", "4"), "", "barometer"},
		{gauge("0", "4"), "", "barometer low"},
		{gauge("-1", "0.5"), "", "barometer high"},
		{absolute("0", "5000"), "", ""},
		{absolute("800", "1100"), "barometer", ""},
		{absolute("900", "1100"), "barometer", "low"},
		{gauge("0", "4"), "barometer", "mode"},
	} {
		if got := ask(c.rng, c.as); got != c.want {
			t.Errorf("%v as %q: %q, want %q", c.rng, c.as, got, c.want)
		}
	}
}

// TestAbsoluteTyped checks that the finding has the gauge standard's reading beside the absolute
// pressure, as typed or as set: 1 bar less 1000 hPa of air.
func TestAbsoluteTyped(t *testing.T) {
	for way, c := range map[string]struct {
		capture doc
		want    string
	}{
		"pointer-set": {taken("s1.up.0", "applied", "0.001"), "0.001 bar"},
		"applied-set": {taken("s1.up.0", "indicated", "1.000"), "0 bar"},
	} {
		in := absoluteSheet(way, c.capture)
		delete(in["barometer"].(doc), "certificate")
		out := call(t, "evaluate", in)
		one := out["readings"].([]any)[0].(doc)
		if typed, ok := one["typed"].(doc); !ok || typed["applied"] != c.want {
			t.Errorf("%s: typed %v, want %s", way, one["typed"], c.want)
		}
		if p := out["points"].([]any)[0].(doc); way == "pointer-set" && p["typed"] != 0.001 {
			t.Errorf("the point has typed %v", p["typed"])
		}
	}
}

// TestAbsoluteAir: a barometer whose certificate does not cover all air pressures needs a reason
// while the air is not known. If the air is known, the points decide, even if its range is wider.
func TestAbsoluteAir(t *testing.T) {
	in := absoluteSheet("pointer-set", taken("s1.up.0", "applied", "0.001"))
	rng := doc{
		"low": "800", "high": "1100", "unit": "hPa", "mode": "absolute", "absolute": "0.3",
		"points": []doc{
			{"applied": "950", "error": "0", "expanded": "0.2"}, {"applied": "1050", "error": "0", "expanded": "0.2"},
		},
	}
	for air, want := range map[string]string{"": "no_statement", "1000": "", "940": "no_statement", "790": "low"} {
		q := doc{"method": in["method"], "instrument": in["instrument"], "range": rng, "barometer": true}
		if air != "" {
			q["air_hpa"] = air
		}
		out := call(t, "serves", q)
		if out["error"] != nil {
			t.Fatal(out["error"])
		}
		got := ""
		for _, o := range out["objections"].([]any) {
			got += o.(doc)["code"].(string)
		}
		if got != want {
			t.Errorf("air %q: %q, want %q", air, got, want)
		}
	}
	in["surroundings"].(doc)["pressure_hpa"] = "890"
	said := fmt.Sprint(call(t, "evaluate", in)["warnings"])
	if !strings.Contains(said, "barometer.certificate.points") ||
		!strings.Contains(said, "points of the barometer's certificate") {
		t.Error(said)
	}
}

// TestAbsoluteKinds checks that work which uses no meter or barometer refuses one.
func TestAbsoluteKinds(t *testing.T) {
	leak := leakSheet(object{"limit_pa_s": 5}, object{"volume_m3": "0.001"}, nil)
	leak["instrument"].(object)["mode"] = "absolute"
	leak["instrument"].(object)["output"] = doc{"low": "4", "high": "20", "unit": "mA"}
	rng := doc{"low": "0", "high": "24", "unit": "mA", "absolute": "0.01"}
	for _, role := range []string{"meter", "barometer"} {
		q := doc{"method": leak["method"], "instrument": leak["instrument"], "range": rng, role: true}
		if e := fmt.Sprint(call(t, "serves", q)["error"]); !strings.Contains(e, "method.kind") ||
			!strings.Contains(e, "no "+role) {
			t.Errorf("%s: %v", role, e)
		}
	}
	in := absoluteSheet("pointer-set")
	q := doc{"method": in["method"], "instrument": in["instrument"], "range": rng, "meter": true, "barometer": true}
	if e := fmt.Sprint(call(t, "serves", q)["error"]); !strings.Contains(e, "conflict") {
		t.Errorf("both at once: %v", e)
	}
}

// TestLookBackOnBarometer: if the barometer showed 20 hPa too little, the pressure at the mark of 2
// was 2.025 bar, and the run that passed fails. Both its readings rest on that one reading of the
// barometer.
func TestLookBackOnBarometer(t *testing.T) {
	sheet := absoluteSheet("pointer-set", taken("s1.up.0", "applied", "0.001"), taken("s1.up.1", "applied", "1.005"))
	points := func(off string) doc {
		return doc{"ranges": []doc{{"low": "800", "high": "1200", "absolute": "0.3"}}, "certificate": doc{"points": []doc{
			{"applied": "900", "error": off, "expanded": "0.2"}, {"applied": "1100", "error": off, "expanded": "0.2"},
		}}}
	}
	out := call(t, "reverse", doc{
		"unit": "hPa", "before": points("-1"), "after": points("-20"),
		"affected": []doc{{"id": "r", "as": "barometer", "sheet": sheet}},
	})
	if out["error"] != nil {
		t.Fatal(out["error"])
	}
	one := out["sheets"].([]any)[0].(doc)
	if one["error"] != nil {
		t.Fatal(one["error"])
	}
	was, is := one["before"].(doc), one["after"].(doc)
	if was["verdict"] != "pass" || is["verdict"] != "fail" || one["changed"] != true {
		t.Errorf("%v, then %v", was, is)
	}
	if n := one["taken"].(doc); n["readings"] != 2.0 || n["out"] != 2.0 {
		t.Errorf("taken: %v", n)
	}
}

// TestLookBackBeyondTheBarometersPoints: the points known now end below the air of the visit, and
// the run that failed is judged as before. Without the correction it would pass.
func TestLookBackBeyondTheBarometersPoints(t *testing.T) {
	sheet := absoluteSheet("pointer-set", taken("s1.up.0", "applied", "0.001"), taken("s1.up.1", "applied", "1.005"))
	known := func(high, off string) doc {
		return doc{"ranges": []doc{{"low": "800", "high": "1200", "absolute": "0.3"}}, "certificate": doc{"points": []doc{
			{"applied": "900", "error": off, "expanded": "0.2"}, {"applied": high, "error": off, "expanded": "0.2"},
		}}}
	}
	out := call(t, "reverse", doc{
		"unit": "hPa", "before": known("1100", "-20"), "after": known("950", "0"),
		"affected": []doc{{"as": "barometer", "sheet": sheet}},
	})
	one := out["sheets"].([]any)[0].(doc)
	if one["error"] != nil {
		t.Fatal(one["error"])
	}
	was, is := one["before"].(doc), one["after"].(doc)
	if was["verdict"] != "fail" || is["verdict"] != "fail" || one["changed"] != false {
		t.Errorf("%v, then %v", was, is)
	}
	if n := one["taken"].(doc); n["readings"] != 2.0 || n["out"] != 0.0 || n["beyond"] != 2.0 {
		t.Errorf("taken: %v", n)
	}
}

// TestLookBackInAnotherQuantity: the look back is in hPa, the sheet's meter in mA.
func TestLookBackInAnotherQuantity(t *testing.T) {
	sheet := absoluteSheet("applied-set", taken("s1.up.0", "indicated", "8"))
	sheet["instrument"].(doc)["output"] = doc{"low": "4", "high": "20", "unit": "mA"}
	sheet["captures"].([]doc)[0]["unit"] = "mA"
	known := doc{"u": "0.1"}
	for as, want := range map[string]string{"meter": "affected[0].sheet.instrument.output.unit", "barometer": "", "standard": ""} {
		out := call(t, "reverse", doc{
			"unit": "hPa", "before": known, "after": known, "affected": []doc{{"as": as, "sheet": sheet}},
		})
		got := ""
		if e, ok := out["sheets"].([]any)[0].(doc)["error"].(doc); ok {
			got = e["field"].(string)
		}
		if got != want {
			t.Errorf("%s: the fault is in %q, want %q", as, got, want)
		}
	}
}

// TestAbsoluteEntry: a gauge standard's reading is compared with the point less the air, so that 0
// bar at 1 bar absolute is no reason to stop.
func TestAbsoluteEntry(t *testing.T) {
	in := absoluteSheet("pointer-set")
	q := doc{
		"method": in["method"], "instrument": in["instrument"], "captures": []doc{},
		"entry": doc{"step": "s1.up.0", "of": "applied", "value": "0.001", "unit": "bar"},
	}
	if found := call(t, "entry", q)["findings"].([]any); len(found) == 0 {
		t.Fatal("without the air 0 bar at 1 bar is not asked about: the test shows nothing")
	}
	q["air_hpa"] = "1000"
	if found := call(t, "entry", q)["findings"].([]any); len(found) != 0 {
		t.Error(found)
	}
}
