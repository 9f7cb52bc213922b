package calc_test

import (
	"gaugewright/calc/calctest"
	"math"
	"strings"
	"testing"
)

func within(t *testing.T, id, what string, got any, want, tolerance float64) {
	t.Helper()
	g, ok := got.(float64)
	if !ok || !(math.Abs(g-want) <= tolerance) {
		t.Errorf("%s %s: got %v, want %v ± %g", id, what, got, want, tolerance)
	}
}

// TestSwitchAgainstChecks runs switch.json, plain arithmetic on the recorded values, to 1e-9
// absolute; index, bounces and verdict are exact.
func TestSwitchAgainstChecks(t *testing.T) {
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
		in := map[string]any{"unit": c.Inputs["unit"], "acts": c.Inputs["action"], "nominal": c.Inputs["nominal_set"], "tolerance": c.Inputs["tolerance"],
			"trace": c.Trace, "debounce_samples": c.Inputs["debounce_samples"], "bounce_window_s": c.Inputs["bounce_window_s"]}
		for from, to := range map[string]string{"ramp_rate_per_s": "ramp_rate_per_s", "latency_s": "latency_s", "rate_limit_fraction_of_set_per_s": "rate_limit_fraction_per_s"} {
			if v := c.Inputs[from]; v != nil {
				in[to] = v
			}
		}
		if b, ok := c.Inputs["dead_band_limits"].([]any); ok {
			in["dead_band"] = map[string]any{"low": b[0], "high": b[1]}
		}
		out := call(t, "switch", in)
		if e, bad := out["error"]; bad {
			t.Errorf("%s: %v", c.ID, e)
			continue
		}
		verdict, reason, _ := strings.Cut(c.Expected["verdict"].(string), ": ")
		if verdict == "invalid" {
			verdict = "undecided"
		}
		if got, _ := out["reason"].(string); out["verdict"] != verdict || got != reason {
			t.Errorf("%s: verdict %v %q, want %s %q", c.ID, out["verdict"], got, verdict, reason)
		}
		want, got := c.Expected["transitions"].([]any), out["transitions"].([]any)
		if len(want) != len(got) {
			t.Errorf("%s: %d transitions, want %d", c.ID, len(got), len(want))
			continue
		}
		for i := range want {
			w, g := want[i].(map[string]any), got[i].(map[string]any)
			for _, k := range []string{"index", "to", "bounces"} {
				within(t, c.ID, k, g[k], w[k].(float64), 0)
			}
			for _, k := range []string{"t_s", "p_mid", "half_width"} {
				within(t, c.ID, k, g[k], w[k].(float64), 1e-9)
			}
		}
		for from, to := range map[string]string{"trip": "set", "reset": "reset", "dead_band": "dead_band"} {
			g := out[to].(map[string]any)
			w, some := c.Expected[from].(map[string]any)
			if !some {
				within(t, c.ID, to+" n", g["n"], 0, 0)
				continue
			}
			for _, k := range []string{"n", "mean", "min", "max", "range", "sd"} {
				if w[k] != nil {
					within(t, c.ID, to+" "+k, g[k], w[k].(float64), 1e-9)
				} else if g[k] != nil {
					t.Errorf("%s: %s %s is %v, want none", c.ID, to, k, g[k])
				}
			}
		}
		for _, k := range []string{"half_step", "u_sampling"} {
			within(t, c.ID, k, out[k], c.Expected[k].(float64), 1e-9)
		}
		if want := c.Expected["rate_ok"]; want != nil && out["rate_ok"] != want {
			t.Errorf("%s: rate_ok %v, want %v", c.ID, out["rate_ok"], want)
		}
	}
}

func TestSwitchTypedByHand(t *testing.T) {
	// Common practice, no source: rising at 1.5 bar and falling back at 0.81 bar is a dead band of
	// 0.69 bar; two cycles give maximum, minimum, average.
	out := call(t, "switch", map[string]any{"unit": "bar", "acts": "rising", "nominal": 1.5, "tolerance": 0.1, "dead_band": map[string]any{"low": "0.6", "high": "0.69"},
		"cycles": []map[string]any{{"set": "1.50", "reset": "0.81"}, {"set": "1.52", "reset": "0.83"}}})
	within(t, "hand", "dead band", out["dead_band"].(map[string]any)["mean"], 0.69, 1e-12)
	within(t, "hand", "average", out["set"].(map[string]any)["mean"], 1.51, 1e-12)
	within(t, "hand", "maximum", out["set"].(map[string]any)["max"], 1.52, 0)
	within(t, "hand", "first", out["first_set"], 1.50, 0)
	if out["verdict"] != "pass" {
		t.Errorf("verdict %v %v", out["verdict"], out["reason"])
	}
}

func TestSwitchRefuses(t *testing.T) {
	base := func() map[string]any {
		return map[string]any{"unit": "bar", "acts": "rising", "nominal": 1.5, "tolerance": 0.1, "debounce_samples": 1, "bounce_window_s": 0.1,
			"trace": map[string]any{"t_s": []float64{0, 1, 2}, "p": []float64{0, 1, 2}, "contact": "001"}}
	}
	tests := []struct {
		name, code, field string
		change            func(m map[string]any)
	}{
		{
			"time runs back", "range", "trace.t_s[2]",
			func(m map[string]any) { m["trace"].(map[string]any)["t_s"] = []float64{0, 1, 0.5} },
		},
		{
			"stamp twice", "range", "trace.t_s[1]",
			func(m map[string]any) { m["trace"].(map[string]any)["t_s"] = []float64{0, 0, 1} },
		},
		{"lengths differ", "shape", "trace", func(m map[string]any) { m["trace"].(map[string]any)["contact"] = "01" }},
		{
			"contact word", "shape", "trace.contact",
			func(m map[string]any) { m["trace"].(map[string]any)["contact"] = "0x1" },
		},
		{"reset above set", "conflict", "cycles[0].reset", func(m map[string]any) {
			delete(m, "trace")
			delete(m, "debounce_samples")
			delete(m, "bounce_window_s")
			m["cycles"] = []map[string]any{{"set": 1, "reset": 2}}
		}},
	}
	for _, tt := range tests {
		m := base()
		tt.change(m)
		e, _ := call(t, "switch", m)["error"].(map[string]any)
		if e["code"] != tt.code || e["field"] != tt.field {
			t.Errorf("%s: got %v, want %s at %s", tt.name, e, tt.code, tt.field)
		}
	}
}
