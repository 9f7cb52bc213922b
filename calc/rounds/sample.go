package rounds

import (
	"strconv"

	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{{Calculation: "fitting", Make: fittingSample}, {Calculation: "round", Make: roundSample}}
}

func fittingSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	kinds := []string{"gauge", "leak", "switch", programme, ""}
	w.Begin()
	w.BeginList("methods")
	for i := range d.Below(6) {
		w.Begin()
		w.Text("id", "m"+strconv.Itoa(i))
		w.Text("kind", kinds[d.Below(len(kinds))])
		w.Text("status", []string{"", "", "withdrawn"}[d.Below(3)])
		w.End()
	}
	w.EndList()
	w.BeginList("kinds")
	for range d.Below(3) {
		w.TextItem(kinds[d.Below(3)])
	}
	w.EndList()
	w.End()
	return w.Bytes()
}

// roundSample is a round among others, with some useless stops.
func roundSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	date := func() string { return "2026-0" + strconv.Itoa(1+d.Below(9)) + "-1" + strconv.Itoa(d.Below(10)) }
	w.Begin()
	w.BeginObject("round")
	w.Text("id", "r0")
	w.Text("date", []string{date(), date(), ""}[d.Below(3)])
	w.Text("person", []string{"p", ""}[d.Below(2)])
	w.Text("title", []string{"Boilers", " "}[d.Below(2)])
	w.End()
	w.BeginList("stops")
	for i := range d.Below(4) {
		w.Begin()
		w.Text("id", "i"+strconv.Itoa(i))
		w.Text("site", []string{"", "north", "south"}[d.Below(3)])
		w.Text("due", date())
		w.Text("status", []string{"", "in service", "retired"}[d.Below(3)])
		w.BeginList("contested")
		if d.Below(3) == 0 {
			w.TextItem("limit")
		}
		w.EndList()
		w.Flag("method", d.Below(4) > 0)
		w.End()
	}
	w.EndList()
	w.BeginList("rounds")
	for i := range d.Below(5) {
		w.Begin()
		w.Text("id", "r"+strconv.Itoa(i))
		w.Text("date", date())
		w.Text("title", "Round "+strconv.Itoa(i))
		w.BeginList("stops")
		w.TextItem("i" + strconv.Itoa(d.Below(4)))
		w.EndList()
		w.Flag("taken_back", d.Below(4) == 0)
		w.End()
	}
	w.EndList()
	w.BeginList("sites")
	if d.Below(2) == 0 {
		w.TextItem("north")
	}
	w.EndList()
	w.End()
	return w.Bytes()
}
