package office

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

var (
	// ErrErase is wrapped if a field has nothing that may be erased.
	ErrErase = errors.New(
		"of a visit the signature's name and strokes, a photo and a remark can be erased; of a person the full name, the initials and the function",
	)
	// ErrEraseAbove is returned at a hub, which does not have the office's key.
	ErrEraseAbove = errors.New("values are erased at the office: a hub cannot say so for it")
)

// Erase removes for good what shows or names a person from some fields of a record, in every change
// that wrote them: of a visit the name and strokes of a signature, a photo with its caption, a
// remark; of a person the full name, the initials and the function. The proofs of the rest stay
// valid: the office's key signs who erased what and why, the digest of the erased value, and the new
// values of the hashes made from it. Phones and hubs erase it when they receive that.
//
// Refuses: plant.ErrKind for a record of another kind; ErrErase; fs.ErrNotExist if no change has
// such a value; ErrEraseAbove at a hub; ErrUnlisted if it was erased but not listed.
func (o *Office) Erase(
	ctx context.Context, by, kind, record string, fields []string, why string, noted ...store.Step,
) error {
	in := func(*change.Change) []string { return fields }
	return o.erase(ctx, by, kind, record, why, in, noted...)
}

// erase erases the fields that in names for each change.
func (o *Office) erase(
	ctx context.Context, by, kind, record, why string, in func(*change.Change) []string,
	noted ...store.Step,
) error {
	var set []plant.Set
	err := o.writer.Write(ctx, by, func(p *plant.Drafter) ([]change.Change, error) {
		if o.writer.seal.off {
			return nil, ErrEraseAbove
		}
		state, err := o.Record(record)
		if err != nil {
			return nil, err
		}
		if state.Kind != kind {
			return nil, plant.ErrKind
		}
		if set, err = o.erasures(&state, in, by, why); err != nil {
			return nil, err
		}
		one, _, err := p.Edit(state, o.now(), set...)
		return []change.Change{one}, err
	}, noted...)
	if err != nil {
		return err
	}
	return o.erased.add(linesOf(kind, record, set))
}

// erasures returns the fields that record what is erased from each change.
func (o *Office) erasures(
	state *merge.State, in func(*change.Change) []string, by, why string,
) (set []plant.Set, err error) {
	entries, err := o.store.History(state.ID)
	if err != nil {
		return nil, err
	}
	var list []*store.Erasure
	var changes []change.Change
	for i, e := range entries {
		fields := in(&e.Change)
		for _, f := range fields {
			if _, may := plant.Personal(state.Kind, f); !may {
				return nil, fmt.Errorf("%w: field %s", ErrErase, f)
			}
		}
		one, blobs, err := erasedOf(&e.Change, fields)
		if err != nil {
			return nil, err
		}
		if len(one) == 0 {
			continue
		}
		was, _ := store.ErasureOf(state, e.Change.ID)
		next := &store.Erasure{
			Change: e.Change.ID, Values: append(was.Values, one...), Blobs: append(was.Blobs, blobs...),
			By: by, At: plant.Stamp(o.now()), Why: why,
		}
		if next.Leaf, _, err = o.store.LeafOf(e.Seq); err != nil {
			return nil, err
		}
		left := merge.Without(e.Change, erasedAs(next.Values))
		rest := sha256.Sum256(left.Bytes())
		next.Rest = hex.EncodeToString(rest[:])
		entries[i].Change = left
		list, changes = append(list, next), append(changes, left)
	}
	if len(list) == 0 {
		return nil, fs.ErrNotExist
	}
	if state.Kind == "visit" {
		if list[0].Now, err = o.hashesNow(state, entries); err != nil {
			return nil, err
		}
	}
	for i, e := range list {
		set = append(set, plant.Set{Field: store.ErasureField(changes[i].ID), Value: e})
	}
	return set, nil
}

func erasedAs(list []store.ErasedValue) (out []merge.Erased) {
	for _, v := range list {
		out = append(out, merge.Erased{Field: v.Field, Members: v.Members, Digest: v.Digest})
	}
	return out
}

// erasedOf returns what to erase from a change, and the blobs to erase with it.
func erasedOf(c *change.Change, fields []string) (list []store.ErasedValue, blobs []string, err error) {
	for _, s := range c.Set {
		may, ok := plant.Personal(c.Kind, s.Field)
		if !ok || !slices.Contains(fields, s.Field) {
			continue
		}
		one := store.ErasedValue{Field: s.Field, Members: []string{}}
		var members map[string]json.RawMessage
		if len(may) > 0 {
			if _ = json.Unmarshal(s.Value, &members); members == nil { // not an object with members
				continue
			}
			if _, done := members["erased"]; done {
				continue
			}
		}
		for _, m := range may {
			if _, there := members[m]; there {
				one.Members = append(one.Members, m)
			}
		}
		if len(may) == 0 {
			if textOf(s.Value) == "" {
				continue // already erased, or empty
			}
		} else if strings.HasPrefix(s.Field, "photo.") {
			var name string
			if json.Unmarshal(members["sha256"], &name) == nil && store.IsBlobName(name) {
				blobs = append(blobs, name)
			}
		} else if len(one.Members) == 0 {
			continue
		}
		if one.Digest, err = statement.Digest(s.Value); err != nil {
			return nil, nil, err
		}
		left := merge.Erased{Field: s.Field, Members: one.Members, Digest: one.Digest}
		if one.Left, err = statement.Digest(left.Left(s.Value)); err != nil {
			return nil, nil, err
		}
		list = append(list, one)
	}
	return list, blobs, nil
}

// hashesNow recalculates the hashes over a visit's values from what is left: the contents of its
// signatures and approvals, and the records of its certificates. entries are those of the visit
// without what is erased.
func (o *Office) hashesNow(visit *merge.State, entries []store.Entry) (map[string]string, error) {
	kids, err := o.store.Children(visit.ID)
	if err != nil {
		return nil, err
	}
	all := map[string][]store.Entry{visit.ID: entries}
	for _, k := range kids {
		if all[k.ID], err = o.store.History(k.ID); err != nil {
			return nil, err
		}
	}
	replay := func(is func(store.Entry) bool) (of merge.State, runs []merge.State, err error) {
		one := func(id string) (merge.State, error) {
			var list []change.Change
			for _, e := range all[id] {
				if is(e) {
					list = append(list, e.Change)
				}
			}
			return merge.Apply(merge.State{}, list...)
		}
		if of, err = one(visit.ID); err != nil {
			return of, nil, err
		}
		for _, k := range kids {
			if k.Kind != "run" {
				continue
			}
			run, err := one(k.ID)
			if err != nil {
				return of, nil, err
			}
			if run.ID != "" {
				runs = append(runs, run)
			}
		}
		return of, runs, nil
	}
	now := map[string]string{}
	for _, e := range entries {
		for _, s := range e.Change.Set {
			var in struct {
				Covers  []string
				Content string
			}
			if s.Field != "signature" && s.Field != "approval" || json.Unmarshal(s.Value, &in) != nil ||
				in.Content == "" {
				continue
			}
			of, runs, err := replay(func(e store.Entry) bool { return slices.Contains(in.Covers, e.Change.ID) })
			if err != nil {
				return nil, err
			}
			content, err := plant.ContentOf(of, runs, in.Covers)
			if err != nil {
				return nil, err
			}
			if content != in.Content {
				now[e.Change.ID] = content
			}
		}
	}
	for _, k := range kids {
		if k.Kind != "certificate" || len(all[k.ID]) == 0 {
			continue
		}
		c, err := plant.ReadCertificate(k)
		if err != nil {
			return nil, err
		}
		born := all[k.ID][0].Seq
		of, runs, err := replay(func(e store.Entry) bool { return e.Seq <= born })
		if err != nil {
			return nil, err
		}
		if print := certificates.Fingerprint(of, runs); print != c.Fingerprint {
			now[k.ID] = print
		}
	}
	return now, nil
}
