package calc_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// TestDaysOfH5: GUM (JCGM 100:2008) H.5, a Zener standard of voltage measured five times on each of
// ten days: table H.9 and the results of H.5.2, all from memory. It goes from the observations to
// the standard uncertainty, with and without an effect between the days.
func TestDaysOfH5(t *testing.T) {
	within9 := func(name string, got any, want, tolerance float64) {
		t.Helper()
		within(t, "H.5", name, got, want, tolerance)
	}
	means := []int{172, 116, 13, 144, 106, 31, 60, 125, 163, 41} // µV above 10 V
	scatter := []int{60, 77, 111, 101, 67, 93, 80, 73, 88, 86}   // µV, of the five of a day
	out := call(t, "observations", doc{"series": []doc{{"name": "day", "values": means}}})
	days := out["series"].([]any)[0].(doc)
	within9("mean", days["mean"], 97, 0.5)
	within9("s of the days", days["s"], 57, 0.5)
	within9("u with an effect of the day", days["u"], 18, 0.5)
	within9("its degrees of freedom", days["dof"], 9, 0)

	model := func(formula string, list ...doc) float64 {
		t.Helper()
		m := call(t, "model", doc{"formula": formula, "quantities": list})
		if m["error"] != nil {
			t.Fatalf("%s: %v", formula, m["error"])
		}
		return m["value"].(float64)
	}
	var squares []string
	var each []doc
	for i, s := range scatter {
		name := fmt.Sprintf("s%d", i+1)
		squares = append(squares, name+"^2")
		each = append(each, quantity(name, s, float64(s)/math.Sqrt(8))) // s/√(2ν), ν = 4: GUM E.4.3
	}
	sb := model("sqrt(("+strings.Join(squares, " + ")+")/10)", each...)
	within9("s within the days", sb, 85, 0.5)
	of := []doc{quantity("s", days["s"], 1), quantity("sb", sb, 1)}
	within9("s between, by five", model("sqrt(5)*s + 0*sb", of...), 128, 0.5)
	within9("F", model("5*s^2/sb^2", of...), 2.25, 0.02)
	within9("the effect of the day", model("sqrt(s^2 - sb^2/5)", of...), 43, 0.5)
	within9("u without one", model("sqrt((9*5*s^2 + 40*sb^2)/49/50)", of...), 13, 0.5)
}

// TestGaugeBlockOfTheSupplement: JCGM 101:2008 9.5, a gauge block of 50 mm compared with a
// standard: table 10 and the results of 9.5.4, in nm, from memory. The law of propagation
// represents the inexact limits of da and dt by degrees of freedom (GUM H.1.6: 50 and 2). For the
// trials these two are curvilinear trapezoids, here rectangles of the same standard uncertainty:
//
//	u² = (2a)²/12 + d²/9, a the half-width, d the inexactness of the limits (JCGM 101 6.4.3.2)
func TestGaugeBlockOfTheSupplement(t *testing.T) {
	student := func(name string, value, u, dof float64) doc {
		return doc{"name": name, "value": value, "u": u, "dof": dof}
	}
	doubtful := func(name string, half, doubt float64) doc {
		u := math.Sqrt(half*half/3 + doubt*doubt/9)
		return doc{"name": name, "value": 0, "u": u, "shape": "rectangular"}
	}
	limits := func(name string, half, dof float64) doc {
		return doc{"name": name, "value": 0, "half_width": half, "shape": "rectangular", "dof": dof}
	}
	compare := func(da, dt, trials doc) doc {
		t.Helper()
		in := doc{
			"formula": "Ls + D + d1 + d2 - Ls*(da*(t0 + Delta) + as*dt) - 50000000",
			"quantities": []doc{
				student("Ls", 50000623, 25, 18), student("D", 215, 6, 24), student("d1", 0, 4, 5),
				student("d2", 0, 7, 8), rectangle("as", 11.5e-6, 2e-6), quantity("t0", -0.1, 0.2),
				{"name": "Delta", "value": 0, "half_width": 0.5, "shape": "arcsine"}, da, dt,
			},
			"coverage": "0.99",
		}
		if trials != nil {
			in["trials"] = trials
		}
		out := call(t, "model", in)
		if out["error"] != nil {
			t.Fatal(out["error"])
		}
		return out
	}
	// The tolerance is half a unit of the last printed digit, for both ends of an interval too.
	law := compare(limits("da", 1e-6, 50), limits("dt", 0.050, 2), nil)
	within(t, "9.5", "value", law["value"], 838, 0.5)
	within(t, "9.5", "u", law["u"], 32, 0.5)
	within(t, "9.5", "half of the 99 % interval", law["expanded"], 93, 0.5)
	// For the trials add the half unit that they are stable to.
	out := compare(doubtful("da", 1e-6, 0.1e-6), doubtful("dt", 0.050, 0.025), doc{"seed": 5, "digits": 2})
	trials := out["trials"].(doc)
	within(t, "9.5", "mean of the trials", trials["mean"], 838, 1)
	within(t, "9.5", "u of the trials", trials["sd"], 36, 1)
	within(t, "9.5", "low", trials["shortest_low"], 745, 1)
	within(t, "9.5", "high", trials["shortest_high"], 932, 1)
	if trials["stable"] != true {
		t.Error("the trials are not stable")
	}
}
