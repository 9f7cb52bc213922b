package merge

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// State is a record: for each field, the changes that no other change has seen.
type State struct {
	ID, Kind, Site, Parent string
	Fields                 []Field // sorted by name
	Damaged                string  // why a stored record cannot be read, "" for one that can; not part of its bytes
}

// Field is one field of a record.
type Field struct {
	Name     string
	Heads    []Head   // latest stamp first
	Replaced []string // ids of changes that a later one has seen, sorted; they never come back
}

// Head is one current value.
type Head struct {
	Change string
	Value  []byte // canonical JSON
	Author string
	Device string
	Wall   string
	Stamp  clock.Stamp
}

// Contested reports whether people who had not seen each other's change gave the field different
// values.
func (f *Field) Contested() bool {
	for i := 1; i < len(f.Heads); i++ { // changes that claim to have seen each other leave no head
		if string(f.Heads[i].Value) != string(f.Heads[0].Value) {
			return true
		}
	}
	return false
}

// Field returns a field by name.
func (s *State) Field(name string) (*Field, bool) {
	i, ok := s.find(name)
	if !ok {
		return nil, false
	}
	return &s.Fields[i], true
}

// Value returns the bytes of a field's current value; of a contested field, the one with the latest
// stamp.
func (s *State) Value(name string) ([]byte, bool) {
	f, ok := s.Field(name)
	if !ok || len(f.Heads) == 0 {
		return nil, false
	}
	return f.Heads[0].Value, true
}

func (s *State) find(name string) (int, bool) {
	return slices.BinarySearchFunc(
		s.Fields, name, func(f Field, name string) int { return strings.Compare(f.Name, name) },
	)
}

// Apply returns the state after some changes. The input is not altered.
//
// Takes:   a state of the record, or a zero one; changes of that record in any order, any of them
// known already.
// Gives:   the state. Apply is commutative, associative and idempotent: a change is a head of its
// field until a change that names it in Sees is applied, whichever of the two comes first.
// Refuses: a Fault conflict for a change of another record, or one that gives the record another
// kind, site or parent than it has.
func Apply(s State, changes ...change.Change) (State, error) {
	out := State{ID: s.ID, Kind: s.Kind, Site: s.Site, Parent: s.Parent, Fields: slices.Clone(s.Fields)}
	owned := map[string]bool{}
	own := func(k int) {
		f := &out.Fields[k]
		if owned[f.Name] {
			return
		}
		f.Heads, f.Replaced, owned[f.Name] = slices.Clone(f.Heads), slices.Clone(f.Replaced), true
	}
	for i := range changes {
		c := &changes[i]
		switch {
		case out.ID == "":
			out.ID, out.Kind, out.Site, out.Parent = c.Record, c.Kind, c.Site, c.Parent
		case c.Record != out.ID:
			return State{}, document.Refuse(document.CodeConflict, "changes", "a change is of another record")
		case c.Kind != out.Kind || c.Site != out.Site || c.Parent != out.Parent:
			return State{}, document.Refuse(
				document.CodeConflict, "changes",
				"a change gives the record another kind, site or parent; these never change",
			)
		}
		set := c.Set
		if out.mayErase() { // for changes that arrive after the change that erases from them
			set = Without(*c, ErasedIn(&out, c.ID)).Set
		}
		for _, set := range set {
			k, ok := out.find(set.Field)
			if !ok {
				out.Fields = slices.Insert(out.Fields, k, Field{Name: set.Field})
				owned[set.Field] = true
			}
			own(k)
			out.Fields[k].take(c, set)
		}
		out.eraseIn(c, own)
	}
	return out, nil
}

func (f *Field) take(c *change.Change, set change.Setting) {
	for _, id := range set.Sees {
		if k, known := slices.BinarySearch(f.Replaced, id); !known && planted != "the merge forgets what was replaced" {
			f.Replaced = slices.Insert(f.Replaced, k, id)
		}
		f.Heads = slices.DeleteFunc(f.Heads, func(h Head) bool { return h.Change == id })
	}
	if _, gone := slices.BinarySearch(f.Replaced, c.ID); gone {
		return
	}
	h := Head{Change: c.ID, Value: set.Value, Author: c.Author, Device: c.Device, Wall: c.Wall, Stamp: c.Stamp}
	k, known := slices.BinarySearchFunc(f.Heads, h, order)
	if !known {
		f.Heads = slices.Insert(f.Heads, k, h)
	}
	if planted == "the last writer wins" {
		f.Heads = f.Heads[:1]
	}
}

// order puts the latest stamp first. Ids break ties, so the order is total.
func order(a, b Head) int {
	if c := clock.Compare(b.Stamp, a.Stamp); c != 0 {
		return c
	}
	return strings.Compare(b.Change, a.Change)
}

// Intent is an edit that somebody wants to make, before it becomes a change.
type Intent struct {
	Record, Kind, Site, Parent string
	Device                     string
	Seq                        uint64
	Author                     string
	Wall                       string
	WallMS                     int64
	Count                      uint64 // the highest count the device has seen
	ChangeID                   string
	Set                        []change.Setting // Sees is filled in
}

// Draft makes the change of an intent. The change has seen every head of the fields that it sets,
// and all counts up to Count.
//
// Gives:   the change and the record's state with it.
// Refuses: what change.Parse refuses, so that a phone never keeps what an office would not take.
func Draft(s State, in Intent) (change.Change, State, error) {
	c := change.Change{
		ID: in.ChangeID, Device: in.Device, Seq: in.Seq, Author: in.Author, Wall: in.Wall,
		Stamp: clock.Next(in.Count, in.WallMS, in.Device), Record: in.Record, Kind: in.Kind, Site: in.Site, Parent: in.Parent,
	}
	for _, set := range in.Set {
		sees := []string{}
		if f, ok := s.Field(set.Field); ok {
			for i, h := range f.Heads[:min(len(f.Heads), change.MaxSees)] { // the next choice settles the rest
				if i > 0 && planted == "a choice sees the latest value only" {
					break
				}
				k, _ := slices.BinarySearch(sees, h.Change)
				sees = slices.Insert(sees, k, h.Change)
			}
		}
		c.Set = append(c.Set, change.Setting{Field: set.Field, Value: set.Value, Sees: sees})
	}
	checked, err := change.Parse(c.Bytes())
	if err != nil {
		return change.Change{}, State{}, err
	}
	next, err := Apply(s, checked)
	if err != nil {
		return change.Change{}, State{}, err
	}
	return checked, next, nil
}
