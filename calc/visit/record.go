package visit

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
)

// Record is a visit or a run, the result of all known changes to it.
type Record struct {
	ID, Kind string
	Fields   []Field
}

// Field is one field of a record.
type Field struct {
	Name     string
	Heads    []Head   // the values not replaced yet, the latest first
	Replaced []string // ids of the changes that wrote the others
}

// Head is one value of a field, with the change that wrote it.
type Head struct {
	Change, Author, Stamp string
	Value                 *document.Value // as parsed; if nil, Raw has it
	Raw                   []byte
}

// value returns the value of a head; null if it cannot be read.
func (h *Head) value() *document.Value {
	if h.Value != nil {
		return h.Value
	}
	v, err := document.Parse(h.Raw)
	if err != nil {
		return &document.Value{}
	}
	return &v
}

func (r *Record) field(name string) *Field {
	for i := range r.Fields {
		if f := &r.Fields[i]; f.Name == name && len(f.Heads) > 0 {
			return f
		}
	}
	return nil
}

// Value returns the latest value of a field; nil if it was never written or is null.
func (r *Record) Value(name string) *document.Value {
	if f := r.field(name); f != nil {
		if v := f.Heads[0].value(); v.Kind != document.Null {
			return v
		}
	}
	return nil
}

func (r *Record) has(name string) bool { return r.Value(name) != nil }

// many returns the fields NAME.ID in the order in which they were first written.
func (r *Record) many(name string) []*Field {
	var list []*Field
	for i := range r.Fields {
		if f := &r.Fields[i]; strings.HasPrefix(f.Name, name+".") && len(f.Heads) > 0 {
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b *Field) int { return strings.Compare(a.Heads[0].Stamp, b.Heads[0].Stamp) })
	return list
}

// part returns a field of an object; nil if it is absent or null.
func part(v *document.Value, name string) *document.Value {
	if v == nil || v.Kind != document.Object {
		return nil
	}
	if p, ok := v.Get(name); ok && p.Kind != document.Null {
		return p
	}
	return nil
}

// text returns a text or a number as written; "" for anything else.
func text(v *document.Value) string {
	if v == nil || v.Kind != document.String && v.Kind != document.Number {
		return ""
	}
	return v.Text
}

// texts returns the texts of a list.
func texts(v *document.Value) []string {
	if v == nil {
		return nil
	}
	var list []string
	for _, item := range v.List() {
		list = append(list, text(&item))
	}
	return list
}

func yes(v *document.Value) bool { return v != nil && v.Kind == document.Bool && v.Text == "true" }

func no(v *document.Value) bool { return v != nil && v.Kind == document.Bool && v.Text == "false" }
