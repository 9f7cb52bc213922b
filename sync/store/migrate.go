package store

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
)

// migrations bring an older file up to date, in order. The number of applied ones is the file's
// schema.
var migrations = []func(*transaction) error{
	func(tx *transaction) error {
		first := [][]byte{bucketMeta, bucketJournal, bucketIDs, bucketRecords, bucketKinds, bucketParents, bucketLookup, bucketHistory,
			bucketQuarantine, bucketPrivate}
		for _, b := range first {
			if _, err := tx.CreateBucketIfNotExists(b); err != nil {
				return err
			}
		}
		return newName(tx, metaStore)
	},
	func(tx *transaction) error { // epoch, tree, signed heads, index of the quarantine
		for _, b := range [][]byte{bucketHeld, bucketTree, bucketHeads} {
			if _, err := tx.CreateBucketIfNotExists(b); err != nil {
				return err
			}
		}
		if err := newName(tx, metaEpoch); err != nil {
			return err
		}
		seed := make([]byte, ed25519.SeedSize)
		if _, err := rand.Read(seed); err != nil {
			return err
		}
		keys, err := tx.Bucket(bucketPrivate).CreateBucketIfNotExists(privateKeys)
		if err != nil {
			return err
		}
		if err := keys.Put(headKey, seed); err != nil {
			return err
		}
		err = tx.Bucket(bucketQuarantine).ForEach(func(k, v []byte) error {
			sum := sha256.Sum256(v)
			return tx.Bucket(bucketHeld).Put(sum[:], k)
		})
		if err != nil {
			return err
		}
		size := 0
		return tx.Bucket(bucketJournal).ForEach(func(_, v []byte) error {
			if size++; size > 1 && planted == "the upgrade takes the first entry only" {
				return nil
			}
			return growOne(tx, size-1, journal.Leaf(v))
		})
	},
	func(*transaction) error { // a record of one change may be kept as its number; earlier ones stay
		return nil
	},
	// Such a record may have no line in the history; earlier records keep theirs. The records of a
	// kind are in the order in which they came.
	func(tx *transaction) error {
		if err := tx.DeleteBucket(bucketKinds); err != nil {
			return err
		}
		kinds, err := tx.CreateBucket(bucketKinds)
		if err != nil {
			return err
		}
		return tx.Bucket(bucketRecords).ForEach(func(k, _ []byte) error {
			s, ok, err := stateOf(tx, string(k))
			if err != nil || !ok {
				return errors.Join(err, errors.New("record "+string(k)+" cannot be read"))
			}
			return kinds.Put(append(key(s.Kind, ""), beginning(tx, string(k))...), k)
		})
	},
	func(tx *transaction) error { return aside{tx, time.Now}.index() }, // who brought what is held, and which entries are still open
	func(*transaction) error { // a kept state may lack the latest changes; earlier records get this form with their next change
		return nil
	},
	func(*transaction) error { return nil }, // the latest writes may be only in the write-ahead log
}

var (
	metaStore   = []byte("store")
	metaEpoch   = []byte("epoch")
	metaSchema  = []byte("schema")
	privateKeys = []byte("keys")
	headKey     = []byte("journal") // in privateKeys: the seed of the key that signs the tree's heads
)

func newName(tx *transaction, what []byte) error {
	id, err := change.NewID(rand.Reader)
	if err != nil {
		return err
	}
	return tx.Bucket(bucketMeta).Put(what, []byte(id))
}

func schemaOf(tx *transaction) int {
	if meta := tx.Bucket(bucketMeta); meta != nil {
		if b := meta.Get(metaSchema); len(b) == 8 {
			return int(binary.BigEndian.Uint64(b))
		}
	}
	return 0
}

// migrate brings the file up to date and reads the store's identity. A file that is up to date is
// not written.
func (s *Store) migrate() error {
	current := false
	err := s.view(func(tx *transaction) error {
		current = schemaOf(tx) == len(migrations)
		if !current {
			return nil
		}
		return s.become(tx)
	})
	if err != nil || current {
		return err
	}
	return s.update(func(tx *transaction) error {
		applied := schemaOf(tx)
		if applied > len(migrations) {
			return fmt.Errorf("%w: schema %d, this program knows %d", ErrNewer, applied, len(migrations))
		}
		for ; applied < len(migrations); applied++ {
			if err := migrations[applied](tx); err != nil {
				return err
			}
		}
		if err := s.become(tx); err != nil {
			return err
		}
		if err := s.putHead(tx); err != nil {
			return err
		}
		return tx.Bucket(bucketMeta).Put(metaSchema, number(uint64(applied)))
	})
}

// become takes over the store's names and key.
func (s *Store) become(tx *transaction) (err error) {
	meta := tx.Bucket(bucketMeta)
	s.id, s.epoch = string(meta.Get(metaStore)), string(meta.Get(metaEpoch))
	s.key, err = signer(tx)
	return err
}

func signer(tx *transaction) (ed25519.PrivateKey, error) {
	keys := tx.Bucket(bucketPrivate).Bucket(privateKeys)
	if keys == nil {
		return nil, errNoKey
	}
	seed := keys.Get(headKey)
	if len(seed) != ed25519.SeedSize {
		return nil, errNoKey
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

var errNoKey = errors.New("the key that signs the journal's heads is missing")
