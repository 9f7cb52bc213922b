package merge

import (
	"gaugewright/calc/document"
	"gaugewright/sync/clock"
)

// Bytes returns the canonical bytes of a state; equal states have equal bytes.
func (s *State) Bytes() []byte {
	w := document.NewWriter(make([]byte, 0, 1024))
	s.write(w)
	return w.Bytes()
}

func (s *State) write(w *document.Writer) {
	w.Begin()
	w.Text("id", s.ID)
	w.Text("kind", s.Kind)
	w.Text("site", s.Site)
	w.Text("parent", s.Parent)
	w.BeginObject("fields")
	for i := range s.Fields {
		f := &s.Fields[i]
		w.BeginObject(f.Name)
		w.BeginList("heads")
		for _, h := range f.Heads {
			w.Begin()
			w.Text("change", h.Change)
			w.Raw("value", h.Value)
			w.Text("author", h.Author)
			w.Text("device", h.Device)
			w.Text("wall", h.Wall)
			w.Text("stamp", h.Stamp.String())
			w.End()
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

// ParseState reads the bytes of a state.
func ParseState(b []byte) (State, error) {
	v, err := document.Parse(b)
	if err != nil {
		return State{}, err
	}
	r := document.Open(v)
	s := readState(r)
	if err := r.Done(); err != nil {
		return State{}, err
	}
	if string(s.Bytes()) != string(b) {
		return State{}, document.Refuse(document.CodeShape, "", "the bytes are not canonical")
	}
	return s, nil
}

func readState(r *document.Reader) State {
	s := State{ID: r.Text("id"), Kind: r.Text("kind"), Site: r.Text("site"), Parent: r.Text("parent")}
	fields := r.Object("fields")
	last := ""
	for _, name := range fields.Names() {
		if name <= last && last != "" {
			fields.Fail(document.CodeShape, name, "the fields are not in order")
		}
		last = name
		one := fields.Object(name)
		f := Field{Name: name}
		for _, h := range one.List("heads") {
			head := Head{Change: h.Text("change"), Author: h.Text("author"), Device: h.Text("device"), Wall: h.Text("wall")}
			if v, ok := h.Raw("value"); ok {
				head.Value = document.AppendValue(nil, v)
			} else {
				head.Value = []byte("null")
			}
			stamp, err := clock.Parse(h.Text("stamp"))
			if err != nil {
				h.Fail(document.CodeShape, "stamp", err.Error())
			}
			head.Stamp = stamp
			f.Heads = append(f.Heads, head)
		}
		f.Replaced = append([]string(nil), one.Texts("replaced")...)
		s.Fields = append(s.Fields, f)
	}
	return s
}
