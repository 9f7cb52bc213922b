package programme_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/calc/document"
	"gaugewright/calc/programme"
	"gaugewright/calc/schema"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"
)

func parse(t testing.TB, text string) []programme.Step {
	t.Helper()
	steps, err := programme.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return steps
}

func list(steps []programme.Step) []byte {
	w := document.NewWriter(nil)
	w.Begin()
	programme.Put(w, "programme", steps)
	w.End()
	return w.Bytes()
}

// back reads steps out of their JSON form.
func back(t testing.TB, doc []byte) ([]programme.Step, error) {
	t.Helper()
	v, err := document.Parse(doc)
	if err != nil {
		t.Fatal(err)
	}
	in := document.Open(v)
	steps := programme.Steps(in, "programme")
	return steps, in.Done()
}

// roundTrip checks that text and JSON mean the same, and that each is written again with the same
// bytes.
func roundTrip(t testing.TB, steps []programme.Step) {
	t.Helper()
	text := programme.Text(steps)
	again, err := programme.Parse(text)
	if err != nil {
		t.Fatalf("the canonical text is refused: %v\n%s", err, text)
	}
	if got := programme.Text(again); got != text {
		t.Fatalf("written again:\n%s\nfirst:\n%s", got, text)
	}
	doc := list(again)
	read, err := back(t, doc)
	if err != nil {
		t.Fatalf("the JSON form is refused: %v\n%s", err, doc)
	}
	if got := list(read); !bytes.Equal(got, doc) {
		t.Fatalf("JSON written again:\n%s\nfirst:\n%s", got, doc)
	}
}

func TestCanonicalText(t *testing.T) {
	const typed = "unit inH2O@20C gauge # column\n\n  set  +500 at 10/s;set -.5\nramp 5e2 at 2/s until drop else{vent}\n" +
		"settle within 0.20 for 10s, at most 120 s\nread a from gauge 3 times\nask \"say \\\"yes\\\" # \\\\ \\n\" as yes into ok\n" +
		"repeat until (not (ok)) or ((a))*(2-(3-1))>=-(4+a)/abs(-a) and mean(a,1,2)!=3, at most 5 times { if ok { } else { note \"-\" } } else { stop \"x\" }\nexercise 2 to 9\nhold 1.50 s"
	const want = `unit inH2O@20C gauge
set 500 at 10/s
set -.5
ramp 5e2 at 2/s until drop else {
  vent
}
settle within 0.20 for 10 s, at most 120 s
read a from gauge 3 times
ask "say \"yes\" # \\ \n" as yes into ok
repeat until not ok or a * (2 - (3 - 1)) >= -(4 + a) / abs(-a) and mean(a, 1, 2) != 3, at most 5 {
  if ok {
  } else {
    note "-"
  }
} else {
  stop "x"
}
exercise 2 to 9
hold 1.50 s
`
	steps := parse(t, typed)
	if got := programme.Text(steps); got != want {
		t.Errorf("got\n%s", got)
	}
	roundTrip(t, steps)
	if steps[1].Line != 3 || steps[2].Line != 3 || steps[3].Line != 4 {
		t.Error("lines are not those of the text that was typed")
	}
}

// TestStepsRefused: what the text form cannot express is refused in the JSON form too, on its
// field.
func TestStepsRefused(t *testing.T) {
	for doc, field := range map[string]string{
		`{"do":"press","target":"5"}`:                                         "programme[0].do",
		`{"do":"set"}`:                                                        "programme[0].target",
		`{"do":"set","target":"5","rate":"0"}`:                                "programme",
		`{"do":"set","target":"5","until":"drop"}`:                            "programme[0].until",
		`{"do":"note","text":"a\u0001"}`:                                      "programme[0].text",
		`{"do":"read","name":"mean","from":"gauge"}`:                          "programme[0].name",
		`{"do":"read","name":"a","from":"gauge","count":0}`:                   "programme[0].count",
		`{"do":"if","when":"a >","steps":[]}`:                                 "programme[0].when",
		`{"do":"if","when":"a > 1 { vent }","steps":[]}`:                      "programme[0].when",
		`{"do":"repeat","count":2,"steps":[],"else":[]}`:                      "programme[0].else",
		`{"do":"vent"},{"do":"unit","unit":"kPa"}`:                            "programme",
		`{"do":"unit","unit":"kPa gauge\nvent"}`:                              "programme[0].unit",
		`{"do":"repeat","count":2,"steps":[{"do":"hold","seconds":"1e999"}]}`: "programme[0].steps[0].seconds",
	} {
		_, err := back(t, []byte(`{"programme":[`+doc+`]}`))
		if err == nil || document.AsFault(err).Field != field {
			t.Errorf("%s: %v, want a fault on %s", doc, err, field)
		}
	}
}

func TestEval(t *testing.T) {
	names := func(name string) (float64, bool) {
		x, ok := map[string]float64{"a": 4, "n": 0, "ok": 1}[name]
		return x, ok
	}
	for text, want := range map[string]float64{
		"1 + 2 * 3": 7, "(1 + 2) * 3": 9, "10 - 4 - 3": 3, "12 / 2 / 3": 2, "-a + 1": -3, "abs(-a)": 4, "min(a, 3, 5)": 3, "max(a, 3, 5)": 5, "mean(a, 2)": 3,
		"a > 3 and a < 5": 1, "not a > 3": 0, "not ok or a = 4": 1, "n != 0 and a / n > 1": 0, "n = 0 or a / n > 1": 1, "a >= 4": 1, "a <= 3": 0, "2 == 2": 1,
	} {
		e, err := programme.ParseExpr(text)
		if err != nil {
			t.Fatal(text, err)
		}
		if got, err := e.Eval(names); err != nil || got != want {
			t.Errorf("%s = %v (%v), want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"a / n", "b", "1e308 * 10", "a / (n * 2)"} {
		e, err := programme.ParseExpr(text)
		if err != nil {
			t.Fatal(text, err)
		}
		if got, err := e.Eval(names); err == nil {
			t.Errorf("%s = %v, want a refusal", text, got)
		}
	}
	for _, text := range []string{"", "1 +", "(1", "abs(1, 2)", "min()", "1 < 2 < 3", "and", "1 2", "a b", "!a"} {
		if e, err := programme.ParseExpr(text); err == nil || e != nil {
			t.Errorf("%q is taken as %v", text, e)
		}
	}
}

// TestExpressionsKeepTheirShape: an expression of any shape is read back as it was.
func TestExpressionsKeepTheirShape(t *testing.T) {
	pick := func(t *rapid.T, list ...string) string { return rapid.SampledFrom(list).Draw(t, "part") }
	var number, yes func(t *rapid.T, depth int) string
	number = func(t *rapid.T, depth int) string {
		if depth == 0 || rapid.IntRange(0, 3).Draw(t, "leaf") == 0 {
			return pick(t, "1", "2.50", "a", "b_1", ".5")
		}
		x, y := number(t, depth-1), number(t, depth-1)
		return pick(
			t, "("+x+" + "+y+")", "("+x+")-("+y+")", "("+x+"*"+y+")", "("+x+")/("+y+")", "-("+x+")",
			x+"-"+y+"*"+x, "min("+x+","+y+")",
		)
	}
	yes = func(t *rapid.T, depth int) string {
		c := number(t, depth) + pick(t, "<", "<=", ">", ">=", "=", "!=") + number(t, depth)
		if depth == 0 {
			return c
		}
		o := yes(t, depth-1)
		return pick(t, c, "("+c+") and ("+o+")", "("+o+") or ("+c+")", "not ("+o+")", o+" and not "+c+" or "+c)
	}
	values := func(name string) (float64, bool) { return map[string]float64{"a": 0.1, "b_1": -3.7}[name], true }
	rapid.Check(t, func(t *rapid.T) {
		text := yes(t, 3)
		e, err := programme.ParseExpr(text)
		if err != nil {
			if strings.Contains(err.Error(), "more than") {
				t.Skip("beyond the limits")
			}
			t.Fatal(text, err)
		}
		again, err := programme.ParseExpr(e.String())
		if err != nil || again.String() != e.String() {
			t.Fatalf("%s became %s: %v", text, e, err)
		}
		x, err1 := e.Eval(values)
		y, err2 := again.Eval(values)
		if (err1 == nil) != (err2 == nil) || math.Float64bits(x) != math.Float64bits(y) {
			t.Fatalf("%s is %v (%v), written as %s it is %v (%v)", text, x, err1, e, y, err2)
		}
	})
}

func TestDuration(t *testing.T) {
	const facts = `{"unit":"kPa","mode":"gauge","instrument":{"low":0,"high":1000,"max_rate":"20"},"standard":{"low":0,"high":1000,"max_rate":25}}`
	for text, want := range map[string]float64{ // by hand: sum of |dp|/rate, holds, the longest waits
		"set 500\nvent": 50,
		"set 500 at 10/s\nsettle within 1 for 5 s, at most 90 s\nvent":                                       165,
		"exercise 3 to 1000\nvent":                                                                           300,
		"set 200 at 20/s\nexercise 2 to 400\nvent":                                                           10 + 10 + 20 + 40,
		"repeat 4 { set 100 at 10/s; repeat 5 { hold 2 s } }\nvent":                                          10 + 4*10 + 5,
		"repeat 4 { set 100 at 10/s; set 300 at 10/s }\nvent":                                                10 + 20 + 3*40 + 15,
		"read a from gauge\nif a > 1 { set 100 at 10/s } else { hold 25 s }\nvent":                           30,
		"read a from gauge\nif a > 1 { hold 100 s; stop \"x\" }\nhold 20 s":                                  100,
		"repeat 10 { read a from gauge\nif a > 1 { hold 100 s; stop \"x\" }\nhold 20 s }":                    9*20 + 100,
		"repeat until a > 1, at most 6 { hold 10 s; read a from gauge } else { hold 7 s }\nhold 1 s":         68,
		"ramp 500 at 5/s until contact\nvent":                                                                125,
		"set 400 at 20/s\nramp 500 at 5/s until contact else { hold 100 s; vent; stop \"none\" }\nvent":      20 + 20 + 100 + 25,
		"repeat 3 { set 300 at 10/s; hold 30 s; vent; repeat until a > 1, at most 2 { read a from gauge } }": 3 * (30 + 30 + 15),
	} {
		report := run(t, text, facts)
		if math.Abs(report.Duration-want) > 1e-9 || report.Partial {
			t.Errorf("%q takes %v s, want %v (%v)", text, report.Duration, want, report)
		}
	}
	if r := run(t, "set 500\nhold 60 s\nvent", `{"unit":"kPa"}`); r.Duration != 60 || !r.Partial {
		t.Error("without any rate:", r)
	}
}

// TestLimitsAreWritten: the limits that a programme was checked with come back in its own unit, for
// drawings.
func TestLimitsAreWritten(t *testing.T) {
	const doc = `{"programme":"unit bar gauge\nset 5\nvent","instrument":{"low":0,"high":"10","max_rate":"0.5"},"standard":{"low":-100,"high":700,"unit":"kPa","max_rate":"30"},` +
		`"weakest":{"pressure":900,"part":"hose","unit":"kPa"},"relief":8}`
	const want = `"limits":{"instrument":{"low":"0","high":"10","max_rate":"0.5"},"standard":{"low":"-1","high":"7","max_rate":"0.3"},"max_rate":"0.3","weakest":"9","relief":"8"}`
	if got := programme.Calculations()[0].Run([]byte(doc), "test"); !bytes.Contains(got, []byte(want)) {
		t.Errorf("%s", got)
	}
}

// seeds are the kept inputs of the fuzz test and the programmes of the checks.
func seeds(t testing.TB) (list []string) {
	t.Helper()
	paths, err := filepath.Glob("testdata/programmes/*.txt")
	if err != nil || len(paths) == 0 {
		t.Fatal("no programmes", err)
	}
	for _, path := range paths {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, string(b))
	}
	return list
}

// FuzzParse: no text makes the parser or the check crash. A refused text gives no steps, and an
// accepted one passes through text and JSON unchanged.
func FuzzParse(f *testing.F) {
	for _, s := range seeds(f) {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		steps, err := programme.Parse(text)
		if err != nil {
			if fault, ok := err.(*programme.Fault); steps != nil || !ok || fault.Line < 1 ||
				fault.Line > 1+strings.Count(text, "\n") {
				t.Fatalf("%v with %v", err, steps)
			}
			return
		}
		roundTrip(t, steps)
		report := programme.Check(
			steps,
			programme.Facts{
				Ambient: 101325, Hysteresis: true,
				Leak: &programme.Leak{Limit: 1e-4, Sigma: 1, Interval: 1, Factor: 3.29}, Volume: 1e-3,
			},
		)
		if !(report.Duration >= 0) {
			t.Fatal("duration ", report.Duration)
		}
	})
}

func long(n int) string {
	var b strings.Builder
	b.WriteString("unit kPa gauge\n")
	for i := range n / 5 {
		b.WriteString("set " + []string{"100", "250.5", "400"}[i%3] + " at 10/s\nsettle within 0.2 for 10 s, at most 90 s\nread a from gauge\nif abs(a - 250) > 200.5 and not a < 2 {\n  note \"far\"\n}\n")
	}
	b.WriteString("vent\n")
	return b.String()
}

func TestLongProgramme(t *testing.T) {
	if r := run(t, long(10000), file(t, "default.json")); len(r.Findings) != 0 || r.Duration < 1e5 {
		t.Error(r)
	}
	if _, err := programme.Parse(long(programme.MaxSteps + 10)); err == nil ||
		!strings.Contains(err.Error(), "more than") {
		t.Error("no limit:", err)
	}
}

func BenchmarkParse10000(b *testing.B) {
	text := long(10000)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		parse(b, text)
	}
}

func BenchmarkCheck10000(b *testing.B) {
	steps := parse(b, long(10000))
	for b.Loop() {
		programme.Check(steps, programme.Facts{Ambient: 101325})
	}
}

// TestSchema checks that every sample of the calculation fits its schema, and so do the output and
// a refusal.
func TestSchema(t *testing.T) {
	b, err := schema.Of("plan")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("calculation.json", doc); err != nil {
		t.Fatal(err)
	}
	valid := func(part string, doc []byte) {
		t.Helper()
		s, err := c.Compile("calculation.json#/$defs/" + part)
		if err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(doc))
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(v); err != nil {
			t.Fatalf("%s: %v\n%s", part, err, doc)
		}
	}
	calculate, sample := programme.Calculations()[0], programme.Samples()[0]
	var docs [][]byte
	for seed := range uint64(100) {
		docs = append(docs, sample.Make(seed))
	}
	for _, text := range seeds(t) {
		docs = append(docs, append(append([]byte(`{"programme":`), document.AppendText(nil, text)...), '}'))
		if steps, err := programme.Parse(text); err == nil {
			docs = append(docs, list(steps))
		}
	}
	for _, doc := range docs {
		valid("input", doc)
		valid("output", calculate.Run(doc, "test"))
	}
}
