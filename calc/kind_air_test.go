package calc_test

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/calc/airdata"
)

const atField = "1002.3" // hPa

var airParts = doc{"max_rate_ft_min": 6000, "field_pa": 100230, "max_cas_kt": 260, "weakest": doc{"impact_pa": 12000, "part": "the airspeed indicator"}}

func airInstrument(unit string, low, high int, more doc) doc {
	parts := doc{}
	for k, v := range airParts {
		parts[k] = v
	}
	for k, v := range more {
		parts[k] = v
	}
	return doc{"low": low, "high": high, "unit": unit, "particulars": parts}
}

// walked returns the captures of a plan whose instrument shows exactly what it should, except those
// in otherwise.
func walked(t *testing.T, method, instrument doc, otherwise map[string]string) []doc {
	t.Helper()
	out := call(t, "expand", doc{"method": method, "instrument": instrument})
	if out["error"] != nil {
		t.Fatal(out["error"])
	}
	var list []doc
	reference := "0"
	for _, s := range out["steps"].([]any) {
		s := s.(doc)
		id := s["id"].(string)
		if strings.Trim(id, "abcdefghijklmnopqrstuvwxyz0123456789._") != "" {
			t.Fatalf("%q cannot be part of a field's name", id)
		}
		if s["do"] == "set" {
			reference = strconv.FormatFloat(s["altitude_ft"].(float64), 'f', 0, 64)
		}
		value, said := otherwise[id]
		one := doc{"step": id, "value": value, "unit": ""}
		switch {
		case s["do"] == "ask":
			one["of"] = "answer"
			if !said {
				one["value"] = map[string]string{"yes": "yes", "number": atField}[s["as"].(string)]
			}
		case s["do"] == "read":
			one["of"], one["unit"] = "indicated", s["unit"]
			if target, ok := s["target"].(string); ok && !said {
				one["value"] = target
			} else if !said {
				one["value"] = reference
			}
		default:
			continue
		}
		if said && value == "" {
			continue
		}
		list = append(list, one)
	}
	return list
}

func judged(t *testing.T, method, instrument doc, captures []doc) doc {
	t.Helper()
	return call(t, "evaluate", doc{"method": method, "instrument": instrument, "captures": captures, "complete": true})
}

func resultNamed(t *testing.T, out doc, name string) doc {
	t.Helper()
	for _, r := range out["results"].([]any) {
		if r.(doc)["name"] == name {
			return r.(doc)
		}
	}
	t.Fatalf("no result %q in %v", name, out["results"])
	return nil
}

// compared states that a person compared the limits known from memory with their text.
var compared = doc{"clause": "clause 9", "by": "the inspector"}

// TestRememberedLimitsDecideNothing: a limit known from memory gives no verdict, within or beyond
// it, until the method names the clause and who read it. A limit read from the document still
// fails.
func TestRememberedLimitsDecideNothing(t *testing.T) {
	instrument := airInstrument("ft", -1000, 20000, nil)
	for _, c := range []struct{ shown, reason, before, after string }{
		{"20100", "no verdict: limit not confirmed: scale ", "undecided", "pass"}, {"20131", "no verdict: limit not confirmed: scale ", "undecided", "fail"},
	} {
		for want, method := range map[string]doc{c.before: {"kind": "altimeter", "tests": []string{"scale"}, "pitot": "none"}, c.after: {"kind": "altimeter", "tests": []string{"scale"}, "pitot": "none", "limits_read": compared}} {
			out := judged(t, method, instrument, walked(t, method, instrument, map[string]string{"scale.20000": c.shown}))
			if r := resultNamed(t, out, "scale 20000 ft"); r["verdict"] != want || out["verdict"] != want {
				t.Errorf("%s: %v, %v", c.shown, r, out["verdict"])
			}
			if reason, _ := out["reason"].(string); want == "undecided" && !strings.HasPrefix(reason, c.reason) {
				t.Errorf("%s: %s", c.shown, reason)
			}
			if hasWarning(out, "memory") != (want == "undecided") {
				t.Errorf("%s: %v", c.shown, out["warnings"])
			}
		}
	}
	method := doc{"kind": "altimeter", "pitot": "none"}
	out := judged(t, method, instrument, walked(t, method, instrument, map[string]string{"scale.8000": "7990", "hysteresis.8000": "8066"}))
	if out["verdict"] != "fail" {
		t.Errorf("a limit that was read: %v %v", out["verdict"], out["reason"])
	}
}

// TestAltimeterVerdicts: the verdict cases of airdata.md 3.1 (constructed from the tables of 14 CFR
// Part 43 Appendix E) through a whole run.
func TestAltimeterVerdicts(t *testing.T) {
	method, instrument := doc{"kind": "altimeter", "pitot": "none", "limits_read": compared}, airInstrument("ft", -1000, 20000, nil)
	for _, c := range []struct {
		id      string
		typed   map[string]string
		name    string
		err     float64
		limit   float64
		verdict string
		source  string
	}{
		{"V1", map[string]string{"scale.20000": "20130"}, "scale 20000 ft", 130, 130, "pass", "clause 9, compared by the inspector"},
		{"V2", map[string]string{"scale.20000": "20131"}, "scale 20000 ft", 131, 130, "fail", "clause 9, compared by the inspector"},
		{"V3", map[string]string{"scale.m1000": "-1021"}, "scale -1000 ft", -21, 20, "fail", "clause 9"},
		{"V4", map[string]string{"scale.10000": "10010", "hysteresis.10000": "10085"}, "hysteresis 50 %, 10000 ft", 75, 75, "pass", "table II;"},
		{"V5", map[string]string{"scale.8000": "7990", "hysteresis.8000": "8066"}, "hysteresis 40 %, 8000 ft", 76, 75, "fail", "table II;"},
		{"V7", map[string]string{"friction.15000.before": "14940", "friction.15000": "15031"}, "friction 15000 ft", 91, 90, "fail", "table III;"},
		{"V8", map[string]string{"leak.start": "18000", "leak": "17901"}, "case leak at 18000 ft", 99, 100, "pass", "table II;"},
		{"V9", map[string]string{"barometric.reference": "520", "barometric.1": "-826"}, "barometric scale 28.50 inHg", -6, 25, "pass", "clause 9"},
	} {
		out := judged(t, method, instrument, walked(t, method, instrument, c.typed))
		if out["error"] != nil {
			t.Fatal(out["error"])
		}
		r := resultNamed(t, out, c.name)
		if r["value"] != c.err || r["limit_high"] != c.limit || r["limit_low"] != -c.limit || r["verdict"] != c.verdict || !strings.Contains(r["source"].(string), c.source) {
			t.Errorf("%s: %v, want error %v, limit %v, %s, of %s", c.id, r, c.err, c.limit, c.verdict, c.source)
		}
		if c.verdict == "fail" && out["verdict"] != "fail" {
			t.Errorf("%s: the run's verdict is %v", c.id, out["verdict"])
		}
		if out["due_months"] != 24.0 || hasWarning(out, "memory") {
			t.Errorf("%s: due after %v months, warnings %v", c.id, out["due_months"], out["warnings"])
		}
	}
	// V6: 320 before, 355 after, the field's pressure fell by 6 ft: 29 ft, pass
	p, err := airdata.ISO().PressureAtFeet(300)
	later, err2 := airdata.ISO().PressureAtFeet(306)
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	hectopascals := func(x float64) string { return strconv.FormatFloat(x/100, 'f', 9, 64) }
	out := judged(t, method, instrument, walked(t, method, instrument, map[string]string{"field": hectopascals(p), "original": "320", "after": "355", "after.field": hectopascals(later)}))
	r := resultNamed(t, out, "after effect")
	within(t, "V6", "after effect", r["value"], 29, 1e-6)
	if r["verdict"] != "pass" || r["limit_high"] != 30.0 {
		t.Errorf("V6: %v", r)
	}
	// V10
	method = doc{"kind": "reporting-altitude", "points_ft": []int{10000}, "limits_read": compared}
	out = judged(t, method, instrument, walked(t, method, instrument, map[string]string{"reported.0": "10100", "reported.0.displayed": "9980"}))
	r = resultNamed(t, out, "reported less displayed at 10000 ft")
	if r["value"] != 120.0 || r["limit_high"] != 125.0 || r["verdict"] != "pass" || !strings.Contains(r["source"].(string), "clause 9") {
		t.Errorf("V10: %v", r)
	}
}

// TestSeparationPoints: 14 CFR Part 91 Appendix G section 2 limits the error of an aircraft of no
// group at each point (200 ft over the full envelope, with the residual static source error added);
// one of a group is judged by the limit that its approval gives (an invented one here), else only
// reported.
func TestSeparationPoints(t *testing.T) {
	instrument := airInstrument("ft", -1000, 45000, nil)
	for _, c := range []struct {
		rvsm    doc
		shown   string
		verdict any
		limit   any
		source  string
	}{
		{doc{"group": "non-group-full", "residual_ft": 40}, "33160", "pass", 160.0, "Part 91"},
		{doc{"group": "non-group-full", "residual_ft": 40}, "33161", "fail", 160.0, "Part 91"},
		{doc{"group": "later-full"}, "33500", nil, nil, ""},
		{doc{"group": "later-full", "limit_ft": "75"}, "33075", "pass", 75.0, "approval of the type"},
		{doc{"group": "later-full", "limit_ft": "75"}, "32924", "fail", 75.0, "approval of the type"},
	} {
		c.rvsm["points_ft"] = []int{29000, 33000}
		method := doc{"kind": "altimeter", "pitot": "none", "tests": []string{"rvsm"}, "rvsm": c.rvsm, "source": "approval of the type"}
		out := judged(t, method, instrument, walked(t, method, instrument, map[string]string{"rvsm.33000": c.shown}))
		if out["error"] != nil {
			t.Fatal(out["error"])
		}
		r := resultNamed(t, out, "RVSM 33000 ft")
		source, _ := r["source"].(string)
		if r["verdict"] != c.verdict || r["limit_high"] != c.limit || !strings.Contains(source, c.source) {
			t.Errorf("%v shows %s: %v, want %v within %v of %s", c.rvsm, c.shown, r, c.verdict, c.limit, c.source)
		}
	}
	for _, wrong := range []string{"0", "-5"} {
		out := call(t, "expand", doc{"method": doc{"kind": "altimeter", "tests": []string{"rvsm"}, "rvsm": doc{"group": "later-full", "points_ft": []int{29000}, "limit_ft": wrong}}, "instrument": instrument})
		if e, _ := out["error"].(doc); e == nil || !strings.HasSuffix(e["field"].(string), "limit_ft") {
			t.Errorf("a limit of %s: %v", wrong, out)
		}
	}
}

// TestAltimeterOrder: the tests come in the order of the rule, with every point of table I up to
// the highest altitude. A limit that the method states is marked as its own, one of the rule as
// such.
func TestAltimeterOrder(t *testing.T) {
	out := call(t, "expand", doc{"method": doc{"kind": "altimeter", "pitot": "none"}, "instrument": airInstrument("ft", -1000, 35000, nil)})
	last, scale := -1, 0
	for _, s := range out["steps"].([]any) {
		id := s.(doc)["id"].(string)
		for i, head := range []string{"ready.", "field", "original", "scale.", "hysteresis.", "after", "friction.", "leak", "barometric.", "end."} {
			if strings.HasPrefix(id, head) {
				if i < last {
					t.Errorf("step %s comes after a later test", id)
				}
				last = i
			}
		}
		if s.(doc)["do"] == "read" && strings.HasPrefix(id, "scale.") {
			scale++
		}
	}
	if scale != 20+1 { // the rows from −1000 to 35 000 ft, and 50 % of it; 40 % is a row
		t.Errorf("%d readings of the scale", scale)
	}
	method := doc{"kind": "altimeter", "tests": []string{"scale"}, "source": "manual 4-7", "scale": []doc{{"ft": 0}, {"ft": 7000, "tolerance_ft": "45"}}, "pitot": "none", "limits_read": compared}
	instrument := airInstrument("ft", -1000, 35000, nil)
	found := judged(t, method, instrument, walked(t, method, instrument, nil))
	if r := resultNamed(t, found, "scale 7000 ft"); r["source"] != "manual 4-7" || r["limit_high"] != 45.0 {
		t.Errorf("a limit of the method: %v", r)
	}
	if r := resultNamed(t, found, "scale 0 ft"); !strings.Contains(r["source"].(string), "clause 9") {
		t.Errorf("a limit of the rule: %v", r)
	}
	if found["verdict"] != "pass" {
		t.Errorf("verdict %v: %v, missing %v", found["verdict"], found["reason"], found["missing"])
	}
}

// TestAirInterlocks checks that anything harmful is refused at its field, in the plan and in the
// evaluation.
func TestAirInterlocks(t *testing.T) {
	for _, c := range []struct {
		name       string
		method     doc
		instrument doc
		field, say string
	}{
		{"beyond the altimeter", doc{"kind": "altimeter", "pitot": "none", "tests": []string{"scale"}, "scale": []doc{{"ft": 0}, {"ft": 35000}}}, airInstrument("ft", -1000, 20000, nil), "method.scale[1].ft", "above"},
		{"beyond what else is connected", doc{"kind": "altimeter", "highest_ft": 20000}, airInstrument("ft", -1000, 35000, doc{"highest_ft": 15000}), "method.highest_ft", "15000 ft"},
		{"below the lowest", doc{"kind": "reporting-altitude", "points_ft": []int{-900}}, airInstrument("ft", -1000, 35000, doc{"lowest_ft": -500}), "method.points_ft", "below"},
		{"pitot below static", doc{"kind": "airspeed", "points": []doc{{"kt": -20, "tolerance_kt": 3}}}, airInstrument("kt", 0, 250, nil), "method.points[0].kt", "pitot would be below static"},
		{"the weakest indicator", doc{"kind": "airspeed", "table": "40-400"}, airInstrument("kt", 0, 400, doc{"max_cas_kt": 400}), "method.table", "the airspeed indicator bears 12000 Pa"},
		{"beyond the airspeed", doc{"kind": "airspeed", "points": []doc{{"kt": 261, "tolerance_kt": 3}}}, airInstrument("kt", 0, 300, nil), "method.points[0].kt", "260 kt"},
		{"rate", doc{"kind": "altimeter", "max_rate_ft_min": 7000}, airInstrument("ft", -1000, 20000, nil), "method.max_rate_ft_min", "6000 ft/min"},
		// 3000 ft/min is 183.08 Pa/s at 0 ft (airdata.md 4.2): a part for 150 Pa/s allows about
		// 2400 ft/min down there
		{"rate in pascals", doc{"kind": "altimeter", "max_rate_ft_min": 3000}, airInstrument("ft", -1000, 20000, doc{"max_rate_pa_s": 150}), "method.max_rate_ft_min", "150 Pa/s"},
		{"rate of airspeed", doc{"kind": "airspeed", "max_rate_kt_min": 200, "table": "10-150"}, airInstrument("kt", 0, 250, doc{"max_rate_kt_min": 120}), "method.max_rate_kt_min", "120 kt/min"},
		// pitot open to ambient, static evacuated to 10 000 ft: 420 kt (airdata.md 4.4)
		{"pitot left open", doc{"kind": "altimeter", "pitot": "open", "tests": []string{"scale"}, "scale": []doc{{"ft": 10000}}}, airInstrument("ft", -1000, 20000, nil), "method.pitot", "left open"},
		{"pitot left open, below the field", doc{"kind": "altimeter", "pitot": "open", "tests": []string{"scale"}, "scale": []doc{{"ft": 0}}}, airInstrument("ft", -1000, 20000, nil), "method.pitot", "below static"},
		{"no limit is listed", doc{"kind": "altimeter", "scale": []doc{{"ft": 700}}}, airInstrument("ft", -1000, 20000, nil), "method.scale[0].tolerance_ft", "state one"},
		{"vertical speed has no published limit", doc{"kind": "vertical-speed", "points": []doc{{"ft_min": 500, "at_ft": 2000}}}, airInstrument("ft/min", -4000, 4000, nil), "method.points[0].tolerance_ft_min", "missing"},
		{"a rate beyond the plan's", doc{"kind": "vertical-speed", "points": []doc{{"ft_min": 5000, "at_ft": 2000, "tolerance_ft_min": 300}}}, airInstrument("ft/min", -6000, 6000, nil), "method.points[0].ft_min", "3000 ft/min"},
	} {
		for calculation, in := range map[string]doc{"expand": {"method": c.method, "instrument": c.instrument}, "evaluate": {"method": c.method, "instrument": c.instrument, "captures": []doc{}}} {
			e, ok := call(t, calculation, in)["error"].(doc)
			if !ok || e["field"] != c.field || !strings.Contains(e["message"].(string), c.say) {
				t.Errorf("%s, %s: %v, want a refusal at %s that says %q", c.name, calculation, e, c.field, c.say)
			}
		}
	}
}

// TestAirCautions checks that anything that went wrong in a run is reported, and leaves the verdict
// open if the figures cannot be trusted.
func TestAirCautions(t *testing.T) {
	altimeter := doc{"limits_read": compared, "kind": "altimeter", "pitot": "tied", "tests": []string{"scale", "case-leak"}, "scale": []doc{{"ft": 2000}, {"ft": 10000}}, "highest_ft": 10000}
	speed := doc{"kind": "airspeed", "table": "20-250"}
	ft, kt := airInstrument("ft", -1000, 20000, nil), airInstrument("kt", 0, 250, nil)
	at := func(list []doc, times map[string]string) []doc {
		for _, c := range list {
			if s, ok := times[c["step"].(string)]; ok {
				c["at"] = s
			}
		}
		return list
	}
	applied := func(list []doc, step, value, unit string) []doc {
		return append(list, doc{"step": step, "of": "applied", "value": value, "unit": unit})
	}
	for _, c := range []struct {
		code, verdict string
		method, item  doc
		captures      []doc
	}{
		{"", "pass", altimeter, ft, walked(t, altimeter, ft, nil)},
		{"line_open", "undecided", altimeter, ft, walked(t, altimeter, ft, map[string]string{"ready.lines": "no"})},
		{"restore", "undecided", altimeter, ft, walked(t, altimeter, ft, map[string]string{"end.restored": "no"})},
		{"reversed", "pass", altimeter, ft, walked(t, altimeter, ft, map[string]string{"end.pitot": "1001.9"})},
		{"field", "pass", altimeter, ft, walked(t, altimeter, ft, map[string]string{"end.static": "998.0", "end.pitot": "998.0"})},
		{"no_place", "undecided", altimeter, ft, walked(t, altimeter, ft, map[string]string{"field": "29.6"})},
		{"rate", "pass", altimeter, ft, at(walked(t, altimeter, ft, nil), map[string]string{"scale.2000": "2026-05-04T08:00:00Z", "scale.10000": "2026-05-04T08:01:00Z"})},
		{"minutes", "pass", altimeter, ft, at(walked(t, altimeter, ft, nil), map[string]string{"leak.start": "2026-05-04T08:00:00Z", "leak": "2026-05-04T08:00:30Z"})},
		{"rise", "pass", altimeter, ft, walked(t, altimeter, ft, map[string]string{"leak": "10020"})},
		{"over_range", "pass", altimeter, ft, applied(walked(t, altimeter, ft, map[string]string{"scale.10000": "20100"}), "scale.10000", "20100", "ft")},
		{"reversed", "pass", speed, kt, applied(walked(t, speed, kt, nil), "speed.60", "-1.2", "hPa")},
		{"", "undecided", altimeter, ft, walked(t, altimeter, ft, map[string]string{"scale.2000": ""})},
	} {
		out := judged(t, c.method, c.item, c.captures)
		if out["error"] != nil {
			t.Fatal(c.code, out["error"])
		}
		if out["verdict"] != c.verdict || c.code != "" && !hasWarning(out, c.code) {
			t.Errorf("%s: %v (%v), warnings %v, want %s", c.code, out["verdict"], out["reason"], out["warnings"], c.verdict)
		}
		if c.code == "" && (hasWarning(out, "field") || hasWarning(out, "reversed") || hasWarning(out, "rate")) {
			t.Errorf("a good run is warned of: %v", out["warnings"])
		}
	}
}

// TestAirspeed: the applied value as an impact pressure, the published tables, and the greater of 3
// % and 5 kt (14 CFR 23.1323: 160 kt → 5 kt, 200 kt → 6 kt).
func TestAirspeed(t *testing.T) {
	method, instrument := doc{"kind": "airspeed", "rule": "greater", "points": []doc{{"kt": 160}, {"kt": 200}}, "directions": "up-down"}, airInstrument("kt", 0, 250, nil)
	captures := walked(t, method, instrument, map[string]string{"speed.160": "155", "speed.200": "206.1", "speed.160.down": "165"})
	out := judged(t, method, instrument, captures)
	for name, want := range map[string][3]any{"airspeed 160 kt": {-5.0, 5.0, "pass"}, "airspeed 200 kt": {6.1, 6.0, "fail"}, "airspeed 160 kt, falling": {5.0, 5.0, "pass"}} {
		r := resultNamed(t, out, name)
		if math.Abs(r["value"].(float64)-want[0].(float64)) > 1e-12 || r["limit_high"] != want[1] || r["verdict"] != want[2] {
			t.Errorf("%s: %v", name, r)
		}
	}
	// 150 kt is 36.943792561 hPa (airdata.md 3.3)
	method = doc{"kind": "airspeed", "points": []doc{{"kt": 150, "tolerance_kt": "0.00001"}}}
	captures = append(walked(t, method, instrument, nil), doc{"step": "speed.150", "of": "applied", "value": "36.943792561", "unit": "hPa"})
	if out = judged(t, method, instrument, captures); out["verdict"] != "pass" {
		t.Errorf("applied as impact pressure: %v", out)
	}
	for table, rows := range map[string]int{"10-150": 6, "20-250": 11, "40-400": 19} {
		if list, ok := airdata.SpeedTable(table); !ok || len(list) != rows {
			t.Errorf("table %s has %d rows", table, len(list))
		}
	}
}

// TestAirRests: a setting is held before it is read for the method's time, else for the kind's. A
// wait below zero is refused.
func TestAirRests(t *testing.T) {
	for name, tt := range map[string]struct {
		method, instrument doc
		id                 string
		usual              any
	}{
		"airspeed":       {doc{"kind": "airspeed", "points": []doc{{"kt": 160, "tolerance_kt": 3}}}, airInstrument("kt", 0, 250, nil), "speed.160.hold", 10.0},
		"reported":       {doc{"kind": "reporting-altitude", "points_ft": []int{1000}}, airInstrument("ft", -1000, 25000, nil), "reported.0.hold", 10.0},
		"vertical speed": {doc{"kind": "vertical-speed", "points": []doc{{"ft_min": 1000, "at_ft": 3000, "tolerance_ft_min": 100}}}, airInstrument("ft/min", -6000, 6000, nil), "rate.0.hold", nil},
	} {
		rest := func() (seconds any) {
			t.Helper()
			out := call(t, "expand", doc{"method": tt.method, "instrument": tt.instrument})
			steps, ok := out["steps"].([]any)
			if !ok {
				t.Fatal(name, out)
			}
			for _, s := range steps {
				if s.(doc)["id"] == tt.id {
					seconds = s.(doc)["seconds"]
				}
			}
			return seconds
		}
		if got := rest(); got != tt.usual {
			t.Errorf("%s, nothing said: %v s", name, got)
		}
		tt.method["settle_s"] = 45
		if got := rest(); got != 45.0 {
			t.Errorf("%s, 45 s: %v s", name, got)
		}
		tt.method["settle_s"] = -1
		if e, _ := call(t, "expand", doc{"method": tt.method, "instrument": tt.instrument})["error"].(doc); e["field"] != "method.settle_s" {
			t.Errorf("%s, below zero: %v", name, e)
		}
	}
}

// TestPitotStaticLeak: limits of airdata.md 3.2 and 3.3: 8.6 psi of cabin → 448.419 ft; 10 kt from
// 150 kt.
func TestPitotStaticLeak(t *testing.T) {
	method, instrument := doc{"kind": "pitot-static-leak", "static": doc{"start_ft": 3000, "cabin_psi": "8.6"}, "pitot": doc{}, "limits_read": compared}, airInstrument("ft", -1000, 25000, nil)
	out := judged(t, method, instrument, walked(t, method, instrument, map[string]string{"static.start": "3000", "static": "2552", "pitot.start": "150", "pitot": "139.9"}))
	if out["error"] != nil {
		t.Fatal(out["error"])
	}
	r := resultNamed(t, out, "static system from 3000 ft")
	within(t, "static", "limit", r["limit_high"], 448.419, 5e-4)
	if r["value"] != 448.0 || r["verdict"] != "pass" || !strings.Contains(r["source"].(string), "clause 9") {
		t.Errorf("static: %v", r)
	}
	r = resultNamed(t, out, "pitot system from 150 kt")
	within(t, "pitot", "loss", r["value"], 10.1, 1e-12)
	if r["limit_high"] != 10.0 || r["verdict"] != "fail" || r["unit"] != "kt" || !strings.Contains(r["source"].(string), "AC 43.13-1B") {
		t.Errorf("pitot: %v", r)
	}
}

// TestAirPlansKeepTheirLimits checks every sample's plan: pitot is at or above static, nothing
// exceeds the limits of what is connected, nor does any rate, converted at the higher of the two
// pressures.
func TestAirPlansKeepTheirLimits(t *testing.T) {
	m, moves := airdata.ISO(), 0
	for seed := uint64(2); moves < 18000 && seed < 60000; seed += 2 { // a share for every kind of work
		var in struct {
			Method     doc
			Instrument struct{ Particulars map[string]any }
		}
		sample := sampleOf(t, "expand", seed)
		if err := json.Unmarshal(sample, &in); err != nil {
			t.Fatal(err)
		}
		if _, air := in.Instrument.Particulars["weakest"]; !air {
			continue
		}
		parts := in.Instrument.Particulars
		pascals, err := strconv.ParseFloat(parts["max_rate_pa_s"].(string), 64)
		if err != nil {
			t.Fatal(err)
		}
		out := call(t, "expand", doc{"method": in.Method, "instrument": json.RawMessage(instrumentIn(t, sample))})
		if out["error"] != nil {
			t.Fatalf("%s: %v", sample, out["error"])
		}
		field, err := m.PressureAtFeet(parts["field_elevation_ft"].(float64))
		if err != nil {
			t.Fatal(err)
		}
		static := field
		for _, s := range out["steps"].([]any) {
			s := s.(doc)
			if s["do"] != "set" {
				continue
			}
			moves++
			to, impact := s["static_pa"].(float64), s["impact_pa"].(float64)
			rate, err := strconv.ParseFloat(s["rate"].(string), 64)
			if err != nil {
				t.Fatal(err)
			}
			if impact < 0 || impact > parts["weakest"].(doc)["impact_pa"].(float64) || s["cas_kt"].(float64) > parts["max_cas_kt"].(float64) {
				t.Errorf("seed %d, %v: impact pressure", seed, s)
			}
			if s["unit"] == "ft" {
				perSecond, err := m.StaticRate(math.Max(static, to), rate*60)
				if err != nil {
					t.Fatal(err)
				}
				if -perSecond > pascals*(1+1e-9) || rate*60 > parts["max_rate_ft_min"].(float64) {
					t.Errorf("seed %d, %v from %v Pa: %v Pa/s, %v ft/min; borne are %v and %v", seed, s, static, -perSecond, rate*60, pascals, parts["max_rate_ft_min"])
				}
			}
			static = to
		}
	}
	if moves < 10000 {
		t.Errorf("only %d moves were looked at", moves)
	}
	t.Logf("%d moves", moves)
}

func sampleOf(t *testing.T, calculation string, seed uint64) []byte {
	t.Helper()
	for _, s := range calc.Samples() {
		if s.Calculation == calculation {
			return s.Make(seed)
		}
	}
	t.Fatalf("no samples of %s", calculation)
	return nil
}

func instrumentIn(t *testing.T, sample []byte) json.RawMessage {
	t.Helper()
	var in struct{ Instrument json.RawMessage }
	if err := json.Unmarshal(sample, &in); err != nil {
		t.Fatal(err)
	}
	return in.Instrument
}
