package merge

import (
	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// Call runs a verb on a document, for callers that have bytes only.
//
//	merge {records: [state…], changes: [change…]} → {records: [state…], count}   the states of the changed records; missing ones are made
//	settle {records: [{id, kind, site, parent, fields: {NAME: {heads: [{change, stamp}], replaced}}}], changes: [{id, stamp, record, kind, site, parent, fields: [names], sees?: {NAME: [ids]}}]} →
//	       {records: [{id, fields: {NAME: {heads: [ids], replaced}}}], count}   as merge, without the values
//	contested {records: [state…]} → {records: [[names]…]}   the fields of each whose values people still have to choose between
//	draft {record: state|null, id, kind, site, parent, device, seq, author, wall, wall_ms, count, change_id, set: [{field, value}]} → {change, record, count}
//	erase {erased: [{change, value}], values: [{field, change, value}]} → {values: [value…]}   what is left of them
func Call(verb string, doc []byte) []byte {
	v, err := document.Passing(doc)
	if err != nil {
		return document.ErrorDocument(err)
	}
	r := document.Open(v)
	out := document.NewWriter(make([]byte, 0, len(doc)))
	out.Begin()
	switch verb {
	case "merge":
		err = mergeVerb(r, out)
	case "settle":
		err = settleVerb(r, out)
	case "contested":
		err = contestedVerb(r, out)
	case "draft":
		err = draftVerb(r, out)
	case "erase":
		err = eraseVerb(r, out)
	default:
		err = document.Refuse(document.CodeRange, "verb", "there is no verb "+document.Quote(verb))
	}
	if err == nil {
		err = r.Done()
	}
	if err != nil {
		return document.ErrorDocument(err)
	}
	out.End()
	return out.Bytes()
}

func mergeVerb(r *document.Reader, out *document.Writer) error {
	states := map[string]State{}
	for _, one := range r.List("records") {
		s := readState(one)
		states[s.ID] = s
	}
	var all byRecord
	for _, one := range r.List("changes") {
		c, err := change.Read(one)
		if err != nil {
			return err
		}
		all.add(c)
	}
	if err := r.Err(); err != nil {
		return err
	}
	return all.apply(states, out, func(s *State) { out.RawItem(s.Bytes()) })
}

// byRecord gathers changes by their records, in the order in which these first occur.
type byRecord struct {
	order   []string
	changes map[string][]change.Change
	count   uint64 // the highest of the changes
}

func (b *byRecord) add(c change.Change) {
	if b.changes == nil {
		b.changes = map[string][]change.Change{}
	}
	if _, known := b.changes[c.Record]; !known {
		b.order = append(b.order, c.Record)
	}
	b.changes[c.Record] = append(b.changes[c.Record], c)
	b.count = max(b.count, c.Stamp.Count)
}

// apply merges the changes into the states of their records and writes each, then the count.
func (b *byRecord) apply(states map[string]State, out *document.Writer, write func(s *State)) error {
	out.BeginList("records")
	for _, id := range b.order {
		s, err := Apply(states[id], b.changes[id]...)
		if err != nil {
			return err
		}
		write(&s)
	}
	out.EndList()
	out.Whole("count", int(b.count))
	return nil
}

func contestedVerb(r *document.Reader, out *document.Writer) error {
	var states []State
	for _, one := range r.List("records") {
		states = append(states, readState(one))
	}
	if err := r.Err(); err != nil {
		return err
	}
	out.BeginList("records")
	for i := range states {
		out.BeginItemList()
		for k := range states[i].Fields {
			if f := &states[i].Fields[k]; f.Contested() {
				out.TextItem(f.Name)
			}
		}
		out.EndList()
	}
	out.EndList()
	return nil
}

func draftVerb(r *document.Reader, out *document.Writer) error {
	var s State
	if rec, ok := r.OptionalObject("record"); ok {
		s = readState(rec)
	}
	in := Intent{
		Record: r.Text("id"), Kind: r.Text("kind"), Site: r.Text("site"), Parent: r.Text("parent"), Device: r.Text("device"),
		Seq: uint64(r.Whole("seq", 1, 1<<50)), Author: r.Text("author"), Wall: r.Text("wall"), WallMS: int64(r.Whole("wall_ms", -1<<46, 1<<46)),
		Count: uint64(r.Whole("count", 0, clock.MaxCount)), ChangeID: r.Text("change_id"),
	}
	for _, one := range r.List("set") {
		set := change.Setting{Field: one.Text("field"), Value: []byte("null")}
		if v, ok := one.Raw("value"); ok {
			set.Value = document.AppendValue(nil, v)
		}
		in.Set = append(in.Set, set)
	}
	if err := r.Err(); err != nil {
		return err
	}
	c, next, err := Draft(s, in)
	if err != nil {
		return err
	}
	out.Raw("change", c.Bytes())
	out.Raw("record", next.Bytes())
	out.Whole("count", int(c.Stamp.Count))
	return nil
}
