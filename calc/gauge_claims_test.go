package calc_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gaugewright/calc/medium"
)

// known is a standard with an uncertainty, so that there are budgets.
var known = doc{"standard": doc{"u": "0.001"}}

// risesAndFalls makes the readings of cycles of a rise and a fall, each an offset from its point in
// hundredths.
func risesAndFalls(points []int, cycles ...[2][]int) []doc {
	var list []doc
	for c, sides := range cycles {
		for k, direction := range []string{"up", "down"} {
			for i := range sides[k] {
				at := i
				if k == 1 {
					at = len(points) - 1 - i
				}
				list = append(
					list,
					reading(
						c+1, direction, fmt.Sprint(points[at]),
						fmt.Sprintf("%.2f", float64(points[at])+float64(sides[k][at])/100),
					),
				)
			}
		}
	}
	return list
}

func pointOf(t *testing.T, out doc, i int) doc {
	t.Helper()
	list, ok := out["points"].([]any)
	if !ok || i >= len(list) {
		t.Fatal(out)
	}
	return list[i].(doc)
}

func termOf(p doc, name string) doc {
	list, _ := p["budget"].([]any)
	for _, l := range list {
		if l.(doc)["term"] == name {
			return l.(doc)
		}
	}
	return nil
}

// TestRepeatabilityServesAllPoints, worked by hand: two cycles agree except for 0.03 at 6 bar
// rising. That is b' there. It counts at every point as 0.03/√12, or as the two-way residuals if
// they give more.
func TestRepeatabilityServesAllPoints(t *testing.T) {
	points := []int{0, 2, 4, 6, 8, 10}
	flat := []int{0, 0, 0, 0, 0, 0}
	out := call(
		t, "gauge",
		gaugeDoc(known, risesAndFalls(points, [2][]int{flat, flat}, [2][]int{{0, 0, 0, 3, 0, 0}, flat})...),
	)
	// one of 12 places moves by 0.03 from one cycle to the next: Σ residuals² = 2·(0.015²·(11/12)² +
	// 11·(0.015/12)²) = 0.0004125, with 11 degrees of freedom
	if s := math.Sqrt(0.0004125 / 11); s > 0.03/math.Sqrt(12) {
		t.Fatal("the example is of the width, not of the scatter")
	}
	for i := range points {
		within(t, "rep", fmt.Sprint(i), termOf(pointOf(t, out, i), "rep")["contribution"], 0.03/math.Sqrt(12), 1e-12)
	}
	if pointOf(t, out, 3)["repeatability"] != 0.03 &&
		math.Abs(pointOf(t, out, 3)["repeatability"].(float64)-0.03) > 1e-12 {
		t.Error(pointOf(t, out, 3))
	}
	// many small changes: the scatter is more than the width. d = ±0.01 in turn over 12 places: s² =
	// Σ(d − d̄)²/(2·11) = 12·1e-4/22
	out = call(
		t, "gauge",
		gaugeDoc(
			known,
			risesAndFalls(points, [2][]int{flat, flat}, [2][]int{{0, 1, -1, 1, -1, 1}, {-1, 1, -1, 1, -1, 0}})...,
		),
	)
	line := termOf(pointOf(t, out, 2), "rep")
	within(t, "scatter", "s", line["contribution"], math.Sqrt((10*1e-4)/22), 1e-12)
}

// TestOneCycleSaysNothingOfRepeatability: one cycle leads to a warning; a stated width is used
// instead, as a rectangular one.
func TestOneCycleSaysNothingOfRepeatability(t *testing.T) {
	points, flat := []int{0, 5, 10}, []int{0, 0, 0}
	sheet := gaugeDoc(known, risesAndFalls(points, [2][]int{flat, flat})...)
	if out := call(t, "gauge", sheet); !hasWarning(out, "no_repeatability") ||
		termOf(pointOf(t, out, 1), "rep") != nil {
		t.Error(out)
	}
	sheet["repeatability_percent"] = "0.3" // of 10 bar
	out := call(t, "gauge", sheet)
	if hasWarning(out, "no_repeatability") {
		t.Error(out["warnings"])
	}
	within(t, "stated", "rep", termOf(pointOf(t, out, 1), "rep")["contribution"], 0.03/math.Sqrt(12), 1e-12)
}

// TestHysteresisIsOfTheMean, worked by hand: ±0.1 allowed, rising −0.03 and falling +0.06, u of the
// standard 0.005. The hysteresis of 0.09 enters the uncertainty of the mean, but not the guard band
// of a reading of one direction, which both readings keep.
func TestHysteresisIsOfTheMean(t *testing.T) {
	points := []int{0, 5, 10}
	sheet := gaugeDoc(known, risesAndFalls(points, [2][]int{{0, -3, 0}, {0, 6, 0}})...)
	sheet["standard"], sheet["decision"] = doc{"u": "0.005"}, doc{"rule": "guarded"}
	delete(sheet, "resolution")
	out := call(t, "gauge", sheet)
	p := pointOf(t, out, 1)
	within(t, "mean", "expanded", p["expanded"], 2*math.Sqrt(0.005*0.005+0.09*0.09/12), 1e-12)
	within(t, "reading", "expanded", p["expanded_reading"], 0.01, 1e-12)
	within(t, "reading", "guard", p["guard"], 0.01, 1e-12)
	if p["verdict"] != "pass" || out["verdict"] != "pass" {
		t.Errorf("%v", p)
	}
}

// TestClassHoldsWithItsConditions: the class is not claimed for five points without a fall, a fall
// further from the rise than the class allows, or a reading within U of the limit.
func TestClassHoldsWithItsConditions(t *testing.T) {
	ten := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 10}
	flat := make([]int, len(ten))
	class := func(set func(up, down []int), points []int, rule string, falls bool) any {
		up, down := append([]int(nil), flat[:len(points)]...), append([]int(nil), flat[:len(points)]...)
		set(up, down)
		if !falls {
			down = nil
		}
		sheet := gaugeDoc(known, risesAndFalls(points, [2][]int{up, down})...)
		sheet["standard"], sheet["decision"] = doc{"u": "0.001"}, doc{"rule": rule}
		delete(sheet, "resolution")
		return call(t, "gauge", sheet)["class_met"]
	}
	none := func(_, _ []int) {}
	for name, c := range map[string]struct{ got, want any }{
		"all is well":                 {class(none, ten, "simple", true), "0.1"},
		"no fall":                     {class(none, ten, "simple", false), nil},
		"five points":                 {class(none, ten[:5], "simple", true), "1"},
		"hysteresis of 0.02":          {class(func(u, d []int) { u[4], d[4] = -1, 1 }, ten, "simple", true), "0.25"},
		"0.01, at the limit of 0.1":   {class(func(u, d []int) { u[4], d[4] = 1, 1 }, ten, "simple", true), "0.1"},
		"0.01, with U before a limit": {class(func(u, d []int) { u[4], d[4] = 1, 1 }, ten, "guarded", true), "0.25"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v, want %v", name, c.got, c.want)
		}
	}
}

// TestClassAwayFromItsTemperature: at 40 °C the limits of a class for 20 °C come with a warning.
func TestClassAwayFromItsTemperature(t *testing.T) {
	sheet := gaugeDoc(known, risesAndFalls([]int{0, 2, 4, 6, 10}, [2][]int{make([]int, 5), make([]int, 5)})...)
	for celsius, want := range map[string]bool{"20": false, "22": false, "40": true} {
		sheet["surroundings"] = doc{"temperature_c": celsius}
		if out := call(t, "gauge", sheet); hasWarning(out, "class_temperature") != want {
			t.Errorf("%s °C: %v", celsius, out["warnings"])
		}
	}
}

// TestFallsGoWithTheirRises: rises 1 and 2 come before falls 1 and 2, and each fall belongs to the
// rise with its name.
func TestFallsGoWithTheirRises(t *testing.T) {
	var list []doc
	for _, r := range [][4]string{{"1", "up", "0", "0"}, {"1", "up", "5", "5"}, {"2", "up", "0", "0.48"}, {"2", "up", "5", "5"}, {"1", "down", "5", "5"}, {"1", "down", "0", "0.02"},
		{"2", "down", "5", "5"}, {"2", "down", "0", "0.48"}} {
		list = append(list, doc{"series": r[0], "direction": r[1], "point": r[2], "indicated": r[3]})
	}
	out := call(t, "gauge", gaugeDoc(known, list...))
	within(t, "zero", "deviation", out["zero_deviation"], 0.02, 1e-12)
}

// TestStandardBetweenItsPoints, worked by hand: midway between errors of 0 and 0.004 the curve may
// lie 0.001 off the line; the display's step of 0.002 enters as a width; a point's 5 degrees of
// freedom enter the budget.
func TestStandardBetweenItsPoints(t *testing.T) {
	sheet := gaugeDoc(known, reading(1, "up", "5", "5"))
	delete(sheet, "resolution")
	sheet["standard"] = doc{"ranges": []doc{{"low": 0, "high": 10, "absolute": "0.0000001", "resolution": "0.002"}},
		"certificate": doc{
			"points": []doc{
				{"applied": 0, "error": 0, "expanded": "0.01", "k": "2.57", "dof": 5},
				{"applied": 10, "error": "0.004", "expanded": "0.01", "k": "2.57", "dof": 8},
			},
		}}
	out := call(t, "gauge", sheet)
	p := pointOf(t, out, 0)
	within(t, "interp", "contribution", termOf(p, "interp")["contribution"], 0.001/math.Sqrt(3), 1e-12)
	within(t, "step", "contribution", termOf(p, "step")["contribution"], 0.002/math.Sqrt(12), 1e-12)
	u := p["u"].(float64)
	within(t, "dof", "of the certificate", p["dof"], math.Pow(u, 4)/(math.Pow(0.01/2.57, 4)/5), 1e-6)
}

// TestDensityOfTheColumn, worked by hand: 10 m of oil of 850 kg/m³, known to 1 % where nothing is
// stated, 20 kg/m³ stated.
func TestDensityOfTheColumn(t *testing.T) {
	sheet := gaugeDoc(known, reading(1, "up", "5", "5"))
	column := doc{"standard_above_m": 10, "fluid": "oil", "fluid_density_kg_m3": 850, "gravity_m_s2": "9.80665"}
	sheet["head"] = column
	out := call(t, "gauge", sheet)
	if !hasWarning(out, "usual_density") || !hasWarning(out, "usual_level") {
		t.Error(out["warnings"])
	}
	within(t, "usual", "dens", termOf(pointOf(t, out, 0), "dens")["value"], 8.5*9.80665*10/1e5, 1e-12)
	column["density_half_width_kg_m3"], column["half_width_m"] = 20, "0.1"
	out = call(t, "gauge", sheet)
	if hasWarning(out, "usual_density") || hasWarning(out, "usual_level") {
		t.Error(out["warnings"])
	}
	within(t, "stated", "dens", termOf(pointOf(t, out, 0), "dens")["value"], 20*9.80665*10/1e5, 1e-12)
}

// TestRealGas compares compressibility factors of air at 300 K with a table (Perry's Chemical
// Engineers' Handbook, from memory), each within the stated half-width.
func TestRealGas(t *testing.T) {
	for bar, z := range map[float64]float64{1: 0.9999, 10: 0.9974, 20: 0.9950, 40: 0.9917, 60: 0.9901, 80: 0.9903, 100: 0.9930, 150: 1.0074, 200: 1.0326, 250: 1.0669, 300: 1.1089, 400: 1.2073} {
		got, half := medium.Compressibility("air", bar*1e5, 26.85), medium.CompressibilityHalf("air", bar*1e5, 26.85)
		if math.Abs(got/z-1) > half {
			t.Errorf("%g bar: %g ± %g, the table says %g", bar, got, half, z)
		}
	}
	// The vapour pressure of carbon dioxide is 57.3 bar at 20 °C (common steam-table value, from
	// memory): beyond that it is a liquid, not a gas.
	for bar, want := range map[float64]bool{1: false, 40: false, 58: true, 100: true} {
		if got := medium.Liquid("co2", bar*1e5, 20); got != want {
			t.Errorf("CO2 at %g bar: liquid %v", bar, got)
		}
	}
	sheet := gaugeDoc(known, reading(1, "up", "100", "100"))
	sheet["high"], sheet["mode"] = 160, "gauge"
	sheet["head"] = doc{"standard_above_m": 10, "fluid": "co2", "gravity_m_s2": "9.80665"}
	if out := fmt.Sprint(call(t, "gauge", sheet)); !strings.Contains(out, "no gas at this pressure") {
		t.Error(out)
	}
	column := doc{
		"mode": "gauge", "standard_above_m": 10, "gravity_m_s2": "9.80665", "gas": "co2", "temperature_c": 20,
		"pressure_pa": 1e7,
	}
	if out := fmt.Sprint(call(t, "head", column)); !strings.Contains(out, "no gas at this pressure") {
		t.Error(out)
	}
	column["pressure_pa"] = 4e6
	if out := fmt.Sprint(call(t, "head", column)); !strings.Contains(out, "correction_pa") {
		t.Error(out)
	}
}
