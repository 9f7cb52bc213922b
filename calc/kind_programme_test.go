package calc_test

import (
	"encoding/json"
	"strings"
	"testing"

	"gaugewright/calc"
)

const progText = "unit bar gauge\nset 5\nhold 60 s\nread p1 from gauge\nhold 60 s\nread p2 from gauge\nif p2 < p1 - 0.2 { vent; stop \"it leaks\" }\nread s from standard 3 times\nvent\n"

func progMethod(extra map[string]any) map[string]any {
	m := map[string]any{"kind": "programme", "text": progText}
	for k, v := range extra {
		m[k] = v
	}
	return m
}

var progInstrument = map[string]any{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}

func prog(step, of, value, unit, at string) map[string]any {
	return map[string]any{"step": step, "of": of, "value": value, "unit": unit, "at": "2026-11-25T10:00:" + at + "Z"}
}

// TestProgrammeIsExpanded checks that every step appears once, and that a programme with an error
// has no plan.
func TestProgrammeIsExpanded(t *testing.T) {
	out := call(t, "expand", map[string]any{"method": progMethod(nil), "instrument": progInstrument})
	var do []string
	for _, s := range out["steps"].([]any) {
		do = append(do, s.(map[string]any)["do"].(string))
	}
	if got := strings.Join(do, " "); got != "set hold read hold read note vent note read read read vent" {
		t.Error(got)
	}
	for _, c := range []struct {
		text, message string
		instrument    map[string]any
	}{
		{"unit bar gauge\nset 12\nvent", "line 2: 12 bar is above the range of the instrument", progInstrument},
		{
			"unit kPa gauge\nset 1000.1\nvent",
			"line 2: 1000.1 kPa is above the range of the instrument (0 to 1000 kPa)", progInstrument,
		},
		{"unit bar gauge\nset 5", "line 2: the programme can end here without", progInstrument},
		{"unit bar absolute\nvent", "absolute pressure", progInstrument},
		{
			"unit bar gauge\nset 5 at 2/s\nvent", "faster than the instrument takes",
			map[string]any{
				"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
				"particulars": map[string]any{"max_rate": "1"},
			},
		},
		{
			"unit bar gauge\nset 5\nvent", "hose, 4 bar",
			map[string]any{
				"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
				"particulars": map[string]any{"weakest": map[string]any{"pressure": "4", "part": "hose"}},
			},
		},
		{
			"unit kPa gauge\nset 500\nvent", "sight glass, 400 kPa",
			map[string]any{
				"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
				"particulars": map[string]any{"weakest": map[string]any{"high": "4", "part": "sight glass"}},
			},
		},
		{
			"unit kPa gauge\nset 450\nvent", "reaches the relief setting of 450 kPa",
			map[string]any{
				"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
				"particulars": map[string]any{"relief": "4.5"},
			},
		},
	} {
		out := call(
			t, "expand",
			map[string]any{"method": map[string]any{"kind": "programme", "text": c.text}, "instrument": c.instrument},
		)
		e, _ := out["error"].(map[string]any)
		if message, _ := e["message"].(string); !strings.Contains(message, c.message) {
			t.Errorf("%q: %v, want %q", c.text, out, c.message)
		}
	}
}

// TestProgrammeIsHeldAgainstTheStandard: the limits of the chosen standard count before a run is
// laid out, in any unit of its range.
func TestProgrammeIsHeldAgainstTheStandard(t *testing.T) {
	for _, c := range []struct{ text, standard, message string }{
		{
			"unit bar gauge\nset 7 at 0.2/s\nvent",
			`{"low":"0","high":"700","unit":"kPa","mode":"gauge","max_rate":"20","of_span_percent":"0.02","points":[]}`,
			"",
		},
		{
			"unit bar gauge\nset 7.01\nvent", `{"low":"0","high":"700","unit":"kPa","mode":"gauge"}`,
			"line 2: 7.01 bar is above the range of the standard (0 to 7 bar)",
		},
		{
			"unit bar gauge\nset 7 at 0.21/s\nvent",
			`{"low":"0","high":"700","unit":"kPa","max_rate":"20"}`,
			"line 2: 0.21 bar/s is faster than the standard takes (0.2 bar/s)",
		},
		{
			"set 7.01\nvent", `{"low":"0","high":"700","unit":"kPa"}`,
			"line 1: 7.01 bar is above the range of the standard",
		},
		{
			"unit bar gauge\nset 6\nvent", `{"low":"0","high":"690","unit":"kPa","mode":"absolute"}`,
			"line 2: 6 bar is above the range of the standard",
		},
		{"unit bar gauge\nset 6\nvent", `{"low":"0","high":"690","unit":"kPa","mode":"differential"}`, ""},
		{"unit bar gauge\nset 6\nvent", `{"low":"0","high":"7"}`, "is missing"},
	} {
		out := call(
			t, "expand",
			map[string]any{
				"method":     map[string]any{"kind": "programme", "text": c.text},
				"instrument": progInstrument, "standard": json.RawMessage(c.standard),
			},
		)
		e, _ := out["error"].(map[string]any)
		if message, _ := e["message"].(string); (message == "") != (c.message == "") ||
			!strings.Contains(message, c.message) {
			t.Errorf("%q with %s: %v, want %q", c.text, c.standard, out, c.message)
		}
	}
}

// TestRestIsJudgedFromARecord: the evaluation follows the path that a logger's samples decide.
func TestRestIsJudgedFromARecord(t *testing.T) {
	const text = "unit bar gauge\nset 5\nsettle within 0.01 for 3 s, at most 60 s else {\n  vent\n  stop \"no rest\"\n}\nread a from gauge\nvent\n"
	for _, c := range []struct {
		p               string
		verdict, reason string
	}{{"[5,5,5.01,5,5]", "pass", ""}, {"[5,5.1,5,5.1,5]", "undecided", "no rest"}} {
		in := map[string]any{"method": map[string]any{
			"kind": "programme", "text": text,
			"rules": []any{map[string]any{"name": "a", "low": "4.9", "high": "5.1"}},
		}, "instrument": progInstrument,
			"captures": []any{}, "traces": []any{
				map[string]any{
					"step": "l3.1", "unit": "bar", "t_s": json.RawMessage("[0,1,2,3,4]"), "p": json.RawMessage(c.p),
				},
			}, "complete": true}
		if c.verdict == "pass" {
			in["captures"] = []any{prog("l7.1", "indicated", "5.0", "bar", "50")}
		}
		out := call(t, "evaluate", in)
		if reason, _ := out["reason"].(string); out["verdict"] != c.verdict || !strings.Contains(reason, c.reason) {
			t.Errorf("%s: %v", c.p, out)
		}
	}
}

// TestProgrammeIsJudged: limits in any unit, to the last digit; conditions with their reason;
// values not read are not judged.
func TestProgrammeIsJudged(t *testing.T) {
	captures := []any{
		prog("l4.1", "indicated", "5.1", "bar", "01"), prog("l6.1", "indicated", "500", "kPa", "02"),
		prog(
			"l11.1.1", "applied", "5.0", "bar", "03",
		), prog("l11.1.2", "applied", "5.1", "bar", "04"), prog("l11.1.3", "applied", "5.2", "bar", "05"),
	}
	judge := func(rules []any, captures []any, complete bool) map[string]any {
		t.Helper()
		out := call(
			t, "evaluate",
			map[string]any{
				"method": progMethod(map[string]any{"rules": rules}), "instrument": progInstrument,
				"captures": captures, "complete": complete,
			},
		)
		if out["error"] != nil {
			t.Fatal(out["error"])
		}
		return out
	}
	for _, c := range []struct {
		name, verdict, reason string
		rules                 []any
	}{
		{"a value at its limit is inside", "pass", "", []any{map[string]any{"name": "p1", "low": "5", "high": "5.1"}}},
		{
			"a limit in another unit", "fail", "p2 lies outside at least 500.1 kPa",
			[]any{map[string]any{"name": "p2", "low": "500.1", "unit": "kPa"}},
		},
		{
			"each of several readings", "fail", "s lies outside at most 5.15",
			[]any{map[string]any{"name": "s", "high": "5.15"}},
		},
		{
			"the mean in a condition, without rounding", "pass", "",
			[]any{map[string]any{"name": "stands", "when": "s = 5.1 and p1 - p2 <= 0.1"}},
		},
		{
			"a condition that does not hold", "fail", "stands: it fell: p1 - p2 = 0.1 is not below 0.1",
			[]any{map[string]any{"name": "stands", "when": "p1 - p2 < 0.1", "text": "it fell"}},
		},
		{"no rule", "undecided", "nothing is judged", []any{}},
		{
			"a name without a value", "undecided", "q has no value",
			[]any{map[string]any{"name": "stands", "when": "q < 0.1"}},
		},
	} {
		out := judge(c.rules, captures, true)
		reason, _ := out["reason"].(string)
		if out["verdict"] != c.verdict || !strings.Contains(reason, c.reason) || (c.reason == "") != (reason == "") {
			t.Errorf("%s: %v %q", c.name, out["verdict"], reason)
		}
	}
	for when, want := range map[string]string{"p1 - p2 < 0.2": "holds", "p1 - p2 < 0.1": "does not hold", "q < 0.1": "not known"} {
		rows := judge([]any{map[string]any{"name": "stands", "when": when}}, captures, true)["results"].([]any)
		row := rows[len(rows)-1].(map[string]any)
		if _, limited := row["limit_low"]; row["condition"] != want || row["source"] != when || limited ||
			row["value"] != map[bool]float64{true: 1}[want == "holds"] {
			t.Errorf("%s: %v", when, row)
		}
	}
	rule := []any{map[string]any{"name": "p1", "high": "9"}, map[string]any{"name": "s", "high": "9"}}
	if out := judge(rule, captures[:1], false); out["verdict"] != "undecided" || out["complete"] != false {
		t.Errorf("unfinished: %v", out)
	}
	stopped := judge(rule, []any{captures[0], prog("l6.1", "indicated", "4.8", "bar", "02")}, true)
	if stopped["verdict"] != "undecided" || !strings.Contains(stopped["reason"].(string), "it leaks") ||
		stopped["complete"] != true {
		t.Errorf("stopped: %v", stopped)
	}
	if w := stopped["warnings"].([]any); len(w) != 1 || w[0].(map[string]any)["code"] != "not_read" {
		t.Errorf("stopped: %v", w)
	}
	for _, bad := range []map[string]any{{"name": "p1"}, {"name": "nothing", "high": "1"}, {"name": "p1", "low": "2", "high": "1"}, {"name": "x", "when": "p1 <"}, {"name": "x", "when": "p1 < 1", "low": "1"}} {
		out := call(
			t, "evaluate",
			map[string]any{
				"method": progMethod(map[string]any{"rules": []any{bad}}), "instrument": progInstrument,
				"captures": captures,
			},
		)
		if out["error"] == nil {
			t.Errorf("%v was taken", bad)
		}
	}
}

// TestEveryExpansionHasATextForm: a plan of calculation expand for any kind of work can be written
// as a programme, step by step, which parses and writes to the same bytes and has no unknown word.
// Every kind with samples must occur.
func TestEveryExpansionHasATextForm(t *testing.T) {
	met := map[string]int{}
	laid := call(t, "expand", map[string]any{"method": progMethod(nil), "instrument": progInstrument})
	if out := call(t, "plan", map[string]any{"expansion": laid}); out["error"] != nil ||
		!strings.Contains(out["text"].(string), "note \"If p2 < p1 - 0.2:\"") {
		t.Errorf("of a programme: %v", out)
	}
	for seed := uint64(0); seed < 900; seed++ {
		doc := sampleOf(t, "expand", seed)
		var in struct {
			Method struct{ Kind string }
		}
		if err := json.Unmarshal(doc, &in); err != nil {
			t.Fatal(err)
		}
		if met[in.Method.Kind] >= 25 {
			continue
		}
		met[in.Method.Kind]++
		var laid, out map[string]any
		if err := json.Unmarshal(calc.Call("expand", doc), &laid); err != nil {
			t.Fatal(err)
		}
		if laid["error"] != nil {
			t.Fatalf("%s: %v", doc, laid["error"])
		}
		out = call(t, "plan", map[string]any{"expansion": laid})
		if out["error"] != nil {
			t.Fatalf("%s: %v\n%v", in.Method.Kind, out["error"], laid)
		}
		text, _ := out["text"].(string)
		again := call(t, "plan", map[string]any{"programme": text})
		steps := call(t, "plan", map[string]any{"programme": out["steps"]})
		a, _ := json.Marshal(out["steps"])
		b, _ := json.Marshal(again["steps"])
		if again["text"] != text || steps["text"] != text || string(a) != string(b) || text == "" {
			t.Fatalf("%s: written again it is\n%v\nfirst\n%s", in.Method.Kind, again["text"], text)
		}
		count := func(list []any, do string) int {
			n := 0
			for _, s := range list {
				if s.(map[string]any)["do"] == do {
					n++
				}
			}
			return n
		}
		for _, do := range []string{"set", "ramp", "read", "hold", "vent", "exercise", "ask", "settle"} {
			if got, want := count(out["steps"].([]any), do), count(laid["steps"].([]any), do); got != want {
				t.Fatalf("%s: %d steps %s of %d are in the text\n%s", in.Method.Kind, got, do, want, text)
			}
		}
	}
	for _, kind := range []string{"gauge", "altimeter", "airspeed", "vertical-speed", "reporting-altitude", "pitot-static-leak"} {
		if met[kind] == 0 {
			t.Errorf("no plan of kind %s was met", kind)
		}
	}
}
