package calc_test

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/calc/medium"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

func gaugeDoc(more doc, readings ...doc) doc {
	d := doc{
		"unit": "bar", "low": "0", "high": "10", "limit": doc{"rule": "en837", "class": "1"},
		"decision": doc{"rule": "simple"}, "readings": readings,
	}
	for k, v := range more {
		d[k] = v
	}
	return d
}

func reading(series any, direction, point, indicated string) doc {
	return doc{"series": series, "direction": direction, "point": point, "indicated": indicated}
}

func pointAt(t *testing.T, out map[string]any, i int) doc {
	t.Helper()
	list, ok := out["points"].([]any)
	if !ok || len(list) <= i {
		t.Fatalf("no point %d: %v", i, out)
	}
	return list[i].(map[string]any)
}

// TestZeroIsTakenFromBothOrNeither: worked by hand. The second cycle has no rising zero; that of
// the first was 0.03. The change at 5 bar is 5.05 − 5.04 = 0.01, not 5.05 − (5.04 − 0.03).
func TestZeroIsTakenFromBothOrNeither(t *testing.T) {
	first := []doc{reading(1, "up", "0", "0.03"), reading(1, "up", "5", "5.04")}
	out := call(t, "gauge", gaugeDoc(nil, append(first, reading(2, "up", "5", "5.05"))...))
	within(t, "5 bar", "repeatability", pointAt(t, out, 1)["repeatability"], 0.01, 1e-12)
	if !hasWarning(out, "missing_zero") {
		t.Errorf("%v", out["warnings"])
	}
	out = call(
		t, "gauge", gaugeDoc(nil, append(first, reading(2, "up", "0", "0.01"), reading(2, "up", "5", "5.05"))...),
	)
	within(t, "5 bar", "repeatability", pointAt(t, out, 1)["repeatability"], 0.03, 1e-12)
	if hasWarning(out, "missing_zero") {
		t.Errorf("%v", out["warnings"])
	}
}

// TestRepeatabilityOverAllPairs: worked by hand. Three cycles read 5.00, 5.02, 4.98 with a steady
// zero: the second and third are 0.04 apart, though neither is more than 0.02 from the first. The
// re-mounted fourth, 5.05, is compared with the first only, and not for repeatability.
func TestRepeatabilityOverAllPairs(t *testing.T) {
	var list []doc
	for i, at5 := range []string{"5.00", "5.02", "4.98", "5.05"} {
		for _, r := range []doc{reading(i+1, "up", "0", "0"), reading(i+1, "up", "5", at5)} {
			r["remounted"] = i == 3
			list = append(list, r)
		}
	}
	p := pointAt(t, call(t, "gauge", gaugeDoc(nil, list...)), 1)
	within(t, "three cycles", "repeatability", p["repeatability"], 0.04, 1e-12)
	within(t, "re-mounted", "reproducibility", p["reproducibility"], 0.05, 1e-12)
}

// TestTransmitterIsJudgedOnItsOutput: 4 to 20 mA, 0 to 10 bar. At zero of a square-root output 4.16
// mA is off by 1 % of the output's span, and a limit of 0.1 % must fail it, though it means only
// 0.01 % of the pressure. Worked by hand.
func TestTransmitterIsJudgedOnItsOutput(t *testing.T) {
	tx := func(law, percent string, r ...doc) doc {
		return gaugeDoc(
			doc{
				"output": doc{"low": "4", "high": "20", "unit": "mA", "law": law},
				"limit":  doc{"rule": "terms", "of_span_percent": percent}, "standard": doc{"u": "0.001"},
			},
			r...,
		)
	}
	out := call(t, "gauge", tx("square-root", "0.1", reading(1, "up", "0", "4.16")))
	p := pointAt(t, out, 0)
	if out["verdict"] != "fail" || p["error_pressure"] == nil || out["output_unit"] != "mA" {
		t.Errorf("%v", out)
	}
	within(t, "zero", "error in mA", p["error"], 0.16, 1e-12)
	within(t, "zero", "error in % of output span", p["error_percent"], 1, 1e-12)
	within(t, "zero", "limit in mA", p["limit"], 0.016, 1e-15)
	// a quarter of the pressure is half the signal; exactly at the limit is inside, one digit more is
	// not
	if out = call(t, "gauge", tx("square-root", "0.1", reading(1, "up", "2.5", "12.016"))); out["verdict"] != "pass" {
		t.Errorf("at the limit: %v", out)
	}
	if out = call(t, "gauge", tx("square-root", "0.1", reading(1, "up", "2.5", "12.0160000001"))); out["verdict"] != "fail" {
		t.Errorf("beyond the limit: %v", out)
	}
	// at 2 bar √0.2 is irrational; 4 + 16·√0.2 = 11.155417527999…, computed independently (python3
	// decimal)
	p = pointAt(t, call(t, "gauge", tx("square-root", "0.1", reading(1, "up", "2", "11.16"))), 0)
	within(t, "2 bar", "ideal", p["ideal"], 11.155417527999327, 1e-14)
	// the standard's 0.001 bar moves the signal by 16/10/(2√0.2)·0.001 mA there
	within(t, "2 bar", "u", p["u"], 1.6/(2*math.Sqrt(0.2))*0.001, 1e-15)
	out = call(t, "gauge", tx("linear", "0.5", reading(1, "up", "5", "12.08"), reading(1, "up", "10", "20.04")))
	p = pointAt(t, out, 0)
	if out["verdict"] != "pass" {
		t.Errorf("%v", out)
	}
	within(t, "linear", "error_pressure", p["error_pressure"], 0.05, 1e-12)
	within(t, "linear", "u", p["u"], 0.0016, 1e-15)
}

// TestUnitOfEntryNeverChangesAVerdict: a value typed in another unit, if it is a finite decimal
// there too, is judged the same to the last digit.
func TestUnitOfEntryNeverChangesAVerdict(t *testing.T) {
	names := []string{"bar", "kPa", "mbar", "Pa", "MPa", "hPa", "kgf/cm2", "mmH2O"}
	bar, _ := units.Find("bar")
	rapid.Check(t, func(rt *rapid.T) {
		unit := rapid.SampledFrom(names).Draw(rt, "unit")
		u, _ := units.Find(unit)
		// at, just inside and just outside ±0.016 at 0.5 bar, and anywhere about
		typedPa := rapid.OneOf(rapid.SampledFrom(
			[]string{"51600", "48400", "51600.0000001", "48399.9999999", "51599.9999999"},
		),
			rapid.StringMatching(`5[0-2][0-9]{3}\.[0-9]{1,6}`)).Draw(rt, "pressure")
		x, _ := numeric.ParseExact(typedPa)
		other, whole := u.ExactFromSI(x).Text(40)
		reference, _ := bar.ExactFromSI(x).Text(40)
		if !whole {
			return // no decimal in that unit
		}
		docs := [2]string{}
		for i, v := range [2][2]string{{reference, "bar"}, {other, unit}} {
			docs[i] = sheetDoc(
				"applied-set", `{"step":"s1.up.1","of":"indicated","value":"`+v[0]+`","unit":"`+v[1]+`"}`,
			)
		}
		a, b := evaluate(t, docs[0]), evaluate(t, docs[1])
		ra, rb := a["readings"].([]any)[0].(map[string]any), b["readings"].([]any)[0].(map[string]any)
		if ra["verdict"] != rb["verdict"] || ra["error"] != rb["error"] || ra["fraction"] != rb["fraction"] {
			rt.Fatalf("%s bar: %v; %s %s: %v", reference, ra, other, unit, rb)
		}
		if unit != "bar" {
			kept, _ := rb["typed"].(map[string]any)
			if kept["indicated"] != other+" "+unit {
				rt.Fatalf("as typed: %v", rb)
			}
		}
	})
}

// TestHeadOfAVisit: water at 20 °C, the standard 0.5 m above: O-HEAD of metrology.json's 998.2067
// kg/m³ less air of CIPM-2007 at 101325 Pa, 20 °C, 50 %: 1.199313895 kg/m³; (998.206746 −
// 1.199314)·9.80665·0.5 = 4888.6512 Pa. Corrected once, and both values kept.
func TestHeadOfAVisit(t *testing.T) {
	sheet := sheetDoc("applied-set", typed("s1.up.1", "indicated", "0.549"))
	sheet = strings.Replace(sheet, `"captures"`, `"surroundings":{"temperature_c":"20","pressure_hpa":"1013.25","humidity_percent":"50"},"head":{"standard_above_m":"0.5","fluid":"water","gravity_m_s2":"9.80665"},"captures"`, 1)
	out := evaluate(t, sheet)
	g, ok := out["gauge"].(map[string]any)
	if !ok {
		t.Fatal(out)
	}
	want := (998.206746 - 1.199313895) * 9.80665 * 0.5
	within(t, "head", "correction", g["head_correction_pa"], want, 1e-3)
	within(t, "head", "air", g["air_density_kg_m3"], 1.199313895, 1e-9)
	r := out["readings"].([]any)[0].(map[string]any)
	within(t, "head", "applied", r["applied"], 0.5+want/1e5, 1e-7)
	within(t, "head", "error", r["error"], 0.549-0.5-want/1e5, 1e-7)
	if kept := r["typed"].(map[string]any); kept["applied"] != "0.5 bar" || kept["indicated"] != "0.549 bar" {
		t.Errorf("as typed: %v", kept)
	}
	// the calculation's own form gives the same
	again := evaluate(t, strings.Replace(sheet, `"head":{"standard_above_m":"0.5","fluid":"water","gravity_m_s2":"9.80665"}`,
		`"head":{"mode":"gauge","standard_above_m":"0.5","gravity_m_s2":"9.80665","fluid_density_kg_m3":"998.2067462"}`, 1))
	within(t, "head", "room's form", again["gauge"].(map[string]any)["head_correction_pa"], want, 1e-3)
	// a gas: (p + ambient)(exp(Mgh/(Z RT)) − 1) − ρ_air g h at 0.5 bar; M 28.0134e-3, T 293.15, Z by
	// TestRealGas
	gas := evaluate(t, strings.Replace(sheet, `"fluid":"water"`, `"fluid":"nitrogen"`, 1))
	gh := 9.80665 * 0.5
	want = (50000+101325)*math.Expm1(
		28.0134e-3*gh/(medium.Compressibility("nitrogen", 151325, 20)*8.314462618*293.15),
	) - 1.199313895*gh
	within(t, "gas", "correction", gas["gauge"].(map[string]any)["head_correction_pa"], want, 1e-6)
	// on one level nothing is corrected and nothing assumed
	level := evaluate(t, strings.Replace(sheet, `"standard_above_m":"0.5"`, `"standard_above_m":"0"`, 1))
	if level["gauge"].(map[string]any)["head_correction_pa"] != 0.0 ||
		level["readings"].([]any)[0].(map[string]any)["typed"] != nil {
		t.Errorf("%v", level)
	}
	for name, tt := range map[string]struct{ from, to, code string }{
		"two gravities": {`"gravity_m_s2":"9.80665"`, `"gravity_m_s2":"9.80665","latitude_deg":"50"`, "conflict"},
		"oil":           {`"fluid":"water"`, `"fluid":"oil"`, "missing"},
		"wrong mode": {
			`"standard_above_m":"0.5","fluid":"water"`,
			`"mode":"absolute","standard_above_m":"0.5","fluid_density_kg_m3":"998"`, "conflict",
		},
	} {
		if e, _ := evaluate(t, strings.Replace(sheet, tt.from, tt.to, 1))["error"].(map[string]any); e["code"] != tt.code {
			t.Errorf("%s: %v", name, e)
		}
	}
	if w := evaluate(t, strings.Replace(sheet, `,"gravity_m_s2":"9.80665"`, "", 1)); !hasWarning(w, "usual_gravity") {
		t.Errorf("%v", w["warnings"])
	}
}

// TestBudgetListsEveryTerm: worked by hand at 5 bar; resolution 0.02 and zero deviation 0.01 as
// full widths, 0.01 % of span and kelvin over 5 K.
func TestBudgetListsEveryTerm(t *testing.T) {
	out := call(t, "gauge", gaugeDoc(doc{
		"resolution": "0.02", "standard": doc{"u": "0.004", "dof": 9},
		"surroundings": doc{"temperature_c": 25, "temperature_coefficient_percent_per_k": "0.01"},
	},
		reading(1, "up", "0", "0"), reading(1, "up", "5", "5.02"), reading(2, "down", "5", "5.04"), reading(2, "down", "0", "0.01")))
	p := pointAt(t, out, 1)
	terms := map[string]float64{
		"std": 0.004, "res": 0.02 / math.Sqrt(12), "zero": 0.01 / math.Sqrt(12),
		"hys": 0.02 / math.Sqrt(12), "temp": 0.005 / math.Sqrt(3),
	}
	square := 0.0
	for _, u := range terms {
		square += u * u
	}
	u := math.Sqrt(square)
	within(t, "5 bar", "u", p["u"], u, 1e-15)
	list := p["budget"].([]any)
	if len(list) != len(terms) {
		t.Fatalf("%v", list)
	}
	sum := 0.0
	for _, l := range list {
		line := l.(map[string]any)
		name := line["term"].(string)
		within(t, name, "contribution", line["contribution"], terms[name], 1e-15)
		within(t, name, "share", line["share"], terms[name]*terms[name]/square, 1e-12)
		sum += line["share"].(float64)
		if p["u"].(float64) < line["contribution"].(float64) {
			t.Errorf("u is below %s", name)
		}
	}
	within(t, "shares", "sum", sum, 1, 1e-12)
	// Welch–Satterthwaite: 9·(u/0.004)⁴ is some hundred, so that k is near 2.02 and not 2
	dof := 9 * math.Pow(u/0.004, 4)
	within(t, "5 bar", "dof", p["dof"], dof, 1e-9*dof)
	if k := p["k"].(float64); !(k > 2 && k < 2.1) {
		t.Errorf("k %v", k)
	}
	legend := map[string]any{}
	for _, l := range out["terms"].([]any) {
		line := l.(map[string]any)
		legend[line["term"].(string)] = line["from"]
	}
	for name, from := range map[string]string{"std": "standard.u", "res": "resolution", "zero": "readings", "hys": "readings", "temp": "temperature_coefficient_percent_per_k"} {
		if legend[name] != from {
			t.Errorf("%s is from %v", name, legend[name])
		}
	}
}

// TestRiskOfTheRule: with a guard band of U the risk of a value just accepted is Φ(−2) = 0.02275
// (ILAC-G8, restated), with simple acceptance one half.
func TestRiskOfTheRule(t *testing.T) {
	for rule, want := range map[string]float64{"guarded": 0.022750131948179195, "simple": 0.5} {
		out := call(
			t, "gauge",
			gaugeDoc(doc{"decision": doc{"rule": rule}, "standard": doc{"u": "0.01"}}, reading(1, "up", "5", "5.05")),
		)
		d := out["decision"].(map[string]any)
		within(t, rule, "risk at the limit", d["risk_at_limit"], want, 1e-15)
		// 5.05 lies 5 u inside ±0.1
		within(t, rule, "risk", pointAt(t, out, 0)["risk"], 2.866515718791939e-07, 1e-12)
	}
}

func TestGaugeSaysWhatIsOdd(t *testing.T) {
	out := call(
		t, "gauge",
		gaugeDoc(
			doc{"limit": doc{"rule": "en837", "class": "1", "stop_pin": true}},
			reading(1, "up", "0", "0.5"), reading(1, "up", "8", "8"), reading(1, "up", "5", "5"),
		),
	)
	for _, code := range []string{"out_of_order", "not_judged", "no_zero", "few_points"} {
		if !hasWarning(out, code) {
			t.Errorf("no warning %s: %v", code, out["warnings"])
		}
	}
	if p := pointAt(t, out, 0); p["verdict"] != nil || p["not_judged"] != "stop pin" || out["verdict"] != "pass" {
		t.Errorf("below the stop pin: %v, %v", p, out["verdict"])
	}
	for name, tt := range map[string]struct {
		more        doc
		code, field string
	}{
		"coverage and k": {doc{"coverage": "0.95", "decision": doc{"rule": "simple", "k": 2}}, "conflict", "coverage"},
		"absolute, root": {
			doc{
				"output": doc{"low": 4, "high": 20, "unit": "mA", "law": "square-root"},
				"limit":  doc{"rule": "terms", "absolute": "0.1"},
			},
			"conflict", "limit.absolute",
		},
		"pressure twice": {
			doc{"surroundings": doc{"pressure_pa": 101325, "pressure_hpa": 1013}}, "conflict",
			"surroundings.pressure_hpa",
		},
		"outside the range": {
			doc{"standard": doc{"ranges": []doc{{"low": 0, "high": 2, "absolute": "0.01"}}}}, "range",
			"standard.ranges",
		},
	} {
		e, _ := call(t, "gauge", gaugeDoc(tt.more, reading(1, "up", "5", "5")))["error"].(map[string]any)
		if e["code"] != tt.code || e["field"] != tt.field {
			t.Errorf("%s: %v", name, e)
		}
	}
}

// TestVerdictOfFloatsAndOfFractions: near the acceptance limit and away from it, the quick
// judgement equals that of calculation conformity, which is exact.
func TestVerdictOfFloatsAndOfFractions(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rule := rapid.SampledFrom([]string{"simple", "guarded", "guarded-four", "managed", "probability"}).Draw(rt, "rule")
		u := rapid.SampledFrom([]string{"0.01", "0.02", "0.04", "0.06", "0.0333333"}).Draw(rt, "u")
		indicated := "5." + rapid.StringMatching(`[0-2][0-9]{1,17}`).Draw(rt, "digits")
		if rapid.Bool().Draw(rt, "round") {
			indicated = "5." + rapid.SampledFrom(
				[]string{
					"1", "08", "06", "02", "12", "14", "18", "10000000000000001", "09999999999999999",
					"08000000000000001",
				},
			).Draw(rt, "edge")
		}
		x, _ := numeric.ParseExact(indicated)
		e, _ := x.Sub(numeric.ExactInt(5)).Text(30)
		a := call(
			t, "gauge",
			gaugeDoc(doc{"decision": doc{"rule": rule}, "standard": doc{"u": u}}, reading(1, "up", "5", indicated)),
		)
		b := call(t, "conformity", doc{"value": e, "u": u, "low": "-0.1", "high": "0.1", "rule": rule})
		if a["verdict"] != b["verdict"] {
			rt.Fatalf("%s with u %s, %s: %v, by itself %v", e, u, rule, a["verdict"], b["verdict"])
		}
	})
}

// TestNeededRatioIsOnlyLookedAt: the ratio that a standard must reach has no effect on the gauge. A
// ratio of zero is refused, since every standard would pass.
func TestNeededRatioIsOnlyLookedAt(t *testing.T) {
	with := call(
		t, "gauge",
		gaugeDoc(doc{"decision": doc{"rule": "simple", "needed_ratio": "4"}}, reading(1, "up", "5", "5.05")),
	)
	without := call(t, "gauge", gaugeDoc(nil, reading(1, "up", "5", "5.05")))
	if !reflect.DeepEqual(with, without) {
		t.Errorf("%v\n%v", with, without)
	}
	out := call(
		t, "gauge",
		gaugeDoc(doc{"decision": doc{"rule": "simple", "needed_ratio": "0"}}, reading(1, "up", "5", "5.05")),
	)
	if e, _ := out["error"].(map[string]any); e["code"] != "range" || e["field"] != "decision.needed_ratio" {
		t.Errorf("%v", out)
	}
}
