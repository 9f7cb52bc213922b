package office

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// Confirm notes that keys belong to the people who brought them, because their own log-in brought
// it or office staff know them. list names the keys' records; author is who confirms, or "" for the
// program.
func (o *Office) Confirm(
	ctx context.Context, author string, list []string, noted ...store.Step,
) error {
	if o.writer.seal.off || len(list) == 0 {
		return o.store.Keep(noted...)
	}
	return o.writer.Write(ctx, author, func(p *plant.Drafter) (out []change.Change, err error) {
		for _, id := range list {
			state, err := o.Record(id)
			if err != nil {
				return nil, err
			}
			k, err := plant.ReadKey(state)
			if err != nil || k.Vouched != "" || k.Of != "person" || k.Ended != nil {
				if err != nil {
					return nil, err
				}
				continue
			}
			private, err := o.writer.private()
			if err != nil {
				return nil, err
			}
			word, err := vouch(private, k.Person, id, plant.Stamp(o.now()))
			if err != nil {
				return nil, err
			}
			one, _, err := p.Edit(state, o.now(), plant.Set{Field: "vouched", Value: word})
			if err != nil {
				return nil, err
			}
			out = append(out, one)
		}
		return out, nil
	}, noted...)
}

// EndKey takes a person's key out of use. lost means that somebody else may have it.
//
// Refuses: plant.ErrNotFound if there is no such key in use.
func (o *Office) EndKey(
	ctx context.Context, author, key, why string, lost bool, noted ...store.Step,
) error {
	end := plant.KeyEnd{Why: why, Lost: lost}
	n, err := o.endKeys(ctx, author, end, func(k *plant.Key) bool { return k.ID == key }, noted...)
	if err == nil && n == 0 {
		err = fmt.Errorf("a person's key in use %q %w", key, plant.ErrNotFound)
	}
	return err
}

// EndKeys takes all keys of a person out of use.
func (o *Office) EndKeys(ctx context.Context, author, person, why string) error {
	end := plant.KeyEnd{Why: why}
	_, err := o.endKeys(ctx, author, end, func(k *plant.Key) bool { return k.Person == person })
	return err
}

func (o *Office) endKeys(
	ctx context.Context, author string, end plant.KeyEnd, which func(*plant.Key) bool,
	noted ...store.Step,
) (n int, err error) {
	keys, err := o.Keys()
	if err != nil {
		return 0, err
	}
	keys = slices.DeleteFunc(keys, func(k plant.Key) bool {
		return !which(&k) || k.Of != "person" || k.Ended != nil
	})
	if len(keys) == 0 {
		return 0, nil
	}
	end.At = plant.Stamp(o.now())
	return len(keys), o.writer.Write(ctx, author, func(p *plant.Drafter) (out []change.Change, err error) {
		for _, k := range keys {
			state, err := o.Record(k.ID)
			if err != nil {
				return nil, err
			}
			one, _, err := p.Edit(
				state, o.now(),
				plant.Set{Field: "ended", Value: end},
			)
			if err != nil {
				return nil, err
			}
			out = append(out, one)
		}
		return out, nil
	}, noted...)
}

// Keys lists the public keys on record, in the order in which they arrived, leaving out those that
// cannot be read.
func (o *Office) Keys() ([]plant.Key, error) {
	states, err := o.store.ByKind("key", "", 0)
	if err != nil {
		return nil, err
	}
	var list []plant.Key
	for _, s := range states {
		if k, err := plant.ReadKey(s); err == nil {
			list = append(list, k)
		}
	}
	return list, nil
}

// ErrWhy is wrapped if a key is taken out of use without a reason.
var ErrWhy = errors.New("say why the key is taken out of use")

// Ring is the public keys of an office, which is what checking its records elsewhere needs.
type Ring struct {
	Format string `json:"format"` // RingFormat
	Store  string `json:"store"`
	Heads  string `json:"heads"` // the key of the journal's heads, in base64
	// Head is the newest one: whoever keeps it can see later whether anything before it was
	// altered.
	Head *store.Head `json:"head"`
	Keys []RingKey   `json:"keys"`
}

// RingFormat names the form of a Ring.
const RingFormat = "gaugewright-keys-1"

// RingKey is one public key.
type RingKey struct {
	ID     string        `json:"id"` // of its record
	Kid    string        `json:"kid"`
	Of     string        `json:"of"`
	Person string        `json:"person"`
	Name   string        `json:"name"`
	Made   string        `json:"made"`
	Ended  *plant.KeyEnd `json:"ended"`
	Mark   plant.Mark    `json:"mark"` // good or unconfirmed
	Public statement.Key `json:"public"`
}

// Ring returns the public keys on record.
func (o *Office) Ring() (Ring, error) {
	r := Ring{Format: RingFormat, Store: o.store.StoreID(), Heads: o.store.HeadKey(), Keys: []RingKey{}}
	head, err := o.store.Head()
	if err != nil {
		return r, err
	}
	r.Head = &head
	keys, err := o.Keys()
	if err != nil {
		return r, err
	}
	names, err := o.Names()
	if err != nil {
		return r, err
	}
	for i := range keys {
		k := &keys[i]
		mark, err := k.Mark(o.store)
		if err != nil {
			return r, err
		}
		r.Keys = append(
			r.Keys,
			RingKey{k.ID, k.Public.Thumbprint(), k.Of, k.Person, names[k.Person], k.Made, k.Ended, mark, k.Public},
		)
	}
	return r, nil
}
