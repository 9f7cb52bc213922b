package calc_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
)

// limitAt asks the calculation for the limit at a point by one reading there.
func limitAt(t *testing.T, limit map[string]any, low, high, point any) map[string]any {
	t.Helper()
	out := call(t, "gauge", map[string]any{"unit": "bar", "low": low, "high": high, "limit": limit, "decision": map[string]any{"rule": "simple"},
		"readings": []map[string]any{{"series": 1, "direction": "up", "point": point, "indicated": point}}})
	list, ok := out["points"].([]any)
	if !ok {
		t.Fatalf("%v at %v: %v", limit, point, out["error"])
	}
	return list[0].(map[string]any)
}

// noCalculation are the cases class_limit that need no calculation, each with the reason.
var noCalculation = map[string]string{
	"O-EN-mounting":        "an approval test by tilting; no reading of a calibration shows it",
	"O-EN-shock":           "an approval test on a shock machine",
	"O-EN-cycles":          "an endurance test",
	"O-EN-scale":           "how a scale is printed",
	"O-EN-ranges-positive": "which ranges are on offer; another range is judged just the same",
	"O-EN-ranges-vacuum":   "which ranges are on offer",
	"O-EN-ranges-compound": "which ranges are on offer",
	"O-EN-steady-load-75":  "how a gauge may be loaded in service",
	"O-EN-steady-load-100": "how a gauge may be loaded in service",
	"O-GBT-temperature":    "the allowance is counted from the edge of a band that the class alone does not name; the coefficient can be given as temperature_coefficient_percent_per_k",
	"O-ASME-graduation":    "how a dial is divided; the division is not a field of an instrument",
}

// TestClassLimitsAgainstChecks calculates every case class_limit of metrology.json, unless it is
// listed in noCalculation.
func TestClassLimitsAgainstChecks(t *testing.T) {
	zones := map[string]any{"lower_quarter": 10, "middle_half": 50, "upper_quarter": 90}
	chinese := map[string][]any{"zero": {0}, "rest": {1, 50, 89.9}, "90_to_100_percent": {90, 95, 100}}
	done, skipped := 0, 0
	for _, c := range metrology(t) {
		if c.Calculation != "class_limit" {
			continue
		}
		in, want := c.Inputs, c.Expected
		if noCalculation[c.ID] != "" {
			skipped++
			continue
		}
		done++
		number := func(name string) float64 { return want[name].(float64) }
		switch {
		case in["zone"] != nil && chinese[in["zone"].(string)] != nil:
			for _, at := range chinese[in["zone"].(string)] {
				p := limitAt(t, map[string]any{"rule": "gb1226", "class": in["accuracy_class"]}, 0, 100, at)
				c.near(t, p["limit"], number("maximum_permissible_error_percent_of_span"))
			}
		case want["maximum_permissible_error_percent_of_span"] != nil && in["zone"] != nil:
			p := limitAt(
				t, map[string]any{"rule": "b40.100", "grade": in["accuracy_grade"]}, 0, 100, zones[in["zone"].(string)],
			)
			c.near(t, p["limit"], number("maximum_permissible_error_percent_of_span"))
		case want["maximum_permissible_error_percent_of_span"] != nil:
			p := limitAt(t, map[string]any{"rule": "en837", "class": in["accuracy_class"]}, 0, 100, 50)
			c.near(t, p["limit"], number("maximum_permissible_error_percent_of_span"))
		case want["maximum_permissible_error_bar"] != nil:
			p := limitAt(
				t, map[string]any{"rule": "en837", "class": in["accuracy_class"]}, in["range_low_bar"],
				in["range_high_bar"], in["range_high_bar"],
			)
			c.near(t, p["limit"], number("maximum_permissible_error_bar"))
		case want["maximum_permissible_error_psi"] != nil:
			p := limitAt(
				t, map[string]any{"rule": "b40.100", "grade": in["accuracy_grade"]}, in["range_low_psi"],
				in["range_high_psi"], in["point_psi"],
			)
			c.near(t, p["limit"], number("maximum_permissible_error_psi"))
		case in["point_percent_of_range"] != nil:
			p := limitAt(
				t,
				map[string]any{"rule": "en837", "class": in["accuracy_class"], "stop_pin": in["zero_stop_pin"]},
				0, 100, in["point_percent_of_range"],
			)
			if applies := want["class_limit_applies"].(bool); (p["limit"] != nil) != applies ||
				(p["verdict"] != nil) != (want["verdict"] != "none") {
				t.Errorf("%s: %v", c.ID, p)
			}
		case want["class_valid_from_percent_of_range"] != nil:
			limit := map[string]any{"rule": "en837", "class": "1", "stop_pin": in["zero_stop_pin"]}
			from := number("class_valid_from_percent_of_range")
			if p := limitAt(t, limit, 0, 100, from); p["limit"] == nil || p["verdict"] != "pass" {
				t.Errorf("%s: no limit at %v %%", c.ID, from)
			}
			if from > 0 {
				if p := limitAt(t, limit, 0, 100, from-0.001); p["limit"] != nil {
					t.Errorf("%s: a limit below %v %%", c.ID, from)
				}
			}
			if p := limitAt(t, limit, 0, 100, number("class_valid_to_percent_of_range")); p["limit"] == nil {
				t.Errorf("%s: no limit at the top", c.ID)
			}
		case want["temperature_allowance_percent_of_span"] != nil:
			out := call(
				t, "gauge",
				gaugeDoc(doc{
					"surroundings": doc{
						"temperature_c":           in["temperature_c"],
						"reference_temperature_c": in["reference_temperature_c"],
					},
				}, reading(1, "up", "5", "5")),
			)
			c.near(t, out["temperature_allowance_percent"], number("temperature_allowance_percent_of_span"))
		case want["reference_temperature_c"] != nil:
			// at the reference temperature the coefficient has no line in the budget; a kelvin away
			// it has one
			for off, lines := range map[float64]int{0: 1, 1: 2} {
				out := call(t, "gauge", gaugeDoc(doc{"limit": doc{"rule": "b40.100", "grade": "A"}, "standard": doc{"u": 0.1}, "surroundings": doc{"temperature_c": number("reference_temperature_c") + off,
					"temperature_coefficient_percent_per_k": 1}}, reading(1, "up", "5", "5")))
				if list := pointAt(t, out, 0)["budget"].([]any); len(list) != lines {
					t.Errorf("%s: %v", c.ID, list)
				}
			}
		case want["hysteresis_limit_over_maximum_permissible_error"] != nil:
			warnsBeyond(
				t, c.ID, "hysteresis", doc{"rule": "en837", "class": "1"},
				0.1*number("hysteresis_limit_over_maximum_permissible_error"), 0,
			)
		case want["return_difference_limit_over_maximum_permissible_error"] != nil:
			limit := doc{"rule": "gb1226", "class": "1"}
			warnsBeyond(
				t, c.ID, "hysteresis", limit, 0.1*number("return_difference_limit_over_maximum_permissible_error"), 0,
			)
			warnsBeyond(
				t, c.ID, "friction", limit, 0, 0.1*number("tapping_change_limit_over_maximum_permissible_error"),
			)
		case want["friction_limit_percent_of_span"] != nil:
			warnsBeyond(
				t, c.ID, "friction", doc{"rule": "b40.100", "grade": in["accuracy_grade"]}, 0,
				number("friction_limit_percent_of_span")/10,
			)
		case want["test_point_count_min"] != nil:
			for _, class := range in["accuracy_classes"].([]any) {
				for less, warned := range map[int]bool{0: false, 1: true} {
					var list []doc
					for i := range int(number("test_point_count_min")) - less {
						list = append(list, reading(1, "up", strconv.Itoa(i), strconv.Itoa(i)))
					}
					if out := call(t, "gauge", gaugeDoc(doc{"limit": doc{"rule": "en837", "class": class}}, list...)); hasWarning(out, "few_points") != warned {
						t.Errorf("%s: class %v with %d points: %v", c.ID, class, len(list), out["warnings"])
					}
				}
			}
		default:
			t.Fatalf("%s: a kind of case the test does not know: %v → %v", c.ID, in, want)
		}
	}
	if done+skipped != 85 || skipped != len(noCalculation) {
		t.Errorf("%d cases calculated, %d are no calculation", done, skipped)
	}
	t.Logf("%d cases calculated, %d are no calculation", done, skipped)
}

// warnsBeyond checks that a difference of rising and falling readings at 5 bar of 0 to 10, or a
// change on tapping, leads to a warning just beyond a size.
func warnsBeyond(t *testing.T, id, code string, limit doc, apart, tapped float64) {
	t.Helper()
	say := func(x float64) string { return numeric.FormatDecimals(x, 9) }
	for _, more := range []float64{0, 1e-9} {
		up, down := reading(1, "up", "5", "5"), reading(1, "down", "5", say(5+apart))
		if apart > 0 {
			down["indicated"] = say(5 + apart + more)
		}
		if tapped > 0 {
			up["before_tap"] = say(5 - tapped - more)
		}
		out := call(t, "gauge", gaugeDoc(doc{"limit": limit}, up, down))
		if hasWarning(out, code) != (more > 0) {
			t.Errorf("%s: apart %v, tapped %v, more %v: %v", id, apart, tapped, more, out["warnings"])
		}
	}
}

// TestGaugeAgainstChecks runs O-DKD1 (synthetic readings, results by scipy from the formulas of
// DKD-R 6-1) and its straight lines.
func TestGaugeAgainstChecks(t *testing.T) {
	seen := 0
	for _, c := range metrology(t) {
		if c.Calculation != "gauge" {
			continue
		}
		seen++
		if c.ID == "O-DKD1-linearity" {
			checkLines(t, c)
			continue
		}
		doc := map[string]any{"unit": "bar", "low": "0", "high": c.Inputs["span_bar"], "resolution": c.Inputs["resolution_bar"], "limit": map[string]any{"rule": "en837", "class": "1"},
			"standard": map[string]any{
				"u": c.Inputs["standard_uncertainty_of_standard_constant_bar"],
			}, "decision": map[string]any{"rule": "simple", "k": c.Inputs["coverage_factor"]},
			"readings": c.Inputs["readings"]}
		out := call(t, "gauge", doc)
		c.near(t, out["zero_deviation"], c.Expected["zero_deviation_bar"].(float64))
		points := out["points"].([]any)
		for i, w := range c.Expected["points"].([]any) {
			want, got := w.(map[string]any), points[i].(map[string]any)
			for theirs, ours := range map[string]string{"mean_bar": "mean", "deviation_bar": "error", "repeatability_bar": "repeatability", "hysteresis_bar": "hysteresis"} {
				c.near(t, got[ours], want[theirs].(float64))
			}
			// The case uses each point's own b'. Here the larger of the largest b' and the scatter
			// s serves all points; the other terms are the same. From the second cycle less the
			// first in hundredths, 1 1 0 2 1 2 rising and 0 2 1 1 1 2 falling: s² = Σ(d −
			// d̄)²/(2·11) = (17/3)·1e-4/22, more than 0.01²/12.
			own := want["repeatability_bar"].(float64)
			u := math.Sqrt(
				math.Pow(want["combined_standard_uncertainty_bar"].(float64), 2) - own*own/12 + 17./3*1e-4/22,
			)
			c.near(t, got["u"], u)
			c.near(t, got["expanded"], 2*u)
			c.near(
				t, got["error_span"], want["error_span_bar"].(float64)-want["expanded_uncertainty_bar"].(float64)+2*u,
			)
		}
	}
	if seen != 2 {
		t.Errorf("%d cases of calculation gauge, want 2", seen)
	}
}

func checkLines(t *testing.T, c example) {
	t.Helper()
	var x, y []float64
	for _, m := range c.Inputs["means"].([]any) {
		p := m.(map[string]any)
		a, err1 := strconv.ParseFloat(p["point"].(string), 64)
		b, err2 := strconv.ParseFloat(p["mean"].(string), 64)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		x, y = append(x, a), append(y, b)
	}
	l := gauge.Straight(x, y)
	get := func(name, field string) float64 { return c.Expected[name].(map[string]any)[field].(float64) }
	c.near(t, l.Best.Slope, get("best_fit_straight_line_minimax", "slope"))
	c.near(t, l.Best.Intercept, get("best_fit_straight_line_minimax", "intercept_bar"))
	c.near(t, l.Best.MaxDeviation, get("best_fit_straight_line_minimax", "max_deviation_bar"))
	c.near(t, l.LeastSquares.Slope, get("least_squares_line", "slope"))
	c.near(t, l.LeastSquares.Intercept, get("least_squares_line", "intercept_bar"))
	c.near(t, l.LeastSquares.MaxDeviation, get("least_squares_line", "max_residual_bar"))
	c.near(t, l.Terminal.MaxDeviation, get("terminal_based", "max_deviation_bar"))
	c.near(t, l.ZeroBased.Slope, get("zero_based_minimax", "slope"))
	c.near(t, l.ZeroBased.MaxDeviation, get("zero_based_minimax", "max_deviation_bar"))
}

// TestExactlyAtTheLimitPasses: a reading whose error equals the limit in decimals is inside, one
// last digit more is outside: in every unit of pressure, for every class and grade, at every point.
func TestExactlyAtTheLimitPasses(t *testing.T) {
	limits := []map[string]any{}
	for _, c := range gauge.Classes {
		limits = append(limits, map[string]any{"rule": "en837", "class": c})
	}
	for _, g := range gauge.Grades {
		limits = append(limits, map[string]any{"rule": "b40.100", "grade": g.Name})
	}
	limits = append(
		limits,
		map[string]any{"rule": "terms", "of_span_percent": "0.05", "of_reading_percent": "0.005", "absolute": "0.0003"},
	)
	pressures := []string{
		"Pa", "hPa", "kPa", "MPa", "mbar", "bar", "psi", "ksi", "psf", "kgf/cm2", "atm", "Torr", "mmHg",
		"inHg", "inH2O@60F", "mmH2O", "ftH2O",
	}
	ranges := [][2]string{{"0", "0.6"}, {"0", "1.6"}, {"-1", "5"}, {"0", "2500"}, {"-0.1", "0"}}
	judged := 0
	for _, unit := range pressures {
		for _, r := range ranges {
			low, _ := numeric.ParseExact(r[0])
			high, _ := numeric.ParseExact(r[1])
			for _, limit := range limits {
				for _, percent := range []int{0, 10, 25, 50, 75, 90, 100} {
					share, _ := numeric.ExactInt(percent).Div(numeric.ExactInt(100))
					point := low.Add(high.Sub(low).Mul(share))
					text, _ := point.Text(12)
					got := limitAt(t, limit, r[0], r[1], text)["limit"].(float64)
					exact, _ := numeric.ParseExact(strconv.FormatFloat(got, 'f', -1, 64))
					for _, side := range []int{1, -1} {
						at := point.Add(exact.Mul(numeric.ExactInt(side)))
						tick, _ := numeric.ParseExact("0.0000001")
						for _, try := range []struct {
							x    numeric.Exact
							want string
						}{{at, "pass"}, {at.Add(tick.Mul(numeric.ExactInt(side))), "fail"}} {
							said, whole := try.x.Text(25)
							if !whole {
								t.Fatalf("%s is no decimal", said)
							}
							out := call(t, "gauge", map[string]any{"unit": unit, "low": r[0], "high": r[1], "limit": limit, "decision": map[string]any{"rule": "simple"},
								"readings": []map[string]any{
									{"series": 1, "direction": "up", "point": text, "indicated": said},
								}})
							if out["verdict"] != try.want {
								t.Fatalf(
									"%s %v %v: %s at %s is %v, want %s (%v)", unit, r, limit, said, text,
									out["verdict"], try.want, out["error"],
								)
							}
							judged++
						}
					}
				}
			}
		}
		if testing.Short() {
			break
		}
	}
	t.Logf("%d readings judged", judged)
}

func sheetDoc(way string, captures ...string) string {
	return `{"method":{"kind":"gauge","points":{"values":["0","0.5","1"]},"directions":"up-down","exercise":2,"tap":true,"hold_s":30,"hold_top_s":120,"way":"` + way + `","decision":{"rule":"simple"}},
"instrument":{"low":"0","high":"1","unit":"bar","mode":"gauge","resolution":"0.005","limit":{"rule":"en837","class":"1.6"}},"captures":[` + strings.Join(captures, ",") + `],"complete":true}`
}

func typed(step, of, value string) string {
	return fmt.Sprintf(`{"step":%q,"of":%q,"value":%q,"unit":"bar"}`, step, of, value)
}

func evaluate(t *testing.T, doc string) map[string]any {
	t.Helper()
	v, err := document.Parse(calc.Call("evaluate", []byte(doc)))
	if err != nil {
		t.Fatal(err)
	}
	out, _ := plain(v).(map[string]any)
	return out
}

func plain(v document.Value) any {
	switch v.Kind {
	case document.Object:
		m := map[string]any{}
		for i, n := range v.Names() {
			m[n] = plain(v.Items()[i])
		}
		return m
	case document.Array:
		list := []any{}
		for _, i := range v.List() {
			list = append(list, plain(i))
		}
		return list
	case document.Number:
		f, err := strconv.ParseFloat(v.Text, 64)
		if err != nil {
			return nil
		}
		return f
	case document.Bool:
		return v.Text == "true"
	case document.Null:
		return nil
	default:
		return v.Text
	}
}

// TestBothWaysOfReading: common practice, no source: align the pointer with the mark and note the
// applied pressure, or apply the round pressure and read the pointer. Both ways the error is
// indicated minus applied.
func TestBothWaysOfReading(t *testing.T) {
	steps := []string{"s1.up.0", "s1.up.1", "s1.up.2", "s1.down.2", "s1.down.1", "s1.down.0"}
	round := []string{"0", "0.500", "1.000", "1.000", "0.500", "0"}
	pointer := []string{"0.005", "0.510", "1.010", "1.012", "0.514", "0.005"}
	applied := []string{"-0.005", "0.490", "0.990", "0.988", "0.486", "-0.005"}
	for way, values := range map[string][]string{"applied-set": pointer, "pointer-set": applied} {
		of := map[string]string{"applied-set": "indicated", "pointer-set": "applied"}[way]
		var captures []string
		for i, s := range steps {
			captures = append(captures, typed(s, of, values[i]))
		}
		out := evaluate(t, sheetDoc(way, captures...))
		if out["verdict"] != "pass" || out["complete"] != true {
			t.Fatalf("%s: %v", way, out)
		}
		for i, r := range out["readings"].([]any) {
			reading := r.(map[string]any)
			want := 0.0
			a, err1 := strconv.ParseFloat(values[i], 64)
			b, err2 := strconv.ParseFloat(round[i], 64)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			if want = a - b; way == "pointer-set" {
				want = b - a
			}
			within(t, way, reading["step"].(string), reading["error"], want, 1e-15)
		}
	}
}

func TestFindingOfAnUnfinishedRun(t *testing.T) {
	out := evaluate(
		t,
		sheetDoc(
			"applied-set", typed("s1.up.0", "indicated", "0.000"), typed("s1.up.1", "indicated", "0.530"),
			typed("s1.up.1", "before_tap", "0.520"),
		),
	)
	if out["verdict"] != "undecided" || out["complete"] != false || len(out["missing"].([]any)) != 4 {
		t.Errorf("%v", out)
	}
	second := out["readings"].([]any)[1].(map[string]any)
	if second["verdict"] != "fail" {
		t.Errorf("0.530 at 0.5 with ±0.016: %v", second)
	}
	within(t, "fraction", "of limit", second["fraction"], 0.03/0.016, 1e-12)
	if empty := evaluate(t, sheetDoc("applied-set")); empty["verdict"] != "undecided" ||
		len(empty["missing"].([]any)) != 6 {
		t.Errorf("nothing typed yet: %v", empty)
	}
}

func TestEvaluateSaysWhatIsOdd(t *testing.T) {
	out := evaluate(
		t, sheetDoc("applied-set", typed("s1.up.0", "indicated", "0"), typed("s1.up.2", "indicated", "10.1")),
	)
	if !hasWarning(out, "out_of_range") || !hasWarning(out, "no_zero") || !hasWarning(out, "no_standard") {
		t.Errorf("%v", out["warnings"])
	}
	for name, tt := range map[string]struct{ doc, code, field string }{
		"another unit": {
			strings.Replace(
				sheetDoc("applied-set", typed("s1.up.0", "indicated", "0")), `"0","unit":"bar"`,
				`"0","unit":"degC"`, 1,
			),
			"unit", "captures[0].unit",
		},
		"decimal comma": {sheetDoc("applied-set", typed("s1.up.0", "indicated", "0,1")), "not_a_number", "captures[0].value"},
		"twice": {
			sheetDoc("applied-set", typed("s1.up.0", "indicated", "0"), typed("s1.up.0", "indicated", "0")),
			"conflict", "captures[1].step",
		},
	} {
		e, _ := evaluate(t, tt.doc)["error"].(map[string]any)
		if e["code"] != tt.code || e["field"] != tt.field {
			t.Errorf("%s: %v", name, e)
		}
	}
}

// TestPlan: a range of 2.5 in six equal points from zero gives steps of 0.5 (common practice, no
// source); every reading is preceded by its pressure and its wait, and the plan begins and ends
// vented.
func TestPlan(t *testing.T) {
	out := call(t, "expand", map[string]any{"method": map[string]any{
		"kind": "gauge", "points": map[string]any{"count": 6}, "exercise": 2, "hold_s": 30,
		"hold_top_s": 120, "tap": true,
	},
		"instrument": map[string]any{"low": "0", "high": "2.5", "unit": "bar", "mode": "gauge"}})
	steps := out["steps"].([]any)
	var up []string
	last := ""
	for i, s := range steps {
		step := s.(map[string]any)
		do := step["do"].(string)
		if do == "read" {
			if last != "hold" {
				t.Errorf("step %d reads without a wait", i)
			}
			if step["direction"] == "up" {
				up = append(up, step["target"].(string))
			}
		}
		last = do
	}
	if got := strings.Join(up, " "); got != "0 0.5 1 1.5 2 2.5" {
		t.Errorf("rising points %q", got)
	}
	first, end := steps[0].(map[string]any), steps[len(steps)-1].(map[string]any)
	if first["do"] != "exercise" || first["count"] != 2.0 || end["do"] != "vent" {
		t.Errorf("from %v to %v", first, end)
	}
	// 2 exercises of 30 s, 2 vents of 20 s, 12 readings of 15 + 8 + 3 s, 11 waits of 30 s and one of
	// 120 s: worked by hand.
	within(t, "plan", "duration", out["duration_s"], 2*30+2*20+12*26+11*30+120, 0)
	if math.Abs(out["screens"].(float64)-15) > 0 {
		t.Errorf("screens %v, want 15", out["screens"])
	}
}

// TestStandardWorkedByHand: common practice, no source: a module of 0.005 % of reading + 0.05 % of
// full scale, stability 10 ppm. At 10 of 0…20 bar: 0.0005 + 0.01 + 0.0001 = 0.0106 bar half-width,
// over √3 a standard uncertainty of 0.00611991 bar.
func TestStandardWorkedByHand(t *testing.T) {
	out := call(t, "gauge", map[string]any{"unit": "bar", "low": 0, "high": 10, "limit": map[string]any{"rule": "en837", "class": "1"}, "decision": map[string]any{"rule": "guarded"},
		"standard": map[string]any{"ranges": []map[string]any{
			{"low": 0, "high": 20, "of_reading_percent": "0.005", "of_span_percent": "0.05", "stability_ppm": 10},
		}},
		"readings": []map[string]any{{"series": 1, "direction": "up", "point": 10, "indicated": "10.02"}}})
	p := out["points"].([]any)[0].(map[string]any)
	within(t, "module", "u", p["u"], 0.0106/math.Sqrt(3), 1e-15)
	within(t, "module", "ratio", p["ratio"], 0.1/(2*0.0106/math.Sqrt(3)), 1e-12)
	if out["verdict"] != "pass" {
		t.Errorf("%v", out["verdict"])
	}
	beyond := call(t, "gauge", map[string]any{"unit": "bar", "low": 0, "high": 30, "limit": map[string]any{"rule": "en837", "class": "1"}, "decision": map[string]any{"rule": "guarded"},
		"standard": map[string]any{"ranges": []map[string]any{{"low": 0, "high": 20, "absolute": "0.01"}}},
		"readings": []map[string]any{{"series": 1, "direction": "up", "point": 30, "indicated": "30"}}})
	if e, _ := beyond["error"].(map[string]any); e["field"] != "standard.ranges" {
		t.Errorf("a point above the standard: %v", beyond)
	}
}
