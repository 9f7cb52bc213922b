package airdata

import "gaugewright/calc/document"

// Calculations returns the calculations airdata, altimeter, profile, way and pitot_static_leak.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "airdata", Call: calculateAirdata},
		{Name: "altimeter", Call: calculateAltimeter},
		{Name: "profile", Call: calculateProfile},
		{Name: "way", Call: calculateWay},
		{Name: "pitot_static_leak", Call: calculateLeak},
	}
}

// given returns the name of the field that is present, "" if none is. A second one is a conflict.
func given(in *document.Reader, names ...string) string {
	found := ""
	for _, n := range names {
		if !in.Has(n) {
			in.Raw(n)
			continue
		}
		if found != "" {
			in.Fail(document.CodeConflict, n, "give "+found+" or "+n+", not both")
			return found
		}
		found = n
	}
	return found
}

// refusedAt adds the field to a refusal that names none.
func refusedAt(in *document.Reader, name string, err error) error {
	if f := document.AsFault(err); f.Field == "" {
		return document.Refuse(f.Code, in.Path(name), f.Message)
	}
	return err
}

func writeWarnings(out *document.Writer, list []warning) {
	if len(list) == 0 {
		return
	}
	out.BeginList("warnings")
	for _, w := range list {
		out.Warn(w.code, w.field, w.message)
	}
	out.EndList()
}
