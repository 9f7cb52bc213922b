package calc_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

func quantity(name string, value, u any) doc { return doc{"name": name, "value": value, "u": u} }

func rectangle(name string, value, half any) doc {
	return doc{"name": name, "value": value, "half_width": half, "shape": "rectangular"}
}

// TestObservationsOfH2: GUM (JCGM 100:2008) H.2, tables H.2 to H.4: resistance, reactance and
// impedance from five sets of observations made together. It goes from the observations to the
// results by a budget.
func TestObservationsOfH2(t *testing.T) {
	out := call(t, "observations", doc{"series": []doc{
		{"name": "V", "values": []string{"5.007", "4.994", "5.005", "4.990", "4.999"}},
		{"name": "I", "values": []string{"0.019663", "0.019639", "0.019640", "0.019685", "0.019678"}},
		{"name": "phi", "values": []string{"1.0456", "1.0438", "1.0468", "1.0428", "1.0433"}}}})
	series := out["series"].([]any)
	for i, want := range [][3]float64{{4.9990, 0.0032, 5e-5}, {0.0196610, 0.0000095, 5e-8}, {1.04446, 0.00075, 5e-6}} {
		s := series[i].(doc)
		within(t, "H.2", "mean", s["mean"], want[0], want[0]*1e-5)
		within(t, "H.2", "u", s["u"], want[1], want[2])
		if s["dof"] != 4.0 {
			t.Error(s)
		}
	}
	var quantities []doc
	for _, s := range series {
		quantities = append(quantities, quantity(s.(doc)["name"].(string), s.(doc)["mean"], s.(doc)["u"]))
	}
	for i, r := range []float64{-0.36, 0.86, -0.65} {
		within(t, "H.2", "correlation", out["correlations"].([]any)[i].(doc)["r"], r, 0.005)
	}
	for formula, want := range map[string][2]float64{"V/I*cos(phi)": {127.732, 0.071}, "V/I*sin(phi)": {219.847, 0.295}, "V/I": {254.260, 0.236}} {
		m := call(t, "model", doc{"formula": formula, "quantities": quantities, "correlations": out["correlations"]})
		within(t, formula, "value", m["value"], want[0], 5e-4)
		within(t, formula, "u", m["u"], want[1], 6e-4)
	}
}

// TestLineOfH3: GUM (JCGM 100:2008) H.3, calibration of a thermometer: b = y1 + y2 (t − 20 °C).
func TestLineOfH3(t *testing.T) {
	var points []doc
	at := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	for i, b := range []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160} {
		points = append(points, doc{"x": fmt.Sprintf("%.3f", at[i]-20), "y": b})
	}
	out := call(t, "line", doc{"points": points, "at": []int{10}})
	for name, want := range map[string][2]float64{"intercept": {-0.1712, 5e-5}, "u_intercept": {0.0029, 5e-5}, "slope": {0.00218, 5e-6}, "u_slope": {0.00067, 5e-6},
		"correlation": {-0.930, 5e-4}, "s": {0.0035, 5e-5}, "dof": {9, 0}} {
		within(t, "H.3", name, out[name], want[0], want[1])
	}
	y := out["at"].([]any)[0].(doc)
	within(t, "H.3", "b(30 °C)", y["y"], -0.1494, 5e-5)
	within(t, "H.3", "u(b)", y["u"], 0.0041, 5e-5)
}

// TestLineOfYork: the points of Pearson with the weights of York, whose line is known to many
// places (York 1969 and 2004, from memory): y = 5.47991 − 0.480533 x, u 0.2950 and 0.0580, χ²
// 11.8664.
func TestLineOfYork(t *testing.T) {
	x := []string{"0", "0.9", "1.8", "2.6", "3.3", "4.4", "5.2", "6.1", "6.5", "7.4"}
	y := []string{"5.9", "5.4", "4.4", "4.6", "3.5", "3.7", "2.8", "2.8", "2.4", "1.5"}
	wx := []float64{1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1}
	wy := []float64{1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500}
	var points, swapped []doc
	for i := range x {
		ux, uy := inverseRoot(wx[i]), inverseRoot(wy[i])
		points = append(points, doc{"x": x[i], "y": y[i], "ux": ux, "uy": uy})
		swapped = append(swapped, doc{"x": y[i], "y": x[i], "ux": uy, "uy": ux})
	}
	out := call(t, "line", doc{"points": points})
	for name, want := range map[string][2]float64{"intercept": {5.47991022, 1e-7}, "slope": {-0.480533407, 1e-8}, "u_intercept": {0.2950, 2e-4}, "u_slope": {0.0580, 1e-4},
		"chi_squared": {11.8663532, 1e-6}} {
		within(t, "York", name, out[name], want[0], want[1])
	}
	// with the axes exchanged it is the same line
	back := call(t, "line", doc{"points": swapped})
	within(t, "York", "exchanged", back["slope"], 1/out["slope"].(float64), 1e-9)
}

// TestTrialsOfTheSupplement: JCGM 101:2008 9.2 (sums), 9.3 (a mass), 9.4 (a loss of comparison):
// the results of its tables, to the digits that it gives.
func TestTrialsOfTheSupplement(t *testing.T) {
	sum := "x1 + x2 + x3 + x4"
	four := func(last doc) []doc {
		return []doc{rectangle("x1", 0, root3), rectangle("x2", 0, root3), rectangle("x3", 0, root3), last}
	}
	mass := []doc{
		quantity("mRc", 100000, 0.050), quantity("dRc", 1.234, 0.020), rectangle("air", 1.20, 0.10),
		rectangle("W", 8000, 1000), rectangle("R", 8000, 50),
	}
	for _, c := range []struct {
		name, formula string
		quantities    []doc
		propagated    float64 // u by the law of propagation
		u, low, high  float64
		tolerance     float64
		shortest      bool
		agrees        bool
		digits        int
	}{
		{
			"9.2.2", sum,
			[]doc{quantity("x1", 0, 1), quantity("x2", 0, 1), quantity("x3", 0, 1), quantity("x4", 0, 1)},
			2, 2.00, -3.92, 3.92, 0.05, false, true, 2,
		},
		{"9.2.3", sum, four(rectangle("x4", 0, root3)), 2, 2.00, -3.88, 3.88, 0.05, false, true, 1},
		{"9.2.4", sum, four(rectangle("x4", 0, 10*root3)), 10.15, 10.15, -17.0, 17.0, 0.3, false, false, 2},
		{
			"9.3", "(mRc + dRc)*(1 + (air - 1.2)*(1/W - 1/R)) - 100000", mass, 0.0539, 0.0754, 1.0834,
			1.3825, 0.002, true, false, 2,
		},
		{
			"9.4, x1 0", "x1^2 + x2^2", []doc{quantity("x1", 0, 0.005), quantity("x2", 0, 0.005)}, 0,
			50e-6, 0, 150e-6, 4e-6, true, false, 1,
		},
		{
			"9.4, x1 0.010", "x1^2 + x2^2", []doc{quantity("x1", 0.010, 0.005), quantity("x2", 0, 0.005)},
			100e-6, 112e-6, 0, 367e-6, 8e-6, true, false, 1,
		},
		{
			"9.4, x1 0.050", "x1^2 + x2^2", []doc{quantity("x1", 0.050, 0.005), quantity("x2", 0, 0.005)},
			500e-6, 502e-6, 1590e-6, 3543e-6, 40e-6, true, false, 1,
		},
	} {
		in := doc{
			"formula": c.formula, "quantities": c.quantities, "coverage": "0.95",
			"trials": doc{"seed": 7, "digits": c.digits},
		}
		out := call(t, "model", in)
		if out["error"] != nil {
			t.Errorf("%s: %v", c.name, out["error"])
			continue
		}
		within(t, c.name, "u by propagation", out["u"], c.propagated, 0.003*c.u)
		trials := out["trials"].(doc)
		within(t, c.name, "u", trials["sd"], c.u, c.tolerance)
		low, high := "low", "high"
		if c.shortest {
			low, high = "shortest_low", "shortest_high"
		}
		within(t, c.name, "low", trials[low], c.low, c.tolerance)
		within(t, c.name, "high", trials[high], c.high, c.tolerance)
		if trials["stable"] != true || trials["agrees"] != c.agrees || trials["count"].(float64) < 20000 {
			t.Errorf("%s: %v", c.name, trials)
		}
		if again := call(t, "model", in); fmt.Sprint(again) != fmt.Sprint(out) {
			t.Errorf("%s: other numbers for the same seed", c.name)
		}
	}
}

// TestFormulas is worked by hand; it also checks that a faulty formula is refused with the position
// of the fault.
func TestFormulas(t *testing.T) {
	for formula, want := range map[string]float64{"2 + 3*4": 14, "-2^2": -4, "2^-1": 0.5, "2^3^2": 512, "(1 + 2)*3": 9, "10/4/5": 0.5, "1 - 2 - 3": -4, "max(1, a, 2)*min(5, 4)": 12,
		"abs(-a) + sqrt(9)": 6, "log10(1000)": 3, "ln(exp(a))": 3, "sin(pi/2) + cos(0)": 2, "1e3 + .5": 1000.5, "(-a)^3": -27} {
		out := call(t, "model", doc{"formula": formula, "quantities": []doc{quantity("a", 3, 0)}})
		within(t, formula, "value", out["value"], want, 1e-12)
	}
	for formula, want := range map[string]string{"a +": "missing", "a b": "character 3", "f(a)": "no quantity called", "sqrt a": "parentheses", "(a": "not closed", "1..2": "not a number",
		"sqrt(a, 1)": "takes one value", "a $ 1": "should end", "ln(a - 3)": "finite", strings.Repeat("(", 80): "within each other"} {
		out := call(t, "model", doc{"formula": formula, "quantities": []doc{quantity("a", 3, 0)}})
		if e := fmt.Sprint(out["error"]); !strings.Contains(e, want) {
			t.Errorf("%s: %s", formula, e)
		}
	}
}

var root3 = math.Sqrt(3)

func inverseRoot(weight float64) float64 { return 1 / math.Sqrt(weight) }
