package calc_test

import "testing"

// TestIntervalAgainstChecks runs the cases interval of metrology.json: exponential reliability,
// Clopper-Pearson (scipy), staircase of ILAC-G24.
func TestIntervalAgainstChecks(t *testing.T) {
	done := map[string]int{}
	for _, c := range metrology(t) {
		if c.Calculation != "interval" {
			continue
		}
		method := c.Inputs["method"].(string)
		done[method]++
		switch method {
		case "reliability, exponential":
			in := rename(
				t, c,
				map[string]string{
					"method": "", "observed_reliability": "observed", "current_interval_months": "months",
					"target_reliability": "target",
				},
				c.Inputs,
			)
			c.near(t, call(t, "interval", in)["months"], c.Expected["new_interval_months"].(float64))
		case "Clopper-Pearson two-sided", "Clopper-Pearson one-sided lower":
			out := call(
				t, "interval",
				map[string]any{
					"months": 12, "target": 0.9, "passed": c.Inputs["in_tolerance_count"],
					"of": c.Inputs["calibration_count"],
				},
			)
			if high, two := c.Expected["upper_limit"].(float64); two {
				c.near(t, out["observed_low"], c.Expected["lower_limit"].(float64))
				c.near(t, out["observed_high"], high)
			} else {
				c.near(t, out["observed_low_one_sided"], c.Expected["lower_limit"].(float64))
			}
		case "staircase":
			out := call(
				t, "interval",
				map[string]any{
					"found_fraction": c.Inputs["found_error_over_maximum_permissible_error"],
					"extend_below":   c.Inputs["extend_below"],
				},
			)
			if out["action"] != c.Expected["interval_action"] {
				t.Errorf("%s: %v, want %v", c.ID, out, c.Expected["interval_action"])
			}
		default:
			t.Fatalf("%s: unknown method %q", c.ID, method)
		}
	}
	if len(done) != 4 {
		t.Errorf("methods checked: %v, want 4", done)
	}
}

func TestIntervalRefuses(t *testing.T) {
	for name, tt := range map[string]struct {
		in          map[string]any
		code, field string
	}{
		"no failure as a share": {map[string]any{"months": 12, "target": 0.9, "observed": 1}, "range", "observed"},
		"nothing passed":        {map[string]any{"months": 12, "target": 0.9, "passed": 0, "of": 3}, "undecidable", "passed"},
		"both": {
			map[string]any{"months": 12, "target": 0.9, "observed": 0.9, "passed": 1, "of": 3}, "conflict",
			"observed",
		},
		"more passed than seen": {map[string]any{"months": 12, "target": 0.9, "passed": 4, "of": 3}, "range", "passed"},
	} {
		e, _ := call(t, "interval", tt.in)["error"].(map[string]any)
		if e["code"] != tt.code || e["field"] != tt.field {
			t.Errorf("%s: got %v", name, e)
		}
	}
	if out := call(t, "interval", map[string]any{"months": 12, "target": 0.9, "passed": 10, "of": 10}); !hasWarning(out, "no_failure") || !hasWarning(out, "few") {
		t.Errorf("ten of ten: %v", out)
	}
}

// TestIntervalByTheLastResultAlone: one result can show that an interval is too long, never that it
// may be longer.
func TestIntervalByTheLastResultAlone(t *testing.T) {
	for found, want := range map[string]doc{
		"1.01": {"action": "reduce", "reason": "outside", "months": 8.0},
		"1":    {"action": "keep", "reason": "little", "months": 12.0},
		"0.1":  {"action": "keep", "reason": "little", "months": 12.0},
	} {
		out := call(t, "interval", map[string]any{"found_fraction": found, "months": 12})
		for name, w := range want {
			if out[name] != w {
				t.Errorf("%s: %v, want %v", found, out, want)
			}
		}
	}
}
