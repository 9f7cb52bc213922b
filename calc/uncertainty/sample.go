package uncertainty

import (
	"strconv"

	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each room of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Room: "budget", Make: sample},
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
