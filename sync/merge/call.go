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
	order := []string{}
	for _, one := range r.List("records") {
		s := readState(one)
		states[s.ID] = s
	}
	var count uint64
	byRecord := map[string][]change.Change{}
	for _, one := range r.List("changes") {
		c, err := change.Read(one)
		if err != nil {
			return err
		}
		if _, known := byRecord[c.Record]; !known {
			order = append(order, c.Record)
		}
		byRecord[c.Record] = append(byRecord[c.Record], c)
		count = max(count, c.Stamp.Count)
	}
	if err := r.Err(); err != nil {
		return err
	}
	out.BeginList("records")
	for _, id := range order {
		s, err := Apply(states[id], byRecord[id]...)
		if err != nil {
			return err
		}
		out.RawItem(s.Bytes())
	}
	out.EndList()
	out.Whole("count", int(count))
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
