package calc_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gaugewright/calc/conformity"
	"gaugewright/calc/numeric"

	"pgregory.net/rapid"
)

// TestConformityAgainstChecks runs the cases of conformity and risk in metrology.json: JCGM 106,
// ILAC-G8 and the managed guard band.
func TestConformityAgainstChecks(t *testing.T) {
	done := 0
	for _, c := range metrology(t) {
		switch c.Calculation {
		case "conformity":
			checkConformity(t, c)
		case "risk":
			checkRisk(t, c)
		default:
			continue
		}
		done++
	}
	if done == 0 {
		t.Fatal("no case")
	}
}

func checkConformity(t *testing.T, c example) {
	t.Helper()
	in, want := c.Inputs, c.Expected
	switch {
	case in["one_sided_conformance_probability"] != nil:
		c.near(t, numeric.NormalQuantile(in["one_sided_conformance_probability"].(float64)), want["z"].(float64))
	case in["guard_band_over_expanded_uncertainty"] != nil:
		r := in["guard_band_over_expanded_uncertainty"].(float64)
		doc := map[string]any{
			"value": 0, "u": 1, "k": in["coverage_factor"], "high": 100, "rule": "guarded",
			"guard_factor": r,
		}
		if r == 0 {
			doc["rule"] = "simple"
			delete(doc, "guard_factor")
		}
		c.near(
			t, call(t, "conformity", doc)["risk_of_wrong_acceptance"],
			want["specific_false_accept_probability_at_acceptance_limit"].(float64),
		)
	case in["estimate"] != nil:
		doc := map[string]any{
			"value": in["estimate"], "u": in["standard_uncertainty"], "rule": "simple",
			"high": in["upper_tolerance_limit"],
		}
		if low := in["lower_tolerance_limit"]; low != nil {
			doc["low"] = low
		}
		c.near(t, call(t, "conformity", doc)["probability"], want["conformance_probability"].(float64))
	case in["decision_rule"] != nil:
		rules := map[string]string{
			"simple acceptance": "simple", "binary with guard band": "guarded",
			"non-binary with guard band": "guarded-four",
		}
		rule, known := rules[in["decision_rule"].(string)]
		if !known {
			t.Fatalf("%s: unknown rule %v", c.ID, in["decision_rule"])
		}
		limit := in["tolerance_limit"].(string)
		doc := map[string]any{"value": in["error"], "u": "0.015", "low": "-" + limit, "high": limit, "rule": rule}
		if in["expanded_uncertainty"] != "0.03" {
			t.Fatalf("%s: another expanded uncertainty", c.ID)
		}
		if rule != "simple" {
			// The verdict depends on the guard band alone: u is set so that k·u is exactly the band
			// of the case.
			w, _ := numeric.ParseExact(in["guard_band"].(string))
			u, _ := w.Div(numeric.ExactInt(2))
			text, exact := u.Text(20)
			if !exact {
				t.Fatalf("%s: %s is not a decimal", c.ID, text)
			}
			doc["u"] = text
		}
		out := call(t, "conformity", doc)
		if v, ok := want["verdict"].(string); ok {
			if v = strings.NewReplacer(" ", "-", "_", "-").Replace(v); v == "refused-empty-acceptance-zone" {
				v = "undecided"
			}
			if out["verdict"] != v {
				t.Errorf("%s: %v, want %s (%v)", c.ID, out["verdict"], v, out["error"])
			}
		}
		if a, ok := want["acceptance_limit"].(string); ok && fmt.Sprint(out["acceptance_high"]) != a {
			t.Errorf("%s: acceptance limit %v, want %s", c.ID, out["acceptance_high"], a)
		}
	default:
		t.Fatalf("%s: a kind of case the test does not know: %v", c.ID, in)
	}
}

func checkRisk(t *testing.T, c example) {
	t.Helper()
	ratio, has := c.Inputs["test_uncertainty_ratio"].(float64)
	switch {
	case !has && c.Inputs["guard_band_multiplier_m2"] != nil:
		r := c.Expected["test_uncertainty_ratio"].(float64)
		if conformity.ManagedGuard(float64(r*(1-1e-12))) <= 0 || conformity.ManagedGuard(float64(r*(1+1e-12))) != 0 {
			t.Errorf("%s: M2 does not reach zero at %v", c.ID, r)
		}
	case !has:
		c.near(
			t, c.Inputs["tolerance_limit"].(float64)/c.Inputs["expanded_uncertainty"].(float64),
			c.Expected["test_uncertainty_ratio"].(float64),
		)
	case c.Expected["worst_case_probability_of_false_accept"] != nil:
		worst := 0.0
		for share := 0.05; share < 0.999; share += 0.005 {
			worst = math.Max(worst, call(
				t, "risk", map[string]any{"ratio": ratio, "in_tolerance": share, "rule": "managed"},
			)["false_accept"].(float64))
		}
		c.near(t, worst, c.Expected["worst_case_probability_of_false_accept"].(float64))
	case c.Expected["probability_of_false_accept"] != nil:
		out := call(t, "risk", map[string]any{"ratio": ratio, "in_tolerance": c.Inputs["in_tolerance_probability"]})
		c.near(t, out["false_accept"], c.Expected["probability_of_false_accept"].(float64))
		c.near(t, out["false_reject"], c.Expected["probability_of_false_reject"].(float64))
	default:
		m := conformity.ManagedGuard(ratio)
		c.near(t, m, c.Expected["guard_band_multiplier_m2"].(float64))
		if a, ok := c.Expected["acceptance_limit_over_tolerance_limit"].(float64); ok {
			c.near(t, 1-m/ratio, a)
		}
	}
}

// TestVerdictIsMonotone: of two values on the same side, the one further from the middle never
// fares better, under any rule.
func TestVerdictIsMonotone(t *testing.T) {
	rank := map[string]int{"pass": 0, "conditional-pass": 1, "conditional-fail": 2, "fail": 3}
	rapid.Check(t, func(rt *rapid.T) {
		rule := rapid.SampledFrom([]string{"simple", "guarded", "guarded-four", "managed", "probability"}).Draw(rt, "rule")
		u := rapid.IntRange(1, 70).Draw(rt, "u")
		a, b := rapid.IntRange(0, 400).Draw(rt, "a"), rapid.IntRange(0, 400).Draw(rt, "b")
		if a > b {
			a, b = b, a
		}
		judge := func(x int) string {
			return call(
				t, "conformity",
				map[string]any{
					"value": fmt.Sprintf("0.%03d", x), "u": fmt.Sprintf("0.%03d", u), "low": "-0.16",
					"high": "0.16", "rule": rule,
				},
			)["verdict"].(string)
		}
		va, vb := judge(a), judge(b)
		if (va == "undecided") != (vb == "undecided") || rank[va] > rank[vb] {
			rt.Fatalf("%s at u 0.%03d: 0.%03d %s, 0.%03d %s", rule, u, a, va, b, vb)
		}
	})
}

func TestConformityRefuses(t *testing.T) {
	base := func() map[string]any {
		return map[string]any{"value": "0.1", "u": "0.01", "low": "-0.16", "high": "0.16", "rule": "guarded"}
	}
	for name, tt := range map[string]struct {
		code, field string
		change      func(m map[string]any)
	}{
		"uncertainty of zero":  {"range", "u", func(m map[string]any) { m["u"] = 0 }},
		"negative uncertainty": {"range", "u", func(m map[string]any) { m["u"] = -1 }},
		"no limit":             {"missing", "high", func(m map[string]any) { delete(m, "low"); delete(m, "high") }},
		"limits crossed":       {"range", "low", func(m map[string]any) { m["low"] = 1 }},
		"factor without guard": {
			"conflict", "guard_factor",
			func(m map[string]any) { m["rule"], m["guard_factor"] = "simple", 1 },
		},
		"unknown rule":  {"range", "rule", func(m map[string]any) { m["rule"] = "kind" }},
		"decimal comma": {"not_a_number", "value", func(m map[string]any) { m["value"] = "0,1" }},
	} {
		m := base()
		tt.change(m)
		e, _ := call(t, "conformity", m)["error"].(map[string]any)
		if e["code"] != tt.code || e["field"] != tt.field {
			t.Errorf("%s: got %v, want %s at %s", name, e, tt.code, tt.field)
		}
	}
	wide := base()
	wide["u"] = "0.09" // U = 0.18 > 0.16: no acceptance zone
	if out := call(t, "conformity", wide); out["verdict"] != "undecided" || out["reason"] == nil {
		t.Errorf("a guard band wider than the limit: %v", out)
	}
}

// TestConformityFarOutside, worked by hand: limits ±1, u 0.6, k 2: U 1.2 leaves no acceptance zone.
// A value up to 1 + 1.2 = 2.2 may still be within the limits and is undecided, at 2.2 exactly as
// well; 2.2000001 and 10 are outside for any zone. With one limit only a zone is never empty.
func TestConformityFarOutside(t *testing.T) {
	for _, rule := range []string{"guarded", "guarded-four", "managed"} {
		for value, want := range map[string]string{"10": "fail", "-10": "fail", "2.2000001": "fail", "-2.2000001": "fail", "2.2": "undecided", "0": "undecided"} {
			out := call(
				t, "conformity", map[string]any{"value": value, "u": "0.6", "low": "-1", "high": "1", "rule": rule},
			)
			if rule == "managed" { // its zone is not empty at this ratio: only far outside must fail
				if want == "fail" && out["verdict"] != "fail" {
					t.Errorf("%s: %s is %v", rule, value, out["verdict"])
				}
				continue
			}
			if _, has := out["reason"]; out["verdict"] != want || has != (want == "undecided") {
				t.Errorf("%s: %s is %v (%v), want %s", rule, value, out["verdict"], out["reason"], want)
			}
		}
	}
	// The same for a gauge: an error of 10 bar with a limit of 0.1 fails whatever the uncertainty.
	out := call(
		t, "gauge",
		gaugeDoc(doc{"decision": doc{"rule": "guarded"}, "standard": doc{"u": "0.06"}}, reading(1, "up", "5", "15")),
	)
	if out["verdict"] != "fail" {
		t.Errorf("a gauge 10 bar off: %v %v", out["verdict"], out["reason"])
	}
}

// TestConformityProbabilityOfFewDegrees: a value 1.8 u inside a limit is inside with Φ(1.8) =
// 0.9641 if u is exactly known, and with 0.9152 if it has three degrees of freedom, by the closed
// form of Student's t: 1/2 + (x/(1 + x²) + atan x)/π, x = t/√3.
func TestConformityProbabilityOfFewDegrees(t *testing.T) {
	in := map[string]any{"value": "8.2", "u": "1", "high": "10", "rule": "probability", "min_probability": "0.95"}
	out := call(t, "conformity", in)
	within(t, "normal", "probability", out["probability"], 0.9640696808870742, 1e-12)
	if out["verdict"] != "pass" {
		t.Errorf("well known: %v", out)
	}
	in["dof"] = 3
	out = call(t, "conformity", in)
	within(t, "t", "probability", out["probability"], 0.915160035549371, 1e-12)
	if out["verdict"] != "fail" {
		t.Errorf("three degrees of freedom: %v", out)
	}
	in["dof"] = "0.5"
	if e, _ := call(t, "conformity", in)["error"].(map[string]any); e["code"] != "range" || e["field"] != "dof" {
		t.Errorf("half a degree: %v", e)
	}
	// And for a gauge whose standard has three degrees of freedom: limit 0.1, error 0.082, u 0.01.
	g := doc{"decision": doc{"rule": "probability"}, "standard": doc{"u": "0.01", "dof": 3}}
	if out := call(t, "gauge", gaugeDoc(g, reading(1, "up", "5", "5.082"))); out["verdict"] != "fail" {
		t.Errorf("a gauge: %v", out["verdict"])
	}
}
