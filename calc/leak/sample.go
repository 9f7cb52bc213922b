package leak

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "leak", Make: leakSample},
		{Calculation: "dwell", Make: dwellSample},
		{Calculation: "settle", Make: settleSample},
	}
}

func leakSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("mode", "decay")
	v := d.Between(1e-4, 0.1)
	w.Number("volume_m3", v)
	w.Number("u_volume_rel", 0.01)
	w.Number("reference_temperature_k", 293.15)
	w.Text("pressure_kind", "absolute")
	w.Number("limit_pa_m3_s", float64(v*d.Between(0.01, 1)))
	switch d.Below(4) {
	case 0:
		w.Number("resolution_pa", d.Between(0.1, 5))
		w.Number("drift_k", d.Between(0, 0.1))
	case 1:
		w.Number("coverage", d.Between(0.8, 0.99))
		w.Number("planned_s", d.Between(30, 200))
		w.Number("every_s", 5)
	case 2:
		w.Number("sensor_time_s", d.Between(0, 4))
	}
	n := 5 + d.Below(60)
	slope, p0 := d.Between(0.01, 1), d.Between(1e5, 1e6)
	w.BeginObject("trace")
	var t, p, c []float64
	for i := range n {
		t = append(t, float64(float64(i)*5))
		p = append(p, p0-float64(slope*5*float64(i))+d.Between(-3, 3))
		c = append(c, 20+d.Between(-0.01, 0.01))
	}
	for _, col := range []struct {
		name string
		x    []float64
	}{{"t_s", t}, {"p_pa", p}, {"temperature_c", c}} {
		w.BeginList(col.name)
		for _, x := range col.x {
			w.NumberItem(x)
		}
		w.EndList()
	}
	w.End()
	w.End()
	return w.Bytes()
}

func flat(pairs ...any) []byte {
	w := document.NewWriter(nil)
	w.Begin()
	for i := 0; i < len(pairs); i += 2 {
		w.Number(pairs[i].(string), pairs[i+1].(float64))
	}
	w.End()
	return w.Bytes()
}

func dwellSample(seed uint64) []byte {
	d := document.Draws(seed)
	return flat(
		"volume_m3", d.Between(1e-5, 1), "sigma_pa", d.Between(0.1, 20), "leak_pa_m3_s",
		d.Between(1e-6, 1e-3), "interval_s", d.Between(0.5, 20),
	)
}

func settleSample(seed uint64) []byte {
	d := document.Draws(seed)
	return flat("volume_m3", d.Between(1e-5, 1), "pressure_pa", d.Between(1e5, 1e7), "step_k", d.Between(0.1, 20), "temperature_k", 293.15,
		"tau_s", d.Between(5, 600), "limit_pa_m3_s", d.Between(1e-6, 1e-3), "fraction", 0.1)
}
