package merge

import (
	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// Bytes returns the canonical bytes of a state; equal states have equal bytes.
func (s *State) Bytes() []byte { return s.Append(make([]byte, 0, s.Size())) }

// Size returns about how many bytes a state has, without writing them. It errs on the high side.
func (s *State) Size() int {
	size := 160
	for i := range s.Fields {
		f := &s.Fields[i]
		size += 40 + len(f.Name) + 29*len(f.Replaced)
		for k := range f.Heads {
			size += 260 + len(f.Heads[k].Value)
		}
	}
	return size
}

// Append appends the canonical bytes to b.
func (s *State) Append(b []byte) []byte {
	b = append(b, `{"id":`...)
	b = document.AppendText(b, s.ID)
	b = append(b, `,"kind":`...)
	b = document.AppendText(b, s.Kind)
	b = append(b, `,"site":`...)
	b = document.AppendText(b, s.Site)
	b = append(b, `,"parent":`...)
	b = document.AppendText(b, s.Parent)
	b = append(b, `,"fields":{`...)
	for i := range s.Fields {
		f := &s.Fields[i]
		if i > 0 {
			b = append(b, ',')
		}
		b = document.AppendText(b, f.Name)
		b = append(b, `:{"heads":[`...)
		for k := range f.Heads {
			if k > 0 {
				b = append(b, ',')
			}
			b = f.Heads[k].append(b)
		}
		b = append(b, `],"replaced":[`...)
		for k, id := range f.Replaced {
			if k > 0 {
				b = append(b, ',')
			}
			b = document.AppendText(b, id)
		}
		b = append(b, ']', '}')
	}
	return append(b, '}', '}')
}

func (h *Head) append(b []byte) []byte {
	b = append(b, `{"change":`...)
	b = document.AppendText(b, h.Change)
	b = append(b, `,"value":`...)
	b = append(b, h.Value...)
	b = append(b, `,"author":`...)
	b = document.AppendText(b, h.Author)
	b = append(b, `,"device":`...)
	b = document.AppendText(b, h.Device)
	b = append(b, `,"wall":`...)
	b = document.AppendText(b, h.Wall)
	b = append(b, `,"stamp":`...)
	if change.IsID(h.Stamp.Device) {
		b = append(h.Stamp.Append(append(b, '"')), '"')
	} else {
		b = document.AppendText(b, h.Stamp.String())
	}
	return append(b, '}')
}

// ParseState reads the bytes of a state.
func ParseState(b []byte) (State, error) {
	if s, ok := quick(b); ok {
		return s, nil
	}
	return parse(b)
}

func parse(b []byte) (State, error) {
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

// quick reads a state whose bytes are canonical. It refuses some canonical states and never takes
// one that is not canonical.
func quick(b []byte) (State, bool) {
	if len(b) > document.MaxBytes {
		return State{}, false
	}
	in := change.NewScan(b)
	var s State
	in.Need(`{"id":`)
	s.ID = in.Text()
	in.Need(`,"kind":`)
	s.Kind = in.Text()
	in.Need(`,"site":`)
	s.Site = in.Text()
	in.Need(`,"parent":`)
	s.Parent = in.Text()
	in.Need(`,"fields":{`)
	for more := !in.Take("}"); more && in.OK(); {
		f := Field{Name: in.Text()}
		if n := len(s.Fields); n > 0 && s.Fields[n-1].Name >= f.Name {
			return State{}, false
		}
		in.Need(`:{"heads":[`)
		for more := !in.Take("]"); more && in.OK(); {
			f.Heads = append(f.Heads, readHead(in))
			if more = in.Take(","); !more {
				in.Need("]")
			}
		}
		in.Need(`,"replaced":`)
		f.Replaced = in.Texts()
		if len(f.Replaced) == 0 {
			f.Replaced = nil
		}
		in.Need("}")
		s.Fields = append(s.Fields, f)
		if more = in.Take(","); !more {
			in.Need("}")
		}
	}
	in.Need("}")
	return s, in.End()
}

func readHead(in *change.Scan) (h Head) {
	in.Need(`{"change":`)
	h.Change = in.Text()
	in.Need(`,"value":`)
	h.Value = in.Value()
	in.Need(`,"author":`)
	h.Author = in.Text()
	in.Need(`,"device":`)
	h.Device = in.Text()
	in.Need(`,"wall":`)
	h.Wall = in.Text()
	in.Need(`,"stamp":`)
	h.Stamp = in.Stamp()
	in.Need("}")
	return h
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
			head := Head{
				Change: h.Text("change"), Author: h.Text("author"), Device: h.Text("device"), Wall: h.Text("wall"),
			}
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
