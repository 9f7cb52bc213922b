package visit_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"gaugewright/calc"
)

// ask calls a calculation and reads its reply.
func ask(t *testing.T, name, doc string, reply any) {
	t.Helper()
	raw := calc.Call(name, []byte(doc))
	if strings.Contains(string(raw), `"error"`) {
		t.Fatalf("%s refuses: %s", name, raw)
	}
	if err := json.Unmarshal(raw, reply); err != nil {
		t.Fatal(err)
	}
}

// planOf expands a method for a gauge of a range, as found, and returns its steps.
func planOf(t *testing.T, method, high, unit, more string) string {
	t.Helper()
	var plan struct{ Steps json.RawMessage }
	ask(t, "expand", `{"method":`+method+`,"instrument":{"low":"0","high":"`+high+`","unit":"`+unit+`"},"label":"as found"`+more+`}`, &plan)
	return string(plan.Steps)
}

const threePoints = `{"kind":"gauge","exercise":1,"hold_s":5,"points":{"values":["0","5","10"]},"directions":"up"}`

// TestTogether checks why gauges cannot share a manifold; common practice, no source.
func TestTogether(t *testing.T) {
	member := func(id, high, unit, steps, more string) string {
		return `{"id":"` + id + `","kind":"gauge","high":"` + high + `","unit":"` + unit + `","steps":` + steps + more + `}`
	}
	bar := planOf(t, threePoints, "10", "bar", "")
	kPa := planOf(t, strings.NewReplacer(`"5"`, `"500"`, `"10"`, `"1000"`).Replace(threePoints), "1000", "kPa", "")
	wide := planOf(t, threePoints, "16", "bar", "")
	four := planOf(t, strings.Replace(threePoints, `"5"`, `"4"`, 1), "10", "bar", "")
	slow := planOf(t, strings.Replace(threePoints, `"hold_s":5`, `"hold_s":60`, 1), "10", "bar", "")
	open := planOf(t, `{"kind":"gauge","points":{"values":["0","5"]},"series":[{"direction":"up"},{"direction":"up","remount":true}]}`, "10", "bar", "")
	first := member("a", "10", "bar", bar, "")
	for _, c := range []struct {
		about, second, want string
	}{
		{"the same", member("b", "10", "bar", bar, ""), `10 bar`},
		{"a wider range at the same pressures", member("b", "16", "bar", wide, ""), `10 bar`},
		{"the same pressures in another unit", member("b", "1000", "kPa", kPa, ""), `10 bar`},
		{"other points", member("b", "10", "bar", four, ""), `10 bar b points a`},
		{"another wait", member("b", "10", "bar", slow, ""), `10 bar b points a`},
		{"pressures above a range", member("b", "9.99", "bar", bar, ""), `9.99 bar b over a`},
		{"another mode", member("b", "10", "bar", bar, `,"mode":"absolute"`), `10 bar b mode a`},
		{"oxygen beside none", member("b", "10", "bar", bar, `,"medium":"Oxygen"`), `10 bar b oxygen a`},
		{"oxygen by its caution", member("b", "10", "bar", bar, `,"cautions":["oxygen"]`), `10 bar b oxygen a`},
		{"twice", first, `10 bar a twice `},
		{"begun", member("b", "10", "bar", bar, `,"begun":true`), `10 bar b begun `},
		{"after a failure", member("b", "10", "bar", bar, `,"since":true`), `10 bar b since `},
		{"no gauge", strings.Replace(member("b", "10", "bar", bar, ""), `"gauge"`, `"switch"`, 1), `10 bar b kind `},
		{"by its pointer", member("b", "10", "bar", bar, `,"way":"pointer-set"`), `10 bar b pointer_set `},
		{"taken off between series", member("b", "10", "bar", open, ""), `10 bar b remount `},
	} {
		var r struct {
			High, Unit string
			Wrong      []struct{ ID, Code, With string }
		}
		ask(t, "together", `{"instruments":[`+first+`,`+c.second+`]}`, &r)
		got := r.High + " " + r.Unit
		for _, w := range r.Wrong {
			got += " " + w.ID + " " + w.Code + " " + w.With
		}
		if got != c.want {
			t.Errorf("%s: %q, wanted %q", c.about, got, c.want)
		}
	}
	var few, many struct{ Wrong []struct{ Code string } }
	ask(t, "together", `{"instruments":[`+first+`]}`, &few)
	if len(few.Wrong) != 1 || few.Wrong[0].Code != "few" {
		t.Errorf("one alone: %v", few.Wrong)
	}
	list := make([]string, 7)
	for i := range list {
		list[i] = member(fmt.Sprint("m", i), "10", "bar", bar, "")
	}
	ask(t, "together", `{"instruments":[`+strings.Join(list, ",")+`]}`, &many)
	if len(many.Wrong) != 1 || many.Wrong[0].Code != "many" {
		t.Errorf("seven: %v", many.Wrong)
	}
}

// TestExerciseOnManifold: an exercise of a wider gauge goes no higher than the lowest range, and a
// point above that is refused.
func TestExerciseOnManifold(t *testing.T) {
	top := func(unit, high, beside string) string {
		method := threePoints
		if unit == "kPa" {
			method = strings.NewReplacer(`"5"`, `"500"`, `"10"`, `"1000"`).Replace(method)
		}
		var steps []struct{ Do, Target string }
		if err := json.Unmarshal([]byte(planOf(t, method, high, unit, beside)), &steps); err != nil {
			t.Fatal(err)
		}
		for _, s := range steps {
			if s.Do == "exercise" {
				return s.Target
			}
		}
		return ""
	}
	for _, c := range []struct{ unit, high, beside, want string }{
		{"bar", "16", "", "16"},
		{"bar", "16", `,"manifold":{"high":"10","unit":"bar"}`, "10"},
		{"kPa", "1600", `,"manifold":{"high":"10.5","unit":"bar"}`, "1050"},
		{"bar", "10", `,"manifold":{"high":"16","unit":"bar"}`, "10"},
	} {
		if got := top(c.unit, c.high, c.beside); got != c.want {
			t.Errorf("%s %s%s: exercised to %q, wanted %q", c.high, c.unit, c.beside, got, c.want)
		}
	}
	doc := `{"method":` + threePoints + `,"instrument":{"low":"0","high":"16","unit":"bar"},"manifold":{"high":"9","unit":"bar"}}`
	if r := string(calc.Call("expand", []byte(doc))); !strings.Contains(r, "lies above the lowest range on the manifold") {
		t.Errorf("a point above the lowest range: %s", r)
	}
}

// berth is a visit of a manifold, as in its records.
type berth struct {
	visit  []string // fields beside the cautions
	run    []string // fields of a run as found; nil if none has begun
	closed bool
	asks   bool // its plan asks for bypasses, which are not listed
}

// TestManifold checks which visit comes next, one pressure after the other.
func TestManifold(t *testing.T) {
	head := func(value string) string { return `{"heads":[{"value":` + value + `}],"replaced":[]}` }
	const plan = `{"steps":[{"id":"v","do":"vent","screen":1},` +
		`{"id":"a.set","do":"set","screen":2,"target":"5","unit":"bar"},{"id":"a.hold","do":"hold","screen":2},{"id":"a","do":"read","of":"indicated","screen":2},` +
		`{"id":"r","do":"hold","screen":3},{"id":"e","do":"vent","screen":4}]}`
	done := func(ids ...string) []string {
		list := []string{}
		for _, id := range ids {
			list = append(list, `"done.`+id+`":`+head(`{"at":"2026-03-04T08:30:00.000Z"}`))
		}
		return list
	}
	read := func(of string) string {
		return `"capture.` + of + `":` + head(`{"step":"a","of":"`+of+`","value":"5.02","unit":"bar"}`)
	}
	whole := []string{
		`"identity":` + head(`{"ok":true}`), `"condition":` + head(`{"ok":true,"state":"good"}`),
		`"standard":` + head(`{}`), `"surroundings":` + head(`{"temperature_c":"21"}`),
	}
	at := func(fields ...[]string) berth {
		b := berth{visit: whole, run: []string{}}
		for _, f := range fields {
			b.run = append(b.run, f...)
		}
		return b
	}
	circuit := func(b berth) berth { b.asks = true; return b }
	shut := func(b berth) berth { b.closed = true; return b }
	untested := berth{visit: []string{`"not_tested":` + head(`{"why":"today","reason":"no access"}`)}}
	begun, vented, set := at(done()), at(done("v")), at(done("v", "a.set"))
	tapped := at(done("v", "a.set"), []string{read("before_tap")})
	seen := at(done("v", "a.set"), []string{read("indicated")})
	end := at(done("v", "a.set", "r", "e"), []string{read("indicated")})
	for _, c := range []struct {
		about string
		list  []berth
		want  string
	}{
		{"nothing yet", []berth{{}, {}, {}}, "0 prepare own []"},
		{"the first is prepared", []berth{{visit: whole}, {}, {}}, "1 prepare own []"},
		{"all are: they begin together", []berth{{visit: whole}, {visit: whole}, {visit: whole}}, "0 ready own [0 1 2]"},
		{"one cannot be tested: the others begin", []berth{untested, {visit: whole}, {visit: whole}}, "1 ready own [1 2]"},
		{"a device went off while they began", []berth{{visit: whole}, begun, begun}, "0 ready own [0]"},
		{"bypasses of each are listed before a step", []berth{circuit(begun), circuit(begun)}, "0 prepare own []"},
		{"those of the second too", []berth{begun, circuit(begun)}, "1 prepare own []"},
		{"what is under pressure goes before them", []berth{set, circuit(begun)}, "0 run own []"},
		{"vented once for all", []berth{begun, begun, begun}, "0 run common [0 1 2]"},
		{"a device went off between two marks", []berth{vented, begun, begun}, "1 run common [1 2]"},
		{"set once for all", []berth{vented, vented, vented}, "0 run common [0 1 2]"},
		{"the first is read", []berth{set, set, set}, "0 run own []"},
		{"before the tap is half a reading", []berth{tapped, set, set}, "0 run own []"},
		{"then the second", []berth{seen, set, set}, "1 run own []"},
		{"then the third", []berth{seen, seen, set}, "2 run own []"},
		{"a wait that counts is common", []berth{seen, seen, seen}, "0 run common [0 1 2]"},
		{"one that was stopped has left", []berth{shut(seen), set, set}, "1 run own []"},
		{"the others are read before one is closed", []berth{end, seen, end}, "1 run common [1]"},
		{"closed in order", []berth{end, end, end}, "0 run own []"},
		{"closed before a result is looked at", []berth{shut(end), end, end}, "1 run own []"},
		{"one that is ready too late waits", []berth{{visit: whole}, set}, "1 run own []"},
		{"a new one waits for what is under pressure", []berth{{}, set}, "1 run own []"},
		{"results in order", []berth{shut(end), shut(end)}, "0 after own []"},
	} {
		var docs []string
		for i, b := range c.list {
			fields := append([]string{`"cautions":` + head(`{"met":true}`)}, b.visit...)
			runs := ""
			if b.run != nil {
				doc := plan
				if b.asks {
					doc = `{"bypasses":true,` + plan[1:]
				}
				all := append([]string{`"label":` + head(`"as found"`), `"plan":` + head(doc)}, b.run...)
				if b.closed {
					all = append(all, `"closed":`+head(`{"at":"2026-03-04T09:00:00.000Z"}`))
				}
				runs = fmt.Sprintf(`{"id":"r%d","kind":"run","fields":{%s}}`, i, strings.Join(all, ","))
			}
			docs = append(docs, fmt.Sprintf(`{"visit":{"id":"%d","kind":"visit","fields":{%s}},"runs":[%s]}`, i, strings.Join(fields, ","), runs))
		}
		var r struct {
			Next, Phase string
			Common      bool
			With        []string
		}
		ask(t, "manifold", `{"visits":[`+strings.Join(docs, ",")+`]}`, &r)
		own := "own"
		if r.Common {
			own = "common"
		}
		if got := fmt.Sprintf("%s %s %s %v", r.Next, r.Phase, own, r.With); got != c.want {
			t.Errorf("%s: %s, wanted %s", c.about, got, c.want)
		}
	}
}
