package calc_test

import (
	"encoding/json"
	"gaugewright/calc/calctest"
	"maps"
	"slices"
	"strings"
	"testing"
)

// TestPlanAgainstChecks runs the programme_validator cases of small.json, designed for this project
// and translated into the text form here.
func TestPlanAgainstChecks(t *testing.T) {
	cases := map[string]struct {
		wording, programme string
		expected           string
		findings           []string // level code
		extra              map[string]any
		duration           float64 // 0: not stated
	}{
		"V01": {
			"set 500 rate 10; dwell 60; read a; vent",
			"set 500 at 10/s\nhold 60 s\nread a from gauge\nvent", "ok, 135 s", nil, nil, 135,
		},
		"V02": {"set 800; vent", "set 800\nvent", "error above standard range", []string{"error outside_standard"}, nil, 0},
		"V04": {
			"set 500; read a", "set 500\nread a from gauge", "error not vented; warning no stability step",
			[]string{"error not_vented", "warning no_settling"}, nil, 0,
		},
		"V06": {
			"repeat 3 {set 300 rate 10; dwell 30; set 0 rate 10}; vent",
			"repeat 3 {\nset 300 at 10/s\nhold 30 s\nset 0 at 10/s\n}\nvent", "ok, 270 s", nil, nil, 270,
		},
		"V08": {
			"set 500; prompt disconnect hose; vent", "set 500\nask \"disconnect hose\" as yes\nvent",
			"error joint opened under pressure", []string{"error open_under_pressure"}, nil, 0,
		},
		"V10": {
			"branch fail -> abort without vent",
			"set 500\nhold 5 s\nread a from gauge\nif a > 510 { stop \"fail\" }\nvent",
			"error path without vent", []string{"error not_vented"}, nil, 0,
		},
		"V12": {"switch ramp 20 kPa/s, set 500, tol 5, dt 0.1", "ramp 550 at 20/s until contact\nvent", "warning rate > 1 %/s; warning half step 1 > tol/10",
			[]string{"warning rate_near_switch", "warning sampling"}, map[string]any{
				"switch": map[string]any{"nominal": "500", "tolerance": "5", "interval_s": "0.1"},
			}, 0},
	}
	type check struct {
		ID     string
		Inputs struct {
			Programme string
			Max       float64    `json:"uut_max_kPa"`
			Standard  [2]float64 `json:"standard_kPa"`
			Rate      float64    `json:"rate_max_kPa_per_s"`
		}
		Expected string
	}
	var all struct{ Checks []json.RawMessage } // the inputs of other kinds have other shapes
	calctest.Published(t, "small", &all)
	seen := 0
	for _, raw := range all.Checks {
		if !strings.Contains(string(raw), `"programme_validator"`) {
			continue
		}
		var check check
		if err := json.Unmarshal(raw, &check); err != nil {
			t.Fatal(err)
		}
		seen++
		c, known := cases[check.ID]
		if !known || c.wording != check.Inputs.Programme || c.expected != check.Expected {
			t.Errorf("%s: %q, expecting %v, has no translation here", check.ID, check.Inputs.Programme, check.Expected)
			continue
		}
		in := map[string]any{
			"programme": c.programme, "unit": "kPa", "mode": "gauge",
			"instrument": map[string]any{"low": 0, "high": check.Inputs.Max, "max_rate": check.Inputs.Rate},
			"standard": map[string]any{
				"low": check.Inputs.Standard[0], "high": check.Inputs.Standard[1],
				"max_rate": check.Inputs.Rate,
			},
		}
		maps.Copy(in, c.extra)
		out := call(t, "plan", in)
		var got []string
		for _, f := range out["findings"].([]any) {
			f := f.(map[string]any)
			got = append(got, f["level"].(string)+" "+f["code"].(string))
		}
		slices.Sort(got)
		if !slices.Equal(got, c.findings) {
			t.Errorf("%s: findings %q, want %q", check.ID, got, c.findings)
		}
		if c.duration > 0 && out["duration_s"] != c.duration {
			t.Errorf("%s: %v s, want %v", check.ID, out["duration_s"], c.duration)
		}
		if strings.HasPrefix(c.expected, "ok") != (len(got) == 0) {
			t.Errorf("%s: %q, want %s", check.ID, got, c.expected)
		}
	}
	if seen != len(cases) {
		t.Errorf("%d cases, want %d", seen, len(cases))
	}
}

// TestPlanForms checks that steps fed back as written mean the same, and that a text which is no
// programme gives a finding with its line and no steps.
func TestPlanForms(t *testing.T) {
	in := map[string]any{"programme": "unit bar gauge\n# up\nset 5 at 0.5/s\n\nrepeat until a > 2, at most 3 { hold 5 s; read a from gauge 3 times }\nvent"}
	out := call(t, "plan", in)
	again := call(t, "plan", map[string]any{"programme": out["steps"]})
	text := call(t, "plan", map[string]any{"programme": out["text"]})
	if out["text"] != again["text"] || out["text"] == "" {
		t.Errorf("%v became %v", out["text"], again["text"])
	}
	a, _ := json.Marshal(again)
	b, _ := json.Marshal(text)
	if string(a) != string(b) {
		t.Errorf("from steps %s\nfrom text %s", a, b)
	}
	out = call(t, "plan", map[string]any{"unit": "bar", "programme": "vent\nset five\nvent"})
	f := out["findings"].([]any)
	if len(f) != 1 || f[0].(map[string]any)["code"] != "syntax" || f[0].(map[string]any)["line"] != 2.0 ||
		len(out["steps"].([]any)) != 0 || out["duration_s"] != nil {
		t.Error(out)
	}
}
