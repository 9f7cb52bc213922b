package choose

import (
	"cmp"
	"slices"

	"gaugewright/calc/document"
	"gaugewright/calc/visit"
)

// calculateCertificates is the calculation certificates: the ranges and certificates of a standard
// → the certificates in order, the newest first, each with its range.
//
// Of two certificates of one day the one entered later comes first, and of those the one for the
// smaller range.
//
// Takes:   {ranges, certificates: [{id, calibrated?, wall?, range, points?}], range?}.
// Gives:   {certificates: [{id, of, whole}], of?}: of is the index among the ranges, -1 if the
// standard has no such range; whole tells whether the points cover all of it; the last of is that
// of range.
func calculateCertificates(in *document.Reader, out *document.Writer) error {
	type certificate struct {
		id, calibrated, wall string
		rng                  *document.Value
		points               []document.Value
	}
	ranges := in.Values("ranges")
	var list []certificate
	for _, r := range in.List("certificates") {
		c := certificate{
			id: r.Text("id"), calibrated: r.TextOr("calibrated", ""), wall: r.TextOr("wall", ""),
			rng: r.RawObject("range"),
		}
		if r.Has("points") {
			c.points = r.Values("points")
		}
		list = append(list, c)
	}
	asked, wanted := in.Raw("range")
	if err := in.Err(); err != nil {
		return err
	}
	place := func(rng *document.Value) int {
		return slices.IndexFunc(ranges, func(r document.Value) bool { return SameRange(&r, rng) })
	}
	slices.SortStableFunc(list, func(a, b certificate) int {
		return cmp.Or(
			cmp.Compare(b.calibrated, a.calibrated), cmp.Compare(b.wall, a.wall), cmp.Compare(span(a.rng), span(b.rng)),
		)
	})
	out.BeginList("certificates")
	for _, c := range list {
		out.Begin()
		out.Text("id", c.id)
		out.Whole("of", place(c.rng))
		out.Flag("whole", reaches(c.points, c.rng))
		out.End()
	}
	out.EndList()
	if wanted {
		out.Whole("of", place(asked))
	}
	return nil
}

func span(rng *document.Value) float64 {
	low, _ := number(rng, "low")
	high, _ := number(rng, "high")
	return high - low
}

// reaches reports whether points cover a whole range.
func reaches(points []document.Value, rng *document.Value) bool {
	low, ok := number(rng, "low")
	high, ok2 := number(rng, "high")
	atLow, atHigh := !ok, !ok2
	for i := range points {
		at, ok := number(&points[i], "applied")
		if !ok {
			return false
		}
		atLow, atHigh = atLow || at <= low, atHigh || at >= high
	}
	return len(points) > 0 && atLow && atHigh
}

// group is the runs whose visits kept the same data of a standard.
type group struct {
	unit          string
	before, after document.Value
	uses          [][]int // indices of the runs, in pieces
}

// calculateUses is the calculation uses: runs that rest on a standard, with what their visits kept
// of it → the runs that used one of its ranges, and the pieces for the calculation reverse: each
// holds runs whose visits kept the same data.
//
// A visit that cannot be read may have used any range. A run is in no piece if its visit kept
// nothing about the range's accuracy.
//
// Takes:   {uses: [{standard, years_since?, unread?}], range, before?, after, most}: before is a
// certificate's points; if it is absent, what each visit kept counts; most is the largest number of
// runs in a piece.
// Gives:   {of_range, pieces: [{unit, before, after, uses}]}: a use is its index in the list.
func calculateUses(in *document.Reader, out *document.Writer) error {
	rng := in.RawObject("range")
	var before []document.Value
	compared := in.Has("before")
	if compared {
		before = in.Values("before")
	}
	after := in.Values("after")
	most := in.Whole("most", 1, 10000)
	var order []string
	groups := map[string]*group{}
	out.BeginList("of_range")
	for i, r := range in.List("uses") {
		years, unread := r.TextOr("years_since", ""), r.Flag("unread", false)
		kept := document.Value{Kind: document.Object}
		if v, ok := r.Raw("standard"); ok && v.Kind == document.Object {
			kept = *v
		}
		known := knownOf(&kept)
		ofRange := SameRange(known, rng)
		if text(&kept, "id") == "" {
			ofRange = unread
		}
		if !ofRange {
			continue
		}
		out.NumberItem(float64(i))
		if unread || !visit.Specified(known) {
			continue
		}
		if _, drifts := known.Get("drift_per_year"); drifts && years != "" {
			v := with(known, "years_since", document.Value{Kind: document.String, Text: years})
			known = &v
		}
		was := *known
		if compared {
			was = withPoints(known, before)
		}
		is := withPoints(known, after)
		one := group{unit: text(known, "unit"), before: standardOf(&was), after: standardOf(&is)}
		key := one.unit + "\n" + string(document.AppendValue(nil, &one.before))
		g := groups[key]
		if g == nil {
			g, order = &one, append(order, key)
			groups[key] = g
		}
		if n := len(g.uses); n == 0 || len(g.uses[n-1]) >= most {
			g.uses = append(g.uses, nil)
		}
		last := &g.uses[len(g.uses)-1]
		*last = append(*last, i)
	}
	out.EndList()
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("pieces")
	for _, key := range order {
		groups[key].write(out)
	}
	out.EndList()
	return nil
}

func (g *group) write(out *document.Writer) {
	for _, places := range g.uses {
		out.Begin()
		out.Text("unit", g.unit)
		out.Value("before", &g.before)
		out.Value("after", &g.after)
		out.BeginList("uses")
		for _, i := range places {
			out.NumberItem(float64(i))
		}
		out.EndList()
		out.End()
	}
}

// knownOf returns the range that a visit kept of its standard, in the standard's own unit.
func knownOf(kept *document.Value) *document.Value {
	if copied, ok := kept.Get("snapshot"); ok && copied.Kind == document.Object {
		if own, ok := copied.Get("range"); ok && text(own, "unit") != "" {
			return own
		}
	}
	if own, ok := kept.Get("range"); ok && own.Kind == document.Object {
		return own
	}
	return &document.Value{Kind: document.Object}
}

// withPoints returns a range with other points of a certificate, or with none if the list is empty.
func withPoints(rng *document.Value, points []document.Value) document.Value {
	if len(points) > 0 {
		return with(rng, "points", document.ArrayOf(points))
	}
	names, items := []string{}, []document.Value{}
	all := rng.Items()
	for i, name := range rng.Names() {
		if name != "points" {
			names, items = append(names, name), append(items, all[i])
		}
	}
	return document.ObjectOf(names, items)
}

// standardOf returns a range in the form in which calculations take a standard.
func standardOf(rng *document.Value) document.Value {
	w := document.NewWriter(nil)
	w.Begin()
	visit.WriteRange(w, rng)
	w.End()
	return reply(w.Bytes())
}
