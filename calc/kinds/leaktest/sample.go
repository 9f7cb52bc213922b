package leaktest

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/work"
)

// Sample writes a leak test into an open document, with its captures or as for a plan.
func Sample(w *document.Writer, d *document.Draws, captures bool) {
	gauge, traced, added := d.Below(2) == 0, d.Below(2) == 0, d.Below(4) == 0
	w.BeginObject("method")
	w.Text("kind", "leak")
	if d.Below(3) == 0 {
		w.Text("temperature", "none")
	}
	if d.Below(3) == 0 {
		w.Raw("decision", []byte(`{"rule":"guarded"}`))
	}
	switch d.Below(3) {
	case 0:
		w.Number("sensor_time_s", 0.3)
	case 1:
		w.Number("drift_k", 0.02)
		w.Number("drift_pa_h", 10)
	}
	w.Raw("confidence", []byte([]string{"0.95", "0.95", "0.99"}[d.Below(3)]))
	offset := 0.0
	mode := "gauge"
	if !gauge {
		offset, mode = 100, "absolute"
	}
	vacuum, pressure := offset-d.Between(20, 60), offset+d.Between(50, 400)
	limit := []string{`"limit_pa_s":0.5`, `"limit_pa_m3_s":0.0005`, `"limit_change":"0.3"`}[d.Below(3)]
	w.Raw("phases", []byte(`[{"name":"negative","pressure":"`+numeric.FormatDecimals(vacuum, 1)+`","stabilise_s":60,"measure_s":120,"every_s":10,`+limit+
		`},{"name":"positive","pressure":"`+numeric.FormatDecimals(pressure, 1)+`","fill_s":20,"stabilise_s":60,"measure_s":120,"every_s":10,`+limit+`}]`))
	w.End()
	work.InstrumentSample(w, "-100", "600", "kPa", mode, []string{"", "0.01", "0.1"}[d.Below(3)])
	w.BeginObject("particulars")
	if added {
		w.Number("added_volume_m3", 0.002)
		w.Number("u_added_rel", 0.005)
	} else {
		w.Number("volume_m3", d.Between(1e-4, 0.02))
		w.Number("u_volume_rel", d.Between(0, 0.03))
	}
	w.End()
	w.End()
	if !captures {
		return
	}
	c := &work.CapturesSample{W: w, D: d}
	w.BeginList("captures")
	c.Put("ready", "answer", "yes", "", 60)
	if added {
		top := pressure - offset
		c.Put("v.p1", "indicated", numeric.FormatDecimals(top+offset, 2), "kPa", 60)
		c.Put("v.pa", "indicated", numeric.FormatDecimals(offset, 2), "kPa", 5)
		c.Put("v.p2", "indicated", numeric.FormatDecimals(float64(top*d.Between(0.2, 0.8))+offset, 2), "kPa", 60)
	}
	var fall float64
	reading := func(p, t float64) float64 {
		if p < offset {
			return p + float64(fall*t) + d.Between(-0.003, 0.003)
		}
		return p - float64(fall*t) + d.Between(-0.003, 0.003)
	}
	for i, p := range []float64{vacuum, pressure} {
		id := []string{"p1", "p2"}[i]
		fall = d.Between(0, 0.002)
		c.Put(id+".t0", "answer", numeric.FormatDecimals(20+d.Between(-1, 1), 1), "", 120)
		c.Put(id+".b0", "answer", numeric.FormatDecimals(1010+d.Between(-9, 9), 1), "", 5)
		for k := 0; k < 13 && !traced; k++ {
			c.Put(id, "indicated", numeric.FormatDecimals(reading(p, float64(10*k)), 2), "kPa", 10)
		}
		c.Put(id+".t1", "answer", numeric.FormatDecimals(20+d.Between(-1, 1), 1), "", 5)
		c.Put(id+".b1", "answer", numeric.FormatDecimals(1010+d.Between(-9, 9), 1), "", 5)
	}
	w.EndList()
	if !traced {
		return
	}
	w.BeginList("traces")
	for i, p := range []float64{vacuum, pressure} {
		fall = d.Between(0, 0.002)
		w.Begin()
		w.Text("step", []string{"p1", "p2"}[i])
		w.Text("unit", "kPa")
		var t, ps, temperature []float64
		for k := range 80 {
			x := float64(float64(k) * 1.6)
			t, ps, temperature = append(t, x), append(ps, numeric.RoundDecimals(reading(p, x), 3)), append(
				temperature, numeric.RoundDecimals(20+d.Between(-0.02, 0.02), 2),
			)
		}
		work.WriteNumbers(w, "t_s", t)
		work.WriteNumbers(w, "p", ps)
		work.WriteNumbers(w, "temperature_c", temperature)
		w.End()
	}
	w.EndList()
}
