package visit

import (
	"slices"

	"gaugewright/calc/document"
)

// Basis is what a visit gives to every calculation about it; nil is what it does not have.
type Basis struct {
	Method       *document.Value // the definition of its method
	Item         *document.Value // the instrument, and the rest to Head, as the visit keeps them
	Standard     *document.Value
	Meter        *document.Value // what read a transmitter's signal
	Barometer    *document.Value // what measured the air beside a gauge standard
	Surroundings *document.Value
	Head         *document.Value
	Cautions     *document.Value // what was found before the first pressure
	Identity     *document.Value
	Condition    *document.Value
	Service      *document.Value // what was answered about the service it is in
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
		"reference_temperature_c", "particulars",
	}
	specification = []string{"of_reading_percent", "of_span_percent", "absolute", "stability_ppm"}
)

// Write writes method, instrument, standard, meter, barometer, surroundings, head and before, as the
// calculation "evaluate" takes them. A standard or a meter without a specification is left out: the
// uncertainty is then without it. A barometer is not, since without it the applied pressure is
// another one: "evaluate" refuses it.
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

// fields writes some fields of an object as they are, null too.
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

// before writes what was found before the first pressure, as far as it can keep a run from passing.
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

// unclean says why the standard must not have touched an instrument in oxygen service; "" where
// nobody was asked, as in visits of earlier versions.
func (b *Basis) unclean() string {
	if text(part(b.Service, ServiceOxygen)) == "" || b.Standard == nil {
		return ""
	}
	kept := part(b.Standard, "snapshot")
	return Unclean(text(part(kept, "medium")), text(part(kept, "cleaned_for_oxygen")), text(b.Started))
}

// Specified says whether anything is stated of the accuracy of a standard's range.
func Specified(kept *document.Value) bool {
	return kept != nil && kept.Kind == document.Object &&
		slices.ContainsFunc(specification, func(name string) bool { _, ok := kept.Get(name); return ok })
}

// WriteRange writes a range of a standard's record as the calculations take a standard: with its
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

// Datum is one value of a run as a calculation takes it.
type Datum struct{ Step, Of, Value, Unit, At string }

// WriteCaptures writes values as the calculation "evaluate" takes them, without the records of
// loggers, which it takes apart. A moment that cannot be read is left out.
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
