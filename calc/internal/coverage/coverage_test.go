package coverage

import (
	"encoding/json"
	"flag"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"gaugewright/calc"
)

var (
	write = flag.String("write", "", "write the table of a long run into this file")
	long  = flag.Bool("long", false, "run as long as for the table")
	only  = flag.String("only", "", "the conditions whose kind and name hold this text")
)

const (
	shortRuns = 250
	longRuns  = 5000
	lightRuns = 40000
)

// one is the result of one simulated piece of work.
type one struct {
	verdict string
	inside  int // readings or values within ±U
	of      int
}

// condition is a kind of work under one condition.
type condition struct {
	kind, name string
	most       float64 // permissible share of wrong acceptance, per cent
	light      bool    // fast enough for lightRuns in a long run
	heavy      bool    // so slow that it runs half as often
	noReject   bool    // the rule has only pass and fail: it rejects a value just at its limit by design, not by chance
	cannot     string  // why half the limit is not accepted: the verdict stays undecided, and says what to do
	run        func(random *rand.Rand, share float64, quiet bool) one
}

// row is a condition with its shares in per cent.
type row struct {
	condition
	runs                            int
	accept, reject, coverage, power float64
}

func source(c *condition, salt string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(c.kind + "|" + c.name + "|" + salt))
	return rand.New(rand.NewPCG(h.Sum64(), 17))
}

// simulate runs a condition at its limit and at half of it.
func (c *condition) simulate(runs int) row {
	switch {
	case c.heavy:
		runs /= 2
	case c.light && runs == longRuns:
		runs = lightRuns
	}
	r := row{condition: *c, runs: runs}
	random := source(c, "limit")
	inside, of := 0, 0
	for range runs {
		got := c.run(random, 1, false)
		switch got.verdict {
		case "pass":
			r.accept++
		case "fail":
			r.reject++
		}
		inside, of = inside+got.inside, of+got.of
	}
	random = source(c, "half")
	for range runs {
		if got := c.run(random, 0.5, true); got.verdict == "pass" {
			r.power++
		}
	}
	for _, x := range []*float64{&r.accept, &r.reject, &r.power} {
		*x *= 100 / float64(runs)
	}
	r.coverage = 100 * float64(inside) / float64(max(of, 1))
	return r
}

// apart is three standard deviations of a share.
func apart(percent float64, runs int) float64 {
	return 3 * math.Sqrt(percent*(100-percent)/float64(runs))
}

// misses names the goals that a row misses by more than chance allows.
func (r *row) misses() (list []string) {
	if r.accept > r.most+apart(r.most, r.runs) {
		list = append(list, fmt.Sprintf("accepted %.1f %%, at most %.1f", r.accept, r.most))
	}
	if !r.noReject && r.reject > r.most+apart(r.most, r.runs) {
		list = append(list, fmt.Sprintf("rejected %.1f %%, at most %.1f", r.reject, r.most))
	}
	if r.coverage < 93-apart(93, r.runs) {
		list = append(list, fmt.Sprintf("±U holds %.1f %%, at least 93", r.coverage))
	}
	if r.cannot == "" && r.power < 95-apart(95, r.runs) {
		list = append(list, fmt.Sprintf("half the limit accepted in %.1f %%, at least 95", r.power))
	}
	return list
}

var conditions = append(append(append([]condition(nil), gauges...), leaks...), others...)

const head = `# What the verdicts claim, and what they keep

Written by "make coverage" from simulated work whose truth is known; its seeds are fixed. Shares in
per cent; ± is the standard error that the number of runs leaves (√(p(1−p)/runs)). At the limit:
the true value lies just at its limit, and is accepted, or rejected, by chance. ±U: how often it
holds the truth. Half: a value of half the limit with quiet readings (a fiftieth of the scatter of a
leak, a tenth of others) is accepted. Goals: accepted and rejected at most 2.5 %, with readings that
hang together or repeated looks at most 5 %; ±U holds at least 93 %; half accepted in at least 95 %.
"Met" compares the figures themselves. "–": the rule rejects all that is not surely inside. A number
in brackets has a note below the table.

| kind | condition | runs | accepted at the limit | rejected at the limit | goal | ±U holds | half accepted | met |
|---|---|---:|---:|---:|---:|---:|---:|---|
`

// line returns a row of the table. A goal that cannot be reached gets a note.
func (r *row) line(notes *[]string) string {
	share := func(p float64) string {
		return fmt.Sprintf("%.1f ± %.1f", p, math.Sqrt(p*(100-p)/float64(r.runs)))
	}
	reject, power := share(r.reject), share(r.power)
	if r.noReject {
		reject = "–"
	}
	met := "yes"
	if r.accept > r.most || !r.noReject && r.reject > r.most || r.coverage < 93 || r.power < 95 {
		met = "no"
	}
	if r.cannot != "" {
		*notes = append(*notes, fmt.Sprintf("%d. %s, %s: %s", len(*notes)+1, r.kind, r.name, r.cannot))
		power += fmt.Sprintf(" (%d)", len(*notes))
		if met == "no" && r.accept <= r.most && (r.noReject || r.reject <= r.most) && r.coverage >= 93 {
			met = "half not"
		}
	}
	return fmt.Sprintf(
		"| %s | %s | %d | %s | %s | %.1f | %.1f | %s | %s |\n", r.kind, r.name, r.runs, share(r.accept), reject,
		r.most, r.coverage, power, met,
	)
}

// TestCoverage compares every condition with the goals: in a short run always, in a long one for
// the table.
func TestCoverage(t *testing.T) {
	runs := shortRuns
	if *long || *write != "" {
		runs = longRuns
	}
	var b strings.Builder
	b.WriteString(head)
	var notes []string
	for i := range conditions {
		c := &conditions[i]
		if !strings.Contains(c.kind+", "+c.name, *only) {
			continue
		}
		r := c.simulate(runs)
		b.WriteString(r.line(&notes))
		for _, m := range r.misses() {
			t.Errorf("%s, %s: %s", c.kind, c.name, m)
		}
	}
	b.WriteString("\n" + strings.Join(notes, "\n") + "\n")
	t.Log("\n" + b.String())
	if *write != "" && !t.Failed() {
		if err := os.WriteFile(*write, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

type object = map[string]any

// call runs a calculation and panics if it refuses: a simulated sheet is always valid.
func call(calculation string, in object) object {
	b, err := json.Marshal(in)
	if err != nil {
		panic(err)
	}
	var out object
	if err := json.Unmarshal(calc.Call(calculation, b), &out); err != nil {
		panic(err)
	}
	if out["error"] != nil {
		panic(fmt.Sprint(out["error"], " of ", string(b[:min(len(b), 300)])))
	}
	return out
}

func rounded(x, step float64) string {
	if step == 0 {
		step = 1e-9
	}
	return fmt.Sprintf("%.9f", math.Round(x/step)*step)
}

func number(v any) float64 { x, _ := v.(float64); return x }

func list(v any) []any { l, _ := v.([]any); return l }
