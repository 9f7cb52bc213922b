package visit

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

var (
	// itemFields are what a visit keeps of an instrument, as it was at that time.
	itemFields = []string{
		"tag", "serial", "description", "kind", "manufacturer", "model", "range", "resolution", "limit", "output",
		"repeatability_percent", "temperature_coefficient_percent_per_k", "reference_temperature_c", "particulars",
		"medium", "area", "place", "setting",
	}
	// snapshotFields are what a visit keeps of a standard's record.
	snapshotFields = []string{"name", "serial", "manufacturer", "model", "certificate_no", "calibrated", "due", "status",
		"medium", "cleaned_for_oxygen"}
)

// calculateItem is the calculation item: the latest values of an instrument's record → the
// instrument as every calculation takes it, the copy that a visit keeps, and what it bears, as the
// calculation plan takes that.
//
// A field that was taken away is empty or null. The calculations are not given it.
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
// record → what a visit keeps of the standard that it uses, the standard as the calculations take
// it, and the range as the instrument of a visit, whose limit is what it states of itself.
//
// Takes:   {id?, fields?, range}.
// Gives:   {snapshot, standard?, item}; no standard where nothing is stated of the range.
// Refuses: a stability or a share of the reading that is no number.
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

// writeStandardAsItem writes the copy that a visit keeps of a standard that is itself tested. The
// change with time in parts per million of the reading counts with the share of the reading.
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

// mostPlaces is how many digits after the point a sum of two shares is written with: more than
// anyone states of a standard.
const mostPlaces = 12

func or(s, otherwise string) string {
	if s != "" {
		return s
	}
	return otherwise
}

// WriteInstrument writes the instrument as the calculations take it, from what is on record of it
// or what a visit keeps of it.
func WriteInstrument(w *document.Writer, item *document.Value) {
	w.BeginObject("instrument")
	given(w, part(item, "range"), rangeFields)
	given(w, item, instrumentFields)
	w.End()
}

// given writes some fields of an object, without those that were taken away.
func given(w *document.Writer, v *document.Value, names []string) {
	for _, name := range names {
		if p := part(v, name); p != nil && (p.Kind != document.String || p.Text != "") {
			w.Value(name, p)
		}
	}
}
