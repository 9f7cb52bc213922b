package calc_test

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"
)

// scipyScript answers a list of questions with scipy: quantiles, conformance probabilities,
// Clopper-Pearson limits, and the global risks of a decision rule as double integrals over the
// normal distributions of instrument and measurement.
const scipyScript = `
import json, sys
from scipy import integrate, optimize, stats
def t(p, dof):
    # the tail function is good to the last digits, its inverse in scipy is not: solved on it
    tail = min(p, 1 - p)
    f = lambda x: stats.t.sf(x, dof) / tail - 1
    high = 1.0
    while f(high) > 0: high *= 2
    x = optimize.brentq(f, 0, high, xtol=1e-14, rtol=1e-14, maxiter=500)
    return x if p > 0.5 else -x
def risk(ratio, share, accept):
    sigma, u = 1 / stats.norm.ppf((1 + share) / 2), 0.5 / ratio
    inside = lambda x: stats.norm.cdf((accept - x) / u) - stats.norm.cdf((-accept - x) / u)
    f = lambda x: stats.norm.pdf(x / sigma) / sigma
    quad = lambda g, a, b: integrate.quad(g, a, b, epsabs=1e-13, epsrel=1e-11, limit=500)[0]
    return [2 * quad(lambda x: f(x) * inside(x), 1, 1 + 12 * u), 2 * quad(lambda x: f(x) * (1 - inside(x)), max(0, accept - 12 * u), 1)]
def answer(q):
    kind, a = q[0], q[1:]
    if kind == "t": return t(*a)
    if kind == "normal": return stats.norm.ppf(a[0])
    if kind == "conform": return stats.norm.cdf((a[3] - a[0]) / a[1]) - stats.norm.cdf((a[2] - a[0]) / a[1])
    if kind == "passed": return [stats.beta.ppf(0.025, a[0], a[1] - a[0] + 1), stats.beta.ppf(0.975, a[0] + 1, a[1] - a[0])]
    if kind == "risk": return risk(*a)
json.dump([answer(q) for q in json.load(sys.stdin)], sys.stdout)
`

// TestAgainstScipy compares random cases of the calculations that rest on distributions with scipy.
func TestAgainstScipy(t *testing.T) {
	program := ""
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(name, "-c", "import scipy.stats").Run() == nil {
			program = name
			break
		}
	}
	if program == "" {
		t.Fatal("install scipy for python3 (Debian package python3-scipy)")
	}
	r := rand.New(rand.NewPCG(106, 98))
	between := func(low, high float64) float64 { return low + r.Float64()*(high-low) }
	var questions [][]any
	var ours [][]float64
	var tolerances []float64 // relative
	ask := func(tolerance float64, mine []float64, q ...any) {
		questions, ours, tolerances = append(questions, q), append(ours, mine), append(tolerances, tolerance)
	}
	number := func(calculation string, in map[string]any, names ...string) (list []float64) {
		t.Helper()
		out := call(t, calculation, in)
		for _, name := range names {
			x, ok := out[name].(float64)
			if !ok {
				t.Fatalf("%s of %v: %v", calculation, in, out)
			}
			list = append(list, x)
		}
		return list
	}
	for range 200 {
		p, dof := between(0.501, 0.99999), math.Exp(between(0, 7))
		ask(1e-12, number("quantile", map[string]any{"distribution": "t", "p": p, "dof": dof}, "value"), "t", p, dof)
		p = between(0.001, 0.999)
		ask(1e-14, number("quantile", map[string]any{"distribution": "normal", "p": p}, "value"), "normal", p)
		u, value := math.Exp(between(-3, 1)), between(-2, 2)
		ask(
			1e-13,
			number(
				"conformity",
				map[string]any{"value": value, "u": u, "low": -1, "high": 1, "rule": "probability"},
				"probability",
			),
			"conform", value, u, -1, 1,
		)
		of := 2 + r.IntN(200)
		passed := 1 + r.IntN(of-1)
		ask(
			1e-12,
			number(
				"interval", map[string]any{"months": 12, "target": 0.9, "passed": passed, "of": of},
				"observed_low", "observed_high",
			),
			"passed", passed, of,
		)
	}
	for range 40 {
		ratio, share := between(1, 10), between(0.6, 0.99)
		out := number(
			"risk", map[string]any{"ratio": ratio, "in_tolerance": share, "rule": "managed"},
			"false_accept", "false_reject", "acceptance_fraction",
		)
		ask(1e-8, out[:2], "risk", ratio, share, out[2])
	}
	in, err := json.Marshal(questions)
	if err != nil {
		t.Fatal(err)
	}
	command := exec.Command(program, "-c", scipyScript)
	command.Stdin = bytes.NewReader(in)
	var complaints bytes.Buffer
	command.Stderr = &complaints
	b, err := command.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, complaints.String())
	}
	var theirs []any
	if err := json.Unmarshal(b, &theirs); err != nil || len(theirs) != len(questions) {
		t.Fatalf("%d answers to %d questions, %v", len(theirs), len(questions), err)
	}
	worst := map[string]float64{}
	for i, a := range theirs {
		list, many := a.([]any)
		if !many {
			list = []any{a}
		}
		kind := questions[i][0].(string)
		for k, x := range list {
			want := x.(float64)
			off := math.Abs(ours[i][k]-want) / max(math.Abs(want), 1e-6)
			worst[kind] = max(worst[kind], off)
			if !(off <= tolerances[i]) {
				t.Errorf("%v, number %d: %v here, %v by scipy", questions[i], k, ours[i][k], want)
			}
		}
	}
	t.Logf("%d cases; relative difference at most %v", len(questions), worst)
}
