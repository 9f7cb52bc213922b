package calc_test

import (
	"fmt"
	"gaugewright/calc/calctest"
	"strings"
	"testing"
)

func burstSheet(discs int, particulars object) object {
	return object{"method": object{
		"kind": "burst", "discs": discs, "rate": "0.02",
	}, "captures": []any{answer("ready", "yes")}, "complete": true,
		"instrument": object{"low": "0", "high": "4", "unit": "bar", "mode": "gauge", "particulars": particulars}}
}

func disc(sheet object, n int, peak, burst string) {
	id := fmt.Sprintf("d%d", n)
	add(
		sheet, answer(id+".disc", "N-"+id), answer(id+".shield", "yes"), answer(id+".temp", "21.5"),
		at(id, peak), answer(id+".burst", burst),
	)
}

func discsOf(t *testing.T, out object) []any {
	t.Helper()
	b, ok := out["burst"].(object)
	if !ok {
		t.Fatalf("no burst in %v", out)
	}
	return b["discs"].([]any)
}

// TestBurstKindAgainstChecks runs every trace of burst.json as the sheet of a visit, with results
// exact on the recorded samples, and its lots as typed values.
func TestBurstKindAgainstChecks(t *testing.T) {
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
	verdicts := map[string][2]string{"within tolerance": {"pass", ""}, "outside tolerance": {"fail", "outside tolerance"}, "no burst": {"undecided", "no burst"},
		"at least (sensor at full scale)": {"undecided", "at least: sensor at full scale"}}
	for _, c := range file.Cases {
		in := c.Inputs
		m := object{"kind": "burst", "rate": in["ramp_rate_per_s"], "interval_s": in["dt_s"], "drop_fraction": in["drop_fraction"], "window_s": in["window_s"], "hold_samples": in["hold_samples"],
			"spike_threshold": in["spike_threshold"], "arm": in["arm_pressure"], "sensor_lag_s": in["sensor_lag_s"]}
		trace := object{"step": "d1", "unit": in["unit"]}
		for name, col := range c.Trace {
			trace[name] = col
		}
		out := call(t, "evaluate", object{"method": m, "instrument": object{"low": 0, "high": in["sensor_full_scale"], "unit": in["unit"], "mode": "gauge",
			"particulars": object{"marked": in["marked_burst"], "coincident_temperature_c": in["coincident_T_C"]}},
			"captures": []any{
				answer("ready", "yes"), answer("d1.disc", "X"), answer("d1.shield", "yes"),
				answer("d1.temp", "22"),
			}, "traces": []any{trace}, "complete": true})
		if e, bad := out["error"]; bad {
			t.Errorf("%s: %v", c.ID, e)
			continue
		}
		d := discsOf(t, out)[0].(object)
		want := func(k string) float64 { return c.Expected[k].(float64) }
		if d["burst"] != c.Expected["burst"] {
			t.Errorf("%s: burst %v", c.ID, d["burst"])
			continue
		}
		within(t, c.ID, "tolerance", out["burst"].(object)["tolerance"], want("tolerance_abs"), 1e-12)
		if c.Expected["burst"] == true {
			for ours, theirs := range map[string]string{"peak": "p_burst", "peak_index": "i_peak", "drop_index": "i_drop", "peak_t_s": "t_peak_s"} {
				within(t, c.ID, ours, d[ours], want(theirs), 0)
			}
			for ours, theirs := range map[string]string{"sampling_step": "sampling_step", "u_sampling": "u_sampling", "lag_error": "lag_error"} {
				within(t, c.ID, ours, d[ours], want(theirs), 1e-12)
			}
			within(t, c.ID, "deviation", d["deviation"], want("deviation"), 1e-9)
			within(t, c.ID, "deviation %", d["deviation_percent"], want("deviation_pct"), 1e-9)
			if d["saturated"] != c.Expected["saturated"] {
				t.Errorf("%s: saturated %v", c.ID, d["saturated"])
			}
		} else {
			within(t, c.ID, "maximum", d["peak"], want("p_max"), 0)
		}
		v, ok := verdicts[c.Expected["verdict"].(string)]
		if !ok {
			t.Fatalf("%s: unknown verdict %v", c.ID, c.Expected["verdict"])
		}
		if reason, _ := d["reason"].(string); d["verdict"] != v[0] || reason != v[1] || out["verdict"] != v[0] {
			t.Errorf("%s: %v %q (%v), want %v", c.ID, d["verdict"], reason, out["verdict"], v)
		}
	}
	for _, c := range file.Lots {
		values := c.Inputs["values"].([]any)
		parts := object{"marked": c.Inputs["marked_burst"], "lot": c.ID}
		if r, ok := c.Inputs["manufacturing_range_pct"].([]any); ok {
			parts["requested"], parts["range_percent"] = c.Inputs["requested_burst"], object{"low": r[0], "high": r[1]}
		}
		captures := []any{answer("ready", "yes")}
		for i, v := range values {
			id := fmt.Sprintf("d%d", i+1)
			captures = append(
				captures, answer(id+".disc", id), answer(id+".shield", "yes"), answer(id+".burst", "yes"),
				object{"step": id, "of": "applied", "unit": c.Inputs["unit"], "value": v},
			)
		}
		out := call(t, "evaluate", object{"method": object{
			"kind": "burst", "discs": len(values), "rate": 1, "temperature": "none",
		},
			"instrument": object{
				"low": 0, "high": 5000, "unit": c.Inputs["unit"], "mode": "gauge", "particulars": parts,
			}, "captures": captures, "complete": true})
		if e, bad := out["error"]; bad {
			t.Errorf("%s: %v", c.ID, e)
			continue
		}
		b := out["burst"].(object)
		s := b["statement"].(object)
		for ours, theirs := range map[string]string{"n": "n", "mean": "mean", "sd": "sd", "min": "min", "max": "max", "range": "range", "cv_percent": "cv_pct", "tolerance": "tolerance_abs",
			"lower_95_95": "lower_one_sided_95conf_95cov", "lower_95_99": "lower_one_sided_95conf_99cov"} {
			relative(t, c.ID, ours, s[ours], c.Expected[theirs].(float64), 1e-6)
		}
		for ours, theirs := range map[string]string{"interval_95_95": "TI_two_sided_95conf_95cov", "interval_95_99": "TI_two_sided_95conf_99cov", "manufacturing_range": "manufacturing_range_abs"} {
			if w, ok := c.Expected[theirs].([]any); ok {
				relative(t, c.ID, ours, s[ours].(object)["low"], w[0].(float64), 1e-6)
				relative(t, c.ID, ours, s[ours].(object)["high"], w[1].(float64), 1e-6)
			}
		}
		if in := c.Expected["mean_in_manufacturing_range"]; in != nil && s["mean_in_range"] != in {
			t.Errorf("%s: mean_in_range %v", c.ID, s["mean_in_range"])
		}
		if c.Expected["all_within_tolerance"].(bool) != (out["verdict"] == "pass") {
			t.Errorf("%s: %v %v", c.ID, out["verdict"], out["reason"])
		}
		if c.ID == "LOT1" && !strings.Contains(b["sentence"].(string), "too few") {
			t.Errorf("two discs: %s", b["sentence"])
		}
	}
}

// TestBurstTradeFact: common practice, no source: the end limit lies above the expected burst, 1.2
// bar for a disc near 1 bar.
func TestBurstTradeFact(t *testing.T) {
	sheet := burstSheet(1, object{"marked": "1", "volume_m3": "0.0005"})
	plan := call(t, "expand", object{"method": sheet["method"], "instrument": sheet["instrument"]})
	var ids []string
	for _, s := range plan["steps"].([]any) {
		s := s.(object)
		ids = append(ids, s["id"].(string))
		if s["id"] == "d1.ramp" && (s["target"] != "1.2" || s["until"] != "drop") {
			t.Errorf("the ramp: %v", s)
		}
	}
	if got := strings.Join(ids, " "); got != "energy cautions ready d1.disc d1.shield d1.temp d1.ramp d1 d1.burst d1.vent" {
		t.Errorf("the steps are %s", got)
	}
	sheet["method"].(object)["end_limit"] = "1.1"
	if e, _ := call(t, "expand", object{"method": sheet["method"], "instrument": sheet["instrument"]})["error"].(object); e["field"] != "method.end_limit" {
		t.Errorf("an end limit below the highest burst in tolerance: %v", e)
	}
}

// TestBurstTyped: peaks typed by hand. One disc shows nothing about a lot, a disc that did not
// burst gives no value, and a peak at full scale is "at least".
func TestBurstTyped(t *testing.T) {
	sheet := burstSheet(3, object{"marked": "1", "volume_m3": "0.0005"})
	disc(sheet, 1, "1.02", "yes")
	disc(sheet, 2, "1.20", "no")
	disc(sheet, 3, "4.0", "yes")
	out := call(t, "evaluate", sheet)
	list := discsOf(t, out)
	for i, want := range [][2]string{{"pass", ""}, {"undecided", "no burst up to the end limit"}, {"undecided", "at least: sensor at full scale"}} {
		d := list[i].(object)
		if reason, _ := d["reason"].(string); d["verdict"] != want[0] || reason != want[1] {
			t.Errorf("disc %d: %v %q", i+1, d["verdict"], reason)
		}
	}
	b := out["burst"].(object)
	if out["verdict"] != "undecided" || b["statement"] != nil ||
		!strings.HasPrefix(b["sentence"].(string), "One disc says nothing") {
		t.Errorf("%v %v: %v", out["verdict"], out["reason"], b["sentence"])
	}
	// 2 psi up to 40 psi, in bar: 0.1379.
	relative(t, "1 bar", "tolerance", b["tolerance"], 0.13789514586336, 1e-12)
	within(t, "disc 1", "temperature", list[0].(object)["temperature_c"], 21.5, 0)
	if list[0].(object)["identity"] != "N-d1" || len(out["energy"].([]any)) != 2 {
		t.Errorf("%v", out)
	}
}
