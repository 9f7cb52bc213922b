package visit

import (
	"gaugewright/calc/document"
)

// Calculations returns the calculations of a visit's rules.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "visit", Call: calculateVisit}, {Name: "visits", Call: calculateVisits},
		{Name: "past", Call: calculatePast}, {Name: "kin", Call: calculateKin},
		{Name: "item", Call: calculateItem}, {Name: "kept", Call: calculateKept}, {Name: "begun", Call: calculateBegun},
		{Name: "facts", Call: calculateFacts}, {Name: "corrections", Call: calculateCorrections},
		{Name: "together", Call: calculateTogether}, {Name: "manifold", Call: calculateManifold},
	}
}

// calculateVisit is the calculation visit: the records of a visit and its runs → its state, the
// next step, the reported runs, the effective captures, its summary, the changes that a signature
// would cover, and the inputs of every calculation about it.
func calculateVisit(in *document.Reader, out *document.Writer) error {
	visit, runs, err := readVisit(in)
	if err != nil {
		return err
	}
	s := ReadStanding(&visit)
	out.Text("status", string(s.Status))
	writeSentBack(out, &s)
	writeStage(out, ReadStage(&visit, &s, runs))
	out.BeginList("service")
	for _, q := range Service(&visit) {
		out.TextItem(q)
	}
	out.EndList()
	passes := make([]Pass, len(runs))
	var written []Written
	for i, run := range runs {
		passes[i] = passOf(run)
		written = append(written, WrittenOf(run)...)
	}
	found, left := Reported(s.Returned, s.Reopened, passes)
	finding := func(i int) *document.Value {
		if i < 0 {
			return nil
		}
		return runs[i].Value("finding")
	}
	out.BeginObject("reported")
	if found >= 0 {
		out.Text("as_found", runs[found].ID)
	}
	if left >= 0 {
		out.Text("as_left", runs[left].ID)
	}
	out.End()
	writeRuns(out, runs)
	out.BeginObject("summary")
	WriteSummary(out, found >= 0, left >= 0, finding(found), finding(left))
	out.End()
	out.BeginList("covers")
	for _, id := range Covers(WrittenOf(&visit), written...) {
		out.TextItem(id)
	}
	out.EndList()
	basis := ReadBasis(&visit)
	out.BeginObject("sheet")
	basis.Write(out)
	out.End()
	return nil
}

// readVisit reads a visit and its runs, in their order.
func readVisit(in *document.Reader) (visit Record, runs []*Record, err error) {
	visit = readRecord(in.Object("visit"))
	kids := readRecords(in, "runs")
	if err := in.Err(); err != nil {
		return Record{}, nil, err
	}
	return visit, InOrder(kids), nil
}

func writeSentBack(out *document.Writer, s *Standing) {
	out.BeginList("sent_back")
	for _, words := range s.SentBack {
		out.TextItem(words)
	}
	out.EndList()
}

func writeStage(out *document.Writer, s Stage) {
	out.BeginObject("stage")
	out.Text("kind", string(s.Step))
	for _, f := range [...][2]string{{"why", s.Why}, {"label", s.Label}, {"run", s.Run}} {
		if f[1] != "" {
			out.Text(f[0], f[1])
		}
	}
	out.End()
}

func writeRuns(out *document.Writer, runs []*Record) {
	out.BeginList("runs")
	for _, run := range runs {
		out.Begin()
		out.Text("id", run.ID)
		out.BeginList("effective")
		all := capturesOf(run)
		for _, c := range Effective(all) {
			out.Begin()
			out.Text("id", c.id)
			if old := earlier(all, c); len(old) > 0 {
				out.BeginList("earlier")
				for _, id := range old {
					out.TextItem(id)
				}
				out.EndList()
			}
			out.End()
		}
		out.EndList()
		out.End()
	}
	out.EndList()
}

// calculateVisits is the calculation visits: many visits → the state of each.
func calculateVisits(in *document.Reader, out *document.Writer) error {
	list := readRecords(in, "visits")
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("visits")
	for i := range list {
		s := ReadStanding(&list[i])
		out.Begin()
		out.Text("id", list[i].ID)
		out.Text("status", string(s.Status))
		writeSentBack(out, &s)
		out.End()
	}
	out.EndList()
	return nil
}

func readRecords(in *document.Reader, name string) []Record {
	list := []Record{}
	for _, r := range in.List(name) {
		list = append(list, readRecord(r))
	}
	return list
}

// readRecord reads a record as the merge writes it. Its values are read where they are needed.
func readRecord(r *document.Reader) Record {
	rec := Record{ID: r.Text("id"), Kind: r.Text("kind")}
	r.TextOr("site", "")
	r.TextOr("parent", "")
	fields := r.Object("fields")
	for _, name := range fields.Names() {
		f := fields.Object(name)
		one := Field{Name: name, Replaced: f.Texts("replaced")}
		for _, h := range f.List("heads") {
			one.Heads = append(one.Heads, readHead(h))
		}
		rec.Fields = append(rec.Fields, one)
	}
	return rec
}

func readHead(h *document.Reader) Head {
	head := Head{Change: h.TextOr("change", ""), Author: h.TextOr("author", ""), Stamp: h.TextOr("stamp", "")}
	h.TextOr("device", "")
	h.TextOr("wall", "")
	if v, ok := h.Raw("value"); ok {
		head.Value = v
	} else {
		head.Value = &document.Value{}
	}
	return head
}
