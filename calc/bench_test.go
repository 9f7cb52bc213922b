package calc_test

import (
	"bytes"
	"fmt"
	"runtime"
	"strconv"
	"testing"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// BenchmarkCall runs each calculation on 50 of its sample documents in turn.
func BenchmarkCall(b *testing.B) {
	for _, s := range calc.Samples() {
		b.Run(s.Calculation, func(b *testing.B) {
			var docs [50][]byte
			for i := range docs {
				docs[i] = s.Make(uint64(i) + 1)
			}
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				if out := calc.Call(s.Calculation, docs[i%len(docs)]); bytes.HasPrefix(out, []byte(`{"error":`)) {
					b.Fatalf("%s: %s", docs[i%len(docs)], out)
				}
				i++
			}
		})
	}
}

// wholeGauge makes the sheet for the goal: 11 points, up and down, three times, with ten terms in
// the budget of every point.
func wholeGauge() []byte {
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", "bar")
	w.Text("low", "0")
	w.Text("high", "10")
	w.Text("resolution", "0.002")
	w.BeginObject("limit")
	w.Text("rule", "en837")
	w.Text("class", "0.6")
	w.End()
	w.Raw("standard", []byte(`{"ranges":[{"low":0,"high":16,"of_reading_percent":"0.005","of_span_percent":"0.01","stability_ppm":10}],"certificate":{"points":[{"applied":0,"error":"0.0001","expanded":"0.0008"},`+
		`{"applied":8,"error":"0.0003","expanded":"0.001"},{"applied":16,"error":"-0.0002","expanded":"0.0012"}]},"drift_per_year":"0.0005","years_since":"0.6"}`))
	w.Raw(
		"surroundings",
		[]byte(`{"temperature_c":"23.4","temperature_coefficient_percent_per_k":"0.01","pressure_pa":"101210","humidity":"0.45"}`),
	)
	w.Raw("head", []byte(`{"standard_above_m":"0.35","fluid":"water","latitude_deg":"48.2","half_width_m":"0.01"}`))
	w.Raw("decision", []byte(`{"rule":"guarded"}`))
	w.BeginList("readings")
	d := document.Draws(7)
	for cycle := range 3 {
		for side, up := range []bool{true, false} {
			for i := range 11 {
				p := i
				if side == 1 {
					p = 10 - i
				}
				w.Begin()
				w.Text("series", strconv.Itoa(2*cycle+side+1))
				w.Text("direction", map[bool]string{true: "up", false: "down"}[up])
				w.Text("point", strconv.Itoa(p))
				w.Text(
					"indicated", numeric.FormatDecimals(float64(p)+0.034+d.Between(-0.01, 0.01)+float64(side)*0.006, 3),
				)
				if cycle == 2 {
					w.Whole("mounting", 2)
				}
				w.End()
			}
		}
	}
	w.EndList()
	w.End()
	return w.Bytes()
}

// BenchmarkWholeGauge: the goal is 150 µs. A small program collects its garbage every 26 gauges; one
// that holds 64 MB besides, as a server does, every few hundred. Its coverage factors are known from
// the gauge before, as a plant's mostly are: with 13 new ones it takes about an eighth longer.
func BenchmarkWholeGauge(b *testing.B) {
	doc := wholeGauge()
	out := calc.Call("gauge", doc)
	if bytes.HasPrefix(out, []byte(`{"error":`)) {
		b.Fatalf("%s", out)
	}
	for _, held := range []int{0, 64 << 20} {
		b.Run(fmt.Sprintf("beside %d MB", held>>20), func(b *testing.B) {
			other := make([]byte, held)
			b.ReportAllocs()
			for b.Loop() {
				calc.Call("gauge", doc)
			}
			runtime.KeepAlive(other)
			b.ReportMetric(float64(len(out)), "bytes-out")
			b.ReportMetric(float64(len(doc)), "bytes-in")
		})
	}
}

// BenchmarkTrials: the goal for 1,000,000 trials is 1 s.
func BenchmarkTrials(b *testing.B) {
	doc := []byte(`{"terms":[{"name":"a","u":0.1},{"name":"b","half_width":0.2,"shape":"rectangular"},{"name":"c","half_width":0.1,"shape":"triangular"},{"name":"d","u":0.05,"dof":9}],"trials":{"count":1000000,"seed":1}}`)
	for b.Loop() {
		if out := calc.Call("budget", doc); bytes.HasPrefix(out, []byte(`{"error":`)) {
			b.Fatalf("%s", out)
		}
	}
}
