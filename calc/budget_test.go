package calc_test

import (
	"math"
	"strconv"
	"testing"

	"gaugewright/calc/numeric"

	"pgregory.net/rapid"
)

type doc = map[string]any

// lengthModel gives the sensitivities of the length l = l_s + d − l_s(δα·θ + α_s·δθ) of GUM H.1 at
// the estimates of a case.
func lengthModel(t *testing.T, c example) (estimate float64, terms []doc) {
	t.Helper()
	x := map[string]float64{}
	for _, q := range c.Inputs["quantities"].([]any) {
		x[q.(doc)["name"].(string)] = q.(doc)["estimate"].(float64)
	}
	theta := x["theta_bar"] + x["Delta"]
	sensitivity := map[string]float64{
		"l_s": 1 - (x["delta_alpha"]*theta + x["alpha_s"]*x["delta_theta"]), "d0": 1, "d1": 1, "d2": 1,
		"alpha_s": -x["l_s"] * x["delta_theta"], "delta_alpha": -x["l_s"] * theta, "delta_theta": -x["l_s"] * x["alpha_s"],
		"theta_bar": -x["l_s"] * x["delta_alpha"], "Delta": -x["l_s"] * x["delta_alpha"],
	}
	for _, v := range c.Inputs["quantities"].([]any) {
		q := v.(doc)
		name := q["name"].(string)
		s, ok := sensitivity[name]
		if !ok {
			t.Fatalf("%s: no sensitivity for %q", c.ID, name)
		}
		term := doc{"name": name, "sensitivity": s}
		for from, to := range map[string]string{"standard_uncertainty": "u", "half_width": "half_width", "distribution": "shape", "degrees_of_freedom": "dof"} {
			if v, ok := q[from]; ok {
				term[to] = v
			}
		}
		terms = append(terms, term)
	}
	return x["l_s"] + x["d0"] + x["d1"] + x["d2"] - x["l_s"]*(x["delta_alpha"]*theta+x["alpha_s"]*x["delta_theta"]), terms
}

// TestBudgetAgainstChecks runs the cases of calculation budget in metrology.json: GUM H.1 as
// published, and Welch-Satterthwaite (scipy).
func TestBudgetAgainstChecks(t *testing.T) {
	done := 0
	for _, c := range metrology(t) {
		if c.Calculation != "budget" {
			continue
		}
		done++
		switch {
		case c.Inputs["quantities"] != nil:
			checkLength(t, c)
		case c.Inputs["components"] != nil:
			var terms []doc
			for i, v := range c.Inputs["components"].([]any) {
				terms = append(
					terms,
					doc{
						"name": strconv.Itoa(i), "u": v.(doc)["standard_uncertainty"],
						"dof": v.(doc)["degrees_of_freedom"],
					},
				)
			}
			out := call(t, "budget", doc{"terms": terms})
			dof, u := out["dof"].(float64), out["u"].(float64)
			rounded, trap := c.Inputs["combined_standard_uncertainty_override"].(float64)
			if !trap {
				c.near(t, dof, c.Expected["effective_degrees_of_freedom"].(float64))
				continue
			}
			// The calculation never uses a rounded uncertainty; the result with the rounded one follows
			// from the calculation's own sum.
			sum := math.Pow(u, 4) / dof
			c.near(t, sum, c.Expected["sum_of_u4_over_dof"].(float64))
			c.near(t, math.Pow(rounded, 4)/sum, c.Expected["effective_degrees_of_freedom"].(float64))
		case c.Inputs["printed_standard_uncertainty_nm"] != nil:
			k := call(
				t, "quantile",
				doc{"distribution": "t", "p": 0.995, "dof": c.Inputs["effective_degrees_of_freedom_used"]},
			)["value"].(float64)
			k = numeric.RoundDecimals(k, 2)
			if k != c.Inputs["printed_coverage_factor"] {
				t.Errorf("%s: k %v", c.ID, k)
			}
			product := k * c.Inputs["printed_standard_uncertainty_nm"].(float64)
			c.near(t, product, c.Expected["product_nm"].(float64))
			c.near(t, numeric.RoundDecimals(product, 0), c.Expected["expanded_uncertainty_99_percent_nm"].(float64))
		default:
			t.Fatalf("%s: a kind of case the test does not know: %v", c.ID, c.Inputs)
		}
	}
	if done == 0 {
		t.Fatal("no case")
	}
}

func checkLength(t *testing.T, c example) {
	t.Helper()
	estimate, terms := lengthModel(t, c)
	out := call(t, "budget", doc{"terms": terms, "coverage": 0.99})
	u := map[string]float64{}
	contribution := map[string]float64{}
	for _, v := range out["terms"].([]any) {
		name := v.(doc)["name"].(string)
		u[name], contribution[name] = v.(doc)["u"].(float64), v.(doc)["contribution"].(float64)
	}
	var differences []doc
	for _, term := range terms {
		if n := term["name"].(string); n == "d0" || n == "d1" || n == "d2" {
			differences = append(differences, term)
		}
	}
	d := call(t, "budget", doc{"terms": differences})
	const ls = 50000623.0 // nm, the estimate of the case
	for name, want := range c.Expected {
		switch name {
		case "estimate_nm":
			c.near(t, numeric.RoundDecimals(estimate, 0), want.(float64))
		case "combined_standard_uncertainty_nm":
			c.near(t, out["u"], want.(float64))
		case "effective_degrees_of_freedom":
			c.near(t, out["dof"], want.(float64))
		case "effective_degrees_of_freedom_used":
			c.near(t, out["dof_used"], want.(float64))
		case "coverage_factor_99_percent":
			c.near(t, out["k"], want.(float64))
		case "standard_uncertainty_d_nm":
			c.near(t, d["u"], want.(float64))
		case "effective_degrees_of_freedom_d":
			c.near(t, d["dof"], want.(float64))
		case "component_nm":
			for n, w := range want.(doc) {
				c.near(t, contribution[n], w.(float64))
			}
		case "second_order_term_delta_alpha_theta_nm", "second_order_term_alpha_s_delta_theta_nm", "combined_standard_uncertainty_with_second_order_nm":
			// products of two uncertain quantities enter as terms of their own: GUM 5.1.2, note
			uTheta := c.Inputs["standard_uncertainty_theta_degc"].(float64)
			second := call(t, "budget", doc{"terms": append(append([]doc{}, terms...),
				doc{"name": "delta_alpha theta", "u": u["delta_alpha"] * uTheta, "sensitivity": ls},
				doc{"name": "alpha_s delta_theta", "u": u["alpha_s"] * u["delta_theta"], "sensitivity": ls})})
			got := map[string]any{"combined_standard_uncertainty_with_second_order_nm": second["u"]}
			for _, v := range second["terms"].([]any) {
				switch v.(doc)["name"] {
				case "delta_alpha theta":
					got["second_order_term_delta_alpha_theta_nm"] = v.(doc)["contribution"]
				case "alpha_s delta_theta":
					got["second_order_term_alpha_s_delta_theta_nm"] = v.(doc)["contribution"]
				}
			}
			c.near(t, got[name], want.(float64))
		default:
			t.Fatalf("%s: no rule for the result %q", c.ID, name)
		}
	}
}

// TestLineFitAgainstChecks runs the cases line_fit: GUM H.3 by the fit of calc/numeric, the range
// line of Kessel et al. by calculation budget with the correlation of its coefficients.
func TestLineFitAgainstChecks(t *testing.T) {
	done := 0
	for _, c := range metrology(t) {
		if c.Calculation != "line_fit" {
			continue
		}
		done++
		switch c.Inputs["fit"] {
		case "ordinary least squares with prediction":
			checkLeastSquares(t, c)
		case "two-point line through the first and last point":
			checkRangeLine(t, c)
		case "line with given rounded coefficients":
			checkRounded(t, c)
		default:
			t.Fatalf("%s: unknown fit %v", c.ID, c.Inputs["fit"])
		}
	}
	if done == 0 {
		t.Fatal("no case")
	}
}

func numbers(v any) []float64 {
	var all []float64
	for _, x := range v.([]any) {
		all = append(all, x.(float64))
	}
	return all
}

func checkLeastSquares(t *testing.T, c example) {
	t.Helper()
	x, y := numbers(c.Inputs["x_temperature_c"]), numbers(c.Inputs["y_correction_c"])
	offset := c.Inputs["x_offset_c"].(float64)
	for i := range x {
		x[i] -= offset
	}
	l, ok := numeric.LinearFit(x, y)
	if !ok {
		t.Fatalf("%s: no line", c.ID)
	}
	r := -l.MeanX / math.Sqrt(l.Sxx/float64(l.N)+l.MeanX*l.MeanX) // r(a,b) = −Σx/√(nΣx²), GUM H.3.2
	at := c.Inputs["predict_at_temperature_c"].(float64) - offset
	predicted := call(t, "budget", doc{"terms": []doc{
		{"name": "a", "u": l.InterceptError}, {"name": "b", "u": l.SlopeError, "sensitivity": at},
	},
		"correlations": []doc{{"a": "a", "b": "b", "r": r}}})["u"].(float64)
	got := map[string]float64{"intercept_a": l.Intercept, "standard_uncertainty_a": l.InterceptError, "slope_b": l.Slope, "standard_uncertainty_b": l.SlopeError,
		"correlation_a_b": r, "residual_standard_deviation": l.Residual, "predicted_correction_c": l.At(at), "predicted_standard_uncertainty_c": predicted,
		"sum_of_squared_residuals": l.Residual * l.Residual * float64(l.N-2)}
	want := c.Expected
	printed, round := want["rounded_to_printed_decimals"].(doc)
	if round {
		want = printed
	}
	for name, w := range want {
		g, ok := got[name]
		switch {
		case !ok:
			t.Fatalf("%s: no rule for the result %q", c.ID, name)
		case round:
			if s := numeric.FormatDecimals(g, numeric.DecimalPlaces(w.(string))); s != w {
				t.Errorf("%s: %s %s, printed %s", c.ID, name, s, w)
			}
		default:
			c.near(t, g, w.(float64))
		}
	}
}

func checkRangeLine(t *testing.T, c example) {
	t.Helper()
	x, y := numbers(c.Inputs["x_sensor_output"]), numbers(c.Inputs["y_pressure"])
	last := len(x) - 1
	dx := x[last] - x[0]
	b := (y[last] - y[0]) / dx
	a := y[0] - b*x[0]
	if residuals, ok := c.Expected["residuals_y_minus_line"]; ok {
		for i, want := range numbers(residuals) {
			c.near(t, y[i]-(a+b*x[i]), want)
		}
		return
	}
	rel := c.Inputs["relative_standard_uncertainty_of_y"].(float64)
	half := c.Inputs["x_resolution_half_width_rectangular"].(float64)
	// b = (y_n − y_1)/(x_n − x_1) and a = y_1 − b·x_1 share their four terms
	terms := func(y1, yn, x1, xn float64) []doc {
		return []doc{{"name": "y1", "u": rel * y[0], "sensitivity": y1}, {
			"name": "yn", "u": rel * y[last], "sensitivity": yn,
		},
			{
				"name": "x1", "half_width": half, "shape": "rectangular", "sensitivity": x1,
			}, {"name": "xn", "half_width": half, "shape": "rectangular", "sensitivity": xn}}
	}
	u := func(y1, yn, x1, xn float64) float64 {
		return call(t, "budget", doc{"terms": terms(y1, yn, x1, xn)})["u"].(float64)
	}
	by1, byn, bx1, bxn := -1/dx, 1/dx, b/dx, -b/dx
	ay1, ayn, ax1, axn := 1-x[0]*by1, -x[0]*byn, -b-x[0]*bx1, -x[0]*bxn
	ua, ub := u(ay1, ayn, ax1, axn), u(by1, byn, bx1, bxn)
	sum := u(ay1/ua+by1/ub, ayn/ua+byn/ub, ax1/ua+bx1/ub, axn/ua+bxn/ub) // of a/u(a) + b/u(b): u² = 2 + 2r
	c.near(t, a, c.Expected["intercept_a"].(float64))
	c.near(t, ua, c.Expected["standard_uncertainty_a"].(float64))
	c.near(t, b, c.Expected["slope_b"].(float64))
	c.near(t, ub, c.Expected["standard_uncertainty_b"].(float64))
	c.near(t, (sum*sum-2)/2, c.Expected["correlation_a_b"].(float64))
}

func checkRounded(t *testing.T, c example) {
	t.Helper()
	in := func(name string) float64 { return c.Inputs[name].(float64) }
	for i, x := range numbers(c.Inputs["x_sensor_output"]) {
		if p, ok := c.Expected["pressure"]; ok {
			c.near(t, in("intercept_a")+in("slope_b")*x, numbers(p)[i])
			continue
		}
		out := call(t, "budget", doc{
			"terms": []doc{{"name": "a", "u": in("standard_uncertainty_a")}, {
				"name": "b", "u": in("standard_uncertainty_b"), "sensitivity": x,
			},
				{"name": "linearity", "half_width": in("linearity_half_width_rectangular"), "shape": "rectangular"},
				{
					"name": "resolution", "half_width": in("x_resolution_half_width_rectangular"),
					"shape": "rectangular", "sensitivity": in("slope_b"),
				}},
			"correlations": []doc{{"a": "a", "b": "b", "r": in("correlation_a_b")}}})
		if out["k"] != in("coverage_factor") {
			t.Errorf("%s: k %v", c.ID, out["k"])
		}
		c.near(t, out["expanded"], numbers(c.Expected["expanded_uncertainty"])[i])
	}
}

// TestBudgetTrials compares trials with the known distributions. Sampling errors of 200,000 trials
// are below a tenth of the tolerances.
func TestBudgetTrials(t *testing.T) {
	half := func(shape string) []doc { return []doc{{"name": "x", "half_width": 1, "shape": shape}} }
	for name, tt := range map[string]struct {
		terms    []doc
		ties     []doc
		sd, high float64 // high at 95 %
	}{
		"normal":      {[]doc{{"name": "x", "u": 2}}, nil, 2, 2 * 1.959964},
		"rectangular": {half("rectangular"), nil, 1 / math.Sqrt(3), 0.95},
		"triangular":  {half("triangular"), nil, 1 / math.Sqrt(6), 1 - math.Sqrt(0.05)}, // P(|x| > h) = (1−h)²
		"arcsine":     {half("arcsine"), nil, 1 / math.Sqrt(2), math.Sin(math.Pi * 0.475)},
		"student": {
			[]doc{{"name": "x", "u": 1, "dof": 5}}, nil, math.Sqrt(5.0 / 3), 2.5706,
		}, // t of 5 degrees of freedom, metrology.md section 5.3
		"correlated": {
			[]doc{{"name": "x", "u": 3}, {"name": "y", "u": 4}}, []doc{{"a": "x", "b": "y", "r": 0.5}},
			math.Sqrt(37), 1.959964 * math.Sqrt(37),
		},
		"opposed": {
			[]doc{{"name": "x", "u": 1}, {"name": "y", "u": 1, "sensitivity": 2}},
			[]doc{{"a": "x", "b": "y", "r": -1}}, 1, 1.959964,
		},
	} {
		in := doc{"terms": tt.terms, "coverage": 0.95, "trials": doc{"count": 200000, "seed": 7}}
		if tt.ties != nil {
			in["correlations"] = tt.ties
		}
		got, ok := call(t, "budget", in)["trials"].(doc)
		if !ok {
			t.Errorf("%s: %v", name, call(t, "budget", in))
			continue
		}
		for field, want := range (doc{"mean": 0.0, "sd": tt.sd, "high": tt.high, "low": -tt.high}) {
			if g, w := got[field].(float64), want.(float64); math.Abs(g-w) > 0.02*tt.sd {
				t.Errorf("%s: %s %v, want %v", name, field, g, w)
			}
		}
		if short, even := got["shortest_high"].(float64)-got["shortest_low"].(float64), got["high"].(float64)-got["low"].(float64); short > even {
			t.Errorf("%s: the shortest interval %v is wider than the even one %v", name, short, even)
		}
	}
}

// TestBudgetIsNoLessThanATerm: independent terms never combine to less than one of them; shares add
// to 1; the order of terms does not matter; the coverage factor is never below that of a normal
// distribution.
func TestBudgetIsNoLessThanATerm(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var terms []doc
		for i := range rapid.IntRange(1, 8).Draw(rt, "n") {
			term := doc{
				"name": strconv.Itoa(i), "u": rapid.Float64Range(0, 1e3).Draw(rt, "u"),
				"sensitivity": rapid.Float64Range(-1e3, 1e3).Draw(rt, "c"),
			}
			if rapid.Bool().Draw(rt, "finite") {
				term["dof"] = rapid.IntRange(1, 100).Draw(rt, "dof")
			}
			terms = append(terms, term)
		}
		out := call(t, "budget", doc{"terms": terms})
		u, ok := out["u"].(float64)
		if !ok {
			rt.Fatalf("%v", out)
		}
		shares := 0.0
		for _, v := range out["terms"].([]any) {
			if c := v.(doc)["contribution"].(float64); c > u*(1+1e-15) {
				rt.Fatalf("a term of %v in %v", c, u)
			}
			shares += v.(doc)["share"].(float64)
		}
		if u > 0 && math.Abs(shares-1) > 1e-12 {
			rt.Fatalf("shares add to %v", shares)
		}
		if k := out["k"].(float64); k < 2-1e-9 {
			rt.Fatalf("k %v", k)
		}
		for i, j := 0, len(terms)-1; i < j; i, j = i+1, j-1 {
			terms[i], terms[j] = terms[j], terms[i]
		}
		if back := call(t, "budget", doc{"terms": terms})["u"].(float64); math.Abs(back-u) > 1e-14*u {
			rt.Fatalf("%v, reversed %v", u, back)
		}
	})
}

func TestBudgetRefuses(t *testing.T) {
	two := []doc{{"name": "x", "u": 1}, {"name": "y", "u": 1}}
	three := append(append([]doc{}, two...), doc{"name": "z", "u": 1})
	for name, tt := range map[string]struct {
		in          doc
		code, field string
	}{
		"no terms":     {doc{"terms": []doc{}}, "range", "terms"},
		"nothing said": {doc{"terms": []doc{{"name": "x"}}}, "missing", "terms[0].u"},
		"two ways": {
			doc{"terms": []doc{{"name": "x", "u": 1, "half_width": 1, "shape": "rectangular"}}},
			"conflict", "terms[0].u",
		},
		"no shape": {doc{"terms": []doc{{"name": "x", "half_width": 1}}}, "missing", "terms[0].shape"},
		"normal half-width": {
			doc{"terms": []doc{{"name": "x", "half_width": 1, "shape": "normal"}}}, "range",
			"terms[0].shape",
		},
		"expanded without k": {doc{"terms": []doc{{"name": "x", "expanded": 1}}}, "missing", "terms[0].k"},
		"negative":           {doc{"terms": []doc{{"name": "x", "u": -1}}}, "range", "terms[0].u"},
		"same name": {
			doc{"terms": []doc{{"name": "x", "u": 1}, {"name": "x", "u": 1}}}, "conflict", "terms[1].name",
		},
		"no such term": {
			doc{"terms": two, "correlations": []doc{{"a": "x", "b": "q", "r": 0}}}, "range",
			"correlations[0].b",
		},
		"too close": {
			doc{"terms": two, "correlations": []doc{{"a": "x", "b": "y", "r": 1.1}}}, "range",
			"correlations[0].r",
		},
		"pair twice": {
			doc{"terms": two, "correlations": []doc{{"a": "x", "b": "y", "r": 0.1}, {"a": "y", "b": "x", "r": 0.1}}},
			"conflict", "correlations[1]",
		},
		"no such quantities": {
			doc{
				"terms": three,
				"correlations": []doc{
					{"a": "x", "b": "y", "r": 0.9}, {"a": "y", "b": "z", "r": 0.9},
					{"a": "x", "b": "z", "r": -0.9},
				},
			},
			"range", "correlations",
		},
		"two masters": {
			doc{
				"terms": three,
				"correlations": []doc{
					{"a": "x", "b": "y", "r": 1}, {"a": "x", "b": "z", "r": 0.5}, {"a": "y", "b": "z", "r": 0.4},
				},
			},
			"range", "correlations",
		},
		"dof below one": {doc{"terms": []doc{{"name": "x", "u": 1, "dof": 0.5}}}, "range", "terms[0].dof"},
		"shaped and tied": {doc{"terms": []doc{
			{"name": "x", "u": 1}, {"name": "y", "half_width": 1, "shape": "arcsine"},
		}, "correlations": []doc{{"a": "x", "b": "y", "r": 0.1}},
			"trials": doc{"count": 100, "seed": 1}}, "conflict", "trials"},
		"coverage of all": {doc{"terms": two, "coverage": 1}, "range", "coverage"},
	} {
		e, _ := call(t, "budget", tt.in)["error"].(doc)
		if e["code"] != tt.code || e["field"] != tt.field {
			t.Errorf("%s: got %v, want %s at %s", name, e, tt.code, tt.field)
		}
	}
	// A certain term beside one without width, and a budget of zero: no uncertainty, no fault.
	if out := call(t, "budget", doc{"terms": []doc{{"name": "x", "u": 0}}}); out["expanded"] != 0.0 || out["k"] != 2.0 {
		t.Errorf("nothing uncertain: %v", out)
	}
	if out := call(t, "budget", doc{"terms": two, "correlations": []doc{{"a": "x", "b": "y", "r": -1}}}); out["u"] != 0.0 {
		t.Errorf("equal and opposed: %v", out)
	}
}
