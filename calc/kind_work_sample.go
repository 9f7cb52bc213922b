package calc

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// workSheetSample makes a sheet of kind leak, switch or burst, typed or with the samples of a logger.
func workSheetSample(seed uint64, captures bool) []byte {
	d := document.Draws(seed)
	d.Next()
	d.Next()
	w := document.NewWriter(nil)
	w.Begin()
	[]func(*document.Writer, *document.Draws, bool){leakSheetSample, switchSheetSample, burstSheetSample}[d.Below(3)](w, &d, captures)
	if captures {
		w.Flag("complete", d.Below(4) > 0)
	}
	w.End()
	return w.Bytes()
}

// capturesSample writes captures one by one.
type capturesSample struct {
	w *document.Writer
	d *document.Draws
	s int // seconds since the beginning
}

func (c *capturesSample) put(step, of, value, unit string, after int) {
	c.s += after
	if c.d.Below(40) == 0 && of != "indicated" { // left out
		return
	}
	c.w.Begin()
	c.w.Text("step", step)
	c.w.Text("of", of)
	c.w.Text("value", value)
	c.w.Text("unit", unit)
	two := func(n int) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }
	c.w.Text("at", "2026-03-04T"+two(8+c.s/3600)+":"+two(c.s/60%60)+":"+two(c.s%60)+"Z")
	c.w.End()
}

func instrumentSample(w *document.Writer, low, high, unit, mode, resolution string) {
	w.BeginObject("instrument")
	w.Text("low", low)
	w.Text("high", high)
	w.Text("unit", unit)
	w.Text("mode", mode)
	if resolution != "" {
		w.Text("resolution", resolution)
	}
}

func leakSheetSample(w *document.Writer, d *document.Draws, captures bool) {
	gauge, traced, added := d.Below(2) == 0, d.Below(2) == 0, d.Below(4) == 0
	w.BeginObject("method")
	w.Text("kind", "leak")
	if d.Below(3) == 0 {
		w.Text("temperature", "none")
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
	instrumentSample(w, "-100", "600", "kPa", mode, []string{"", "0.01", "0.1"}[d.Below(3)])
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
	c := &capturesSample{w, d, 0}
	w.BeginList("captures")
	c.put("ready", "answer", "yes", "", 60)
	if added {
		top := pressure - offset
		c.put("v.p1", "indicated", numeric.FormatDecimals(top+offset, 2), "kPa", 60)
		c.put("v.pa", "indicated", numeric.FormatDecimals(offset, 2), "kPa", 5)
		c.put("v.p2", "indicated", numeric.FormatDecimals(float64(top*d.Between(0.2, 0.8))+offset, 2), "kPa", 60)
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
		c.put(id+".t0", "answer", numeric.FormatDecimals(20+d.Between(-1, 1), 1), "", 120)
		c.put(id+".b0", "answer", numeric.FormatDecimals(1010+d.Between(-9, 9), 1), "", 5)
		for k := 0; k < 13 && !traced; k++ {
			c.put(id, "indicated", numeric.FormatDecimals(reading(p, float64(10*k)), 2), "kPa", 10)
		}
		c.put(id+".t1", "answer", numeric.FormatDecimals(20+d.Between(-1, 1), 1), "", 5)
		c.put(id+".b1", "answer", numeric.FormatDecimals(1010+d.Between(-9, 9), 1), "", 5)
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
			t, ps, temperature = append(t, x), append(ps, numeric.RoundDecimals(reading(p, x), 3)), append(temperature, numeric.RoundDecimals(20+d.Between(-0.02, 0.02), 2))
		}
		writeNumbers(w, "t_s", t)
		writeNumbers(w, "p", ps)
		writeNumbers(w, "temperature_c", temperature)
		w.End()
	}
	w.EndList()
}

func switchSheetSample(w *document.Writer, d *document.Draws, captures bool) {
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
	w.End()
	instrumentSample(w, "0", "4", "bar", []string{"gauge", "absolute"}[d.Below(2)], "0.001")
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
	c := &capturesSample{w, d, 0}
	w.BeginList("captures")
	c.put("ready", "answer", "yes", "", 60)
	for k := 1; k <= cycles && !traced; k++ {
		id := "c" + string(rune('0'+k)) + ".k1."
		c.put(id+"set", "applied", numeric.FormatDecimals(nominal+d.Between(-0.015, 0.025), 3), "bar", 60)
		c.put(id+"reset", "applied", numeric.FormatDecimals(nominal-float64(sign*d.Between(0.1, 0.25)), 3), "bar", 60)
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
	writeNumbers(w, "t_s", t)
	writeNumbers(w, "p", p)
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

func burstSheetSample(w *document.Writer, d *document.Draws, captures bool) {
	discs, traced := 1+d.Below(3), d.Below(2) == 0
	w.BeginObject("method")
	w.Text("kind", "burst")
	w.Whole("discs", discs)
	w.Text("rate", "0.05")
	if d.Below(2) == 0 {
		w.Text("tolerance_percent", "4")
	}
	w.End()
	instrumentSample(w, "0", "16", "bar", "gauge", "")
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
	c := &capturesSample{w, d, 0}
	w.BeginList("captures")
	c.put("ready", "answer", "yes", "", 60)
	for k := 1; k <= discs; k++ {
		id := "d" + string(rune('0'+k))
		c.put(id+".disc", "answer", "disc "+string(rune('0'+k)), "", 60)
		c.put(id+".shield", "answer", "yes", "", 10)
		c.put(id+".temp", "answer", numeric.FormatDecimals(20+d.Between(-3, 3), 1), "", 10)
		if !traced {
			c.put(id, "applied", numeric.FormatDecimals(float64(marked*d.Between(0.94, 1.06)), 2), "bar", 60)
			c.put(id+".burst", "answer", []string{"yes", "yes", "yes", "no"}[d.Below(4)], "", 5)
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
			t, p = append(t, float64(float64(i)*0.1*marked)), append(p, numeric.RoundDecimals(x+d.Between(-0.003, 0.003), 3))
		}
		writeNumbers(w, "t_s", t)
		writeNumbers(w, "p", p)
		w.End()
	}
	w.EndList()
}
