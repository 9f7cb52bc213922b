package calc_test

import "testing"

// TestStrained: in every kind of work a value beyond a limit is questioned first, and stops the
// work once the reader has confirmed it. The limits are those of the documents. Allowing a
// twentieth of the range and a hundredth of a part's limit for differences between gauges is common
// practice, no source.
func TestStrained(t *testing.T) {
	sheet := func(method, instrument object) object {
		return object{"method": method, "instrument": instrument, "captures": []any{}}
	}
	leak := leakSheet(object{"limit_pa_s": 5, "pressure": "400"}, object{"volume_m3": "0.001", "weakest": object{"high": "440", "part": "the sight glass"}}, nil)
	gauge, burst := passingGauge(), burstSheet(1, object{"marked": "2"})
	transmitter := passingGauge()
	transmitter["instrument"].(object)["output"] = object{"low": "4", "high": "20", "unit": "mA"}
	contact := switchSheet(1, object{"name": "K1", "acts": "rising", "nominal": "2", "tolerance": "0.1"})
	programme := sheet(object{"kind": "programme", "text": "unit bar gauge\nset 2\nread p from gauge\nvent\n"}, object{
		"low": "0", "high": "4", "unit": "bar", "mode": "gauge",
		"particulars": object{"relief": "3.5", "weakest": object{"pressure": "3", "part": "the hose"}},
	})
	relief := sheet(object{"kind": "programme", "text": "unit bar gauge\nset 2\nread p from gauge\nvent\n"}, object{
		"low": "0", "high": "4", "unit": "bar", "mode": "gauge", "particulars": object{"relief": "3.5"},
	})
	altimeter := sheet(object{"kind": "altimeter", "tests": []any{"scale"}, "highest_ft": 2000}, airInstrument("ft", -1000, 20000, doc{"highest_ft": 5000}))
	scale := sheet(
		object{"kind": "altimeter", "tests": []any{"barometric"}, "highest_ft": 2000},
		airInstrument("ft", -1000, 20000, doc{"lowest_ft": -1000, "highest_ft": 5000}),
	)
	airspeed := sheet(
		object{"kind": "airspeed", "points": []any{doc{"kt": 60, "tolerance_kt": 3}}},
		airInstrument("kt", 0, 400, doc{"max_cas_kt": 260}),
	)
	// 12 kPa is the impact pressure of 269.6 kt (ICAO standard atmosphere: 1 + q/p0 = (1 + 0.2 M²)^3.5).
	impact := sheet(
		object{"kind": "airspeed", "points": []any{doc{"kt": 60, "tolerance_kt": 3}}},
		airInstrument("kt", 0, 400, doc{"max_cas_kt": 400, "weakest": doc{"impact_pa": 12000, "part": "the other indicator"}}),
	)
	climb := sheet(
		object{"kind": "vertical-speed", "points": []any{doc{"ft_min": 1000, "at_ft": 3000, "tolerance_ft_min": 100}}},
		airInstrument("ft/min", -6000, 6000, doc{"max_rate_ft_min": 4000}),
	)
	for _, c := range []struct {
		name, of, value, unit string
		sheet                 object
		asks                  bool
	}{
		{"gauge", "indicated", "10.4", "bar", gauge, false},
		{"gauge", "indicated", "10.6", "bar", gauge, true},
		{"gauge in another unit", "indicated", "160", "psi", gauge, true}, // 11.03 bar
		{"transmitter", "applied", "10.6", "bar", transmitter, true},
		{"leak", "indicated", "443", "kPa", leak, false},
		{"leak", "indicated", "460", "kPa", leak, true},
		{"leak in another unit", "indicated", "4.6", "bar", leak, true},
		{"switch", "applied", "4.3", "bar", contact, true},
		{"switch", "applied", "2.0", "bar", contact, false},
		{"burst", "applied", "4.3", "bar", burst, true},
		{"programme", "indicated", "3.2", "bar", programme, true},
		{"programme", "applied", "2.9", "bar", programme, false},
		{"programme settling", "settle", "3.2", "bar", programme, true},
		{"programme above its relief", "indicated", "3.7", "bar", relief, true},
		{"altimeter", "indicated", "5500", "ft", altimeter, true},
		{"altimeter", "applied", "5010", "ft", altimeter, false},
		{"altimeter set to another pressure", "indicated", "-1500", "ft", scale, false},
		{"airspeed", "applied", "270", "kt", airspeed, true},
		{"airspeed", "applied", "255", "kt", airspeed, false},
		{"airspeed by impact", "applied", "275", "kt", impact, true},
		{"airspeed by impact", "applied", "265", "kt", impact, false},
		{"vertical speed", "indicated", "-4500", "ft/min", climb, true},
		{"vertical speed", "indicated", "3900", "ft/min", climb, false},
	} {
		for _, sure := range []bool{false, true} {
			out := call(t, "entry", object{
				"method": c.sheet["method"], "instrument": c.sheet["instrument"], "captures": []any{},
				"entry": object{"step": stepFor(t, c.sheet, c.of), "of": c.of, "value": c.value, "unit": c.unit, "sure": sure},
			})
			if e, bad := out["error"]; bad {
				t.Fatalf("%s: %v", c.name, e)
			}
			stops, asks := false, false
			for _, f := range out["findings"].([]any) {
				stops = stops || f.(object)["code"] == "over_range" && f.(object)["level"] == "stop"
				asks = asks || f.(object)["level"] == "ask"
			}
			if stops != (sure && c.asks) || c.asks && !sure && !asks {
				t.Errorf("%s, %s %s %s, sure %v: %v", c.name, c.of, c.value, c.unit, sure, out["findings"])
			}
		}
	}
}

// stepFor returns the last reading step of a plan.
func stepFor(t *testing.T, sheet object, of string) string {
	t.Helper()
	out := call(t, "expand", object{"method": sheet["method"], "instrument": sheet["instrument"]})
	if e, bad := out["error"]; bad {
		t.Fatalf("expand: %v", e)
	}
	id := ""
	for _, s := range out["steps"].([]any) {
		if s := s.(object); s["do"] == "read" || s["do"] == "settle" && of == "settle" {
			id = s["id"].(string)
		}
	}
	return id
}

// TestDoNotExceed: a step that raises the pressure states the weakest part's limit, in the unit of
// the step, if that is below the instrument's range.
func TestDoNotExceed(t *testing.T) {
	most := func(steps []any) (list []any) {
		for _, s := range steps {
			if m, ok := s.(object)["most"]; ok {
				list = append(list, m)
			}
		}
		return list
	}
	weakest := object{"high": "440", "part": "the sight glass"}
	for unit, want := range map[string]string{"kPa": "440", "bar": "4.4"} {
		pressure := map[string]string{"kPa": "400", "bar": "4"}[unit]
		leak := leakSheet(object{"limit_pa_s": 5, "pressure": pressure, "unit": unit}, object{"volume_m3": "0.001", "weakest": weakest}, nil)
		out := call(t, "expand", object{"method": leak["method"], "instrument": leak["instrument"]})
		list := most(out["steps"].([]any))
		if len(list) == 0 {
			t.Fatalf("%s: no step says what must not be exceeded: %v", unit, out)
		}
		for _, m := range list {
			if m != want {
				t.Errorf("a leak test in %s: do not exceed %v, want %s", unit, m, want)
			}
		}
	}
	for _, c := range []struct {
		weakest, relief string
		want            string
	}{{"3", "3.5", "3"}, {"3.5", "3", "3"}, {"5", "6", "4"}} {
		out := call(t, "follow", object{
			"programme": "unit bar gauge\nset 2\nread p from gauge\nvent\n", "unit": "bar", "captures": []any{}, "done": []any{},
			"range": object{"high": "4", "unit": "bar", "weakest": c.weakest, "relief": c.relief},
		})
		list := most(out["steps"].([]any))
		if len(list) != 1 || list[0] != c.want {
			t.Errorf("weakest %s, relief %s: do not exceed %v, want %s", c.weakest, c.relief, list, c.want)
		}
	}
}

// TestOverload: an instrument whose overload limit is known bears pressures above its range up to
// that; on a manifold the lowest range counts, whatever one of the gauges there bears. The limits
// are those of the documents; what is left to how gauges differ is common practice, no source.
func TestOverload(t *testing.T) {
	gauge := passingGauge()
	gauge["instrument"].(object)["overload"] = "13"
	contact := switchSheet(1, object{"name": "K1", "acts": "rising", "nominal": "2", "tolerance": "0.1"})
	contact["instrument"].(object)["overload"] = "8"
	lowest := object{"high": "1000", "unit": "kPa"}
	wide := passingGauge() // its points end at 10
	wide["instrument"].(object)["high"], wide["instrument"].(object)["overload"] = "16", "20"
	const overload = "this is beyond the instrument's overload limit: it may be strained, and so may everything on the line"
	for _, c := range []struct {
		name, value, unit string
		sheet, manifold   object
		asks              bool
		stops             string // what is said where whoever reads it is sure, "" where nothing stops
	}{
		{name: "within", value: "10", unit: "bar", sheet: gauge},
		{name: "within, far from the point", value: "10.4", unit: "bar", sheet: gauge, asks: true},
		{name: "above the range", value: "12.9", unit: "bar", sheet: gauge, asks: true},
		{name: "above the limit", value: "13.5", unit: "bar", sheet: gauge, asks: true, stops: overload},
		{name: "in another unit", value: "200", unit: "psi", sheet: gauge, asks: true, stops: overload}, // 13.8 bar
		{name: "below the range", value: "-1", unit: "bar", sheet: gauge, asks: true, stops: "this lies beyond the instrument's range: it may be strained, and so may everything on the line"},
		{name: "switch", value: "7", unit: "bar", sheet: contact, asks: true},
		{name: "switch above the limit", value: "8.5", unit: "bar", sheet: contact, asks: true, stops: overload},
		{
			name: "on a manifold", value: "10.8", unit: "bar", sheet: wide, manifold: lowest, asks: true,
			stops: "this is beyond the limit of the lowest range on the manifold: it may be strained, and so may everything on the line",
		},
		{name: "on a manifold, within", value: "10.3", unit: "bar", sheet: wide, manifold: lowest},
	} {
		of := "indicated"
		if c.sheet["method"].(object)["kind"] == "switch" {
			of = "applied"
		}
		for _, sure := range []bool{false, true} {
			in := object{
				"method": c.sheet["method"], "instrument": c.sheet["instrument"], "captures": []any{},
				"entry": object{"step": stepFor(t, c.sheet, of), "of": of, "value": c.value, "unit": c.unit, "sure": sure},
			}
			if c.manifold != nil {
				in["manifold"] = c.manifold
			}
			out := call(t, "entry", in)
			if e, bad := out["error"]; bad {
				t.Fatalf("%s: %v", c.name, e)
			}
			stops, asks := "", false
			for _, f := range out["findings"].([]any) {
				if f.(object)["level"] == "stop" {
					stops = f.(object)["message"].(string)
				}
				asks = asks || f.(object)["level"] == "ask"
			}
			if sure && stops != c.stops || !sure && (stops != "" || asks != c.asks) {
				t.Errorf("%s, %s %s, sure %v: %v", c.name, c.value, c.unit, sure, out["findings"])
			}
		}
	}
}

// TestDoNotExceedTheOverload: steps that raise the pressure name the overload limit where it is known
// and nothing on the line bears less; on a manifold the lowest range, which is what all there bear.
func TestDoNotExceedTheOverload(t *testing.T) {
	type said struct{ most, is string }
	bounds := func(in object) map[said]bool {
		t.Helper()
		out := call(t, "expand", in)
		if e, bad := out["error"]; bad {
			t.Fatal(e)
		}
		list := map[said]bool{}
		for _, s := range out["steps"].([]any) {
			if m, ok := s.(object)["most"]; ok {
				is, _ := s.(object)["most_is"].(string)
				list[said{m.(string), is}] = true
			}
		}
		return list
	}
	only := func(name string, got map[said]bool, want said) {
		t.Helper()
		if len(got) != 1 || !got[want] {
			t.Errorf("%s: do not exceed %v, want %v", name, got, want)
		}
	}
	gauge := func(overload string) object {
		g := passingGauge()
		if overload != "" {
			g["instrument"].(object)["overload"] = overload
		}
		return object{"method": g["method"], "instrument": g["instrument"]}
	}
	with := func(o object, name string, v any) object { o[name] = v; return o }
	only("gauge", bounds(gauge("")), said{"10", ""})
	only("gauge with a limit", bounds(gauge("13")), said{"13", "overload"})
	on := object{"high": "1100", "unit": "kPa"}
	only("on a manifold whose others bear more", bounds(with(gauge("13"), "manifold", on)), said{"10", ""})
	g := gauge("")
	g["instrument"].(object)["high"] = "16" // its points end at 10
	only("on a manifold whose others bear less", bounds(with(g, "manifold", object{"high": "1000", "unit": "kPa"})), said{"10", ""})
	leak := func(weakest, overload string) object {
		l := leakSheet(object{"limit_pa_s": 5, "pressure": "400"}, object{"volume_m3": "0.001", "weakest": object{"high": weakest, "part": "the sight glass"}}, nil)
		l["instrument"].(object)["overload"] = overload
		return object{"method": l["method"], "instrument": l["instrument"]}
	}
	only("weakest part", bounds(leak("440", "900")), said{"440", ""})
	only("a part that bears more than the sensor shows", bounds(leak("950", "900")), said{"700", ""})
	k := switchSheet(1, object{"name": "K1", "acts": "rising", "nominal": "2", "tolerance": "0.1"})
	k["instrument"].(object)["overload"] = "8"
	only("switch", bounds(object{"method": k["method"], "instrument": k["instrument"]}), said{"8", "overload"})
	follow := func(weakest string) object {
		return call(t, "follow", object{
			"programme": "unit bar gauge\nset 2\nread p from gauge\nvent\n", "unit": "bar", "captures": []any{}, "done": []any{},
			"range": object{"high": "4", "overload": "6", "unit": "bar", "weakest": weakest},
		})
	}
	for weakest, want := range map[string]said{"5": {"5", ""}, "7": {"6", "overload"}} {
		first := follow(weakest)["steps"].([]any)[0].(object)
		is, _ := first["most_is"].(string)
		if (said{first["most"].(string), is}) != want {
			t.Errorf("a programme with a part for %s bar: %v, want %v", weakest, first, want)
		}
	}
	bad := call(t, "expand", gauge("9"))["error"]
	if e, ok := bad.(object); !ok || e["field"] != "instrument.overload" {
		t.Errorf("a limit below the range: %v", bad)
	}
}
