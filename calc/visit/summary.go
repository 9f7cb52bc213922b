package visit

import "gaugewright/calc/document"

// WriteSummary writes what every phone keeps of a past visit: the findings of its reported runs in
// short. A finding is nil if its run has none; found and left tell whether there is such a run.
func WriteSummary(w *document.Writer, found, left bool, asFound, asLeft *document.Value) {
	if found {
		short(w, "as_found", asFound)
	}
	if left {
		short(w, "as_left", asLeft)
	}
}

func short(w *document.Writer, name string, finding *document.Value) {
	w.BeginObject(name)
	if v := part(finding, "verdict"); v != nil {
		w.Value("verdict", v)
	} else {
		w.Text("verdict", "undecided")
	}
	orNull(w, "worst_fraction", part(part(finding, "worst"), "fraction"))
	w.BeginList("points")
	if readings := part(finding, "readings"); readings != nil {
		for _, r := range readings.List() {
			w.Begin()
			orNull(w, "point", part(&r, "point"))
			w.Text("direction", text(part(&r, "direction")))
			orNull(w, "error", part(&r, "error"))
			orNull(w, "limit", part(&r, "limit_high"))
			w.End()
		}
	}
	w.EndList()
	if results := part(finding, "results"); results != nil && results.Kind == document.Array {
		w.Value("results", results)
	}
	w.End()
}

func orNull(w *document.Writer, name string, v *document.Value) {
	if v == nil {
		v = &document.Value{}
	}
	w.Value(name, v)
}
