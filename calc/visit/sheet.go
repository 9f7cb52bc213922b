package visit

import (
	"slices"

	"gaugewright/calc/document"
)

// Basis holds the inputs that a visit gives to every calculation about it; a missing one is nil.
type Basis struct {
	Method       *document.Value // the definition of its method
	Item         *document.Value // the instrument, and the rest to Head, as the visit keeps them
	Standard     *document.Value
	Meter        *document.Value // read a transmitter's signal
	Barometer    *document.Value // measured the air beside a gauge standard
	Surroundings *document.Value
	Head         *document.Value
	Cautions     *document.Value // the answer about the cautions before the first pressure
	Identity     *document.Value
	Condition    *document.Value
	Service      *document.Value // the answers about its service
	Started      *document.Value
}

// ReadBasis reads the basis of a visit.
func ReadBasis(visit *Record) Basis {
	return Basis{
		method(visit), visit.Value("item"), visit.Value("standard"), visit.Value("meter"), visit.Value("barometer"),
		visit.Value("surroundings"), visit.Value("head"), visit.Value("cautions"), visit.Value("identity"),
		visit.Value("condition"), visit.Value("service"), visit.Value("started"),
	}
}

var (
	rangeFields      = []string{"low", "high", "unit", "mode"}
	instrumentFields = []string{
		"resolution", "limit", "output", "repeatability_percent", "temperature_coefficient_percent_per_k",
		"reference_temperature_c", "overload", "particulars",
	}
	specification = []string{"of_reading_percent", "of_span_percent", "absolute", "stability_ppm"}
)

// Write writes method, instrument, standard, meter, barometer, surroundings, head and before, as
// the calculation "evaluate" takes them. A standard or a meter without a specification is left out,
// and the uncertainty is stated without it. A barometer is never left out, because without it the
// applied pressure would be wrong: "evaluate" refuses it.
func (b *Basis) Write(w *document.Writer) {
	put(w, "method", b.Method)
	WriteInstrument(w, b.Item)
	for _, one := range [...]struct {
		name string
		used *document.Value
	}{{"standard", b.Standard}, {"meter", b.Meter}} {
		if kept := part(one.used, "range"); Specified(kept) {
			device(w, one.name, kept)
		}
	}
	if b.Barometer != nil && b.Barometer.Kind == document.Object {
		device(w, "barometer", part(b.Barometer, "range"))
	}
	if b.Surroundings != nil {
		w.Value("surroundings", b.Surroundings)
	}
	if b.Head != nil {
		w.Value("head", b.Head)
	}
	b.before(w)
}

// device writes the range of a standard, a meter or a barometer.
func device(w *document.Writer, name string, kept *document.Value) {
	w.BeginObject(name)
	WriteRange(w, kept)
	w.End()
}

func put(w *document.Writer, name string, v *document.Value) {
	if v == nil {
		v = &document.Value{Kind: document.Object}
	}
	w.Value(name, v)
}

// fields writes some fields of an object as they are, including null.
func fields(w *document.Writer, v *document.Value, names []string) {
	if v == nil || v.Kind != document.Object {
		return
	}
	for _, name := range names {
		if p, ok := v.Get(name); ok {
			w.Value(name, p)
		}
	}
}

// before writes the facts noted before the first pressure that can keep a run from passing.
func (b *Basis) before(w *document.Writer) {
	var found [][2]string
	if no(part(b.Cautions, "met")) || text(part(b.Service, ServiceOxygen)) == "no" ||
		text(part(b.Service, ServiceAir)) == "no" {
		found = append(found, [2]string{"safe", "no"})
	}
	if way := text(part(b.Identity, "way")); way == "wrong" || way == "exchanged" {
		found = append(found, [2]string{"identity", way})
	}
	if text(part(b.Condition, "state")) == "damaged" {
		found = append(found, [2]string{"condition", "damaged"})
	}
	if why := b.unclean(); why != "" {
		found = append(found, [2]string{"standard", why})
	}
	if len(found) == 0 {
		return
	}
	w.BeginObject("before")
	for _, f := range found {
		w.Text(f[0], f[1])
	}
	w.End()
}

// unclean returns why the standard was not clean enough for an instrument in oxygen service; "" if
// the question was not asked, as in visits of earlier versions.
func (b *Basis) unclean() string {
	if text(part(b.Service, ServiceOxygen)) == "" || b.Standard == nil {
		return ""
	}
	kept := part(b.Standard, "snapshot")
	return Unclean(text(part(kept, "medium")), text(part(kept, "cleaned_for_oxygen")), text(b.Started))
}

// Specified reports whether a standard's range states any accuracy.
func Specified(kept *document.Value) bool {
	return kept != nil && kept.Kind == document.Object &&
		slices.ContainsFunc(specification, func(name string) bool { _, ok := kept.Get(name); return ok })
}

// WriteRange writes a range of a standard's record in the form of the calculations, with its
// certificate's points and its drift.
func WriteRange(w *document.Writer, kept *document.Value) {
	w.BeginList("ranges")
	w.Begin()
	fields(w, kept, rangeFields[:2])
	fields(w, kept, specification)
	fields(w, kept, []string{"k"})
	w.End()
	w.EndList()
	if points := part(kept, "points"); points != nil && len(points.List()) > 0 {
		w.BeginObject("certificate")
		w.Value("points", points)
		w.End()
	}
	fields(w, kept, []string{"drift_per_year", "years_since"})
}

// TraceOf marks a capture that represents a logger's record.
const TraceOf = "trace"

// Datum is one value of a run in the form of the calculations.
type Datum struct{ Step, Of, Value, Unit, At string }

// WriteCaptures writes values in the form of the calculation "evaluate", without the records of
// loggers, which are passed separately. It leaves out a moment that cannot be read.
func WriteCaptures(w *document.Writer, list []Datum) {
	w.BeginList("captures")
	for _, d := range list {
		if d.Of == TraceOf {
			continue
		}
		w.Begin()
		w.Text("step", d.Step)
		w.Text("of", d.Of)
		w.Text("value", d.Value)
		w.Text("unit", d.Unit)
		if _, ok := document.ParseMoment(d.At); ok {
			w.Text("at", d.At)
		}
		w.End()
	}
	w.EndList()
}
