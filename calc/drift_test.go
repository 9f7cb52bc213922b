package calc_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

func entry(date string, more doc, errors ...float64) doc {
	d := doc{"date": date, "limit": "0.1"}
	var list []doc
	for i, e := range errors {
		list = append(list, doc{"point": 5 * (i + 1), "error": e, "u": "0.001"})
	}
	d["errors"] = list
	for k, v := range more {
		d[k] = v
	}
	return d
}

func dayOf(t *testing.T, date string) float64 {
	t.Helper()
	at, err := time.Parse("2006-01-02", date)
	if err != nil {
		t.Fatal(err)
	}
	return float64(at.Unix()) / 86400
}

// TestDriftAgainstGonum compares with gonum: the fit of a level for each segment and a common slope
// with its QR decomposition of the full design matrix, the band and the probability with its
// Student t.
func TestDriftAgainstGonum(t *testing.T) {
	type seen struct {
		date    string
		segment int
		error   float64
	}
	list := []seen{
		{"2018-03-01", 0, 0.010}, {"2019-03-04", 0, 0.034}, {"2020-02-20", 0, 0.061},
		{"2020-02-20", 1, -0.002}, {"2021-03-10", 1, 0.025}, {"2022-03-01", 1, 0.044},
	}
	in := doc{"history": []doc{entry("2019-03-04", nil, 0.034), entry("2018-03-01", nil, 0.010), // the order does not count
		entry(
			"2020-02-20",
			doc{"adjusted": true, "left": []doc{{"point": 5, "error": "-0.002", "u": "0.001"}}}, 0.061,
		), entry("2021-03-10", nil, 0.025), entry("2022-03-01", nil, 0.044)}, "at": "2023-03-01"}
	n := len(list)
	x, y := mat.NewDense(n, 3, nil), mat.NewDense(n, 1, nil)
	for i, s := range list {
		x.Set(i, s.segment, 1)
		x.Set(i, 2, (dayOf(t, s.date)-dayOf(t, "2020-01-01"))/365.25)
		y.Set(i, 0, s.error)
	}
	var b, fit, rest mat.Dense
	if err := b.Solve(x, y); err != nil {
		t.Fatal(err)
	}
	fit.Mul(x, &b)
	rest.Sub(y, &fit)
	s2 := 0.0
	for i := range n {
		s2 += rest.At(i, 0) * rest.At(i, 0)
	}
	dof := float64(n - 3)
	s2 /= dof
	var xx, inverse mat.Dense
	xx.Mul(x.T(), x)
	if err := inverse.Inverse(&xx); err != nil {
		t.Fatal(err)
	}
	at := mat.NewDense(1, 3, []float64{0, 1, (dayOf(t, "2023-03-01") - dayOf(t, "2020-01-01")) / 365.25})
	var predicted, half, square mat.Dense
	predicted.Mul(at, &b)
	half.Mul(at, &inverse)
	square.Mul(&half, at.T())
	sd := math.Sqrt(s2 * (1 + square.At(0, 0)))
	student := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}
	e := predicted.At(0, 0)

	out := call(t, "drift", in)
	within(t, "drift", "slope", out["slope_per_year"], b.At(2, 0), 1e-12)
	within(t, "drift", "predicted", out["predicted"], e, 1e-12)
	k := student.Quantile(0.975)
	within(t, "drift", "low", out["predicted_low"], e-k*sd, 1e-9)
	within(t, "drift", "high", out["predicted_high"], e+k*sd, 1e-9)
	within(t, "drift", "out", out["probability_out"], student.Survival((0.1-e)/sd)+student.CDF((-0.1-e)/sd), 1e-9)
	// on the due date it is not above 0.05, on the day after it is
	due, ok := out["due"].(string)
	if !ok {
		t.Fatal(out)
	}
	in["at"] = due
	if p := call(t, "drift", in)["probability_out"].(float64); p > 0.05 {
		t.Errorf("on %s: %v", due, p)
	}
	next, err := time.Parse("2006-01-02", due)
	if err != nil {
		t.Fatal(err)
	}
	in["at"] = next.AddDate(0, 0, 1).Format("2006-01-02")
	if p := call(t, "drift", in)["probability_out"].(float64); p <= 0.05 {
		t.Errorf("the day after %s: %v", due, p)
	}
}

// TestDriftWorkedByHand: 0, 0.02, 0.04 after 0, 365, 730 days have no scatter, so the band rests on
// the u of 0.001 and the slope is 0.02 in 365 days.
func TestDriftWorkedByHand(t *testing.T) {
	in := doc{
		"history": []doc{entry("2021-01-01", nil, 0), entry("2022-01-01", nil, 0.02), entry("2023-01-01", nil, 0.04)},
		"at":      "2024-01-01",
	}
	out := call(t, "drift", in)
	within(t, "by hand", "slope", out["slope_per_year"], 0.02/365*365.25, 1e-12)
	within(t, "by hand", "predicted", out["predicted"], 0.06, 1e-12)
	// sd = 0.001·√(1 + 1/3 + 730²/(365² + 365²)), t(0.975, 1) = 12.7062047364 (scipy)
	sd := 0.001 * math.Sqrt(1+1.0/3+2)
	within(t, "by hand", "high", out["predicted_high"], 0.06+12.7062047364*sd, 1e-9)
	if !hasWarning(out, "few") {
		t.Errorf("%v", out["warnings"])
	}
	for name, tt := range map[string]struct {
		in   doc
		code string
	}{
		"two results": {doc{"history": in["history"].([]doc)[:2], "at": "2024-01-01"}, "undecidable"},
		"one day": {
			doc{
				"history": []doc{
					entry("2021-01-01", nil, 0), entry("2021-01-01", nil, 0.02), entry("2021-01-01", nil, 0.04),
				},
				"at": "2024-01-01",
			},
			"undecidable",
		},
		"all adjusted": {
			doc{
				"history": []doc{
					entry("2021-01-01", doc{"adjusted": true}, 0),
					entry("2022-01-01", doc{"adjusted": true}, 0.1), entry("2023-01-01", nil, 0.1),
				},
				"at": "2024-01-01",
			},
			"undecidable",
		},
		"no such date": {doc{"history": in["history"], "at": "2023-02-29"}, "range"},
		"left without": {
			doc{
				"history": []doc{entry("2021-01-01", doc{"left": []doc{{"point": 5, "error": 0}}}, 0)},
				"at":      "2024-01-01",
			},
			"conflict",
		},
		"limit of zero": {doc{"history": []doc{entry("2021-01-01", doc{"limit": 0}, 0)}, "at": "2024-01-01"}, "range"},
	} {
		if e, _ := call(t, "drift", tt.in)["error"].(map[string]any); e["code"] != tt.code {
			t.Errorf("%s: %v", name, e)
		}
	}
	// a point with one result is left out, the other counts
	in["history"] = append(in["history"].([]doc), entry("2023-06-01", nil, 0.05, 0.3))
	out = call(t, "drift", in)
	if list, _ := out["points"].([]any); len(list) != 2 || list[1].(map[string]any)["reason"] != "too little history" ||
		out["point"] != 5.0 || !hasWarning(out, "little_history") {
		t.Errorf("%v", out)
	}
	// nothing drifts, nothing scatters: the due date is at the horizon and says so
	still := doc{
		"history": []doc{entry("2021-01-01", nil, 0), entry("2022-01-01", nil, 0), entry("2023-01-01", nil, 0)},
		"at":      "2024-01-01",
	}
	for _, h := range still["history"].([]doc) {
		h["errors"].([]doc)[0]["u"] = 0
	}
	if out = call(t, "drift", still); out["due"] != "2043-01-01" || !hasWarning(out, "horizon") ||
		out["probability_out"] != 0.0 {
		t.Errorf("%v", out)
	}
}

// TestAdviceAgreesWithTheForecast: a gauge gains 0.02 a year towards its limit of 0.1. The last
// error lies well within 80 % of the limit and alone would suggest a longer interval.
func TestAdviceAgreesWithTheForecast(t *testing.T) {
	visits := ""
	for i, e := range []string{"-0.021", "0", "0.021", "0.039", "0.061"} {
		if i > 0 {
			visits += ","
		}
		visits += `{"date":"` + []string{"2019-01-01", "2020-01-01", "2021-01-01", "2022-01-01", "2023-01-01"}[i] +
			`","limit":0.1,"errors":[{"point":5,"error":` + e + `,"u":0.002}]}`
	}
	drift := func(more string) map[string]any {
		t.Helper()
		var in map[string]any
		if err := json.Unmarshal([]byte(`{"history":[`+visits+`],`+more+`}`), &in); err != nil {
			t.Fatal(err)
		}
		return call(t, "drift", in)
	}
	ask := func(at, found string) map[string]any {
		return drift(`"at":"` + at + `","interval_months":12,"found_fraction":` + found)
	}
	for _, tt := range []struct{ at, found, advice, reason string }{
		{"2024-01-01", "0.61", "keep", "alone"}, // no instruments like it are known here
		{"2026-01-01", "0.61", "sooner", "now"},
		{"2023-02-01", "0.9", "keep", "close"},
		{"2023-02-01", "-1.1", "reduce", "outside"},
	} {
		out := ask(tt.at, tt.found)
		if out["advice"] != tt.advice || out["advice_reason"] != tt.reason {
			t.Errorf("at %s, found %s: %v because of %v, want %s because of %s; out %v, due %v",
				tt.at, tt.found, out["advice"], out["advice_reason"], tt.advice, tt.reason, out["probability_out"], out["due"])
		}
		if out["probability_out"].(float64) > 0.05 && out["advice"] == "keep" && tt.reason != "close" {
			t.Error("the same interval beside a probability of being out of", out["probability_out"])
		}
	}
	if out := drift(`"at":"2024-01-01"`); out["advice"] != nil {
		t.Error("advice without an interval:", out["advice"])
	}
	if e, _ := drift(`"at":"2024-01-01","interval_months":0`)["error"].(map[string]any); e["field"] != "interval_months" {
		t.Error(e)
	}
}

// TestAdviceAgreesOverManyHistories: over made-up histories no interval stays or becomes longer if
// the forecast beside it gives a probability above one in twenty of being out on the due date.
func TestAdviceAgreesOverManyHistories(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 6))
	actions := map[string]int{}
	for range 400 {
		var history []doc
		slope, noise, level := r.NormFloat64()*0.03, 0.002+0.02*r.Float64(), 0.0
		for year := range 5 + r.IntN(4) {
			d := entry(fmt.Sprintf("%d-03-01", 2014+year), nil, level+r.NormFloat64()*noise, 0.5*level+r.NormFloat64()*noise)
			if level += slope; math.Abs(level) > 0.08 {
				d["adjusted"], level = true, 0
			}
			history = append(history, d)
		}
		at := fmt.Sprintf("%d-03-01", 2014+len(history)+r.IntN(2))
		out := call(t, "drift", doc{"history": history, "at": at, "interval_months": 12, "found_fraction": "0.5"})
		if out["error"] != nil {
			continue // too many adjustments for a slope
		}
		action, p := out["advice"].(string), out["probability_out"].(float64)
		if out["advice_method"] == "last" {
			continue // too few degrees of freedom: no probability is given
		}
		actions[action]++
		if (action == "keep" || action == "extend") && p > 0.05 {
			t.Errorf("%s (%v) beside a probability of %v: %v", action, out["advice_reason"], p, out)
		}
	}
	for _, a := range []string{"reduce", "sooner", "keep"} {
		if actions[a] < 10 {
			t.Errorf("only %d times %s: %v", actions[a], a, actions)
		}
	}
}
