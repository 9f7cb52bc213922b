package bursttest

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/work"
)

// Sample writes a burst test into an open document, with its captures or as for a plan.
func Sample(w *document.Writer, d *document.Draws, captures bool) {
	discs, traced := 1+d.Below(3), d.Below(2) == 0
	w.BeginObject("method")
	w.Text("kind", "burst")
	w.Whole("discs", discs)
	w.Text("rate", "0.05")
	if rule := d.Below(4); rule > 0 {
		w.Raw("decision", []byte(`{"rule":"`+[]string{"", "guarded", "guarded-four", "probability"}[rule]+`"}`))
	}
	if d.Below(2) == 0 {
		w.Text("tolerance_percent", "4")
	}
	w.End()
	work.InstrumentSample(w, "0", "16", "bar", "gauge", "")
	w.BeginObject("particulars")
	marked := d.Between(3, 10)
	w.Number("marked", marked)
	if d.Below(2) == 0 {
		w.Number("requested", float64(marked*1.02))
		w.Raw("range_percent", []byte(`{"low":-6,"high":2}`))
	}
	w.Text("lot", "lot "+string(rune('A'+d.Below(20))))
	if d.Below(3) > 0 {
		w.Number("volume_m3", d.Between(1e-5, 1e-2))
	}
	w.End()
	w.End()
	if !captures {
		return
	}
	c := &work.CapturesSample{W: w, D: d}
	w.BeginList("captures")
	c.Put("ready", "answer", "yes", "", 60)
	for k := 1; k <= discs; k++ {
		id := "d" + string(rune('0'+k))
		c.Put(id+".disc", "answer", "disc "+string(rune('0'+k)), "", 60)
		c.Put(id+".shield", "answer", "yes", "", 10)
		c.Put(id+".temp", "answer", numeric.FormatDecimals(20+d.Between(-3, 3), 1), "", 10)
		if !traced {
			c.Put(id, "applied", numeric.FormatDecimals(float64(marked*d.Between(0.94, 1.06)), 2), "bar", 60)
			c.Put(id+".burst", "answer", []string{"yes", "yes", "yes", "no"}[d.Below(4)], "", 5)
		}
	}
	w.EndList()
	if !traced {
		return
	}
	w.BeginList("traces")
	for k := 1; k <= discs; k++ {
		w.Begin()
		w.Text("step", "d"+string(rune('0'+k)))
		w.Text("unit", "bar")
		var t, p []float64
		at := float64(marked * d.Between(0.94, 1.06))
		for i := range 70 {
			x := float64(0.8*marked) + float64(float64(i)*0.005*marked)
			if x >= at {
				x = d.Between(0, 0.05)
			}
			t, p = append(t, float64(float64(i)*0.1*marked)), append(
				p, numeric.RoundDecimals(x+d.Between(-0.003, 0.003), 3),
			)
		}
		work.WriteNumbers(w, "t_s", t)
		work.WriteNumbers(w, "p", p)
		w.End()
	}
	w.EndList()
}
