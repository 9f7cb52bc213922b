package calc_test

import (
	"math"
	"testing"
)

var altimeterMethod = object{
	"kind": "altimeter", "pitot": "none", "tests": []any{"scale"},
	"scale":      []any{object{"ft": "0", "tolerance_ft": "20"}, object{"ft": "1000", "tolerance_ft": "20"}},
	"highest_ft": 1000,
}

func altimeter() object {
	return object{
		"low": "-1000", "high": "20000", "unit": "ft", "mode": "absolute",
		"particulars": object{"field_elevation_ft": 0},
	}
}

func airspeedMethod(at ...string) object {
	points := []any{}
	for _, kt := range at {
		points = append(points, object{"kt": kt, "tolerance_kt": "2"})
	}
	return object{"kind": "airspeed", "points": points}
}

// speaks lists the objections to a range.
func speaks(t *testing.T, out object) []string {
	t.Helper()
	list, ok := out["objections"].([]any)
	if !ok {
		t.Fatalf("no answer: %v", out)
	}
	codes := []string{}
	for _, o := range list {
		codes = append(codes, o.(object)["code"].(string))
	}
	if out["serves"] != (len(codes) == 0) {
		t.Errorf("serves is %v with the objections %v", out["serves"], codes)
	}
	return codes
}

func worstOf(t *testing.T, out object) (ratio float64, point string) {
	t.Helper()
	w, ok := out["worst"].(object)
	if !ok {
		t.Fatalf("no worst ratio: %v", out)
	}
	return w["ratio"].(float64), w["point"].(string)
}

func same(a []string, b ...string) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// TestServes checks that a standard is compared in the quantity that it measures, and refused with
// a reason.
func TestServes(t *testing.T) {
	gaugeMethod := object{"kind": "gauge", "points": object{"values": []any{"0", "5", "10"}}, "exercise": 1}
	bar := object{
		"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
		"limit": object{"rule": "terms", "absolute": "0.1"},
	}
	feet := object{"low": "-2000", "high": "50000", "unit": "ft", "mode": "absolute", "absolute": "4", "k": "2"}
	knots := object{"low": "0", "high": "450", "unit": "kt", "mode": "differential", "absolute": "0.5", "k": "2"}
	leak := object{"kind": "leak", "phases": []any{object{"pressure": "4", "measure_s": 100, "limit_pa_s": 5}}}
	closed := object{
		"low": "-1", "high": "10", "unit": "bar", "mode": "gauge", "resolution": "0.001",
		"particulars": object{"volume_m3": "0.004"},
	}
	for name, c := range map[string]struct {
		method, instrument, standard object
		codes                        []string
	}{
		"a set in feet serves an altimeter": {altimeterMethod, altimeter(), feet, nil},
		"a set in metres does": {
			altimeterMethod, altimeter(),
			object{"low": "-500", "high": "15000", "unit": "m", "mode": "absolute", "absolute": "1", "k": "2"},
			nil,
		},
		"a set in knots measures no altitude": {altimeterMethod, altimeter(), knots, []string{"kind"}},
		"a set in knots serves an airspeed indicator": {
			airspeedMethod("40", "200"),
			object{"low": "0", "high": "250", "unit": "kt", "mode": "differential"}, knots, nil,
		},
		"feet are no pressure": {gaugeMethod, bar, feet, []string{"kind"}},
		"another unit of pressure": {
			gaugeMethod, bar,
			object{"low": "0", "high": "300", "unit": "psi", "mode": "gauge", "absolute": "0.1", "k": "2"},
			nil,
		},
		"too low, too coarse and of another mode": {
			gaugeMethod, bar,
			object{"low": "0", "high": "6", "unit": "bar", "mode": "absolute", "absolute": "0.1"},
			[]string{"high", "mode"},
		},
		"too coarse": {
			gaugeMethod, bar,
			object{"low": "0", "high": "600", "unit": "bar", "mode": "gauge", "absolute": "0.1", "k": "2"},
			[]string{"ratio"},
		},
		"nothing is said of its uncertainty": {
			gaugeMethod, bar, object{"low": "0", "high": "20", "unit": "bar", "mode": "gauge"},
			[]string{"no_specification"},
		},
		"a certificate that ends before": {
			gaugeMethod, bar,
			object{
				"low": "0", "high": "20", "unit": "bar", "mode": "gauge", "absolute": "0.001",
				"points": []any{
					object{"applied": "0", "expanded": "0.001"}, object{"applied": "8", "expanded": "0.001"},
				},
			},
			[]string{"no_statement"},
		},
		"a leak test has no limit at a pressure": {
			leak, closed,
			object{"low": "-1", "high": "20", "unit": "bar", "mode": "gauge", "absolute": "0.004"}, nil,
		},
		"gauge pressure does not serve an altimeter": {
			altimeterMethod, altimeter(),
			object{"low": "0", "high": "1200", "unit": "hPa", "mode": "gauge", "absolute": "0.1", "k": "2"},
			[]string{"mode"},
		},
		"absolute pressure that begins above an altitude": {
			altimeterMethod, altimeter(),
			object{"low": "990", "high": "1200", "unit": "hPa", "mode": "absolute", "absolute": "0.1", "k": "2"},
			[]string{"low"},
		},
		"a pressure is no rate of climb": {object{
			"kind": "vertical-speed", "pitot": "none",
			"points": []any{object{"ft_min": "500", "at_ft": 2000, "tolerance_ft_min": "100"}},
		},
			object{"low": "-4000", "high": "4000", "unit": "ft/min"}, object{
				"low": "0", "high": "1200", "unit": "hPa", "mode": "absolute", "absolute": "0.1",
			}, []string{"kind"}},
	} {
		out := call(t, "serves", object{"method": c.method, "instrument": c.instrument, "range": c.standard})
		if got := speaks(t, out); !same(got, c.codes...) {
			t.Errorf("%s: %v, want %v (%v)", name, got, c.codes, out)
		}
	}
}

// TestServesByPressure: near sea level of the standard atmosphere a foot is ρg·0.3048 = 3.6616 Pa
// (ISO 2533: ρ = 1.225 kg/m³, g = 9.80665 m/s²), and at 40 kt a knot is ρv·(1852/3600) = 12.97 Pa
// of impact pressure, which for so slow a flow is ρv²/2 within 0.1 %.
func TestServesByPressure(t *testing.T) {
	hectopascals := object{
		"low": "100", "high": "1200", "unit": "hPa", "mode": "absolute", "absolute": "0.1", "k": "2",
	} // U is 10 Pa
	out := call(t, "serves", object{"method": altimeterMethod, "instrument": altimeter(), "range": hectopascals})
	if got := speaks(t, out); len(got) != 0 {
		t.Fatalf("%v speaks against an absolute standard", got)
	}
	ratio, point := worstOf(t, out)
	const perFoot = 1.225 * 9.80665 * 0.3048
	if want := 20 * perFoot / 10; point != "1000" || math.Abs(ratio/want-1) > 0.04 { // 1000 ft up the air is 3 % thinner
		t.Errorf("the ratio is %v at %s ft, want about %v at 1000", ratio, point, want)
	}
	if moved, ok := out["range"].(object); !ok || moved["unit"] != "ft" || moved["mode"] != "absolute" {
		t.Errorf("the range in the instrument's unit is %v", out["range"])
	}
	pascals := object{"low": "0", "high": "20000", "unit": "Pa", "mode": "differential", "absolute": "5", "k": "2"}
	out = call(
		t, "serves",
		object{
			"method":     airspeedMethod("40"),
			"instrument": object{"low": "0", "high": "250", "unit": "kt", "mode": "differential"},
			"range":      pascals,
		},
	)
	knot := 1852.0 / 3600
	density := 1.225 * 39 * knot * knot // the smaller side of 40 ± 2 kt, its mean speed
	if ratio, _ := worstOf(t, out); math.Abs(ratio/(2*density/5)-1) > 0.005 {
		t.Errorf("the ratio is %v, want %v", ratio, 2*density/5)
	}
}

// TestServesAsStandard: the ratio is that of calculation standard, in any unit of the standard (1
// psi is 6894.757293168 Pa, NIST SP 811), and a method's own ratio applies.
func TestServesAsStandard(t *testing.T) {
	method := object{
		"kind": "gauge", "points": object{"values": []any{"0", "5", "10"}},
		"decision": object{"rule": "simple", "needed_ratio": "2"},
	}
	bar := object{
		"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
		"limit": object{"rule": "terms", "absolute": "0.1"},
	}
	psi := object{"low": "0", "high": "300", "unit": "psi", "mode": "gauge", "of_span_percent": "0.1", "drift_per_year": "0.05",
		"points": []any{
			object{"applied": "0", "error": "0.01", "expanded": "0.1"},
			object{"applied": "300", "error": "0.03", "expanded": "0.2"},
		}}
	out := call(t, "serves", object{"method": method, "instrument": bar, "range": psi, "years_since": "0.5"})
	got, point := worstOf(t, out)
	limit := 0.1e5 / 6894.757293168
	at := 10e5 / 6894.757293168
	other := call(t, "standard", object{"unit": "psi", "ranges": []any{
		object{"low": "0", "high": "300", "of_span_percent": "0.1"},
	}, "drift_per_year": "0.05", "years_since": "0.5",
		"certificate": object{"points": psi["points"]}, "points": []any{at}, "limit": limit})
	want := other["points"].([]any)[0].(object)["ratio"].(float64)
	if point != "10" || math.Abs(got/want-1) > 1e-9 {
		t.Errorf("the ratio is %v at %s, want %v at 10", got, point, want)
	}
	if out["needed_ratio"] != 2.0 || !same(speaks(t, out)) {
		t.Errorf("needed %v, objections %v", out["needed_ratio"], out["objections"])
	}
	if moved := out["range"].(object); moved["of_span_percent"] != "0.1" || moved["unit"] != "bar" {
		t.Errorf("the range in bar is %v", moved)
	}
}
