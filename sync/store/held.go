package store

import (
	"encoding/binary"
)

// metaHeld holds how many changes are in quarantine, and their bytes, in 8 bytes each.
var metaHeld = []byte("held")

// heldSize returns how much is in quarantine. A file of an earlier version does not record it, so
// the first call reads everything.
func heldSize(tx *transaction) (count, size int64, err error) {
	if b := tx.Bucket(bucketMeta).Get(metaHeld); len(b) == 16 {
		return int64(binary.BigEndian.Uint64(b)), int64(binary.BigEndian.Uint64(b[8:])), nil
	}
	err = tx.Bucket(bucketQuarantine).ForEach(func(_, v []byte) error {
		count, size = count+1, size+int64(len(v))
		return nil
	})
	return count, size, err
}

// grown records that so much came into quarantine, or left it (below 0).
func grown(tx *transaction, more, bytes int) error {
	count, size, err := heldSize(tx)
	if err != nil {
		return err
	}
	if tx.Bucket(bucketMeta).Get(metaHeld) != nil { // otherwise heldSize has counted the new one
		count, size = count+int64(more), size+int64(bytes)
	}
	if bytes > 0 && size > MaxHeld {
		return ErrHeldFull
	}
	return tx.Bucket(bucketMeta).Put(metaHeld, append(number(uint64(count)), number(uint64(size))...))
}

// heldFrom holds how many bytes of each sender are in quarantine, in the private part.
var heldFrom = []byte("held from")

// grownFrom records that so many bytes of a sender came into quarantine.
//
// Refuses: ErrHeldFull beyond MaxHeldOf, so that no account takes the space of all.
func grownFrom(tx *transaction, sender string, bytes int) error {
	if sender == "" {
		return nil
	}
	b, err := tx.Bucket(bucketPrivate).CreateBucketIfNotExists(heldFrom)
	if err != nil {
		return err
	}
	size := int64(bytes)
	if v := b.Get([]byte(sender)); len(v) == 8 {
		size += int64(binary.BigEndian.Uint64(v))
	}
	if size > MaxHeldOf {
		return ErrHeldFull
	}
	return b.Put([]byte(sender), number(uint64(size)))
}

// HeldSize returns how much is in quarantine, without reading it.
func (s *Store) HeldSize() (count, bytes int64, err error) {
	err = s.view(func(tx *transaction) error {
		count, bytes, err = heldSize(tx)
		return err
	})
	if err != nil {
		return 0, 0, &Error{"read the quarantine of", s.dir, err, ""}
	}
	return count, bytes, nil
}
