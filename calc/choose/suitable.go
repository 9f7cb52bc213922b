package choose

import "gaugewright/calc/document"

// calculateSuitable is the calculation suitable: the instruments that a method or a programme can
// be run on as it is.
//
// An instrument out of service is not tested, nor one for which the method has no plan. In that
// case the reason is the one that expand gives.
//
// Takes:   {method, instruments: [{id, status?, instrument}]}.
// Gives:   {suitable, refused: [{id, status?, text?}]}, both in the order of the instruments;
// status if it is out of service, text if the method refuses it.
func (c chooser) calculateSuitable(in *document.Reader, out *document.Writer) error {
	w := work{method: in.RawObject("method")}
	type refusal struct{ id, status, text string }
	var refused []refusal
	out.BeginList("suitable")
	for _, r := range in.List("instruments") {
		one := refusal{id: r.Text("id"), status: r.TextOr("status", "")}
		w.instrument = r.RawObject("instrument")
		if err := in.Err(); err != nil {
			return err
		}
		if one.status == inService {
			one.status = ""
		}
		if one.status == "" {
			one.text = c.refused(&w, &document.Value{})
		}
		if one.status == "" && one.text == "" {
			out.TextItem(one.id)
			continue
		}
		refused = append(refused, one)
	}
	out.EndList()
	out.BeginList("refused")
	for _, one := range refused {
		out.Begin()
		out.Text("id", one.id)
		for _, f := range [...][2]string{{"status", one.status}, {"text", one.text}} {
			if f[1] != "" {
				out.Text(f[0], f[1])
			}
		}
		out.End()
	}
	out.EndList()
	return in.Err()
}
