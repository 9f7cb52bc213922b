package visit

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

var (
	// itemFields are the fields of an instrument that a visit keeps, as they were at that time.
	itemFields = []string{
		"tag", "serial", "description", "kind", "manufacturer", "model", "range", "resolution", "limit", "output",
		"repeatability_percent", "temperature_coefficient_percent_per_k", "reference_temperature_c", "overload", "particulars",
		"medium", "area", "place", "setting",
	}
	// snapshotFields are the fields of a standard's record that a visit keeps.
	snapshotFields = []string{"name", "serial", "manufacturer", "model", "certificate_no", "calibrated", "due", "status",
		"medium", "cleaned_for_oxygen"}
)

// calculateItem is the calculation item: the latest values of an instrument's record → the
// instrument in the form of all calculations, the copy that a visit keeps, and its limits in the
// form of the calculation plan.
//
// A removed field is empty or null. It is not passed to the calculations.
//
// Takes:   {id?, fields}.
// Gives:   {instrument, item, bears}.
func calculateItem(in *document.Reader, out *document.Writer) error {
	id, f := in.TextOr("id", ""), in.RawObject("fields")
	if err := in.Err(); err != nil {
		return err
	}
	WriteInstrument(out, f)
	out.BeginObject("item")
	if id != "" {
		out.Text("instrument", id)
	}
	fields(out, f, itemFields)
	out.End()
	writeBears(out, f)
	return nil
}

// calculateKept is the calculation kept: a range of a standard, with the latest values of its
// record → the copy that a visit keeps of the standard, the standard in the form of the
// calculations, and the range as an instrument under test, whose limit is its own specification.
//
// Takes:   {id?, fields?, range}.
// Gives:   {snapshot, standard?, item}; no standard if the range states no accuracy.
// Refuses: a stability or a part of reading that is no number.
func calculateKept(in *document.Reader, out *document.Writer) error {
	id, rng := in.TextOr("id", ""), in.RawObject("range")
	record, ok := in.Raw("fields")
	if !ok {
		record = &document.Value{Kind: document.Object}
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginObject("snapshot")
	out.Value("range", rng)
	fields(out, record, snapshotFields)
	out.End()
	if Specified(rng) {
		out.BeginObject("standard")
		WriteRange(out, rng)
		out.End()
	}
	return writeStandardAsItem(out, id, record, rng)
}

// writeStandardAsItem writes the copy that a visit keeps of a standard that is itself under test.
// Its stability in parts per million of the reading is added to its limit in per cent of reading.
func writeStandardAsItem(out *document.Writer, id string, record, rng *document.Value) error {
	reading := text(part(rng, "of_reading_percent"))
	if ppm := text(part(rng, "stability_ppm")); ppm != "" {
		moves, ok := numeric.ParseExact(ppm)
		if !ok {
			return document.Refuse(document.CodeNotANumber, "range.stability_ppm", "a decimal number is needed")
		}
		share, ok := numeric.ParseExact(or(reading, "0"))
		if !ok {
			return document.Refuse(document.CodeNotANumber, "range.of_reading_percent", "a decimal number is needed")
		}
		if moves.Sign() > 0 {
			perPercent, _ := numeric.ParseExact("0.0001")
			reading, _ = share.Add(moves.Mul(perPercent)).Text(mostPlaces)
		}
	}
	serial := text(part(record, "serial"))
	out.BeginObject("item")
	out.Text("instrument", id)
	out.Text("tag", or(serial, text(part(record, "name"))))
	out.Text("serial", serial)
	out.Text("description", text(part(record, "name")))
	out.Text("kind", "gauge")
	out.Text("manufacturer", text(part(record, "manufacturer")))
	out.Text("model", text(part(record, "model")))
	out.BeginObject("range")
	fields(out, rng, rangeFields)
	out.End()
	out.BeginObject("limit")
	out.Text("rule", "terms")
	if reading != "" {
		out.Text("of_reading_percent", reading)
	}
	fields(out, rng, []string{"of_span_percent", "absolute"})
	out.End()
	fields(out, rng, []string{"resolution"})
	out.End()
	return nil
}

// mostPlaces is the number of decimals of a sum of two percentages: more than anyone states for a
// standard.
const mostPlaces = 12

func or(s, otherwise string) string {
	if s != "" {
		return s
	}
	return otherwise
}

// WriteInstrument writes the instrument in the form of the calculations, from its record or from
// the copy that a visit keeps.
func WriteInstrument(w *document.Writer, item *document.Value) {
	w.BeginObject("instrument")
	given(w, part(item, "range"), rangeFields)
	given(w, item, instrumentFields)
	w.End()
}

// given writes some fields of an object, without removed ones.
func given(w *document.Writer, v *document.Value, names []string) {
	for _, name := range names {
		if p := part(v, name); p != nil && (p.Kind != document.String || p.Text != "") {
			w.Value(name, p)
		}
	}
}
