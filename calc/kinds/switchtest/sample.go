package switchtest

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/work"
)

// Sample writes a switch test into an open document, with its captures or as for a plan.
func Sample(w *document.Writer, d *document.Draws, captures bool) {
	traced, rising := d.Below(2) == 0, d.Below(2) == 0
	cycles := 1 + d.Below(4)
	w.BeginObject("method")
	w.Text("kind", "switch")
	w.Whole("cycles", cycles)
	if d.Below(2) == 0 {
		w.Text("rate", "0.01")
		w.Number("latency_s", d.Between(0, 0.5))
	}
	w.Number("debounce_samples", 2)
	if rule := d.Below(4); rule > 0 {
		w.Raw("decision", []byte(`{"rule":"`+[]string{"", "guarded", "guarded-four", "probability"}[rule]+`"}`))
	}
	w.End()
	work.InstrumentSample(w, "0", "4", "bar", []string{"gauge", "absolute"}[d.Below(2)], "0.001")
	w.BeginObject("particulars")
	nominal := d.Between(1.2, 2.5)
	acts, sign := "rising", 1.0
	if !rising {
		acts, sign = "falling", -1
	}
	w.BeginList("contacts")
	w.Begin()
	w.Text("name", "K1")
	w.Text("acts", acts)
	w.Number("nominal", nominal)
	w.Number("tolerance", 0.02)
	w.BeginObject("dead_band")
	w.Number("low", 0.05)
	w.Number("high", 0.3)
	w.End()
	w.Flag("safety_function", d.Below(2) == 0)
	w.End()
	w.EndList()
	w.End()
	w.End()
	if !captures {
		return
	}
	c := &work.CapturesSample{W: w, D: d}
	w.BeginList("captures")
	c.Put("ready", "answer", "yes", "", 60)
	for k := 1; k <= cycles && !traced; k++ {
		id := "c" + string(rune('0'+k)) + ".k1."
		c.Put(id+"set", "applied", numeric.FormatDecimals(nominal+d.Between(-0.015, 0.025), 3), "bar", 60)
		c.Put(id+"reset", "applied", numeric.FormatDecimals(nominal-float64(sign*d.Between(0.1, 0.25)), 3), "bar", 60)
	}
	w.EndList()
	if !traced {
		return
	}
	w.BeginList("traces")
	w.Begin()
	w.Text("step", "k1.trace")
	w.Text("unit", "bar")
	var t, p []float64
	var contact []byte
	on := false
	for k := 0; k < 40*cycles+5; k++ {
		swing := 1 - math.Abs(float64(k%40)/20-1) // 0 … 1 … 0
		x := nominal + float64(sign*(float64(0.4*swing)-0.3)) + d.Between(-0.002, 0.002)
		if at := float64(sign * (x - nominal)); at > 0 {
			on = true
		} else if at < -0.15 {
			on = false
		}
		t, p = append(t, float64(float64(k)*0.5)), append(p, x)
		contact = append(contact, "01"[btoi(on)])
	}
	work.WriteNumbers(w, "t_s", t)
	work.WriteNumbers(w, "p", p)
	w.Text("contact", string(contact))
	w.End()
	w.EndList()
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
