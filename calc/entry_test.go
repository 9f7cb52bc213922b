package calc_test

import "testing"

// TestEntry checks the doubts about a value before it is kept, for each kind of work.
func TestEntry(t *testing.T) {
	leak := func() object {
		return leakSheet(object{"limit_pa_s": 5, "pressure": "-60"}, object{"volume_m3": "0.001"}, nil)
	}
	kept := func(list ...object) []any {
		all := []any{}
		for _, c := range list {
			all = append(all, c)
		}
		return all
	}
	value := func(step, of, v, unit string) object { return object{"step": step, "of": of, "value": v, "unit": unit} }
	gauge := func(more ...object) object {
		s := passingGauge()
		s["captures"] = kept(more...)
		return s
	}
	sure := func(entry object) object {
		entry["sure"] = true
		return entry
	}
	transmitter := func(more ...object) object {
		s := gauge(more...)
		s["instrument"].(object)["output"] = object{"low": "4", "high": "20", "unit": "mA"}
		return s
	}
	altimeter := func(more ...object) object {
		return object{
			"method":     doc{"kind": "altimeter", "tests": []any{"scale"}, "highest_ft": 2000},
			"instrument": airInstrument("ft", -1000, 20000, nil), "captures": kept(more...),
		}
	}
	for _, c := range []struct {
		name        string
		sheet       object
		entry       object
		level, code string
	}{
		{"a barometer", leak(), value("p1.b0", "answer", "1009", "hPa"), "", ""},
		{"a barometer in inHg", leak(), value("p1.b0", "answer", "20.6", "hPa"), "refuse", "no_place"},
		{"a barometer after it", leak(), value("p1.b1", "answer", "101.3", "hPa"), "refuse", "no_place"},
		{"a temperature", leak(), value("p1.t0", "answer", "85", "°C"), "", ""},
		{"an impossible temperature", leak(), value("p1.t0", "answer", "2150", "°C"), "refuse", "no_place"},
		{"a temperature of no leak test", leak(), value("p1.t1", "answer", "400", "°C"), "refuse", "no_place"},
		{"a vacuum", leak(), value("p1", "indicated", "-59.2", "kPa"), "", ""},
		{
			"a first reading of another pressure", leak(), value("p1", "indicated", "400", "kPa"), "ask",
			"not_at_pressure",
		},
		{"a first reading without its sign", leak(), value("p1", "indicated", "60", "kPa"), "ask", "not_at_pressure"},
		{"a record of another pressure", leak(), value("p1", "trace", "400", "kPa"), "refuse", "not_at_pressure"},
		{"a record in another unit", leak(), value("p1", "trace", "-0.6", "bar"), "", ""},
		{"a second disc", object{
			"method":     burstSheet(2, nil)["method"],
			"instrument": burstSheet(2, object{"marked": "1"})["instrument"],
			"captures":   kept(answer("d1.disc", "A-1")),
		},
			answer("d2.disc", "A-2"), "", ""},
		{"the same disc", object{
			"method":     burstSheet(2, nil)["method"],
			"instrument": burstSheet(2, object{"marked": "1"})["instrument"],
			"captures":   kept(answer("d1.disc", "A-1")),
		},
			answer("d2.disc", "a-1 "), "refuse", "disc_twice"},
		{"the same disc, corrected at its own step", object{"method": burstSheet(2, nil)["method"], "instrument": burstSheet(2, object{"marked": "1"})["instrument"],
			"captures": kept(answer("d1.disc", "A-1"))}, answer("d1.disc", "A-1"), "", ""},
		{
			"one reading far off", gauge(value("s1.up.0", "indicated", "0", "bar")),
			value("s1.up.1", "indicated", "0", "bar"), "ask", "far",
		},
		{
			"beyond the range, it may be mistyped", gauge(),
			value("s1.up.1", "indicated", "32", "bar"), "ask", "outside_range",
		},
		{
			"beyond the range, and right", gauge(),
			sure(value("s1.up.1", "indicated", "32", "bar")), "stop", "over_range",
		},
		{
			"a signal beyond its range strains nothing", transmitter(),
			sure(value("s1.up.1", "indicated", "25", "mA")), "ask", "outside_range",
		},
		{
			"far off, and right: nothing is strained", gauge(),
			sure(value("s1.up.1", "indicated", "0", "bar")), "ask", "far",
		},
		{
			"two far off", gauge(value("s1.up.1", "indicated", "0", "bar")),
			value("s1.up.2", "indicated", "0", "bar"), "stop", "not_connected",
		},
		{
			"far off before the tap and after it", gauge(value("s1.up.1", "before_tap", "0", "bar")),
			value("s1.up.1", "indicated", "0", "bar"), "ask", "far",
		},
		{
			"a good one after one far off", gauge(value("s1.up.1", "indicated", "0", "bar")),
			value("s1.up.2", "indicated", "9.9", "bar"), "", "",
		},
		{
			"a transmitter without its loop", transmitter(value("s1.up.1", "indicated", "0", "mA")),
			value("s1.up.2", "indicated", "0", "mA"), "stop", "not_connected",
		},
		{
			"a transmitter's signal", transmitter(value("s1.up.1", "indicated", "12", "mA")),
			value("s1.up.2", "indicated", "20", "mA"), "", "",
		},
		{"the field", altimeter(), answer("field", "1002.3"), "", ""},
		{"the field in inHg", altimeter(), answer("field", "29.6"), "refuse", "no_place"},
	} {
		out := call(
			t, "entry",
			object{
				"method": c.sheet["method"], "instrument": c.sheet["instrument"],
				"captures": c.sheet["captures"], "entry": c.entry,
			},
		)
		if e, bad := out["error"]; bad {
			t.Errorf("%s: %v", c.name, e)
			continue
		}
		found := out["findings"].([]any)
		if c.level == "" {
			if len(found) > 0 {
				t.Errorf("%s: %v", c.name, found)
			}
			continue
		}
		if len(found) == 0 || found[0].(object)["level"] != c.level || found[0].(object)["code"] != c.code {
			t.Errorf("%s: %v, want %s %s", c.name, found, c.level, c.code)
		}
	}
	// Nine readings of 0 kt in a row, as from an airspeed indicator that is not connected.
	method, instrument := doc{
		"kind": "airspeed",
		"points": []any{
			doc{"kt": 60, "tolerance_kt": 3}, doc{"kt": 120, "tolerance_kt": 3},
			doc{"kt": 180, "tolerance_kt": 3},
		},
	}, airInstrument("kt", 0, 260, nil)
	stopped := 0
	var list []any
	for _, s := range call(t, "expand", doc{"method": method, "instrument": instrument})["steps"].([]any) {
		step := s.(doc)
		if step["do"] != "read" {
			continue
		}
		one := value(step["id"].(string), "indicated", "0", "kt")
		for _, f := range call(t, "entry", object{"method": method, "instrument": instrument, "captures": append([]any{}, list...), "entry": one})["findings"].([]any) {
			if f.(object)["level"] == "stop" {
				stopped++
			}
		}
		list = append(list, one)
	}
	if stopped == 0 {
		t.Error("an airspeed indicator that stays at 0 kt stops nothing")
	}
}

// TestDoubt checks that a probably mistyped value is questioned before it is kept, with the value
// perhaps meant. From which limit on a value is doubtful is common practice, no source.
func TestDoubt(t *testing.T) {
	gauge := doc{
		"low": "0", "high": "1.6", "unit": "bar", "mode": "gauge", "resolution": "0.005",
		"limit": doc{"rule": "terms", "of_span_percent": 1},
	} // ± 0.016 bar
	points := doc{"kind": "gauge", "points": doc{"values": []any{"0", "0.32", "1.6"}}, "directions": "up"}
	fine := doc{
		"low": "0", "high": "1.6", "unit": "bar", "mode": "gauge",
		"limit": doc{"rule": "terms", "of_span_percent": 1},
	}
	loop := doc{
		"low": "0", "high": "1.6", "unit": "bar", "mode": "gauge",
		"limit":  doc{"rule": "terms", "of_span_percent": 1},
		"output": doc{"low": "4", "high": "20", "unit": "mA"},
	}
	bare := doc{"low": "0", "high": "1.6", "unit": "bar", "mode": "gauge"}
	contact := doc{"kind": "switch", "cycles": 1, "approach": doc{"low": "0.6", "high": "1.7"}, "rate": "0.01"}
	trip := doc{"low": "-1", "high": "10", "unit": "bar", "mode": "gauge", "particulars": doc{"contacts": []any{
		doc{
			"name": "K1", "acts": "rising", "nominal": "1.5", "tolerance": "0.05",
			"dead_band": doc{"low": "0.6", "high": "0.8"}, "safe": "open",
		},
	}}}
	lot := doc{"kind": "burst", "discs": 1, "rate": "0.1", "temperature": "none"}
	disc := doc{
		"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
		"particulars": doc{"marked": "5", "lot": "L-7", "volume_m3": "0.0002"},
	}
	leak := doc{
		"kind": "leak",
		"phases": []any{
			doc{"name": "pressure", "pressure": "6", "measure_s": 120, "every_s": 10, "limit_pa_s": 5},
		},
		"temperature": "none",
	}
	system := doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge", "particulars": doc{"volume_m3": "0.0125"}}
	one := func(step, of, v, unit string) doc { return doc{"step": step, "of": of, "value": v, "unit": unit} }
	for _, c := range []struct {
		name               string
		method, instrument doc
		kept               []any
		entry              doc
		code, suggest      string
	}{
		{"what it should show", points, gauge, nil, one("s1.up.1", "indicated", "0.32", "bar"), "", ""},
		{"three limits off", points, gauge, nil, one("s1.up.1", "indicated", "0.365", "bar"), "", ""},
		{"five limits off", points, gauge, nil, one("s1.up.1", "indicated", "0.4", "bar"), "far", ""},
		{"a digit missing", points, gauge, nil, one("s1.up.1", "indicated", "0.032", "bar"), "far", "0.32"},
		{"two digits missing", points, gauge, nil, one("s1.up.1", "indicated", "0.003", "bar"), "far", "0.3"},
		{
			"a slipped point beyond the range", points, gauge, nil,
			one("s1.up.1", "indicated", "3.2", "bar"), "outside_range", "0.32",
		},
		{"no point", points, gauge, nil, one("s1.up.1", "indicated", "32", "bar"), "outside_range", "0.32"},
		// 1 bar is 14.503 774 psi (NIST SP 811:2008, appendix B): 0.32 bar is 4.6412 psi
		{"in another unit", points, gauge, nil, one("s1.up.1", "indicated", "4.64", "psi"), "", ""},
		{
			"a slipped point in another unit", points, gauge, nil, one("s1.up.1", "indicated", "0.464", "psi"), "far",
			"4.64",
		},
		{
			"beyond the range in another unit", points, gauge, nil, one("s1.up.1", "indicated", "46.4", "psi"),
			"outside_range", "4.64",
		},
		{
			"more digits than can be read, in another unit", points, gauge, nil,
			one("s1.up.1", "indicated", "4.641", "psi"), "finer", "",
		},
		{
			"after a standard in another unit", points, gauge, []any{one("s1.up.1", "applied", "0.40", "bar")},
			one("s1.up.1", "indicated", "40", "kPa"), "", "",
		},
		{"at the standard, in another unit", points, gauge, nil, one("s1.up.1", "applied", "4.6412", "psi"), "", ""},
		{"a wrong sign", points, gauge, nil, one("s1.up.1", "indicated", "-0.32", "bar"), "outside_range", "0.32"},
		{"before the tap", points, gauge, nil, one("s1.up.1", "before_tap", "0.032", "bar"), "far", "0.32"},
		{"at zero", points, gauge, nil, one("s1.up.0", "indicated", "0.1", "bar"), "far", ""},
		{"at zero, within the limits", points, gauge, nil, one("s1.up.0", "indicated", "0.01", "bar"), "", ""},
		{"finer than it can be read", points, gauge, nil, one("s1.up.1", "indicated", "0.322", "bar"), "finer", "0.32"},
		{"a zero more is not finer", points, gauge, nil, one("s1.up.1", "indicated", "0.3200", "bar"), "", ""},
		{"no resolution is known", points, fine, nil, one("s1.up.1", "indicated", "0.3217", "bar"), "", ""},
		{"the standard shows another value", points, gauge, nil, one("s1.up.1", "applied", "0.3517", "bar"), "", ""},
		{
			"the standard's value with a slipped point", points, gauge, nil,
			one("s1.up.1", "applied", "3.2", "bar"), "outside_range", "0.32",
		},
		{
			"it follows the standard", points, gauge, []any{one("s1.up.1", "applied", "0.4", "bar")},
			one("s1.up.1", "indicated", "0.4", "bar"), "", "",
		},
		{
			"it does not follow the standard", points, gauge,
			[]any{one("s1.up.1", "applied", "0.4", "bar")}, one("s1.up.1", "indicated", "0.32", "bar"),
			"far", "",
		},
		{"a signal", points, loop, nil, one("s1.up.1", "indicated", "7.2", "mA"), "", ""},
		{"a signal five limits off", points, loop, nil, one("s1.up.1", "indicated", "8", "mA"), "far", ""},
		{
			"no limit is known: a share of the span", points, bare, nil, one("s1.up.1", "indicated", "0.5", "bar"), "",
			"",
		},
		{"no limit is known, far off", points, bare, nil, one("s1.up.1", "indicated", "0.7", "bar"), "far", ""},
		{"a set point", contact, trip, nil, one("c1.k1.set", "applied", "1.42", "bar"), "", ""},
		{
			"a set point with a slipped point", contact, trip, nil, one("c1.k1.set", "applied", "0.15", "bar"), "far",
			"1.5",
		},
		{"a disc", lot, disc, nil, one("d1", "applied", "5.4", "bar"), "", ""},
		{"a disc above its end limit", lot, disc, nil, one("d1", "applied", "6.5", "bar"), "far", ""},
		{
			"the next reading of a leak", leak, system, []any{one("p1", "indicated", "6", "bar")},
			one("p1", "indicated", "5.99", "bar"), "", "",
		},
		{
			"the next reading of a leak with a slipped point", leak, system,
			[]any{one("p1", "indicated", "6", "bar")}, one("p1", "indicated", "59.9", "bar"), "far",
			"5.99",
		},
	} {
		kept := c.kept
		if kept == nil {
			kept = []any{}
		}
		out := call(t, "entry", doc{"method": c.method, "instrument": c.instrument, "captures": kept, "entry": c.entry})
		if e, bad := out["error"]; bad {
			t.Errorf("%s: %v", c.name, e)
			continue
		}
		code, suggest := "", ""
		for _, f := range out["findings"].([]any) {
			code, _ = f.(doc)["code"].(string)
			suggest, _ = f.(doc)["suggest"].(string)
		}
		if code != c.code || suggest != c.suggest {
			t.Errorf("%s: %q %q, want %q %q", c.name, code, suggest, c.code, c.suggest)
		}
	}
}
