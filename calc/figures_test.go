package calc_test

import "testing"

// figuresOf returns the steps of a plan by their ids.
func figuresOf(t *testing.T, method, instrument object) map[string]object {
	t.Helper()
	out := call(t, "expand", object{"method": method, "instrument": instrument})
	list, ok := out["steps"].([]any)
	if !ok {
		t.Fatalf("no plan: %v", out)
	}
	steps := map[string]object{}
	for _, s := range list {
		steps[s.(object)["id"].(string)] = s.(object)
	}
	return steps
}

// hasFigures compares some fields of a step.
func hasFigures(t *testing.T, steps map[string]object, id string, want object) {
	t.Helper()
	s := steps[id]
	if s == nil {
		t.Errorf("there is no step %s", id)
		return
	}
	for name, x := range want {
		if s[name] != x {
			t.Errorf("%s: %s is %v, want %v (%v)", id, name, s[name], x, s)
		}
	}
}

// TestFiguresOfGauge: a 0 to 1.6 bar gauge of class 1 (EN 837-1, table 11: ± 1 % of span, so 0.016
// bar), with a stop pin, may show 0.304 … 0.336 at 0.32 bar.
func TestFiguresOfGauge(t *testing.T) {
	steps := figuresOf(t,
		object{"kind": "gauge", "points": object{"values": []any{"0", "0.32", "1.6"}}, "cycles": 2},
		object{
			"low": "0", "high": "1.6", "unit": "bar", "mode": "gauge",
			"limit": object{"rule": "en837", "class": "1", "stop_pin": true},
		})
	hasFigures(t, steps, "s1.up.0", object{"unjudged": true, "low": nil})
	hasFigures(
		t, steps, "s1.up.1.set",
		object{
			"move": "raise", "direction": "up", "mode": "gauge", "target": "0.32", "cycle": 1.0,
			"cycles": 2.0, "cycle_of": "cycle",
		},
	)
	hasFigures(t, steps, "s1.up.1", object{"low": "0.304", "high": "0.336"})
	hasFigures(t, steps, "s1.down.2.set", object{"move": "stay", "direction": "down", "target": "1.6"})
	hasFigures(t, steps, "s1.down.1.set", object{"move": "lower"})
	hasFigures(t, steps, "s2.up.1.set", object{"cycle": 2.0, "move": "raise"})
}

// TestFiguresOfTransmitter: 4 to 20 mA over 0 to 10 bar has 8 mA at 2.5 bar (linear law of IEC
// 60381-1 signals), and 0.25 % of span is 0.04 mA.
func TestFiguresOfTransmitter(t *testing.T) {
	steps := figuresOf(t,
		object{"kind": "gauge", "points": object{"values": []any{"0", "2.5", "10"}}},
		object{
			"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
			"output": object{"low": "4", "high": "20", "unit": "mA"},
			"limit":  object{"rule": "terms", "of_span_percent": "0.25"},
		})
	hasFigures(
		t, steps, "s1.up.1",
		object{"expected": "8.0000", "low": "7.9600", "high": "8.0400", "unit": "mA", "title": "2.5 bar"},
	)
}

// TestFiguresOfLeak checks that the phases show their pressure, direction and limit, and that each
// wait has its own screen in the order of the work.
func TestFiguresOfLeak(t *testing.T) {
	steps := figuresOf(t,
		object{"kind": "leak", "phases": []any{
			object{
				"name": "vacuum", "pressure": "-60", "stabilise_s": 120, "measure_s": 180, "every_s": 15,
				"limit_pa_m3_s": 0.02,
			},
			object{
				"name": "pressure", "pressure": "400", "rate": "5", "fill_s": 30, "stabilise_s": 180,
				"measure_s": 180, "every_s": 15, "limit_pa_s": 5, "runs": 2,
			}}},
		object{
			"low": "-100", "high": "700", "unit": "kPa", "mode": "gauge", "resolution": "0.01",
			"particulars": object{"volume_m3": "0.004"},
		})
	hasFigures(
		t, steps, "p1.set",
		object{
			"move": "lower", "target": "-60", "unit": "kPa", "mode": "gauge", "limit": "0.02",
			"limit_unit": "Pa·m³/s", "limit_per_min": "0.3",
		},
	) // 0.02/0.004 = 5 Pa/s
	hasFigures(
		t, steps, "p2.set",
		object{
			"move": "raise", "target": "400", "rate": "5", "limit": "5", "limit_unit": "Pa/s",
			"limit_per_min": "0.3", "cycle": 1.0, "cycles": 2.0, "cycle_of": "run",
		},
	)
	hasFigures(t, steps, "p2", object{"limit": "5", "expected": "400"})
	for _, id := range []string{"p2.fill", "p2.close", "p2.hold"} {
		hasFigures(t, steps, id, object{"expected": "400", "unit": "kPa"})
	}
	last := 0.0
	for _, id := range []string{"p2.set", "p2.fill", "p2.close", "p2.hold", "p2"} {
		screen, _ := steps[id]["screen"].(float64)
		if screen <= last {
			t.Errorf("%s is on screen %v, after screen %v", id, screen, last)
		}
		last = screen
	}
}

// TestFiguresOfSwitch: a contact set on falling pressure is approached from above; a dead band
// belongs to its reset.
func TestFiguresOfSwitch(t *testing.T) {
	contact := object{
		"name": "trip", "acts": "falling", "nominal": "1.5", "tolerance": "0.06",
		"dead_band": object{"low": "0.1", "high": "0.5"},
	}
	instrument := object{
		"low": "0", "high": "6", "unit": "bar", "mode": "gauge",
		"particulars": object{"contacts": []any{contact}},
	}
	steps := figuresOf(
		t,
		object{"kind": "switch", "cycles": 3, "approach": object{"low": "1.2", "high": "2.2"}, "rate": "0.02"},
		instrument,
	)
	hasFigures(
		t, steps, "c1.start",
		object{"move": "raise", "target": "2.2", "mode": "gauge", "cycle": 1.0, "cycles": 3.0},
	)
	hasFigures(
		t, steps, "c1.k1.set.ramp",
		object{
			"move": "lower", "from": "2.2", "target": "1.2", "rate": "0.02", "low": "1.44", "high": "1.56",
			"band_low": nil,
		},
	)
	hasFigures(
		t, steps, "c2.k1.reset.ramp",
		object{
			"move": "raise", "from": "1.2", "target": "2.2", "band_low": "0.1", "band_high": "0.5",
			"low": nil, "cycle": 2.0,
		},
	)
	hasFigures(t, steps, "c2.k1.reset", object{"band_low": "0.1", "band_high": "0.5"})
	hasFigures(t, steps, "c3.k1.set", object{"low": "1.44", "high": "1.56", "expected": "1.5", "title": "Set point"})
	both := object{"low": "0", "high": "6", "unit": "bar", "mode": "gauge", "particulars": object{
		"contacts": []any{contact, object{"name": "high", "acts": "rising", "nominal": "4", "tolerance": "0.1"}},
	}}
	steps = figuresOf(t, object{"kind": "switch", "cycles": 2, "approach": object{"low": "1", "high": "5"}}, both)
	hasFigures(t, steps, "c1.start", object{"move": "raise", "target": "1"})
	hasFigures(t, steps, "c2.start", object{"move": "lower", "target": "1"})
}

// TestFiguresOfBurst checks where the rise begins, where it ends at the latest, its rate, and the
// tolerance of the burst.
func TestFiguresOfBurst(t *testing.T) {
	steps := figuresOf(t,
		object{"kind": "burst", "discs": 3, "rate": "0.02", "start": "0.8", "tolerance_percent": "10"},
		object{"low": "0", "high": "4", "unit": "bar", "mode": "gauge", "particulars": object{"marked": "1"}})
	hasFigures(t, steps, "d1.start", object{"move": "raise", "target": "0.8"})
	hasFigures(
		t, steps, "d2.ramp",
		object{
			"move": "raise", "from": "0.8", "target": "1.2", "rate": "0.02", "low": "0.9", "high": "1.1",
			"cycle": 2.0, "cycles": 3.0, "cycle_of": "disc",
		},
	)
	hasFigures(t, steps, "d3", object{"low": "0.9", "high": "1.1", "cycle": 3.0})
}

// TestFiguresOfAltimeter: the scale's limits are those of 14 CFR Part 43 Appendix E, table I: ± 20
// ft at 0, ± 80 ft at 10 000 ft.
func TestFiguresOfAltimeter(t *testing.T) {
	steps := figuresOf(t, object{"kind": "altimeter", "pitot": "none", "highest_ft": 20000},
		object{
			"low": "-1000", "high": "20000", "unit": "ft", "resolution": "10",
			"particulars": object{"lowest_ft": -1000, "highest_ft": 20000, "field_elevation_ft": 420},
		})
	hasFigures(t, steps, "scale.0", object{"expected": "0", "low": "-20", "high": "20"})
	hasFigures(t, steps, "scale.10000", object{"expected": "10000", "low": "9920", "high": "10080"})
	hasFigures(t, steps, "scale.10000.set", object{"move": "raise", "rate": "50", "rate_per_min": "3000"})
	hasFigures(t, steps, "hysteresis.8000.set", object{"move": "lower"})
	hasFigures(t, steps, "hysteresis.8000", object{"low": nil, "change_limit": "75"})
	if s := steps["barometric.0"]; s["change"] == nil || s["change_limit"] == nil {
		t.Errorf("a barometric setting has no expected change: %v", s)
	}
}

// TestFiguresOfAirspeed: the published tolerances 20 to 250 kt.
func TestFiguresOfAirspeed(t *testing.T) {
	steps := figuresOf(t, object{
		"kind": "airspeed", "directions": "up-down",
		"points": []any{object{"kt": "100", "tolerance_kt": "3"}, object{"kt": "200", "tolerance_kt": "4"}},
	},
		object{"low": "0", "high": "250", "unit": "kt", "resolution": "1"})
	hasFigures(t, steps, "speed.100", object{"expected": "100", "low": "97", "high": "103"})
	hasFigures(t, steps, "speed.100.down.set", object{"move": "lower", "target": "100", "unit": "kt", "rate": "1"})
}

// TestFiguresOfProgramme checks that a stated rate stays with its step, that a pressure already
// reached gets no move, and that repeats are counted.
func TestFiguresOfProgramme(t *testing.T) {
	text := "unit bar gauge\nrepeat 2 {\n  set 5 at 0.2/s\n  hold 1 s\n  read p from gauge\n  set 5\n}\nvent\n"
	instrument := object{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}
	steps := figuresOf(t, object{"kind": "programme", "text": text}, instrument)
	hasFigures(t, steps, "l3.1", object{"rate": "0.2", "move": "raise", "mode": "gauge"})
	hasFigures(t, steps, "l6.1", object{"move": "stay", "target": "5"})
	at := "2026-03-04T08:00:00Z"
	out := call(t, "follow", object{"programme": text, "unit": "bar", "captures": []any{
		object{"step": "l5.1", "of": "indicated", "value": "5", "unit": "bar", "at": at},
	},
		"done": []any{
			object{"step": "l3.1", "at": at}, object{"step": "l4.1", "at": at}, object{"step": "l6.1", "at": at},
		}})
	list, ok := out["steps"].([]any)
	if !ok {
		t.Fatal(out)
	}
	steps = map[string]object{}
	for _, s := range list {
		steps[s.(object)["id"].(string)] = s.(object)
	}
	hasFigures(
		t, steps, "l3.2", object{"move": "stay", "rate": "0.2", "cycle": 2.0, "cycles": 2.0, "cycle_of": "cycle"},
	)
}
