package history_test

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"gaugewright/calc/history"
)

// script fits the decay by scipy's minimizer and its bounds by brentq, and a forecast by numpy's
// least squares over the whole design matrix with scipy's Student t.
const script = `
import json, sys
import numpy as np
from scipy import optimize, stats
def decay(trials):
    d, i, o = (np.array(x, dtype=float) for x in zip(*trials))
    n = lambda x: -np.sum(-i * d * np.exp(x) + np.where(o > 0, o * np.log(-np.expm1(-np.exp(x) * d)), 0))
    best = optimize.minimize_scalar(n, bounds=(-20, 0), method='bounded', options={'xatol': 1e-10})
    f = lambda x, q: 2 * (n(x) - best.fun) - stats.chi2.ppf(q, 1)
    at = best.x
    return [np.exp(at), np.exp(optimize.brentq(f, at - 8, at, args=(0.95,))), np.exp(optimize.brentq(f, at, at + 8, args=(0.95,))), np.exp(optimize.brentq(f, at, at + 8, args=(0.90,)))]
def ahead(rows, at, limit, coverage, fresh):
    day, seg, e = (np.array(x, dtype=float) for x in zip(*rows))
    k = int(seg.max()) + 1
    X = np.zeros((len(day), k + 1))
    X[np.arange(len(day)), seg.astype(int)] = 1
    X[:, k] = day
    b, *_ = np.linalg.lstsq(X, e, rcond=None)
    dof = len(day) - k - 1
    s2 = np.sum((e - X @ b) ** 2) / dof
    x = np.zeros(k + 1); x[k - 1] = 1; x[k] = at
    inv = np.linalg.inv(X.T @ X)
    sd = np.sqrt(s2 * (1 + x @ inv @ x))
    m = x @ b
    t = stats.t.ppf((1 + coverage) / 2, dof)
    r = lambda m, sd: stats.t.cdf((-limit - m) / sd, dof) + stats.t.sf((limit - m) / sd, dof)
    # as left at 0 by one result, 'fresh' days later
    sf = np.sqrt(s2 * (2 + fresh ** 2 * inv[k, k]))
    return [m, m - t * sd, m + t * sd, r(m, sd), r(b[k] * fresh, sf), r(b[k] * (fresh + 1), np.sqrt(s2 * (2 + (fresh + 1) ** 2 * inv[k, k])))]
json.dump([decay(*q[1:]) if q[0] == 'decay' else ahead(*q[1:]) for q in json.load(sys.stdin)], sys.stdout)
`

// TestAgainstScipy asks numpy and scipy, general-purpose libraries, for fits of decays and for
// forecasts of made-up courses.
func TestAgainstScipy(t *testing.T) {
	r := rand.New(rand.NewPCG(10, 24))
	var questions [][]any
	var decays []history.Decay
	for range 40 {
		rate := math.Exp(-8 + 3*r.Float64())
		var trials []history.Trials
		var rows [][]int
		for range 1 + r.IntN(6) {
			one := history.Trials{Days: 30 + r.IntN(1500)}
			for range 20 + r.IntN(200) {
				if r.Float64() < math.Exp(-rate*float64(one.Days)) {
					one.In++
				} else {
					one.Out++
				}
			}
			trials, rows = append(trials, one), append(rows, []int{one.Days, one.In, one.Out})
		}
		d, ok := history.FitDecay(trials)
		if !ok || d.Out == 0 {
			continue // with none out there is nothing to fit; see TestDecayWithNoneOut
		}
		questions, decays = append(questions, []any{"decay", rows}), append(decays, d)
	}
	if len(decays) < 20 {
		t.Fatalf("only %d decays to compare", len(decays))
	}
	tails := history.NewTails(0.95, 0.05)
	var aheads []history.Ahead
	for range 40 {
		c := history.Course{Limit: 1}
		var rows [][]float64
		day, segment, level := 17000, 0, 0.0
		slope := r.NormFloat64() * 0.0006
		for range 6 + r.IntN(8) {
			n := 200 + r.IntN(300)
			day, level = day+n, level+slope*float64(n)
			e := level + r.NormFloat64()*0.1
			c.Results = append(c.Results, history.Result{Day: day, Segment: segment, Error: e})
			rows = append(rows, []float64{float64(day), float64(segment), e})
			if r.IntN(4) == 0 {
				segment, level = segment+1, r.NormFloat64()*0.1
				c.Results = append(c.Results, history.Result{Day: day, Segment: segment, Error: level})
				rows = append(rows, []float64{float64(day), float64(segment), level})
			}
		}
		at := day + 365
		a, err := c.Ahead(at, tails)
		if err != nil {
			continue // too many adjustments for a slope
		}
		aheads = append(aheads, a)
		questions = append(questions, []any{"ahead", rows, at, 1, 0.95, a.Fresh})
	}
	if len(aheads) < 20 {
		t.Fatalf("only %d forecasts to compare", len(aheads))
	}
	in, err := json.Marshal(questions)
	if err != nil {
		t.Fatal(err)
	}
	command := exec.Command("/usr/bin/python3", "-c", script)
	command.Stdin = bytes.NewReader(in)
	var complaints bytes.Buffer
	command.Stderr = &complaints
	b, err := command.Output()
	if err != nil {
		t.Fatalf("install scipy for python3 (Debian package python3-scipy): %v: %s", err, complaints.String())
	}
	var theirs [][]float64
	if err := json.Unmarshal(b, &theirs); err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want, tolerance float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tolerance*max(math.Abs(want), 1e-6)) {
			t.Errorf("%s: %v, scipy %v", what, got, want)
		}
	}
	for i, d := range decays {
		w := theirs[i]
		near("rate", d.PerDay, w[0], 1e-6) // the resolution of the minimizer
		near("low", d.Low, w[1], 1e-6)
		near("high", d.High, w[2], 1e-6)
		near("sure", d.Sure, w[3], 1e-6)
	}
	for i, a := range aheads {
		w := theirs[len(decays)+i]
		near("predicted", a.Predicted, w[0], 1e-6) // the script does not centre days near 17000
		near("low", a.Low, w[1], 1e-6)
		near("high", a.High, w[2], 1e-6)
		near("out", a.Out, w[3], 1e-5)
		if a.Fresh > 0 && a.Fresh < 7305 && !(w[4] <= 0.05 && w[5] > 0.05) {
			t.Errorf("fresh for %d days: %v then, %v the day after", a.Fresh, w[4], w[5])
		}
	}
}

// TestDecayWithNoneOut: 100 instruments of a year each, none out: −ln(0.05)/100 years is 3.0 % a year,
// the rule of three (Hanley and Lippman-Hand, JAMA 249, 1983: 3/n).
func TestDecayWithNoneOut(t *testing.T) {
	d, ok := history.FitDecay([]history.Trials{{Days: 365, In: 100}})
	if !ok || math.Abs(d.PerDay*365-0.02996) > 1e-5 {
		t.Errorf("%+v", d)
	}
	if _, ok := history.FitDecay([]history.Trials{{Days: 365, In: 19}}); ok {
		t.Error("19 results are enough")
	}
	if _, ok := history.FitDecay([]history.Trials{{Days: 365, Out: 30}}); ok {
		t.Error("none was found in")
	}
}
