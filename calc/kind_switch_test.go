package calc_test

import (
	"fmt"
	"gaugewright/calc/calctest"
	"strings"
	"testing"
)

func switchSheet(cycles int, contacts ...object) object {
	list := make([]any, len(contacts))
	for i, c := range contacts {
		list[i] = c
	}
	return object{"method": object{"kind": "switch", "cycles": cycles}, "instrument": object{
		"low": "0", "high": "4", "unit": "bar", "mode": "gauge", "particulars": object{"contacts": list},
	},
		"captures": []any{answer("ready", "yes")}, "complete": true}
}

func at(step, value string) object {
	return object{"step": step, "of": "applied", "unit": "bar", "value": value}
}

func add(sheet object, captures ...object) {
	for _, c := range captures {
		sheet["captures"] = append(sheet["captures"].([]any), c)
	}
}

func contactsOf(t *testing.T, out object) []any {
	t.Helper()
	s, ok := out["switch"].(object)
	if !ok {
		t.Fatalf("no switch in %v", out)
	}
	return s["contacts"].([]any)
}

// TestSwitchKindAgainstChecks runs every case of switch.json as the sheet of a visit, to 1e-9
// absolute; index, bounces and verdict are exact.
func TestSwitchKindAgainstChecks(t *testing.T) {
	var file struct {
		Cases []struct {
			ID       string
			Inputs   map[string]any
			Trace    map[string]any
			Expected map[string]any
		}
	}
	calctest.Published(t, "switch", &file)
	if len(file.Cases) == 0 {
		t.Fatal("no cases")
	}
	for _, c := range file.Cases {
		k := object{"acts": c.Inputs["action"], "nominal": c.Inputs["nominal_set"], "tolerance": c.Inputs["tolerance"]}
		if b, ok := c.Inputs["dead_band_limits"].([]any); ok {
			k["dead_band"] = object{"low": b[0], "high": b[1]}
		}
		trace := object{"step": "k1.trace", "unit": c.Inputs["unit"]}
		for name, col := range c.Trace {
			trace[name] = col
		}
		trips := len(c.Expected["trip_corrected"].([]any))
		m := object{
			"kind": "switch", "cycles": max(trips, 1), "debounce_samples": c.Inputs["debounce_samples"],
			"bounce_window_s": c.Inputs["bounce_window_s"], "latency_s": c.Inputs["latency_s"],
			"rate": c.Inputs["ramp_rate_per_s"],
		}
		out := call(t, "evaluate", object{"method": m, "instrument": object{
			"low": "-5000", "high": "5000", "unit": c.Inputs["unit"], "mode": "gauge",
			"particulars": object{"contacts": []any{k}},
		},
			"captures": []any{answer("ready", "yes")}, "traces": []any{trace}, "complete": true})
		if e, bad := out["error"]; bad {
			t.Errorf("%s: %v", c.ID, e)
			continue
		}
		f := contactsOf(t, out)[0].(object)
		verdict, reason, _ := strings.Cut(c.Expected["verdict"].(string), ": ")
		if verdict == "invalid" {
			verdict = "undecided"
		}
		got, _ := f["reason"].(string)
		if f["verdict"] != verdict || got != reason || out["verdict"] != verdict {
			t.Errorf("%s: %v %q (%v), want %s %q", c.ID, f["verdict"], got, out["reason"], verdict, reason)
		}
		want, have := c.Expected["transitions"].([]any), f["transitions"].([]any)
		if len(want) != len(have) {
			t.Errorf("%s: %d transitions, want %d", c.ID, len(have), len(want))
			continue
		}
		for i := range want {
			w, g := want[i].(object), have[i].(object)
			for _, k := range []string{"index", "to", "bounces"} {
				within(t, c.ID, k, g[k], w[k].(float64), 0)
			}
			within(t, c.ID, "p_mid", g["p_mid"], w["p_mid"].(float64), 1e-9)
		}
		for from, to := range map[string]string{"trip": "set", "reset": "reset", "dead_band": "dead_band"} {
			g := f[to].(object)
			w, some := c.Expected[from].(map[string]any)
			if !some {
				within(t, c.ID, to+" n", g["n"], 0, 0)
				continue
			}
			for _, k := range []string{"n", "mean", "min", "max", "range", "sd"} {
				if w[k] != nil {
					within(t, c.ID, to+" "+k, g[k], w[k].(float64), 1e-9)
				}
			}
		}
		for _, k := range []string{"half_step", "u_sampling"} {
			within(t, c.ID, k, f[k], c.Expected[k].(float64), 1e-9)
		}
		if ok := c.Expected["rate_ok"]; ok == false && !hasWarning(out, "rate") {
			t.Errorf("%s: no warning of too fast a ramp", c.ID)
		}
	}
}

// TestSwitchTradeFacts: common practice, no source. Rising at 1.5 bar and back at 0.81 bar is a
// dead band of 0.69 bar; 0.6 below and a turn at 1.7 above are a sensible window; two cycles give
// minimum, maximum and average.
func TestSwitchTradeFacts(t *testing.T) {
	k := object{
		"name": "K1", "acts": "rising", "nominal": "1.5", "tolerance": "0.05",
		"dead_band": object{"low": "0.6", "high": "0.69"}, "safe": "open",
	}
	sheet := switchSheet(2, k)
	sheet["method"].(object)["approach"] = object{"low": "0.6", "high": "1.7"}
	plan := call(t, "expand", object{"method": sheet["method"], "instrument": sheet["instrument"]})
	var order []string
	for _, s := range plan["steps"].([]any) {
		s := s.(object)
		switch s["do"] {
		case "set", "ramp":
			order = append(order, fmt.Sprint(s["id"], " ", s["target"]))
		case "read":
			order = append(order, s["id"].(string))
		}
	}
	want := "k1.trace, c1.start 0.6, c1.k1.set.ramp 1.7, c1.k1.set, c1.k1.reset.ramp 0.6, c1.k1.reset, c2.k1.set.ramp 1.7, c2.k1.set, c2.k1.reset.ramp 0.6, c2.k1.reset"
	if got := strings.Join(order, ", "); got != want {
		t.Errorf("the plan is\n%s\nwant\n%s", got, want)
	}
	add(sheet, at("c1.k1.set", "1.50"), at("c1.k1.reset", "0.81"), at("c2.k1.set", "1.52"), at("c2.k1.reset", "0.85"))
	out := call(t, "evaluate", sheet)
	f := contactsOf(t, out)[0].(object)
	within(t, "hand", "dead band", f["cycles"].([]any)[0].(object)["dead_band"], 0.69, 1e-12)
	for name, w := range map[string]float64{"mean": 1.51, "min": 1.5, "max": 1.52} {
		within(t, "hand", name, f["set"].(object)[name], w, 1e-12)
	}
	within(t, "hand", "first", f["first_set"], 1.5, 0)
	if out["verdict"] != "pass" || f["safe"] != "open" {
		t.Errorf("%v %v", out["verdict"], out["reason"])
	}
}

// TestSwitchStages: two stages in one visit, in the order in which a ramp meets them; the second
// fails by its first actuation only.
func TestSwitchStages(t *testing.T) {
	low := object{"name": "alarm", "acts": "rising", "nominal": "1.5", "tolerance": "0.05"}
	high := object{"name": "trip", "acts": "rising", "nominal": "2.0", "tolerance": "0.05", "safety_function": true}
	sheet := switchSheet(3, high, low)
	plan := call(t, "expand", object{"method": sheet["method"], "instrument": sheet["instrument"], "label": "as found"})
	var reads []string
	for _, s := range plan["steps"].([]any) {
		if s := s.(object); s["do"] == "read" && s["optional"] == nil && strings.HasPrefix(s["id"].(string), "c1") {
			reads = append(reads, s["id"].(string))
		}
	}
	if got := strings.Join(reads, " "); got != "c1.k2.set c1.k1.set c1.k1.reset c1.k2.reset" {
		t.Errorf("read in the order %s", got)
	}
	if plan["as_found_once"] != true {
		t.Error("the as-found of a safety function may be done twice")
	}
	again := call(t, "expand", object{"method": sheet["method"], "instrument": sheet["instrument"], "label": "repeat"})
	if e, _ := again["error"].(object); e["code"] != "conflict" || e["field"] != "label" {
		t.Errorf("a second as-found of a safety function: %v", again)
	}
	if left := call(t, "expand", object{"method": sheet["method"], "instrument": sheet["instrument"], "label": "as left"}); left["error"] != nil {
		t.Errorf("as left: %v", left["error"])
	}
	for i, p := range []string{"2.09", "2.01", "2.01"} {
		c := fmt.Sprintf("c%d.", i+1)
		add(sheet, at(c+"k1.set", p), at(c+"k1.reset", "1.80"), at(c+"k2.set", "1.50"), at(c+"k2.reset", "1.40"))
	}
	out := call(t, "evaluate", sheet)
	if out["verdict"] != "fail" || out["reason"] != "trip: set point, first actuation only" || out["locked"] != true ||
		!hasWarning(out, "first") {
		t.Errorf("%v %v, locked %v, %v", out["verdict"], out["reason"], out["locked"], out["warnings"])
	}
	within(t, "trip", "apart", contactsOf(t, out)[0].(object)["first_apart"], 0.08, 1e-12)
}

// TestSwitchLatency: at 0.1 bar/s a contact reported 0.2 s late reads 0.02 bar too high when
// rising, and too low when falling.
func TestSwitchLatency(t *testing.T) {
	sheet := switchSheet(1, object{"acts": "rising", "nominal": "2.0", "tolerance": "0.01"})
	sheet["method"].(object)["rate"], sheet["method"].(object)["latency_s"] = "0.1", 0.2
	add(sheet, at("c1.k1.set", "2.02"), at("c1.k1.reset", "1.78"))
	out := call(t, "evaluate", sheet)
	c := contactsOf(t, out)[0].(object)["cycles"].([]any)[0].(object)
	within(t, "late", "set", c["set"], 2.0, 1e-12)
	within(t, "late", "reset", c["reset"], 1.8, 1e-12)
	if out["verdict"] != "pass" || !hasWarning(out, "rate") {
		t.Errorf("%v %v %v", out["verdict"], out["reason"], out["warnings"])
	}
}

func TestSwitchKindRefuses(t *testing.T) {
	k := func() object { return object{"acts": "rising", "nominal": "1.5", "tolerance": "0.05"} }
	for _, c := range []struct {
		name, code, field string
		change            func(s object)
	}{
		{
			"no contacts", "missing", "instrument.particulars.contacts",
			func(s object) { delete(s["instrument"].(object), "particulars") },
		},
		{
			"window beside the point", "range", "method.approach.low",
			func(s object) { s["method"].(object)["approach"] = object{"low": "1.6", "high": "1.7"} },
		},
		{
			"window beyond the range", "range", "method.approach.high",
			func(s object) { s["method"].(object)["approach"] = object{"low": "0.6", "high": "5"} },
		},
		{"record without contact", "missing", "traces", func(s object) {
			s["traces"] = []any{object{"step": "k1.trace", "unit": "bar", "t_s": []float64{0, 1}, "p": []float64{1, 2}}}
		}},
		{
			"typed twice", "conflict", "captures[2].step",
			func(s object) { add(s, at("c1.k1.set", "1.5"), at("c1.k1.set", "1.5")) },
		},
	} {
		s := switchSheet(1, k())
		c.change(s)
		e, _ := call(t, "evaluate", s)["error"].(object)
		if e["code"] != c.code || e["field"] != c.field {
			t.Errorf("%s: got %v, want %s at %s", c.name, e, c.code, c.field)
		}
	}
	s := switchSheet(1, k())
	s["traces"] = []any{
		object{"step": "k1.trace", "unit": "bar", "t_s": []float64{0, 1, 2}, "p": []float64{1, 2, 1}, "contact": "000"},
	}
	if out := call(t, "evaluate", s); out["verdict"] != "fail" ||
		!strings.Contains(out["reason"].(string), "no actuation") {
		t.Errorf("a contact that never changes: %v %v", out["verdict"], out["reason"])
	}
}
