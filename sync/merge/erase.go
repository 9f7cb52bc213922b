package merge

import (
	"bytes"
	"slices"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/sync/change"
)

// erases begins the name of a field that says what was erased from a change; the change's id
// follows.
const erases = "erased."

// Erased says what is removed from a change's value of a field: members of an object, or a whole
// text.
type Erased struct {
	Field   string
	Members []string
	Digest  string // of the value as it was
}

// Erases returns the id of the change that a field erases from, "" if the field is no erasure.
func Erases(field string) string {
	id, is := strings.CutPrefix(field, erases)
	if !is {
		return ""
	}
	return id
}

// IsErasure reports whether a change says that something was erased from another one.
func IsErasure(c *change.Change) bool {
	return slices.ContainsFunc(c.Set, func(s change.Setting) bool { return Erases(s.Field) != "" })
}

// ErasedIn returns what a record says was erased from one of its changes.
func ErasedIn(s *State, id string) (all []Erased) {
	f, ok := s.Field(erases + id)
	if !ok {
		return nil
	}
	for i := range f.Heads {
		all = append(all, ReadErased(f.Heads[i].Value)...)
	}
	return all
}

// ReadErased reads what such a field erases from a value. What it cannot read erases nothing.
func ReadErased(value []byte) (all []Erased) {
	v, err := document.Parse(value)
	if err != nil || v.Kind != document.Object {
		return nil
	}
	list, ok := v.Get("values")
	if !ok || list.Kind != document.Array {
		return nil
	}
	text := func(v *document.Value, name string) string {
		if t, ok := v.Get(name); ok && t.Kind == document.String {
			return t.Text
		}
		return ""
	}
	for _, item := range list.List() {
		if item.Kind != document.Object {
			continue
		}
		one := Erased{Field: text(&item, "field"), Digest: text(&item, "digest")}
		if names, ok := item.Get("members"); ok && names.Kind == document.Array {
			for _, n := range names.List() {
				one.Members = append(one.Members, n.Text)
			}
		}
		all = append(all, one)
	}
	return all
}

// erasedMember holds, in a value from which something was erased, the digest of the original.
const erasedMember = "erased"

// ShowsErasure reports whether the bytes of a change may be what was left of it: every value of which
// something was erased says so.
func ShowsErasure(entry []byte) bool {
	return bytes.Contains(entry, []byte(`"`+erasedMember+`":"`))
}

// Left returns what is left of a value. Erasing twice leaves the same.
func (e *Erased) Left(value []byte) []byte {
	v, err := document.Parse(value)
	if err != nil || v.Kind != document.Object && v.Kind != document.String {
		return value
	}
	var names []string
	var items []document.Value
	for i, name := range v.Names() {
		if name != erasedMember && !slices.Contains(e.Members, name) {
			names, items = append(names, name), append(items, v.Items()[i])
		}
	}
	names = append(names, erasedMember)
	items = append(items, document.Value{Kind: document.String, Text: e.Digest})
	out := document.ObjectOf(names, items)
	return document.AppendValue(nil, &out)
}

// Without returns a change without what was erased from it.
func Without(c change.Change, all []Erased) change.Change {
	c.Set = slices.Clone(c.Set)
	for i := range c.Set {
		for k := range all {
			if all[k].Field == c.Set[i].Field {
				c.Set[i].Value = all[k].Left(c.Set[i].Value)
			}
		}
	}
	return c
}

// SameButErased reports whether two changes are the same apart from what was erased from one of
// them.
func SameButErased(a, b *change.Change) bool {
	x, y := *a, *b
	if len(x.Set) != len(y.Set) {
		return false
	}
	x.Set, y.Set = slices.Clone(x.Set), slices.Clone(y.Set)
	for i := range x.Set {
		if string(x.Set[i].Value) == string(y.Set[i].Value) {
			continue
		}
		if !isLeft(x.Set[i].Value, y.Set[i].Value) && !isLeft(y.Set[i].Value, x.Set[i].Value) {
			return false
		}
		x.Set[i].Value, y.Set[i].Value = nil, nil
	}
	return string(x.Bytes()) == string(y.Bytes())
}

// isLeft reports whether a value may be what is left of another one.
func isLeft(left, whole []byte) bool {
	a, err := document.Parse(left)
	b, err2 := document.Parse(whole)
	if err != nil || err2 != nil || a.Kind != document.Object ||
		b.Kind != document.Object && b.Kind != document.String {
		return false
	}
	digest, ok := a.Get(erasedMember)
	if !ok {
		return false
	}
	gone := Erased{Digest: digest.Text}
	for _, name := range b.Names() {
		if _, stays := a.Get(name); !stays {
			gone.Members = append(gone.Members, name)
		}
	}
	return string(gone.Left(whole)) == string(left)
}

// eraseIn removes from a record's heads what a change erases. own makes a field ready for writing.
func (s *State) eraseIn(c *change.Change, own func(k int)) {
	for _, set := range c.Set {
		id := Erases(set.Field)
		if id == "" {
			continue
		}
		for _, e := range ReadErased(set.Value) {
			k, ok := s.find(e.Field)
			if !ok {
				continue
			}
			own(k)
			heads := s.Fields[k].Heads
			for i := range heads {
				if heads[i].Change == id {
					heads[i].Value = e.Left(heads[i].Value)
				}
			}
		}
	}
}

// mayErase reports whether a record has any erasure of its changes.
func (s *State) mayErase() bool {
	k, _ := s.find(erases)
	return k < len(s.Fields) && strings.HasPrefix(s.Fields[k].Name, erases)
}

// eraseVerb removes from values what was erased from their changes, for a caller that holds the
// values.
func eraseVerb(r *document.Reader, out *document.Writer) error {
	erased := map[string][]Erased{}
	for _, one := range r.List("erased") {
		id := one.Text("change")
		if v, ok := one.Raw("value"); ok {
			erased[id] = append(erased[id], ReadErased(document.AppendValue(nil, v))...)
		}
	}
	type given struct {
		field, change string
		value         []byte
	}
	var list []given
	for _, one := range r.List("values") {
		g := given{one.Text("field"), one.Text("change"), []byte("null")}
		if v, ok := one.Raw("value"); ok {
			g.value = document.AppendValue(nil, v)
		}
		list = append(list, g)
	}
	if err := r.Err(); err != nil {
		return err
	}
	out.BeginList("values")
	for _, g := range list {
		c := change.Change{Set: []change.Setting{{Field: g.field, Value: g.value}}}
		out.RawItem(Without(c, erased[g.change]).Set[0].Value)
	}
	out.EndList()
	return nil
}
