package store

import (
	"bytes"
	"errors"
	"slices"

	"go.etcd.io/bbolt"
)

// compactTo copies what the database holds at one moment, and not what its free pages still hold:
// hashes of passwords that were replaced, log-ins that ended.
//
// bbolt.Compact is not safe here. It commits its last piece after its read transaction has ended.
// By then a writer may have reused the pages that the values still point to, or remapped the file.
func (s *Store) compactTo(path string) error {
	o := Options{NoSync: true}.bolt() // it is read back before anything is said of it
	o.PageSize = s.db.Info().PageSize
	to, err := bbolt.Open(path, 0o600, o)
	if err != nil {
		return err
	}
	err = s.db.View(func(from *bbolt.Tx) error {
		c := copying{to: to}
		err := from.ForEach(func(name []byte, b *bbolt.Bucket) error { return c.bucket([][]byte{name}, b) })
		if c.tx != nil && err == nil {
			err = c.tx.Commit() // while the read transaction still pins the values
		} else if c.tx != nil {
			err = errors.Join(err, c.tx.Rollback())
		}
		return err
	})
	return errors.Join(err, to.Close())
}

// compactPiece is how many bytes go into one transaction of a copy.
const compactPiece = 1 << 20

// copying writes buckets into another database, in several transactions.
type copying struct {
	to   *bbolt.DB
	tx   *bbolt.Tx // nil before the first
	size int       // of what is in it
}

// into returns the bucket of a path, creating it if needed, in a transaction with space for more
// bytes.
func (c *copying) into(path [][]byte, more int) (b *bbolt.Bucket, err error) {
	if c.tx != nil && c.size+more > compactPiece {
		if err := c.tx.Commit(); err != nil {
			c.tx = nil
			return nil, err
		}
		c.tx = nil
	}
	if c.tx == nil {
		if c.tx, err = c.to.Begin(true); err != nil {
			c.tx = nil
			return nil, err
		}
		c.size = 0
	}
	c.size += more
	for i, name := range path {
		if i == 0 {
			b, err = c.tx.CreateBucketIfNotExists(name)
		} else {
			b, err = b.CreateBucketIfNotExists(name)
		}
		if err != nil {
			return nil, err
		}
		b.FillPercent = 0.9 // keys arrive in order
	}
	return b, nil
}

// bucket copies a bucket with those in it.
func (c *copying) bucket(path [][]byte, from *bbolt.Bucket) error {
	to, err := c.into(path, 0)
	if err != nil {
		return err
	}
	if err := to.SetSequence(from.Sequence()); err != nil {
		return err
	}
	tx := c.tx
	return from.ForEach(func(k, v []byte) error {
		if len(path) == 1 && bytes.Equal(path[0], bucketMeta) && bytes.Equal(k, metaLog) {
			return nil // the copy is whole without a log
		}
		if v == nil {
			tx = nil // the bucket below may go on in another transaction
			return c.bucket(append(slices.Clone(path), k), from.Bucket(k))
		}
		if tx != c.tx || c.size+len(k)+len(v) > compactPiece {
			if to, err = c.into(path, len(k)+len(v)); err != nil {
				return err
			}
			tx = c.tx
		} else {
			c.size += len(k) + len(v)
		}
		return to.Put(k, v)
	})
}
