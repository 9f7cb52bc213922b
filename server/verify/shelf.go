package verify

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// shelf holds the records of one certificate.
type shelf struct {
	states  map[string]merge.State
	order   []string // ids of records, in the order in which they began
	entries map[string][]store.Entry
	blobs   map[string][]byte
}

func newShelf() *shelf {
	return &shelf{states: map[string]merge.State{}, entries: map[string][]store.Entry{}, blobs: map[string][]byte{}}
}

// fill reads entries, checking each against the head of the journal that they were taken from.
func (s *shelf) fill(in *office.Evidence) error {
	root, err := hash(in.Head.Root)
	if err != nil {
		return err
	}
	var list []store.Entry
	seen := map[uint64]bool{}
	for _, e := range in.Entries {
		proof := make([]journal.Hash, len(e.Proof))
		for i, text := range e.Proof {
			if proof[i], err = hash(text); err != nil {
				return err
			}
		}
		leaf := journal.Leaf([]byte(e.Change))
		if e.Leaf != "" { // what is left of it is checked below against the recorded erasure
			if leaf, err = hash(e.Leaf); err != nil {
				return err
			}
		}
		if e.Seq < 1 || seen[e.Seq] || journal.CheckInclusion(leaf, int(e.Seq)-1, int(in.Head.Size), proof, root) != nil {
			return not("entry %d is not in the journal whose head this is", e.Seq)
		}
		seen[e.Seq] = true
		c, err := change.Parse([]byte(e.Change))
		if err != nil {
			return not("entry %d: %v", e.Seq, err)
		}
		list = append(list, store.Entry{Seq: e.Seq, Change: c})
	}
	sortEntries(list)
	for _, e := range list {
		c := e.Change
		before, known := s.states[c.Record]
		after, err := merge.Apply(before, c)
		if err != nil {
			return not("entry %d: %v", e.Seq, err)
		}
		if !known {
			s.order = append(s.order, c.Record)
		}
		s.states[c.Record] = after
		s.entries[c.Record] = append(s.entries[c.Record], e)
	}
	for _, e := range in.Entries {
		if e.Leaf != "" && !s.erased(&e) {
			return not("entry %d is not what the journal has, and nothing was erased of it", e.Seq)
		}
	}
	for name, text := range in.Blobs {
		b, err := base64.StdEncoding.Strict().DecodeString(text)
		sum := sha256.Sum256(b)
		if err != nil || hex.EncodeToString(sum[:]) != name {
			return not("the blob %s does not have the bytes it is named by", name)
		}
		s.blobs[name] = b
	}
	return nil
}

// erased reports whether a record states that values of an entry were erased and that this is left.
// The office's signature on that is checked with the other statements.
func (s *shelf) erased(e *office.EvidenceEntry) bool {
	c, err := change.Parse([]byte(e.Change))
	if err != nil {
		return false
	}
	state := s.states[c.Record]
	said, ok := store.ErasureOf(&state, c.ID)
	rest := sha256.Sum256([]byte(e.Change))
	return ok && said.Leaf == e.Leaf && said.Rest == hex.EncodeToString(rest[:])
}

// Record, ByKind, Children, Lookup, History and Blob work like those of a store.
func (s *shelf) Record(id string) (merge.State, bool, error) {
	state, ok := s.states[id]
	return state, ok, nil
}

func (s *shelf) ByKind(kind, _ string, _ int) (list []merge.State, _ error) {
	return s.those(func(x merge.State) bool { return x.Kind == kind }), nil
}

func (s *shelf) Children(id string) ([]merge.State, error) {
	return s.those(func(x merge.State) bool { return x.Parent == id }), nil
}

func (s *shelf) those(are func(merge.State) bool) (list []merge.State) {
	for _, id := range s.order {
		if x := s.states[id]; are(x) {
			list = append(list, x)
		}
	}
	return list
}

func (s *shelf) Lookup(string, string, string) ([]merge.State, error) { return nil, nil }

func (s *shelf) History(id string) ([]store.Entry, error) { return slices.Clone(s.entries[id]), nil }

func (s *shelf) Blob(name string) ([]byte, error) {
	b, ok := s.blobs[strings.ToLower(name)]
	if !ok {
		return nil, fmt.Errorf("the blob %s: %w", name, fs.ErrNotExist)
	}
	return b, nil
}

// approves reports whether a certificate was approved: an approval names it, or names none and came
// before it, as for one that was issued later.
func (s *shelf) approves(certificate merge.State) bool {
	born := s.entries[certificate.ID][0].Seq
	for _, e := range s.entries[certificate.Parent] {
		for _, set := range e.Change.Set {
			var said struct{ Certificate string }
			if set.Field == "approval" && json.Unmarshal(set.Value, &said) == nil && (said.Certificate == certificate.ID || said.Certificate == "" && e.Seq < born) {
				return true
			}
		}
	}
	return false
}

// then returns the records as they were at an entry.
func (s *shelf) then(entry uint64) plant.Source {
	past := newShelf()
	for _, id := range s.order {
		var list []change.Change
		for _, e := range s.entries[id] {
			if e.Seq <= entry {
				list = append(list, e.Change)
			}
		}
		if len(list) == 0 {
			continue
		}
		if state, err := merge.Apply(merge.State{}, list...); err == nil { // they were applied before
			past.states[id], past.order = state, append(past.order, id)
		}
	}
	return past
}
