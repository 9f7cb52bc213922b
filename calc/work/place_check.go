package work

import "gaugewright/calc/document"

// CheckPlace is the calculation place: the ambient air → its impossible values. The same rule leaves
// findings open.
func CheckPlace(in *document.Reader, out *document.Writer) error {
	a := readAround(in)
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("findings")
	for _, f := range a.faults() {
		out.Begin()
		out.Text("field", f.field)
		out.Text("message", f.message)
		out.End()
	}
	out.EndList()
	return nil
}

// PlaceSample makes a document of the calculation place.
func PlaceSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Number("temperature_c", d.Between(-90, 120))
	w.Number("pressure_hpa", d.Between(20, 1300))
	if d.Below(2) == 0 {
		w.Number("humidity_percent", d.Between(-10, 120))
		w.Number("height_m", d.Between(-400, 6000))
	}
	w.End()
	return w.Bytes()
}
