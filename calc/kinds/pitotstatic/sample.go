package pitotstatic

import (
	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Sample makes a sheet of a pitot-static kind: it lays out the method and draws every value asked
// for near what it should be.
func Sample(seed uint64, captures bool) []byte {
	d := document.Draws(seed)
	d.Next()
	w := document.NewWriter(nil)
	w.Begin()
	l := airMethodSample(w, &d)
	if !captures {
		w.End()
		return w.Bytes()
	}
	head := string(w.Bytes())
	v, err := document.Parse([]byte(head + "}"))
	if err != nil {
		return w.Bytes()
	}
	if a, err := l(document.Open(v), nil); err == nil {
		airCaptureSample(w, &d, a)
	}
	w.Flag("complete", d.Below(4) > 0)
	w.End()
	return w.Bytes()
}

func airMethodSample(w *document.Writer, d *document.Draws) layout {
	kinds := []struct {
		name, unit, low, high string
		l                     layout
	}{
		{"altimeter", "ft", "-1000", "35000", layAltimeter}, {"airspeed", "kt", "0", "250", layAirspeed}, {
			"vertical-speed", "ft/min", "-4000", "4000", layVertical,
		},
		{"reporting-altitude", "ft", "-1000", "30000", layReporting}, {"pitot-static-leak", "ft", "-1000", "20000", layLeak},
	}
	k := kinds[d.Below(len(kinds))]
	w.BeginObject("method")
	w.Text("kind", k.name)
	switch k.name {
	case "altimeter":
		w.Raw(
			"tests",
			[]byte([]string{
				`["scale","hysteresis","after-effect","friction","case-leak","barometric"]`,
				`["barometric","scale"]`, `["rvsm","case-leak"]`,
			}[d.Below(3)]),
		)
		w.Raw(
			"rvsm",
			[]byte(`{"group":"`+string(
				[]airdata.Group{airdata.NonGroupFull, airdata.LaterFull}[d.Below(2)],
			)+`","points_ft":[29000,33000],"residual_ft":"35"}`),
		)
		w.Number("highest_ft", []float64{20000, 35000}[d.Below(2)])
	case "airspeed":
		if d.Below(2) == 0 {
			w.Text("table", "20-250")
		} else {
			w.Raw("points", []byte(`[{"kt":"60"},{"kt":"120","tolerance_kt":"4"},{"kt":"210"}]`))
			w.Text("rule", "greater")
		}
		w.Text("directions", []string{"up", "up-down"}[d.Below(2)])
	case "vertical-speed":
		w.Raw(
			"points",
			[]byte(`[{"ft_min":"500","at_ft":2000,"tolerance_ft_min":"100"},{"ft_min":"-1500","at_ft":"4000","tolerance_ft_min":"200","over_ft":1000}]`),
		)
		w.Text("zero_ft_min", "50")
		w.Text("source", "manual of the instrument")
	case "reporting-altitude":
		w.Raw("points_ft", []byte(`[0,5000,10000,20000,8000]`))
	case "pitot-static-leak":
		w.Raw("static", []byte(`{"start_ft":"3000","cabin_psi":"4.2"}`))
		w.Raw("pitot", []byte(`{"start_kt":150}`))
	}
	w.End()
	w.BeginObject("instrument")
	w.Text("low", k.low)
	w.Text("high", k.high)
	w.Text("unit", k.unit)
	w.Raw("particulars", []byte(`{"max_rate_ft_min":5000,"max_rate_pa_s":"`+numeric.FormatDecimals(d.Between(110, 300), 1)+`","field_elevation_ft":`+numeric.FormatDecimals(d.Between(0, 900), 0)+
		`,"weakest":{"impact_pa":12000,"part":"the airspeed indicator"},"subscale":"hPa","max_cas_kt":260}`))
	w.End()
	return k.l
}

func airCaptureSample(w *document.Writer, d *document.Draws, a *airPlan) {
	near := func(id string) float64 {
		for i := range a.points {
			p := &a.points[i]
			if p.id != id && p.pair != id {
				continue
			}
			if p.unit == "kt" {
				return p.state.Knots
			}
			if p.pair != "" {
				return p.state.Feet + p.shift.Float()
			}
			return p.show.Float()
		}
		return a.fieldFeet()
	}
	unit := func(id string) string {
		for i := range a.points {
			if a.points[i].id == id || a.points[i].pair == id {
				return a.points[i].unit
			}
		}
		return a.unit
	}
	w.BeginList("captures")
	for i, n := range a.needs {
		if d.Below(60) == 0 {
			continue
		}
		w.Begin()
		w.Text("step", n.id)
		w.Text("of", n.of)
		switch {
		case n.of == "indicated":
			w.Text("value", numeric.FormatDecimals(near(n.id)+d.Between(-30, 30), 0))
			w.Text("unit", unit(n.id))
		case n.id == "ready.lines" || n.id == "end.restored":
			w.Text("value", []string{"yes", "yes", "no"}[d.Below(3)])
			w.Text("unit", "")
		default:
			w.Text("value", numeric.FormatDecimals(a.field/100+d.Between(-0.6, 0.6), 1))
			w.Text("unit", "")
		}
		if d.Below(3) > 0 {
			w.Text("at", "2026-03-0"+string(rune('1'+i/60%9))+"T09:"+numeric.FormatDecimals(float64(10+i%50), 0)+":00Z")
		}
		w.End()
	}
	w.EndList()
	if d.Below(2) == 0 {
		w.BeginObject("standard")
		w.Number("u", d.Between(0.5, 6))
		w.End()
	}
}
