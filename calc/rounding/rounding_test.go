package rounding_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/calc/calctest"
	"gaugewright/calc/rounding"
)

func number(x float64) *float64 { return &x }

// Results of published examples, with their stated uncertainties: the resistance of JCGM 100:2008,
// 7.2.6 (10.057 62 Ω and 27 mΩ), the mass of 7.2.2 (100.021 47 g and 0.79 mg), the gauge block of
// H.1.6 (50.000 838 mm and 93 nm), and the 10 kg weight of EA-4/02 M:2022, S2 (10.000 025 kg and 59
// mg). All from memory.
func TestPublishedResults(t *testing.T) {
	for _, tt := range []struct {
		about           string
		value, expanded float64
		want, uncertain string
	}{
		{"resistance in Ω", 10.05762, 0.027, "10.058", "0.027"},
		{"mass in g", 100.02147, 0.00079, "100.02147", "0.00079"},
		{"length in mm", 50.000838, 0.000093, "50.000838", "9.3e-05"},
		{"mass in kg", 10.000025, 0.000059, "10.000025", "5.9e-05"},
	} {
		got := rounding.Text(&rounding.Figure{Value: tt.value, Expanded: number(tt.expanded), Places: -1})
		if got != tt.want {
			t.Errorf("%s: %s, want %s", tt.about, got, tt.want)
		}
		if got := rounding.Uncertainty(tt.expanded); got != tt.uncertain {
			t.Errorf("%s: uncertainty %s, want %s", tt.about, got, tt.uncertain)
		}
	}
}

// Two significant digits, counted after rounding: 0.0996 has two decimals, since it becomes 0.10.
func TestDecimals(t *testing.T) {
	for expanded, want := range map[float64]int{
		0.96: 2, 0.994: 2, 0.996: 1, 9.94: 1, 9.96: 0, 12: 0, 120: -1, 0.0996: 2, 1: 1, 1e-9: 10,
	} {
		if got := rounding.Decimals(expanded); got != want {
			t.Errorf("Decimals(%g) = %d, want %d", expanded, got, want)
		}
	}
}

// A value is shown on its own side of a limit: 0.1604 beyond 0.16 is not written as 0.16, and 0.16
// on the limit is. An uncertainty of 0.012 gives three decimals.
func TestSideOfALimit(t *testing.T) {
	for _, tt := range []struct {
		value, low, high float64
		want             string
	}{
		{0.1604, -0.16, 0.16, "0.1604"},
		{0.1596, -0.16, 0.16, "0.1596"},
		{0.16, -0.16, 0.16, "0.160"},
		{-0.1604, -0.16, 0.16, "-0.1604"},
		{0.1504, -0.16, 0.16, "0.150"},
	} {
		f := rounding.Figure{
			Value: tt.value, Expanded: number(0.012), Low: number(tt.low), High: number(tt.high), Places: -1,
		}
		if got := rounding.Text(&f); got != tt.want {
			t.Errorf("%g: %s, want %s", tt.value, got, tt.want)
		}
	}
}

// Without an uncertainty the instrument's resolution decides, with one digit more; without a
// resolution four digits are shown, and binary noise beside the range becomes zero.
func TestWithoutUncertainty(t *testing.T) {
	for _, tt := range []struct {
		about string
		f     rounding.Figure
		want  string
	}{
		{"read to 0.02", rounding.Figure{Value: 1.23456, Places: 2}, "1.235"},
		{"read to 1", rounding.Figure{Value: -1.26, Places: 0}, "-1.3"},
		{"nothing known", rounding.Figure{Value: 1.23456, Places: -1}, "1.235"},
		{"noise", rounding.Figure{Value: 3e-16, Places: -1, Size: 10}, "0"},
		{"noise of a limit", rounding.Figure{Value: -3e-16, Places: -1, High: number(10)}, "0"},
		{"small, and nothing beside it", rounding.Figure{Value: 3e-16, Places: -1}, "3e-16"},
		{"minus nought", rounding.Figure{Value: -0.0001, Expanded: number(0.02), Places: -1}, "0.000"},
	} {
		if got := rounding.Text(&tt.f); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.about, got, tt.want)
		}
	}
}

// An error beside its limit has three digits of the limit, whatever its own size.
func TestErrorBesideItsLimit(t *testing.T) {
	for _, tt := range []struct {
		value, limit float64
		want         string
	}{
		{-0.0449194681893, 0.4, "-0.045"}, {0.005, 0.04, "0.005"}, {123.456, 400, "123"},
		{16.0340805318107, 0.4, "16.034"}, {0.4, 0.4, "0.4"}, {0.40000001, 0.4, "0.40000001"},
		{0.3999999, 0.4, "0.3999999"}, {1234.5, 40000, "1235"}, {-0.4004, 0.4, "-0.4004"},
	} {
		f := rounding.Figure{
			Value: tt.value, Low: number(-tt.limit), High: number(tt.limit), Places: 1, OfLimit: true,
		}
		if got := rounding.Text(&f); got != tt.want {
			t.Errorf("%g of %g: %s, want %s", tt.value, tt.limit, got, tt.want)
		}
	}
}

func TestErrorKeepsItsSide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Float64Range(1e-6, 1e3).Draw(t, "limit")
		x := rapid.OneOf(
			rapid.Float64Range(-1e3, 1e3), rapid.Float64Range(limit*(1-1e-12), limit*(1+1e-12)),
		).Draw(t, "error")
		f := rounding.Figure{Value: x, Low: number(-limit), High: number(limit), Places: -1, OfLimit: true}
		shown, err := strconv.ParseFloat(rounding.Text(&f), 64)
		if err != nil || (math.Abs(shown) > limit) != (math.Abs(x) > limit) {
			t.Errorf("%v of ± %v is shown as %v (%v)", x, limit, shown, err)
		}
	})
}

func TestOfLimit(t *testing.T) {
	for part, want := range map[float64]string{
		0: "0", 0.304: "30", -0.5: "50", 0.994: "99", 0.9951: "< 100", 0.9999: "< 100", 1: "100",
		0.30000000000000004 / 0.3: "100", 1 + 1e-12: "100", 1.0001: "> 100", 1.0049: "> 100", -1.004: "> 100",
		1.0051: "101", 12.3: "1230",
	} {
		if got := rounding.OfLimit(part); got != want {
			t.Errorf("%g of the limit is %q, want %q", part, got, want)
		}
	}
}

func TestPlain(t *testing.T) {
	for x, want := range map[float64]string{
		0: "0", 101325: "101325", 1234567: "1234570", 0.000123456789: "0.000123457",
		0.0000123456: "1.235e-05", -2.5e10: "-2.5e+10", 1.0 / 3: "0.333333",
	} {
		if got := rounding.Plain(x); got != want {
			t.Errorf("Plain(%g) = %s, want %s", x, got, want)
		}
	}
}

// Rounding never moves a value by more than half of its last decimal, nor across a limit nor onto
// one.
func TestRoundKeepsItsSide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Float64Range(0.001, 100).Draw(t, "limit")
		f := rounding.Figure{
			Value:    limit * rapid.Float64Range(-1.5, 1.5).Draw(t, "share"),
			Expanded: number(limit * rapid.Float64Range(0.001, 0.5).Draw(t, "expanded")),
			Low:      number(-limit), High: number(limit), Places: -1,
		}
		x, decimals, given := rounding.Round(&f)
		if !given {
			t.Fatal("an uncertainty gives no decimals")
		}
		if step := math.Pow(10, -float64(decimals)); math.Abs(x-f.Value) > step*0.5000001 {
			t.Errorf("%g is rounded to %g, by more than half of %g", f.Value, x, step)
		}
		near := math.Min(math.Abs(f.Value-limit), math.Abs(f.Value+limit))
		if near > limit*1e-6 && (math.Abs(x) >= limit) != (math.Abs(f.Value) >= limit) {
			t.Errorf("%g of ± %g is shown as %g", f.Value, limit, x)
		}
		text, err := strconv.ParseFloat(rounding.Text(&f), 64)
		if err != nil || text != x && math.Abs(text-x) > math.Abs(x)*1e-3 {
			t.Errorf("%g is written as %g (%v)", x, text, err)
		}
	})
}

// The resolution counts only for results in the instrument's unit.
func TestFigures(t *testing.T) {
	r := calctest.Run(t, rounding.Calculations()[0].Call, `{"results":[
		{"value":1.23456,"unit":"bar"},{"value":1.23456,"unit":"%"},{"value":1.23456,"expanded":0.0123,"unit":"bar"}
		],"instrument":{"unit":"bar","high":"10","resolution":"0.5"}}`)
	want := []string{"1.23", "1.235", "1.235"}
	for i, one := range r.List("results") {
		if got := one.Text("value"); got != want[i] {
			t.Errorf("result %d: %s, want %s", i+1, got, want[i])
		}
	}
	if _, err := calctest.Try(rounding.Calculations()[0].Call, `{"results":[{"expanded":1}]}`); err == nil ||
		!strings.Contains(err.Error(), "results[0].value") {
		t.Errorf("a result without a value: %v", err)
	}
}
