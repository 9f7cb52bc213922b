package calc_test

import (
	"testing"

	"gaugewright/calc/burst"
	"gaugewright/calc/calctest"
)

// TestBurstAgainstChecks runs burst.json: results are exact on the recorded samples, the deviation
// to 1e-9 absolute.
func TestBurstAgainstChecks(t *testing.T) {
	var file struct {
		Cases []struct {
			ID       string
			Inputs   map[string]any
			Trace    map[string]any
			Expected map[string]any
		}
		Lots []struct {
			ID       string
			Inputs   map[string]any
			Expected map[string]any
		}
	}
	calctest.Published(t, "burst", &file)
	if len(file.Cases) == 0 || len(file.Lots) == 0 {
		t.Fatal("no cases or no lots")
	}
	names := map[string]string{"unit": "unit", "marked_burst": "marked", "sensor_full_scale": "sensor_full_scale", "ramp_rate_per_s": "ramp_rate_per_s", "dt_s": "interval_s",
		"drop_fraction": "drop_fraction", "window_s": "window_s", "hold_samples": "hold_samples", "spike_threshold": "spike_threshold", "arm_pressure": "arm", "sensor_lag_s": "sensor_lag_s", "coincident_T_C": ""}
	verdicts := map[string][2]string{"within tolerance": {"pass", ""}, "outside tolerance": {"fail", "outside tolerance"}, "no burst": {"undecided", "no burst"},
		"at least (sensor at full scale)": {"undecided", "at least: sensor at full scale"}}
	for _, c := range file.Cases {
		in := rename(t, example{ID: c.ID}, names, c.Inputs)
		in["trace"] = c.Trace
		out := call(t, "burst", in)
		if e, bad := out["error"]; bad {
			t.Errorf("%s: %v", c.ID, e)
			continue
		}
		want := func(k string) float64 { return c.Expected[k].(float64) }
		if out["burst"] != c.Expected["burst"] {
			t.Errorf("%s: burst %v", c.ID, out["burst"])
			continue
		}
		within(t, c.ID, "tolerance", out["tolerance"], want("tolerance_abs"), 1e-12)
		if c.Expected["burst"] == true {
			within(t, c.ID, "peak", out["peak"], want("p_burst"), 0)
			within(t, c.ID, "peak index", out["peak_index"], want("i_peak"), 0)
			within(t, c.ID, "drop index", out["drop_index"], want("i_drop"), 0)
			within(t, c.ID, "peak time", out["peak_t_s"], want("t_peak_s"), 0)
			within(t, c.ID, "step", out["sampling_step"], want("sampling_step"), 1e-12)
			within(t, c.ID, "u", out["u_sampling"], want("u_sampling"), 1e-12)
			within(t, c.ID, "lag", out["lag_error"], want("lag_error"), 1e-12)
			within(t, c.ID, "deviation", out["deviation"], want("deviation"), 1e-9)
			within(t, c.ID, "deviation %", out["deviation_percent"], want("deviation_pct"), 1e-9)
			if out["saturated"] != c.Expected["saturated"] {
				t.Errorf("%s: saturated %v", c.ID, out["saturated"])
			}
		} else {
			within(t, c.ID, "maximum", out["peak"], want("p_max"), 0)
			within(t, c.ID, "time of maximum", out["peak_t_s"], want("t_max_s"), 0)
		}
		v, ok := verdicts[c.Expected["verdict"].(string)]
		if !ok {
			t.Fatalf("%s: unknown verdict %v", c.ID, c.Expected["verdict"])
		}
		if reason, _ := out["reason"].(string); out["verdict"] != v[0] || reason != v[1] {
			t.Errorf("%s: %v %q, want %v", c.ID, out["verdict"], reason, v)
		}
	}
	for _, c := range file.Lots {
		in := map[string]any{"unit": c.Inputs["unit"], "marked": c.Inputs["marked_burst"], "values": c.Inputs["values"]}
		if r, ok := c.Inputs["manufacturing_range_pct"].([]any); ok {
			in["requested"], in["range_percent"] = c.Inputs["requested_burst"], map[string]any{"low": r[0], "high": r[1]}
		}
		out := call(t, "lot", in)
		if e, bad := out["error"]; bad {
			t.Errorf("%s: %v", c.ID, e)
			continue
		}
		for ours, theirs := range map[string]string{"n": "n", "mean": "mean", "sd": "sd", "min": "min", "max": "max", "range": "range", "cv_percent": "cv_pct", "tolerance": "tolerance_abs",
			"lower_95_95": "lower_one_sided_95conf_95cov", "lower_95_99": "lower_one_sided_95conf_99cov"} {
			relative(t, c.ID, ours, out[ours], c.Expected[theirs].(float64), 1e-6)
		}
		for ours, theirs := range map[string]string{"interval_95_95": "TI_two_sided_95conf_95cov", "interval_95_99": "TI_two_sided_95conf_99cov", "manufacturing_range": "manufacturing_range_abs"} {
			if w, ok := c.Expected[theirs].([]any); ok {
				g := out[ours].(map[string]any)
				relative(t, c.ID, ours, g["low"], w[0].(float64), 1e-6)
				relative(t, c.ID, ours, g["high"], w[1].(float64), 1e-6)
			}
		}
		w := c.Expected["mean_ci95"].([]any)
		relative(t, c.ID, "mean_low", out["mean_low"], w[0].(float64), 1e-6)
		relative(t, c.ID, "mean_high", out["mean_high"], w[1].(float64), 1e-6)
		if inside := c.Expected["mean_in_manufacturing_range"]; inside != nil && out["mean_in_range"] != inside {
			t.Errorf("%s: mean_in_range %v", c.ID, out["mean_in_range"])
		}
		if all := c.Expected["all_within_tolerance"].(bool); all != (len(out["outside"].([]any)) == 0) {
			t.Errorf("%s: outside %v", c.ID, out["outside"])
		}
		if c.ID == "LOT1" && !hasWarning(out, "small_sample") {
			t.Errorf("%s: two discs, and no word that they say too little", c.ID)
		}
	}
}

// TestToleranceFactors runs tolerance_factors.json, the exact columns to 1e-6 relative, Howe's to
// 1e-9, and two published values of the NIST e-Handbook 7.2.6.3.
func TestToleranceFactors(t *testing.T) {
	type row struct {
		K1   float64 `json:"k1_one_sided_exact"`
		K2   float64 `json:"k2_two_sided_exact"`
		Howe float64 `json:"k2_howe"`
	}
	var file struct {
		Table []struct {
			N   int
			C95 row `json:"95conf_95cov"`
			C99 row `json:"95conf_99cov"`
		}
	}
	calctest.Published(t, "tolerance_factors", &file)
	if len(file.Table) == 0 {
		t.Fatal("no rows")
	}
	for _, r := range file.Table {
		for coverage, want := range map[float64]row{0.95: r.C95, 0.99: r.C99} {
			id := string(rune('0'+r.N/10)) + string(rune('0'+r.N%10))
			relative(t, id, "k1", burst.OneSided(r.N, 0.95, coverage), want.K1, 1e-6)
			relative(t, id, "k2", burst.TwoSided(r.N, 0.95, coverage), want.K2, 1e-6)
			relative(t, id, "Howe", burst.Howe(r.N, 0.95, coverage), want.Howe, 1e-9)
		}
	}
	relative(t, "NIST n 43", "Howe", burst.Howe(43, 0.99, 0.90), 2.2173159, 5e-8)
	relative(t, "computed n 43", "k1", burst.OneSided(43, 0.99, 0.90), 1.8739536, 5e-8)
	relative(t, "computed n 43", "k2", burst.TwoSided(43, 0.99, 0.90), 2.2228252, 5e-8)
}
