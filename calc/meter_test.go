package calc_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"gaugewright/calc"
)

const transmitterBar = `"low":"0","high":"10","unit":"bar","mode":"gauge","resolution":"0.001","limit":{"rule":"terms","of_span_percent":"0.25"},"output":{"low":"4","high":"20","unit":"mA","resolution":"0.001"}`

type signalFinding struct {
	Readings []struct {
		Point, Step             string
		Indicated, Ideal, Error float64
		Percent                 float64  `json:"error_percent"`
		Pressure                *float64 `json:"error_pressure"`
		Typed                   struct{ Indicated string }
	}
	Points []struct {
		Expanded float64
		Budget   []struct {
			Term         string
			Contribution float64
		}
	}
	Gauge struct {
		Signal *struct {
			Zero, Span  float64
			ZeroPercent float64 `json:"zero_percent"`
			SpanPercent float64 `json:"span_percent"`
		}
	}
	Warnings []struct{ Code string }
	Error    struct{ Code, Field, Message string }
}

func signalOf(t *testing.T, instrument, more, readings string) (f signalFinding) {
	t.Helper()
	doc := `{"method":{"kind":"gauge","points":{"values":["0","5","10"]},"directions":"up"},"instrument":{` + instrument + `},"standard":{"ranges":[{"low":"-1","high":"20","absolute":"0.002","k":"2"}]},` +
		more + `"captures":[` + readings + `],"complete":true}`
	if err := json.Unmarshal(calc.Call("evaluate", []byte(doc)), &f); err != nil {
		t.Fatal(err)
	}
	return f
}

func mA(step, value string) string {
	return `{"step":"` + step + `","of":"indicated","value":"` + value + `","unit":"mA"}`
}

// TestTransmitterWithItsMeter: by hand. 0 … 10 bar give 4 … 20 mA, 1.6 mA a bar. The meter's
// certificate says that it reads 0.004 mA too much at 12 mA (U 0.002, k 2), its specification 0.02
// % of reading, k 2. 12.011 mA is then 12.007 mA; the error 0.007 mA is 0.04375 % of 16 mA and
// 0.004375 bar.
func TestTransmitterWithItsMeter(t *testing.T) {
	meter := `"meter":{"ranges":[{"low":"0","high":"24","of_reading_percent":"0.02","k":"2"}],"certificate":{"points":[{"applied":"4","error":"0","expanded":"0.002","k":"2"},` +
		`{"applied":"12.011","error":"0.004","expanded":"0.002","k":"2"},{"applied":"24","error":"0.004","expanded":"0.002","k":"2"}]}},`
	f := signalOf(
		t, transmitterBar, meter, mA("s1.up.0", "4.000")+","+mA("s1.up.1", "12.011")+","+mA("s1.up.2", "20.024"),
	)
	if f.Error.Code != "" || len(f.Readings) != 3 {
		t.Fatalf("%+v", f)
	}
	near := func(name string, got, want, off float64) {
		t.Helper()
		if !(math.Abs(got-want) <= off) {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
	r := f.Readings[1]
	near("measured", r.Indicated, 12.007, 1e-9)
	near("ideal", r.Ideal, 12, 1e-12)
	near("error", r.Error, 0.007, 1e-9)
	near("of span", r.Percent, 0.04375, 1e-7)
	if r.Pressure == nil {
		t.Fatal("no error in pressure")
	}
	near("in pressure", *r.Pressure, 0.004375, 1e-8)
	if r.Typed.Indicated != "12.011 mA" {
		t.Errorf("typed %q", r.Typed.Indicated)
	}
	// zero 0 mA; span 20.024 − 0.004 − 20 = 0.020 mA, which is 0.125 % of 16 mA
	if f.Gauge.Signal == nil {
		t.Fatal("no zero and span")
	}
	near("zero", f.Gauge.Signal.Zero, 0, 1e-12)
	near("span", f.Gauge.Signal.Span, 0.02, 1e-9)
	near("span of span", f.Gauge.Signal.SpanPercent, 0.125, 1e-7)
	// u at 12 mA: standard 0.001 bar · 1.6 mA/bar = 0.0016; meter 0.0002·12.011/2 = 0.0012011; its
	// certificate 0.001; meter's resolution 0.001/√12 = 0.000288675
	want := math.Sqrt(0.0016*0.0016 + 0.0012011*0.0012011 + 0.001*0.001 + 0.001*0.001/12)
	near("U", f.Points[1].Expanded, 2*want, 1e-7)
	terms := ""
	for _, l := range f.Points[1].Budget {
		terms += l.Term + " "
	}
	if !strings.Contains(terms, "meter ") || !strings.Contains(terms, "meter_cert ") {
		t.Error(terms)
	}
	for _, w := range f.Warnings {
		if w.Code == "no_meter" {
			t.Error("the meter is there")
		}
	}
}

// TestTransmitterWithoutAMeter: a warning says that the meter's part of the uncertainty is missing.
// A signal outside the meter's range has no uncertainty either.
func TestTransmitterWithoutAMeter(t *testing.T) {
	read := mA("s1.up.0", "4.000") + "," + mA("s1.up.1", "12.011") + "," + mA("s1.up.2", "20.009")
	has := func(f signalFinding, code string) bool {
		for _, w := range f.Warnings {
			if w.Code == code {
				return true
			}
		}
		return false
	}
	if f := signalOf(t, transmitterBar, "", read); !has(f, "no_meter") {
		t.Errorf("%+v", f.Warnings)
	}
	short := `"meter":{"ranges":[{"low":"0","high":"10","absolute":"0.002","k":"2"}]},`
	if f := signalOf(t, transmitterBar, short, read); !has(f, "standard") {
		t.Errorf("%+v", f.Warnings)
	}
	gauge := strings.Split(transmitterBar, `,"output"`)[0]
	if f := signalOf(t, gauge, short, `{"step":"s1.up.0","of":"indicated","value":"0","unit":"bar"}`); f.Error.Field != "meter" {
		t.Errorf("%+v", f.Error)
	}
}

// TestSquareRootSignal: by hand. A quarter of the range gives half of the signal's span: 2.5 of 10
// bar 12 mA. 12.08 mA is (8.08/16)² · 10 = 2.550 25 bar.
func TestSquareRootSignal(t *testing.T) {
	root := strings.Replace(transmitterBar, `"unit":"mA",`, `"unit":"mA","law":"square-root",`, 1)
	doc := `{"method":{"kind":"gauge","points":{"values":["0","2.5","10"]},"directions":"up"},"instrument":{` + root + `},"captures":[` + mA("s1.up.0", "4") + "," + mA("s1.up.1", "12.08") + "," + mA("s1.up.2", "20") + `],"complete":true}`
	var f signalFinding
	if err := json.Unmarshal(calc.Call("evaluate", []byte(doc)), &f); err != nil || len(f.Readings) != 3 {
		t.Fatalf("%v %+v", err, f)
	}
	r := f.Readings[1]
	if math.Abs(r.Ideal-12) > 1e-9 || r.Pressure == nil || math.Abs(*r.Pressure-0.05025) > 1e-7 {
		t.Errorf("%+v", r)
	}
	if f.Readings[0].Pressure != nil {
		t.Error("at zero a square root tells no pressure")
	}
}

// TestWhichMeterServes: by hand. The limit is 0.25 % of 16 mA, 0.04 mA; a meter with U 0.004 mA is
// 10 times better, one with U 0.02 mA only 2 times.
func TestWhichMeterServes(t *testing.T) {
	ask := func(meter string) (r struct {
		Serves     bool
		Measures   string
		Worst      struct{ Ratio float64 }
		Objections []struct{ Code string }
		Range      map[string]any
		Error      struct{ Field, Message string }
	}) {
		t.Helper()
		doc := `{"meter":true,"method":{"kind":"gauge","points":{"values":["0","5","10"]}},"instrument":{` + transmitterBar + `},"range":{` + meter + `}}`
		if err := json.Unmarshal(calc.Call("serves", []byte(doc)), &r); err != nil {
			t.Fatal(err)
		}
		return r
	}
	if r := ask(`"low":"0","high":"24","unit":"mA","absolute":"0.004","k":"2"`); !r.Serves ||
		math.Abs(r.Worst.Ratio-10) > 1e-9 || r.Measures != "current" {
		t.Errorf("%+v", r)
	}
	if r := ask(`"low":"0","high":"24","unit":"mA","absolute":"0.02","k":"2"`); r.Serves || len(r.Objections) != 1 ||
		r.Objections[0].Code != "ratio" {
		t.Errorf("%+v", r)
	}
	if r := ask(`"low":"0","high":"15","unit":"mA","absolute":"0.004","k":"2"`); r.Serves ||
		r.Objections[0].Code != "high" {
		t.Errorf("%+v", r)
	}
	if r := ask(`"low":"0","high":"10","unit":"V","absolute":"0.001","k":"2"`); r.Serves ||
		r.Objections[0].Code != "kind" {
		t.Errorf("%+v", r)
	}
	if r := ask(`"low":"0","high":"0.1","unit":"A","absolute":"0.000004","k":"2"`); !r.Serves ||
		r.Range["high"] != "100" || r.Range["absolute"] != "0.004" {
		t.Errorf("%+v", r)
	}
}
