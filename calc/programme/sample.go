package programme

import (
	"strconv"

	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "plan", Make: planSample}, {Calculation: "follow", Make: followSample},
		{Calculation: "rehearse", Make: rehearseSample},
	}
}

func rehearseSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	first := []string{"", "unit bar\n", "unit psi gauge\n", "unit kPa absolute\n"}[d.Below(4)]
	w.Text("programme", first+sampleText(&d))
	w.Whole("seed", d.Below(1000))
	if d.Below(2) == 0 {
		w.Number("max_rate", d.Between(1, 50))
	}
	w.End()
	return w.Bytes()
}

func planSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	unit := []string{"kPa", "bar", "psi"}[d.Below(3)]
	w.Text("unit", unit)
	w.Text("mode", modes[d.Below(2)])
	high := d.Between(500, 1000)
	for _, name := range []string{"instrument", "standard"} {
		w.BeginObject(name)
		w.Number("low", 0)
		w.Number("high", high)
		w.Number("max_rate", d.Between(5, 20))
		w.End()
	}
	w.Number("volume_m3", d.Between(1e-4, 1e-1))
	w.BeginObject("switch")
	w.Number("nominal", d.Between(100, 500))
	w.Number("tolerance", d.Between(1, 10))
	w.Number("interval_s", 0.1)
	w.End()
	w.BeginObject("leak")
	w.Number("limit_pa_m3_s", d.Between(1e-5, 1e-3))
	w.Number("sigma_pa", 2)
	w.Number("interval_s", 1)
	w.End()
	w.Flag("hysteresis", d.Below(2) == 0)
	w.Text("programme", sampleText(&d))
	w.End()
	return w.Bytes()
}

func sampleText(d *document.Draws) string {
	b := []byte("exercise 2 to ")
	number := func(low, high float64) { b = document.AppendNumber(b, d.Between(low, high)) }
	put := func(s string) { b = append(b, s...) }
	number(100, 900)
	put("\nvent\nhold 5 s\nrepeat 3 {\n set ")
	number(10, 900)
	put(" at ")
	number(1, 15)
	put("/s\n settle within 0.2 for 10 s, at most 90 s\n read a from gauge\n hold ")
	number(1, 100)
	put(" s\n read b from standard 3 times\n if abs(a - b) / max(a, ")
	number(0, 5)
	put(") > 0.02 { vent; stop \"out\" }\n}\nramp ")
	number(100, 900)
	put(" at ")
	number(1, 15)
	put("/s until contact else { note \"none\" }\nvent\n")
	return string(b)
}

// putTrace writes a logger's record of a pressure that may or may not come to rest.
func putTrace(w *document.Writer, d *document.Draws, step string) {
	w.BeginList("traces")
	w.Begin()
	w.Text("step", step)
	w.Text("unit", []string{"bar", "kPa"}[d.Below(2)])
	var t, p []float64
	swing := d.Between(0.01, 0.1)
	for n := range 30 {
		t, p = append(t, float64(n)), append(p, d.Between(5-swing, 5+swing))
	}
	for _, list := range [...]struct {
		name string
		all  []float64
	}{{"t_s", t}, {"p", p}} {
		w.BeginList(list.name)
		for _, x := range list.all {
			w.NumberItem(x)
		}
		w.EndList()
	}
	w.End()
	w.EndList()
}

// followSample makes a run of a programme, recorded up to some step.
func followSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("programme", "unit bar gauge\nset 5\nhold 5 s\nrepeat until abs(b - a) < 0.1, at most 3 {\n  read a from gauge 2 times\n  read b from standard\n} else {\n  note \"-\"\n}\n"+
		"settle within 0.05 for 5 s, at most 60 s else {\n  vent\n  stop \"no rest\"\n}\nif a / 3 > 1.5 {\n  ask \"sure?\" as yes into ok\n}\nvent\n")
	if seed%3 == 0 {
		w.Raw("range", []byte(`{"high":"10","unit":"bar","mode":"gauge"}`))
	}
	w.BeginList("captures")
	until := d.Below(40)
	put := func(step, of string, at int) {
		if at > until {
			return
		}
		w.Begin()
		w.Text("step", step)
		w.Text("of", of)
		w.Number("value", 5+d.Between(-0.12, 0.12))
		w.Text("unit", []string{"bar", "bar", "kPa"}[d.Below(3)])
		w.Text("at", "2026-11-25T10:00:"+strconv.Itoa(10+at)+"Z")
		w.End()
	}
	for n := 1; n <= 3; n++ {
		pass := strconv.Itoa(n)
		put("l5."+pass+".1", "indicated", 3*n)
		put("l5."+pass+".2", "indicated", 3*n+1)
		put("l6."+pass, "applied", 3*n+2)
	}
	traced := d.Below(2) == 0
	for n := range 5 {
		if !traced {
			put("l10.1", "settle", 15+3*n)
		}
	}
	w.EndList()
	if traced {
		putTrace(w, &d, "l10.1")
	}
	w.BeginList("done")
	for _, step := range []string{"l2.1", "l3.1"} {
		w.Begin()
		w.Text("step", step)
		w.Text("at", "2026-11-25T10:00:10Z")
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}
