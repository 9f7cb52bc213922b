package formula_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/calc/document"
	"gaugewright/calc/formula"
)

func value(t *testing.T, text string, named map[string]float64) float64 {
	t.Helper()
	var names []string
	var values []float64
	for n, x := range named {
		names, values = append(names, n), append(values, x)
	}
	f, _, err := formula.Parse(text, names)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return f.Value(values, make([]float64, f.Depth()))
}

// Formulas of published standards, with the values in their tables: the pressure of the standard
// atmosphere at 5000 m (ISO 2533:1975, table 1: 540.199 hPa), and the vapour pressure over water at
// 20 °C by the formula of WMO-No. 8 (2018), annex 4.B; both from memory. The second is worked by
// hand: 17.62 · 20/263.12 = 1.339313, e^1.339313 = 3.816421.
func TestPublishedFormulas(t *testing.T) {
	for _, tt := range []struct {
		text         string
		named        map[string]float64
		want, within float64
	}{
		{"1013.25 * (1 - 0.0065*h/288.15)^5.25588", map[string]float64{"h": 5000}, 540.199, 0.002},
		{"6.112 * exp(17.62*t/(243.12 + t))", map[string]float64{"t": 20}, 6.112 * 3.816421, 1e-4},
	} {
		if got := value(t, tt.text, tt.named); math.Abs(got-tt.want) > tt.within {
			t.Errorf("%s = %g, want %g", tt.text, got, tt.want)
		}
	}
}

// Powers bind closest, from the right; then signs, then products, then sums, from the left: the
// usual order of operations (ISO 80000-2).
func TestOrder(t *testing.T) {
	for text, want := range map[string]float64{
		"2+3*4": 14, "(2+3)*4": 20, "2-3-4": -5, "24/4/2": 3, "2^3^2": 512, "-2^2": -4, "2^-1": 0.5,
		"--3": 3, "2*-3": -6, "1e3+.5": 1000.5, "min(3,1,2)+max(1,2)": 3, "sqrt(16)": 4, "abs(-2)": 2,
		"ln(exp(2))": 2, "log10(1000)": 3, "sin(0)+cos(0)+tan(0)": 1, "pi": math.Pi, " 1 +\t1\n": 2,
		"(-2)^3": -8, "4^0.5": 2,
	} {
		if got := value(t, text, nil); math.Abs(got-want) > 1e-14*math.Max(1, math.Abs(want)) {
			t.Errorf("%q = %g, want %g", text, got, want)
		}
	}
	if got := value(t, "(-2)^0.5", nil); !math.IsNaN(got) {
		t.Errorf("the root of a value below zero is %g", got)
	}
}

// A fault states its character position.
func TestFaults(t *testing.T) {
	for text, want := range map[string]string{
		"":                                      "character 1",
		"1 +":                                   "character 4",
		"(1":                                    "not closed",
		"1 2":                                   "should end",
		"1..2":                                  "not a number",
		"sqrt 4":                                "parentheses",
		"sqrt(1,2)":                             "one value",
		"q + 1":                                 "q",
		"2 $ 3":                                 "character 3",
		strings.Repeat("(", 60):                 "within each other",
		strings.Repeat("1+", formula.MostBytes): "too long",
	} {
		_, _, err := formula.Parse(text, []string{"p"})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.20q: %v, want %q", text, err, want)
		} else if f := document.AsFault(err); f.Field != "formula" {
			t.Errorf("%.20q: the fault names %q", text, f.Field)
		}
	}
}

func TestUsedNames(t *testing.T) {
	_, used, err := formula.Parse("a*2 + c", []string{"a", "b", "c"})
	if err != nil || !used[0] || used[1] || !used[2] {
		t.Errorf("used %v, %v", used, err)
	}
}

// tree is a formula of random shape: how it is written, with parentheses everywhere, and its value.
type tree struct {
	text string
	x    float64
}

func trees(depth int) *rapid.Generator[tree] {
	return rapid.Custom(func(t *rapid.T) tree {
		if depth == 0 || rapid.IntRange(0, 3).Draw(t, "leaf") == 0 {
			names := []tree{{"a", 2.5}, {"b", -0.75}, {"3", 3}, {"0.125", 0.125}}
			return names[rapid.IntRange(0, 3).Draw(t, "name")]
		}
		l, r := trees(depth-1).Draw(t, "left"), trees(depth-1).Draw(t, "right")
		switch rapid.IntRange(0, 4).Draw(t, "operation") {
		case 0:
			return tree{"(" + l.text + "+" + r.text + ")", l.x + r.x}
		case 1:
			return tree{"(" + l.text + "-" + r.text + ")", l.x - r.x}
		case 2:
			return tree{"(" + l.text + "*" + r.text + ")", float64(l.x * r.x)}
		case 3:
			return tree{"(" + l.text + "/" + r.text + ")", l.x / r.x}
		}
		return tree{"max(" + l.text + ", -" + r.text + ")", max(l.x, -r.x)}
	})
}

// A random formula has the same value as its parts evaluated one by one, to the last bit.
func TestRandomFormulas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one := trees(5).Draw(t, "formula")
		f, _, err := formula.Parse(one.text, []string{"a", "b"})
		if err != nil {
			t.Fatalf("%s: %v", one.text, err)
		}
		got := f.Value([]float64{2.5, -0.75}, make([]float64, f.Depth()))
		if got != one.x && !(math.IsNaN(got) && math.IsNaN(one.x)) {
			t.Errorf("%s = %g, want %g", one.text, got, one.x)
		}
	})
}
