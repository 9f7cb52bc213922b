package store

import (
	"gaugewright/sync/engine"

	"go.etcd.io/bbolt"
)

// boltTx, boltBucket and bbolt's own cursor make bbolt an engine.
type boltTx struct{ *bbolt.Tx }

func (t boltTx) Bucket(name []byte) engine.Bucket { return ofBolt(t.Tx.Bucket(name)) }

func (t boltTx) CreateBucket(name []byte) (engine.Bucket, error) {
	b, err := t.Tx.CreateBucket(name)
	return ofBolt(b), err
}

func (t boltTx) Each(f func([]byte, engine.Bucket) error) error {
	return t.ForEach(func(name []byte, b *bbolt.Bucket) error { return f(name, boltBucket{b}) })
}

// Foreign always returns false: the file is locked.
func (boltTx) Foreign() bool { return false }

// bolted returns the engine's bucket beneath b.
type bolted = bbolt.Bucket

type boltBucket struct{ *bolted }

func ofBolt(b *bbolt.Bucket) engine.Bucket {
	if b == nil {
		return nil
	}
	return boltBucket{b}
}

func (b boltBucket) Bucket(name []byte) engine.Bucket { return ofBolt(b.bolted.Bucket(name)) }

func (b boltBucket) CreateBucket(name []byte) (engine.Bucket, error) {
	one, err := b.bolted.CreateBucket(name)
	return ofBolt(one), err
}

func (b boltBucket) Cursor() engine.Cursor { return b.bolted.Cursor() }

func (b boltBucket) Each(f func(k, v []byte) error) error { return b.ForEach(f) }

// Want does nothing: the file is mapped into memory.
func (boltBucket) Want([][]byte) {}
