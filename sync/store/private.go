package store

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
)

// Private is a map of bytes beside the journal, such as the users' passwords. It is not synced to
// phones and is no record.
type Private struct {
	s    *Store
	name []byte
}

// Private returns the map of that name.
func (s *Store) Private(name string) Private { return Private{s, []byte(name)} }

// Get returns the value of a key, or nil.
func (p Private) Get(k string) (v []byte, err error) {
	err = p.s.view(func(tx *transaction) error {
		if b := tx.Bucket(bucketPrivate).Bucket(p.name); b != nil {
			v = bytes.Clone(b.Get([]byte(k)))
		}
		return nil
	})
	return v, p.wrap("read", err)
}

// Has reports whether a key has this prefix.
func (p Private) Has(prefix string) (there bool, err error) {
	v, err := p.Find(prefix)
	return v != nil, err
}

// Find returns the value of the first key with this prefix, or nil.
func (p Private) Find(prefix string) (v []byte, err error) {
	err = p.s.view(func(tx *transaction) error {
		if b := tx.Bucket(bucketPrivate).Bucket(p.name); b != nil {
			if k, found := b.Cursor().Seek([]byte(prefix)); k != nil && bytes.HasPrefix(k, []byte(prefix)) {
				v = append([]byte{}, found...)
			}
		}
		return nil
	})
	return v, p.wrap("read", err)
}

// From returns the first key from one on, with its value, or "" if there is none.
func (p Private) From(key string) (k string, v []byte, err error) {
	err = p.s.view(func(tx *transaction) error {
		if b := tx.Bucket(bucketPrivate).Bucket(p.name); b != nil {
			at, found := b.Cursor().Seek([]byte(key))
			k, v = string(at), bytes.Clone(found)
		}
		return nil
	})
	return k, v, p.wrap("read", err)
}

// Put keeps a value, synced when it returns, together with further steps.
func (p Private) Put(k string, v []byte, more ...Step) error {
	return p.wrap("write", p.s.Keep(append([]Step{p.Putting(k, v)}, more...)...))
}

// Putting is the step that keeps a value.
func (p Private) Putting(k string, v []byte) Step {
	return Step{func(_ *Store, tx *transaction) error {
		b, err := tx.Bucket(bucketPrivate).CreateBucketIfNotExists(p.name)
		if err != nil {
			return err
		}
		return b.Put([]byte(k), v)
	}}
}

// Batch keeps some values and removes some keys in one synced transaction.
func (p Private) Batch(put map[string][]byte, remove []string) error {
	var steps []Step
	for _, k := range remove {
		steps = append(steps, p.Deleting(k))
	}
	for _, k := range slices.Sorted(maps.Keys(put)) {
		steps = append(steps, p.Putting(k, put[k]))
	}
	return p.wrap("write", p.s.Keep(steps...))
}

// Delete removes a key; a missing key is no error.
func (p Private) Delete(k string, more ...Step) error {
	return p.wrap("delete from", p.s.Keep(append([]Step{p.Deleting(k)}, more...)...))
}

// Deleting is the step that removes a key.
func (p Private) Deleting(k string) Step {
	return Step{func(_ *Store, tx *transaction) error {
		if b := tx.Bucket(bucketPrivate).Bucket(p.name); b != nil {
			return b.Delete([]byte(k))
		}
		return nil
	}}
}

// Each calls f with every key in order until it returns an error.
func (p Private) Each(f func(k string, v []byte) error) error {
	return p.wrap("read", p.s.view(func(tx *transaction) error {
		b := tx.Bucket(bucketPrivate).Bucket(p.name)
		if b == nil {
			return nil
		}
		return b.ForEach(func(k, v []byte) error { return f(string(k), v) })
	}))
}

func (p Private) wrap(op string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s %s: %w", op, p.name, err)
}
