package uncertainty

import (
	"strconv"

	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "budget", Make: sample}, {
			Calculation: "observations", Make: observationsSample,
		}, {Calculation: "line", Make: lineSample}, {Calculation: "model", Make: modelSample},
	}
}

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	n := 2 + d.Below(6)
	w.BeginList("terms")
	for i := range n {
		w.Begin()
		w.Text("name", "x"+strconv.Itoa(i))
		switch kind := d.Below(3); {
		case i < 2 || kind == 0:
			w.Number("u", d.Between(0.001, 0.1))
		case kind == 1:
			w.Number("half_width", d.Between(0.001, 0.1))
			w.Text("shape", []string{"rectangular", "triangular", "arcsine"}[d.Below(3)])
		default:
			w.Number("expanded", d.Between(0.001, 0.1))
			w.Number("k", d.Between(1.5, 3))
			w.Whole("dof", 1+d.Below(60))
		}
		w.Number("sensitivity", d.Between(-2, 2))
		w.End()
	}
	w.EndList()
	if d.Below(2) == 0 {
		w.BeginList("correlations")
		w.Begin()
		w.Text("a", "x0")
		w.Text("b", "x1")
		w.Number("r", d.Between(-1, 1))
		w.End()
		w.EndList()
	}
	if d.Below(3) > 0 {
		w.Number("coverage", d.Between(0.6, 0.999))
	}
	if d.Below(4) == 0 {
		w.BeginObject("trials")
		w.Whole("count", 100+d.Below(900))
		w.Whole("seed", d.Below(1000))
		w.End()
	}
	w.End()
	return w.Bytes()
}

func observationsSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginList("series")
	n := 2 + d.Below(9)
	for i := range 1 + d.Below(3) {
		w.Begin()
		w.Text("name", "q"+strconv.Itoa(i))
		w.BeginList("values")
		for range n {
			w.NumberItem(d.Between(4.99, 5.01))
		}
		w.EndList()
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}

func lineSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginList("points")
	kind := d.Below(3)
	for i := range 3 + d.Below(9) {
		w.Begin()
		w.Number("x", float64(i)+d.Between(-0.1, 0.1))
		w.Number("y", 1+float64(2*float64(i))+d.Between(-0.1, 0.1))
		if kind > 0 {
			w.Number("uy", d.Between(0.05, 0.1))
		}
		if kind > 1 {
			w.Number("ux", d.Between(0.05, 0.1))
			w.Number("r", d.Between(-0.5, 0.5))
		}
		w.End()
	}
	w.EndList()
	w.BeginList("at")
	w.NumberItem(d.Between(0, 5))
	w.EndList()
	if d.Below(2) == 0 {
		w.Number("coverage", d.Between(0.9, 0.99))
	}
	w.End()
	return w.Bytes()
}

func modelSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("formula", []string{
		"a*b/c", "a + b - 2*c", "sqrt(a^2 + b^2)*exp(-c/10)", "ln(a/c)*cos(b)", "max(a, b) - abs(c)^1.5",
	}[d.Below(5)])
	w.BeginList("quantities")
	for i, name := range []string{"a", "b", "c"} {
		w.Begin()
		w.Text("name", name)
		w.Number("value", d.Between(2, 3))
		switch kind := d.Below(3); {
		case i < 2 || kind == 0:
			w.Number("u", d.Between(0.001, 0.1))
		case kind == 1:
			w.Number("half_width", d.Between(0.001, 0.1))
			w.Text("shape", []string{"rectangular", "triangular", "arcsine"}[d.Below(3)])
		default:
			w.Number("u", d.Between(0.001, 0.1))
			w.Whole("dof", 2+d.Below(20))
		}
		w.End()
	}
	w.EndList()
	if d.Below(2) == 0 {
		w.BeginList("correlations")
		w.Begin()
		w.Text("a", "a")
		w.Text("b", "b")
		w.Number("r", d.Between(-1, 1))
		w.End()
		w.EndList()
	}
	if d.Below(8) == 0 {
		w.BeginObject("trials")
		w.Whole("seed", d.Below(1000))
		w.Whole("digits", 1)
		w.End()
	}
	w.End()
	return w.Bytes()
}
