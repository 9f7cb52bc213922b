package store

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"gaugewright/sync/engine"

	"go.etcd.io/bbolt"
)

// compactTo copies what the database holds at one moment. It leaves out what its free pages still
// hold, such as hashes of replaced passwords and ended log-ins.
//
// bbolt.Compact is not safe here. It commits its last piece after its read transaction has ended.
// By then a writer may have reused the pages that the values still point to, or remapped the file.
func (s *Store) compactTo(path string) error {
	defer s.ReadsAll()()
	return s.view(func(tx *transaction) error { return tx.copyTo(path, func(int) {}) })
}

// copyTo copies a database into a bbolt file.
func (t *transaction) copyTo(path string, said func(int)) error {
	o := Options{NoSync: true}.bolt() // the copy is read back before anyone relies on it
	if from, ok := t.Tx.(boltTx); ok {
		o.PageSize = from.DB().Info().PageSize
	}
	to, err := bbolt.Open(path, 0o600, o)
	if err != nil {
		return err
	}
	err = t.copyInto(func(work func(engine.Tx) error) error {
		return to.Update(func(tx *bbolt.Tx) error { return work(boltTx{tx}) })
	}, said)
	return errors.Join(err, to.Close())
}

// compactPiece is how many bytes go into one transaction of a copy.
const compactPiece = 1 << 20

// copying writes buckets into another database, in several transactions.
type copying struct {
	update func(func(engine.Tx) error) error
	said   func(keys int)
	list   []pairIn // of the next transaction
	size   int
	keys   int
}

// pairIn is a key and its value in the bucket at a path, or the bucket itself.
type pairIn struct {
	path       [][]byte
	key, value []byte // nil for a bucket
	sequence   uint64
}

// copyInto copies all buckets into a database that has none. The schema number comes last, so that
// an interrupted copy is not taken for a store.
func (t *transaction) copyInto(update func(func(engine.Tx) error) error, said func(keys int)) error {
	c := &copying{update: update, said: said}
	if err := t.Each(func(name []byte, b engine.Bucket) error {
		return c.bucket([][]byte{bytes.Clone(name)}, b)
	}); err != nil {
		return err
	}
	if meta := t.Bucket(bucketMeta); meta != nil && meta.Get(metaSchema) != nil {
		if err := c.add(pairIn{path: [][]byte{bucketMeta}, key: metaSchema, value: meta.Get(metaSchema)}); err != nil {
			return err
		}
	}
	return c.send()
}

// bucket copies a bucket with those within it.
func (c *copying) bucket(path [][]byte, from engine.Bucket) error {
	if err := c.add(pairIn{path: path, sequence: from.Sequence()}); err != nil {
		return err
	}
	return from.Each(func(k, v []byte) error {
		switch {
		case len(path) == 1 && bytes.Equal(path[0], bucketMeta) &&
			(bytes.Equal(k, metaLog) || bytes.Equal(k, metaSchema)):
			return nil // the copy needs no log
		case v == nil:
			return c.bucket(append(slices.Clone(path), bytes.Clone(k)), from.Bucket(k))
		}
		return c.add(pairIn{path: path, key: k, value: v})
	})
}

func (c *copying) add(one pairIn) error {
	c.list = append(c.list, one)
	if one.key != nil {
		c.keys++
	}
	if c.size += len(one.key) + len(one.value); c.size < compactPiece {
		return nil
	}
	return c.send()
}

func (c *copying) send() error {
	err := c.update(func(tx engine.Tx) error {
		var at [][]byte
		var b engine.Bucket
		for _, one := range c.list {
			if b == nil || !slices.EqualFunc(at, one.path, bytes.Equal) {
				var err error
				if b, err = bucketAt(tx, one.path); err != nil {
					return err
				}
				at = one.path
			}
			err := error(nil)
			if one.key == nil {
				err = b.SetSequence(one.sequence)
			} else {
				err = b.Put(one.key, one.value)
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
	c.list, c.size = c.list[:0], 0
	c.said(c.keys)
	return err
}

// bucketAt returns the bucket of a path, which it makes if it is missing.
func bucketAt(tx engine.Tx, path [][]byte) (b engine.Bucket, err error) {
	for i, name := range path {
		var next engine.Bucket
		if i == 0 {
			next = tx.Bucket(name)
		} else {
			next = b.Bucket(name)
		}
		switch {
		case next != nil:
		case i == 0:
			next, err = tx.CreateBucket(name)
		default:
			next, err = b.CreateBucket(name)
		}
		if err != nil {
			return nil, err
		}
		b = next
	}
	if bolt, ok := b.(boltBucket); ok {
		bolt.FillPercent = 0.9 // keys arrive in order
	}
	return b, nil
}

// ErrNotEmpty is returned when a plant is to be moved to a place that already has one.
var ErrNotEmpty = errors.New("there is a plant already")

// MoveTo copies everything of a store except its blobs into a database, while nobody writes to the
// store. It reports how many keys it has copied so far.
//
// Refuses: ErrNotEmpty. It replaces what an interrupted move left.
func (s *Store) MoveTo(to engine.DB, said func(keys int)) error {
	there, err := PlantIn(to)
	switch {
	case there:
		return fmt.Errorf("%s: %w", to.Name(), ErrNotEmpty)
	case errors.Is(err, ErrUnfinished):
		err = to.Update(func(tx engine.Tx) error {
			var names [][]byte
			err := tx.Each(func(name []byte, _ engine.Bucket) error {
				names = append(names, bytes.Clone(name))
				return nil
			})
			for _, name := range names {
				err = errors.Join(err, tx.DeleteBucket(name))
			}
			return err
		})
	}
	if err == nil {
		err = s.view(func(tx *transaction) error { return tx.copyInto(to.Update, said) })
	}
	if err != nil {
		return &Error{"move " + s.dir + " to", to.Name(), err, ""}
	}
	return nil
}

// MoveToFolder copies everything of a store except its blobs into a data folder without a database.
func (s *Store) MoveToFolder(dir string, said func(keys int)) error {
	path := filepath.Join(dir, File)
	if there, err := Look(dir); there || err != nil && !errors.Is(err, ErrDamaged) {
		return errors.Join(fmt.Errorf("%s: %w", dir, ErrNotEmpty), err)
	}
	err := os.MkdirAll(dir, 0o700)
	half := path + ".new"
	if err == nil {
		if err = os.Remove(half); errors.Is(err, os.ErrNotExist) {
			err = nil
		}
	}
	if err == nil {
		err = s.view(func(tx *transaction) error { return tx.copyTo(half, said) })
	}
	if err == nil {
		err = syncFile(half)
	}
	if err == nil {
		err = os.Rename(half, path)
	}
	if err == nil {
		err = SyncFolder(dir)
	}
	if err != nil {
		return &Error{"move " + s.dir + " to", path, err, ""}
	}
	return nil
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
