package choose

import (
	"slices"
	"strconv"

	"gaugewright/calc/document"
)

// calculateCertify is the calculation certify: a standard and a new certificate of one of its
// ranges → what the certificate changes in the standard's record.
//
// The certificate that was calibrated last is in force for its range. A certificate older than
// another of the same range is kept and changes nothing. The latest of all gives the standard its
// number and its dates.
//
// Takes:   {calibrated?, ranges, certificates: [{calibrated, range}], certificate: {number,
// calibrated, due, range, points}}.
// Gives:   {in_force, ranges?, certificate_no?, calibrated?, due?}: what is to be written, without
// values that stay the same.
func calculateCertify(in *document.Reader, out *document.Writer) error {
	calibrated := in.TextOr("calibrated", "")
	ranges := in.Values("ranges")
	c := in.Object("certificate")
	number, date, due := c.TextOr("number", ""), c.TextOr("calibrated", ""), c.TextOr("due", "")
	rng := c.RawObject("range")
	points := document.ArrayOf(nil)
	if v, ok := c.Raw("points"); ok {
		points = *v
	}
	c.TextOr("by", "")
	newer := false
	for _, r := range in.List("certificates") {
		kept := r.RawObject("range")
		newer = r.TextOr("calibrated", "") > date && SameRange(kept, rng) || newer
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.Flag("in_force", !newer)
	if newer {
		return nil
	}
	out.BeginList("ranges")
	for i := range ranges {
		if r := &ranges[i]; SameRange(r, rng) {
			changed := with(r, "points", points)
			out.ValueItem(&changed)
		} else {
			out.ValueItem(r)
		}
	}
	out.EndList()
	if date >= calibrated {
		out.Text("certificate_no", number)
		out.Text("calibrated", date)
		out.Text("due", due)
	}
	return nil
}

// SameRange reports whether two records describe the same range of a standard: the same ends, unit
// and mode. A range without a mode counts as gauge.
func SameRange(a, b *document.Value) bool {
	for _, name := range []string{"low", "high"} {
		x, ok := number(a, name)
		y, ok2 := number(b, name)
		if ok != ok2 || x != y {
			return false
		}
	}
	return text(a, "unit") == text(b, "unit") && modeOf(a) == modeOf(b)
}

func modeOf(v *document.Value) string {
	if m := text(v, "mode"); m != "" {
		return m
	}
	return "gauge"
}

// with returns an object with one field set.
func with(v *document.Value, name string, field document.Value) document.Value {
	names, items := slices.Clone(v.Names()), slices.Clone(v.Items())
	if at := slices.Index(names, name); at >= 0 {
		items[at] = field
	} else {
		names, items = append(names, name), append(items, field)
	}
	return document.ObjectOf(names, items)
}

// certifySample is a standard of two ranges with a certificate of each.
func certifySample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	rng := func(n int) string {
		return `{"low":"0","high":"` + strconv.Itoa(10*(1+n)) + `","unit":"bar","of_span_percent":"0.05"}`
	}
	day := func() string { return "202" + strconv.Itoa(d.Below(7)) + "-05-01" }
	w.Begin()
	w.Text("calibrated", day())
	w.Raw("ranges", []byte("["+rng(0)+","+rng(1)+"]"))
	w.BeginList("certificates")
	for range d.Below(3) {
		w.Begin()
		w.Text("calibrated", day())
		w.Raw("range", []byte(rng(d.Below(2))))
		w.End()
	}
	w.EndList()
	w.BeginObject("certificate")
	w.Text("number", "A-1")
	w.Text("calibrated", day())
	w.Text("due", "2027-05-01")
	w.Raw("range", []byte(rng(d.Below(2))))
	w.Raw("points", []byte(`[{"applied":"0","error":"0","expanded":"0.01","k":"2"}]`))
	w.End()
	w.End()
	return w.Bytes()
}
