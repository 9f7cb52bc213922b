package calc_test

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc"
)

// readyMethod returns the document of one ready method.
func readyMethod(t *testing.T, name string) doc {
	t.Helper()
	list, ok := call(t, "methods", doc{"name": name})["methods"].([]any)
	if !ok || len(list) != 1 {
		t.Fatalf("%s: %v", name, list)
	}
	return list[0].(doc)["definition"].(doc)
}

// TestReadyMethods checks points, preloads and series against the tables in DKD-R 6-1 (restated)
// and EURAMET cg-17 (clause 5.2.1, else from memory).
func TestReadyMethods(t *testing.T) {
	all := call(t, "methods", doc{"list": true})["methods"].([]any)
	if len(all) != 6 {
		t.Fatalf("%d methods", len(all))
	}
	for _, m := range all {
		if one := m.(doc); len(one["notes"].([]any)) == 0 || one["title"] == "" {
			t.Errorf("%v does not state its source", one["name"])
		}
	}
	for name, want := range map[string]struct {
		exercise float64
		series   string // readings of each series in the order of the plan
		remounts int
	}{
		"dkd-r6-1-a":          {3, "u9 d9 u9 d9 u9 d9", 1},
		"dkd-r6-1-b":          {2, "u9 d9 u9", 0},
		"dkd-r6-1-c":          {1, "u5 d5", 0},
		"cg-17-basic":         {3, "u6 d6 u2 u2", 0},
		"cg-17-standard":      {3, "u11 d11 u4 u4", 0},
		"cg-17-comprehensive": {3, "u11 d11 u11 d11 u11 d11", 0},
	} {
		out := call(
			t, "expand",
			doc{
				"method":     readyMethod(t, name),
				"instrument": doc{"low": "0", "high": "16", "unit": "bar", "mode": "gauge"},
			},
		)
		steps, ok := out["steps"].([]any)
		if !ok {
			t.Fatalf("%s: %v", name, out)
		}
		var series []string
		var ids []string
		last, n, remounts := "", 0, 0
		flush := func() {
			if last != "" {
				series = append(series, last+strconv.Itoa(n))
			}
			n = 0
		}
		if first := steps[0].(doc); first["do"] != "exercise" || first["count"] != want.exercise ||
			first["seconds"] != 30.0 {
			t.Errorf("%s begins with %v", name, first)
		}
		cycle := 0.0
		for _, s := range steps {
			step := s.(doc)
			id := step["id"].(string)
			if slices.Contains(ids, id) {
				t.Errorf("%s: step %s occurs twice", name, id)
			}
			ids = append(ids, id)
			if step["do"] == "note" {
				remounts++
				if !strings.HasSuffix(id, ".remount") || step["text"] == "" {
					t.Errorf("%v", step)
				}
			}
			if step["do"] != "read" {
				continue
			}
			side := step["direction"].(string)[:1]
			if side != last || step["series"] != cycle {
				flush()
				last, cycle = side, step["series"].(float64)
			}
			n++
		}
		flush()
		if got := strings.Join(series, " "); got != want.series || remounts != want.remounts {
			t.Errorf("%s: series %s, %d times re-mounted", name, got, remounts)
		}
	}
}

// sheetOfMethod makes readings for every step of a method: the point plus the value of off.
func sheetOfMethod(t *testing.T, method doc, off func(step string) string) string {
	t.Helper()
	instrument := doc{
		"low": "0", "high": "8", "unit": "bar", "mode": "gauge", "resolution": "0.001",
		"limit": doc{"rule": "en837", "class": "0.6"},
	}
	var captures []doc
	for _, s := range call(t, "expand", doc{"method": method, "instrument": instrument})["steps"].([]any) {
		if step := s.(doc); step["do"] == "read" {
			captures = append(
				captures,
				doc{"step": step["id"], "of": "indicated", "value": off(step["id"].(string)), "unit": "bar"},
			)
		}
	}
	b, err := json.Marshal(
		doc{
			"method": method, "instrument": instrument, "standard": doc{"u": "0.001"},
			"captures": captures, "complete": true,
		},
	)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestSequenceAWithRemounting: worked by hand. Points 0 to 8 bar by one. The second cycle reads
// 0.002 more at 4 bar than the first, the re-mounted third 0.005 more, with a steady zero:
// repeatability 0.002, reproducibility 0.005, each over √12 in the budget.
func TestSequenceAWithRemounting(t *testing.T) {
	off := func(step string) string {
		point := step[len(step)-1:]
		switch {
		case step == "s2.up.4":
			return "4.002"
		case step == "s3.up.4":
			return "4.005"
		}
		return point + ".000"
	}
	out := evaluate(t, sheetOfMethod(t, readyMethod(t, "dkd-r6-1-a"), off))
	if out["verdict"] != "pass" || out["complete"] != true || len(out["readings"].([]any)) != 54 {
		t.Fatalf("%v", out["reason"])
	}
	p := pointAt(t, out, 4)
	within(t, "A", "repeatability", p["repeatability"], 0.002, 1e-12)
	within(t, "A", "reproducibility", p["reproducibility"], 0.005, 1e-12)
	names := map[string]bool{}
	for _, l := range p["budget"].([]any) {
		names[l.(doc)["term"].(string)] = true
	}
	if !names["rep"] || !names["repro"] || !names["res"] || !names["std"] {
		t.Errorf("%v", p["budget"])
	}
	basic := evaluate(t, sheetOfMethod(t, doc{
		"kind": "gauge", "points": doc{"count": 9},
		"series": []doc{
			{"direction": "up"}, {"direction": "down"}, {"direction": "up", "percents": []string{"0", "50"}},
		},
	},
		func(step string) string {
			if step == "s2.up.4" {
				return "4.003"
			}
			return step[len(step)-1:]
		}))
	within(t, "one point again", "repeatability", pointAt(t, basic, 4)["repeatability"], 0.003, 1e-12)
	if hasWarning(basic, "no_zero") || hasWarning(basic, "missing_point") {
		t.Errorf("nothing that the method asks for is missing: %v", basic["warnings"])
	}
}

func TestMethodsRefuse(t *testing.T) {
	instrument := `"instrument":{"low":"0","high":"8","unit":"bar"}`
	for request, want := range map[string]string{
		`methods {}`: "missing", `methods {"list":true,"name":"cg-17-basic"}`: "missing", `methods {"name":"own"}`: "range",
		`expand {"method":{"kind":"gauge","points":{"count":5},"cycles":2,"series":[{"direction":"up"}]},` + instrument + `}`:                                 "conflict",
		`expand {"method":{"kind":"gauge","points":{"count":5},"series":[]},` + instrument + `}`:                                                              "range",
		`expand {"method":{"kind":"gauge","points":{"count":5},"series":[{"direction":"up","remount":true}]},` + instrument + `}`:                             "conflict",
		`expand {"method":{"kind":"gauge","points":{"count":5},"series":[{"direction":"up","percents":["0","33"]}]},` + instrument + `}`:                      "range",
		`expand {"method":{"kind":"gauge","points":{"count":5},"series":[{"direction":"sideways"}]},` + instrument + `}`:                                      "range",
		`expand {"method":{"kind":"gauge","points":{"count":5},"series":[{"direction":"up"}],"rest_s":-1},` + instrument + `}`:                                "range",
		`expand {"method":{"kind":"gauge","points":{"count":5},"series":[{"direction":"up","exercise":1,"cycles":2}]},` + instrument + `}`:                    "unknown_field",
		`expand {"method":{"kind":"gauge","points":{"count":1000},"series":[{"direction":"up"},{"direction":"down"},{"direction":"up"}]},` + instrument + `}`: "range",
	} {
		calculation, body, _ := strings.Cut(request, " ")
		var reply struct{ Error struct{ Code string } }
		if err := json.Unmarshal(calc.Call(calculation, []byte(body)), &reply); err != nil {
			t.Fatal(err)
		}
		if reply.Error.Code != want {
			t.Errorf("%s: %q, want %q", request, reply.Error.Code, want)
		}
	}
}
