package store

import (
	"encoding/binary"
	"errors"

	"gaugewright/sync/engine"

	"go.etcd.io/bbolt"
)

// transaction is a transaction of the database whose writes are recorded, so that they can be
// redone after a power cut. redo is nil for one that only reads, or that is synced by itself.
type transaction struct {
	engine.Tx
	redo *redo
	tops map[string]*bucket // the buckets found so far, so that a change need not look them up again
}

// of returns the engine's bucket beneath b.
type of = engine.Bucket

// bucket is a bucket in a transaction. It hides the engine's write methods and records each write.
type bucket struct {
	of
	redo *redo
	in   *bucket // nil at the top
	name string
	id   uint64 // in the notes; 0 before the first write
}

// view reads the database.
func (s *Store) view(work func(*transaction) error) error {
	if s.other != nil {
		return s.other.View(func(tx engine.Tx) error { return work(&transaction{Tx: tx}) })
	}
	return s.db.View(func(tx *bbolt.Tx) error { return work(&transaction{Tx: boltTx{tx}}) })
}

func (t *transaction) wrap(b engine.Bucket, in *bucket, name []byte) *bucket {
	if b == nil {
		return nil
	}
	return &bucket{of: b, redo: t.redo, in: in, name: string(name)}
}

// Bucket returns a bucket by its name, or nil if there is none.
func (t *transaction) Bucket(name []byte) *bucket {
	if b, known := t.tops[string(name)]; known {
		return b
	}
	b := t.wrap(t.Tx.Bucket(name), nil, name)
	if b != nil {
		if t.tops == nil {
			t.tops = map[string]*bucket{}
		}
		t.tops[b.name] = b
	}
	return b
}

// CreateBucket makes a bucket.
func (t *transaction) CreateBucket(name []byte) (*bucket, error) {
	b, err := t.Tx.CreateBucket(name)
	return t.made(b, nil, name, err)
}

// CreateBucketIfNotExists makes a bucket if it is missing.
func (t *transaction) CreateBucketIfNotExists(name []byte) (*bucket, error) {
	if b := t.Bucket(name); b != nil {
		return b, nil
	}
	return t.CreateBucket(name)
}

// DeleteBucket removes a bucket with everything in it.
func (t *transaction) DeleteBucket(name []byte) error {
	t.redo.drop(nil, name)
	delete(t.tops, string(name))
	return t.Tx.DeleteBucket(name)
}

func (t *transaction) made(b engine.Bucket, in *bucket, name []byte, err error) (*bucket, error) {
	if err != nil {
		return nil, err
	}
	t.redo.create(in, name)
	return t.wrap(b, in, name), nil
}

// Bucket returns a bucket within this one, or nil if there is none.
func (b *bucket) Bucket(name []byte) *bucket {
	return (&transaction{redo: b.redo}).wrap(b.of.Bucket(name), b, name)
}

// CreateBucketIfNotExists makes a bucket within this one if it is missing.
func (b *bucket) CreateBucketIfNotExists(name []byte) (*bucket, error) {
	if one := b.Bucket(name); one != nil {
		return one, nil
	}
	made, err := b.of.CreateBucket(name)
	return (&transaction{redo: b.redo}).made(made, b, name, err)
}

// ForEach calls f with every key in order.
func (b *bucket) ForEach(f func(k, v []byte) error) error { return b.Each(f) }

// fill sets how full pages get if keys come in order.
func (b *bucket) fill(percent float64) {
	if bolt, ok := b.of.(boltBucket); ok {
		bolt.FillPercent = percent
	}
}

// CreateBucket is not used within a bucket.
func (b *bucket) CreateBucket([]byte) (*bucket, error) { return nil, errNotNoted }

var errNotNoted = errors.New("this write would not be noted")

// Put keeps a value.
func (b *bucket) Put(k, v []byte) error {
	if b.redo != nil {
		b.redo.op(opPut, b)
		b.redo.bytes(k)
		b.redo.bytes(v)
	}
	return b.of.Put(k, v)
}

// Delete removes a value.
func (b *bucket) Delete(k []byte) error {
	if b.redo != nil && planted != "a write is not noted" {
		b.redo.op(opDelete, b)
		b.redo.bytes(k)
	}
	return b.of.Delete(k)
}

// SetSequence sets the number that NextSequence continues from.
func (b *bucket) SetSequence(n uint64) error {
	if b.redo != nil {
		b.redo.op(opSequence, b)
		b.redo.number(n)
	}
	return b.of.SetSequence(n)
}

// NextSequence raises the sequence by one and returns it.
func (b *bucket) NextSequence() (uint64, error) {
	n := b.Sequence() + 1
	return n, b.SetSequence(n)
}

// Each write is recorded as its kind and its bucket, which is named once in each record.
const (
	opName     = 'n' // number of the enclosing bucket, or 0; its name: the next number is this bucket's
	opPut      = 'p' // number of the bucket, key, value
	opDelete   = 'd' // number of the bucket, key
	opSequence = 's' // number of the bucket, sequence
	opCreate   = 'c' // number of the enclosing bucket, or 0; its name
	opDrop     = 'x' // the same
)

// redo records the writes of one transaction in their order.
type redo struct {
	b     []byte
	named map[string]uint64 // number of the enclosing bucket, as bytes, and its name → its number
}

// newRedo begins with space for the head of a record.
func newRedo() *redo { return &redo{make([]byte, recordHead, 4<<10), map[string]uint64{}} }

// mostNotes is how much space for notes is kept for the next transaction. Without it a large push
// grows the space from nothing, which copies it several times.
const mostNotes = 4 << 20

// reuse returns a redo in the space of the previous transaction, unless that was very large. The
// earlier notes are gone then.
func (r *redo) reuse() *redo {
	if r == nil || cap(r.b) > mostNotes {
		return newRedo()
	}
	r.b = r.b[:recordHead]
	clear(r.named)
	return r
}

func (r *redo) empty() bool { return len(r.b) == recordHead }

func (r *redo) number(n uint64) { r.b = binary.AppendUvarint(r.b, n) }

func (r *redo) bytes(b []byte) {
	r.number(uint64(len(b)))
	r.b = append(r.b, b...)
}

func (r *redo) of(b *bucket) uint64 {
	if b == nil {
		return 0
	}
	if b.id != 0 {
		return b.id
	}
	in := r.of(b.in)
	name := string(binary.AppendUvarint(nil, in)) + b.name
	if b.id = r.named[name]; b.id == 0 {
		b.id = uint64(len(r.named) + 1)
		r.named[name] = b.id
		r.b = append(r.b, opName)
		r.number(in)
		r.bytes([]byte(b.name))
	}
	return b.id
}

func (r *redo) op(kind byte, b *bucket) {
	n := r.of(b)
	r.b = append(r.b, kind)
	r.number(n)
}

func (r *redo) create(in *bucket, name []byte) {
	if r != nil {
		r.op(opCreate, in)
		r.bytes(name)
	}
}

func (r *redo) drop(in *bucket, name []byte) {
	if r != nil {
		r.op(opDrop, in)
		r.bytes(name)
	}
}

var errRedo = errors.New("a record of the write-ahead log cannot be read")

// again redoes the recorded writes.
func again(tx *bbolt.Tx, b []byte) error {
	type place struct {
		in   uint64
		name []byte
		b    *bbolt.Bucket
	}
	places := []place{{}}
	bad := false
	word := func() uint64 {
		n, size := binary.Uvarint(b)
		if size <= 0 {
			b, bad = nil, true
			return 0
		}
		b = b[size:]
		return n
	}
	text := func() []byte {
		n := word()
		if n > uint64(len(b)) {
			b, bad = nil, true
			return nil
		}
		one := b[:n:n]
		b = b[n:]
		return one
	}
	find := func(n uint64) (*bbolt.Bucket, error) {
		for at := n; ; at = places[at].in {
			if at >= uint64(len(places)) || n == 0 {
				return nil, errRedo
			}
			if at == 0 {
				break
			}
		}
		var open func(n uint64) *bbolt.Bucket
		open = func(n uint64) *bbolt.Bucket {
			p := &places[n]
			if p.b != nil {
				return p.b
			}
			if p.in == 0 {
				p.b = tx.Bucket(p.name)
			} else if in := open(p.in); in != nil {
				p.b = in.Bucket(p.name)
			}
			if p.b != nil {
				p.b.FillPercent = fillAgain
			}
			return p.b
		}
		if found := open(n); found != nil {
			return found, nil
		}
		return nil, errRedo
	}
	forget := func() {
		for i := range places {
			places[i].b = nil
		}
	}
	for len(b) > 0 && !bad {
		kind := b[0]
		b = b[1:]
		n := word()
		var err error
		switch kind {
		case opName:
			if n >= uint64(len(places)) {
				return errRedo
			}
			places = append(places, place{in: n, name: text()})
		case opCreate, opDrop:
			name := text()
			var in *bbolt.Bucket
			if n > 0 {
				if in, err = find(n); err != nil {
					return err
				}
			}
			switch {
			case bad:
			case kind == opDrop && in == nil:
				err = tx.DeleteBucket(name)
			case kind == opDrop:
				err = in.DeleteBucket(name)
			case in == nil:
				_, err = tx.CreateBucketIfNotExists(name)
			default:
				_, err = in.CreateBucketIfNotExists(name)
			}
			forget()
		case opPut, opDelete, opSequence:
			in, missing := find(n)
			if missing != nil {
				return missing
			}
			switch kind {
			case opPut:
				k, v := text(), text()
				if !bad {
					err = in.Put(k, v)
				}
			case opDelete:
				if k := text(); !bad {
					err = in.Delete(k)
				}
			default:
				if to := word(); !bad {
					err = in.SetSequence(to)
				}
			}
		default:
			return errRedo
		}
		if err != nil {
			return err
		}
	}
	if bad {
		return errRedo
	}
	return nil
}

// fillAgain is how full pages get while writes are redone.
const fillAgain = 0.9
