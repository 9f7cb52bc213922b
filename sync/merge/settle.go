package merge

import (
	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// settleVerb merges the metadata of changes only, since no rule of the merge looks at values. The
// caller keeps the values and reattaches them by change id. A first pull of a whole plant carries
// megabytes of values and little else.
func settleVerb(r *document.Reader, out *document.Writer) error {
	states := map[string]State{}
	for _, one := range r.List("records") {
		s := State{ID: one.Text("id"), Kind: one.Text("kind"), Site: one.Text("site"), Parent: one.Text("parent")}
		fields := one.Object("fields")
		last := ""
		for _, name := range fields.Names() {
			if name <= last && last != "" {
				fields.Fail(document.CodeShape, name, "the fields are not in order")
			}
			last = name
			s.Fields = append(s.Fields, readField(name, fields.Object(name)))
		}
		states[s.ID] = s
	}
	var all byRecord
	for _, one := range r.List("changes") {
		c := change.Change{
			ID: one.Text("id"), Record: one.Text("record"), Kind: one.Text("kind"), Site: one.Text("site"),
			Parent: one.Text("parent"),
		}
		c.Stamp = readStamp(one)
		sees, _ := one.OptionalObject("sees")
		for _, name := range one.Texts("fields") {
			set := change.Setting{Field: name}
			if sees != nil && sees.Has(name) {
				set.Sees = sees.Texts(name)
			}
			c.Set = append(c.Set, set)
		}
		all.add(c)
	}
	if err := r.Done(); err != nil {
		return err
	}
	return all.apply(states, out, func(s *State) { s.writeOrder(out) })
}

func readField(name string, one *document.Reader) Field {
	f := Field{Name: name}
	for _, h := range one.List("heads") {
		f.Heads = append(f.Heads, Head{Change: h.Text("change"), Stamp: readStamp(h)})
	}
	f.Replaced = append([]string(nil), one.Texts("replaced")...)
	return f
}

func readStamp(r *document.Reader) clock.Stamp {
	stamp, err := clock.Parse(r.Text("stamp"))
	if err != nil {
		r.Fail(document.CodeShape, "stamp", err.Error())
	}
	return stamp
}

func (s *State) writeOrder(w *document.Writer) {
	w.Begin()
	w.Text("id", s.ID)
	w.BeginObject("fields")
	for i := range s.Fields {
		f := &s.Fields[i]
		w.BeginObject(f.Name)
		w.BeginList("heads")
		for k := range f.Heads {
			w.TextItem(f.Heads[k].Change)
		}
		w.EndList()
		w.BeginList("replaced")
		for _, id := range f.Replaced {
			w.TextItem(id)
		}
		w.EndList()
		w.End()
	}
	w.End()
	w.End()
}
