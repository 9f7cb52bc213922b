package calc_test

import (
	"strings"
	"testing"
)

// safetySheets are sheets of every kind with a safety question in its plan. Each passes unchanged.
func safetySheets(t *testing.T) map[string]object {
	t.Helper()
	contact := object{"name": "trip", "acts": "rising", "nominal": "1.5", "tolerance": "0.05"}
	trip := switchSheet(1, contact)
	add(trip, at("c1.k1.set", "1.50"), at("c1.k1.reset", "1.40"))
	discs := burstSheet(1, object{"marked": "1"})
	disc(discs, 1, "1.01", "yes")
	sheets := map[string]object{
		"leak":   leakSheet(object{"limit_pa_s": 5}, object{"volume_m3": "0.001"}, falling(400, 0, 13)),
		"switch": trip,
		"burst":  discs,
	}
	for name, m := range map[string]struct{ method, instrument doc }{
		"altimeter": {
			doc{"kind": "altimeter", "limits_read": compared, "tests": []any{"scale"}, "highest_ft": 2000},
			airInstrument("ft", -1000, 20000, nil),
		},
		"airspeed": {
			doc{"kind": "airspeed", "points": []any{doc{"kt": 60, "tolerance_kt": 3}}},
			airInstrument("kt", 0, 260, nil),
		},
		"vertical-speed": {doc{
			"kind":   "vertical-speed",
			"points": []any{doc{"ft_min": 1000, "at_ft": 3000, "tolerance_ft_min": 200}},
		},
			airInstrument("ft/min", -6000, 6000, nil)},
		"pitot-static-leak": {
			doc{
				"kind": "pitot-static-leak", "limits_read": compared,
				"static": doc{"start_ft": 3000, "cabin_psi": "8.6"},
			},
			airInstrument("ft", -1000, 20000, nil),
		},
	} {
		captures := walked(t, m.method, m.instrument, nil)
		list := make([]any, len(captures))
		for i, c := range captures {
			list[i] = c
		}
		sheets[name] = object{"method": m.method, "instrument": m.instrument, "captures": list, "complete": true}
	}
	return sheets
}

// safetyAsks are the steps of a plan that are safety questions.
func safetyAsks(t *testing.T, sheet object) map[string]object {
	t.Helper()
	out := call(t, "expand", object{"method": sheet["method"], "instrument": sheet["instrument"]})
	if e, bad := out["error"]; bad {
		t.Fatal(e)
	}
	found := map[string]object{}
	for _, s := range out["steps"].([]any) {
		if step := s.(object); step["safety"] == true {
			found[step["id"].(string)] = step
		}
	}
	return found
}

// TestSafetyQuestions: in every kind of work the plan marks each safety question and says how to
// make the work safe, and a run with a "no" never passes.
func TestSafetyQuestions(t *testing.T) {
	want := map[string][]string{"leak": {"ready"}, "switch": {"ready"}, "burst": {"ready", "d1.shield"}, "altimeter": {"ready.lines"}, "airspeed": {"ready.lines"},
		"vertical-speed": {"ready.lines"}, "pitot-static-leak": {"ready.lines"}}
	for name, sheet := range safetySheets(t) {
		asks := safetyAsks(t, sheet)
		if len(asks) != len(want[name]) {
			t.Errorf("%s: safety questions %v, want %v", name, asks, want[name])
		}
		if out := call(t, "evaluate", sheet); out["verdict"] != "pass" {
			t.Errorf("%s as it is: %v %v %v", name, out["verdict"], out["reason"], out["error"])
			continue
		}
		for _, id := range want[name] {
			s, ok := asks[id]
			if !ok {
				t.Errorf("%s: %s is not marked as a safety question", name, id)
				continue
			}
			if safe, _ := s["make_safe"].(string); s["as"] != "yes" || !strings.Contains(safe, "ent") {
				t.Errorf("%s: %s does not say how to make it safe: %v", name, id, s)
			}
			for _, said := range []string{"no", "", "maybe"} {
				no := object{}
				for k, v := range sheet {
					no[k] = v
				}
				var captures []any
				for _, c := range sheet["captures"].([]any) {
					one := object{}
					for k, v := range c.(object) {
						one[k] = v
					}
					if one["step"] == id {
						one["value"] = said
					}
					captures = append(captures, one)
				}
				no["captures"] = captures
				out := call(t, "evaluate", no)
				reason, _ := out["reason"].(string)
				if out["verdict"] != "undecided" || !strings.Contains(reason, "safety question") ||
					!hasWarning(out, "safety_no") {
					t.Errorf("%s, %s answered %q: %v, %q, %v", name, id, said, out["verdict"], reason, out["warnings"])
				}
				// An unfinished run reports it too, before the missing captures.
				no["captures"], no["complete"] = captures[:1], false
				if one := captures[0].(object); one["step"] == id {
					if out := call(t, "evaluate", no); !strings.Contains(out["reason"].(string), "safety question") {
						t.Errorf("%s, stopped at %s: %v", name, id, out["reason"])
					}
				}
			}
		}
	}
}

// TestStoppedKeepsAFail: a question answered with no does not hide a failure.
func TestStoppedKeepsAFail(t *testing.T) {
	sheet := switchSheet(
		1,
		object{"name": "trip", "acts": "rising", "nominal": "1.5", "tolerance": "0.05", "safety_function": true},
	)
	sheet["captures"] = []any{answer("ready", "no"), at("c1.k1.set", "1.70"), at("c1.k1.reset", "1.40")}
	if out := call(t, "evaluate", sheet); out["verdict"] != "fail" || !hasWarning(out, "safety_no") {
		t.Errorf("%v %v", out["verdict"], out["warnings"])
	}
}

// passingGauge is a gauge's sheet whose verdict is pass.
func passingGauge() object {
	var captures []any
	for _, p := range []string{"0", "5", "10"} {
		captures = append(
			captures,
			object{
				"step": "s1.up." + map[string]string{"0": "0", "5": "1", "10": "2"}[p], "of": "indicated",
				"value": p, "unit": "bar",
			},
		)
	}
	return object{"method": object{
		"kind": "gauge", "points": object{"values": []any{"0", "5", "10"}}, "directions": "up",
	},
		"instrument": object{
			"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
			"limit": object{"rule": "terms", "of_span_percent": 1},
		}, "captures": captures, "complete": true}
}

// TestBeforeTheRun: in every kind of work a stop noted before the first pressure keeps the run from
// passing.
func TestBeforeTheRun(t *testing.T) {
	sheets := safetySheets(t)
	sheets["gauge"] = passingGauge()
	if out := call(t, "evaluate", sheets["gauge"]); out["verdict"] != "pass" {
		t.Fatalf("the gauge as it is: %v %v", out["verdict"], out["reason"])
	}
	sheets["programme"] = object{
		"method":     progMethod(nil),
		"instrument": object{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"},
		"captures":   []any{}, "complete": true,
	}
	for name, sheet := range sheets {
		for _, c := range []struct {
			before object
			code   string
		}{
			{object{"safe": "no"}, "safety_no"},
			{object{"condition": "damaged"}, "damaged"},
			{object{"identity": "wrong"}, "not_the_instrument"},
			{object{"identity": "exchanged"}, "not_the_instrument"},
			{object{"standard": "oil"}, "not_clean"},
			{object{"standard": "not_clean"}, "not_clean"},
			{object{"standard": "clean"}, ""},
			{object{"safe": "yes", "condition": "dirty", "identity": "register"}, ""},
			{object{"condition": "good", "identity": "same"}, ""},
		} {
			sheet["before"] = c.before
			out := call(t, "evaluate", sheet)
			if e, bad := out["error"]; bad {
				t.Errorf("%s %v: %v", name, c.before, e)
				continue
			}
			switch {
			case c.code == "" && name != "programme" && out["verdict"] != "pass":
				t.Errorf("%s %v: %v %v", name, c.before, out["verdict"], out["reason"])
			case c.code != "" && (out["verdict"] != "undecided" || !hasWarning(out, c.code)):
				t.Errorf("%s %v: %v %v", name, c.before, out["verdict"], out["warnings"])
			}
		}
		delete(sheet, "before")
	}
}

// TestNoPlace: in every kind of work an impossible air pressure or temperature keeps the run from
// passing. The record lows and highs of the air at sea level, 870 and 1085 hPa, are of the World
// Meteorological Organization; all values here are from memory.
func TestNoPlace(t *testing.T) {
	sheets := safetySheets(t)
	sheets["gauge"] = passingGauge()
	for name, sheet := range sheets {
		for _, c := range []struct {
			around object
			holds  bool
		}{
			{object{"pressure_hpa": "1013"}, true},
			{object{"pressure_hpa": "540"}, true}, // about 5000 m, the height not stated
			{object{"pressure_hpa": "20.6"}, false},
			{object{"pressure_hpa": "29.92"}, false}, // in inHg
			{object{"pressure_hpa": "1190"}, false},
			{object{"pressure_hpa": "870", "height_m": "0"}, true},
			{object{"pressure_hpa": "1085", "height_m": "0"}, true},
			{object{"pressure_hpa": "620", "height_m": "0"}, false},
			{object{"pressure_hpa": "480", "height_m": "5800"}, true},
			{object{"pressure_hpa": "1013", "height_m": "5800"}, false},
			{object{"temperature_c": "45"}, true},
			{object{"temperature_c": "-40"}, true},
			{object{"temperature_c": "215"}, false},
			{object{"temperature_c": "-150"}, false},
		} {
			if _, high := c.around["height_m"]; high && name == "leak" {
				continue // its own barometer is at sea level
			}
			sheet["surroundings"] = c.around
			out := call(t, "evaluate", sheet)
			if e, bad := out["error"]; bad {
				t.Errorf("%s %v: %v", name, c.around, e)
				continue
			}
			if (out["verdict"] == "pass") != c.holds || hasWarning(out, "no_place") == c.holds {
				t.Errorf("%s %v: %v %v", name, c.around, out["verdict"], out["warnings"])
			}
			found := call(t, "place", c.around)["findings"].([]any)
			if (len(found) == 0) != c.holds {
				t.Errorf("place disagrees about %v: %v", c.around, found)
			}
		}
		delete(sheet, "surroundings")
	}
	sheet := safetySheets(t)["leak"]
	for _, c := range sheet["captures"].([]any) {
		if one := c.(object); one["step"] == "p1.b1" {
			one["value"] = "20.6"
		}
	}
	if out := call(t, "evaluate", sheet); out["verdict"] == "pass" || !hasWarning(out, "no_place") {
		t.Errorf("a barometer of 20.6 hPa in a leak test: %v %v", out["verdict"], out["warnings"])
	}
	sheet = safetySheets(t)["altimeter"]
	for _, c := range sheet["captures"].([]any) {
		if one := c.(object); one["step"] == "field" {
			one["value"] = "29.6"
		}
	}
	if out := call(t, "evaluate", sheet); out["verdict"] == "pass" || !hasWarning(out, "no_place") {
		t.Errorf("a field of 29.6 hPa: %v %v", out["verdict"], out["warnings"])
	}
}

// TestDiscTwice: a disc bursts once, so the same identity on two discs of a visit is a mistake, in
// any spelling.
func TestDiscTwice(t *testing.T) {
	sheet := burstSheet(3, object{"marked": "1"})
	for k := 1; k <= 3; k++ {
		disc(sheet, k, "1.01", "yes")
	}
	if out := call(t, "evaluate", sheet); out["verdict"] != "pass" {
		t.Fatalf("three discs: %v %v", out["verdict"], out["reason"])
	}
	for _, again := range []string{"N-d1", "n-d1", " N-d1 ", "N  - d1"} {
		for _, c := range sheet["captures"].([]any) {
			if one := c.(object); one["step"] == "d3.disc" {
				one["value"] = again
			}
		}
		out := call(t, "evaluate", sheet)
		reason, _ := out["reason"].(string)
		if out["verdict"] != "undecided" || !strings.Contains(reason, "disc 1 and disc 3") ||
			!hasWarning(out, "disc_twice") {
			t.Errorf("%q: %v %q", again, out["verdict"], reason)
		}
	}
}

// TestNeverAtTestPressure: a phase whose record shows another pressure, or the opposite sign, has
// no verdict.
func TestNeverAtTestPressure(t *testing.T) {
	for _, c := range []struct {
		name, pressure string
		from           float64
		holds          bool
	}{
		{"at it", "400", 400, true},
		{"a little beneath", "400", 385, true},
		{"a fifth of it missing", "400", 300, false},
		{"far above", "400", 650, false},
		{"vacuum at it", "-60", -59, true},
		{"the record of the pressure phase", "-60", 400, false},
		{"wrong sign", "-60", 60, false},
		{"the wrong sign of a pressure", "60", -60, false},
	} {
		sheet := leakSheet(
			object{"limit_pa_s": 5, "pressure": c.pressure}, object{"volume_m3": "0.001"},
			falling(c.from, 0, 13),
		)
		out := call(t, "evaluate", sheet)
		if e, bad := out["error"]; bad {
			t.Fatalf("%s: %v", c.name, e)
		}
		p := phaseOf(t, out, 0)
		if (out["verdict"] == "pass") != c.holds || (p["verdict"] == "pass") != c.holds ||
			hasWarning(out, "not_at_pressure") == c.holds {
			t.Errorf("%s: %v, phase %v, %v", c.name, out["verdict"], p["verdict"], out["warnings"])
		}
		if !c.holds && out["verdict"] != "undecided" {
			t.Errorf("%s: %v, want undecided", c.name, out["verdict"])
		}
	}
}
