package plant

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// Drafter drafts the changes of one of the office's devices, counting as phones do.
type Drafter struct {
	Device, Author string    // ids
	Seq            uint64    // changes drafted so far
	Count          uint64    // the highest count seen
	Random         io.Reader // for the ids of changes and of new records
}

// Set is a field and its new value, which must marshal to JSON.
type Set struct {
	Field string
	Value any
}

// wallForm is the form of a change's wall time.
const wallForm = "2006-01-02T15:04:05.000Z"

// Stamp formats a moment as captures and changes have it.
func Stamp(at time.Time) string { return at.UTC().Format(wallForm) }

// New drafts the first change of a new record and returns the resulting state as well.
func (p *Drafter) New(kind, site, parent string, at time.Time, set ...Set) (change.Change, merge.State, error) {
	id, err := change.NewID(p.Random)
	if err != nil {
		return change.Change{}, merge.State{}, err
	}
	return p.Edit(merge.State{ID: id, Kind: kind, Site: site, Parent: parent}, at, set...)
}

// Edit drafts a change to a record and returns the resulting state as well. The change has seen
// every present value of the fields it sets.
func (p *Drafter) Edit(s merge.State, at time.Time, set ...Set) (change.Change, merge.State, error) {
	id, err := change.NewID(p.Random)
	if err != nil {
		return change.Change{}, merge.State{}, err
	}
	in := merge.Intent{
		Record: s.ID, Kind: s.Kind, Site: s.Site, Parent: s.Parent, Device: p.Device, Seq: p.Seq + 1, Author: p.Author,
		Wall: Stamp(at), WallMS: at.UnixMilli(), Count: p.Count, ChangeID: id,
	}
	for _, x := range set {
		b, err := Canonical(x.Value)
		if err != nil {
			return change.Change{}, merge.State{}, fmt.Errorf("field %s: %w", x.Field, err)
		}
		in.Set = append(in.Set, change.Setting{Field: x.Field, Value: b})
	}
	c, next, err := merge.Draft(s, in)
	if err != nil {
		return change.Change{}, merge.State{}, fmt.Errorf("%s %s: %w", s.Kind, s.ID, err)
	}
	p.Seq, p.Count = p.Seq+1, c.Stamp.Count
	return c, next, nil
}

// Canonical returns a value in the bytes that changes have.
func Canonical(v any) ([]byte, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	parsed, err := document.Parse(b)
	if err != nil {
		return nil, err
	}
	return document.AppendValue(nil, &parsed), nil
}

// HighestCount returns the highest count among the changes of a store, where a drafter starts.
func HighestCount(s *store.Store) (highest uint64, err error) {
	const piece = 4096
	for at := uint64(0); ; {
		list, last, err := s.Since(at, piece, nil)
		if err != nil || len(list) == 0 {
			return highest, err
		}
		for _, e := range list {
			highest = max(highest, e.Change.Stamp.Count)
		}
		at = last
	}
}
