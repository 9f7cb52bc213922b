package store

import (
	"crypto/rand"
	"encoding/binary"
	"time"
)

// turns is the private map of who has which turn, until when.
const turns = "turns"

// Turn is work that one of several servers of a plant does at a time, such as sending messages. Who
// has it keeps it by asking again; when a server ends without giving it up, another one has it after
// its time. Clocks of servers that differ by more than that may give it to two.
type Turn struct {
	s      *Store
	name   string
	holder [16]byte
	length time.Duration
	until  time.Time // as this server last wrote it; zero where it does not have the turn
}

// Turn returns the turn of a name. A store that nobody shares gives it to whoever asks.
func (s *Store) Turn(name string, length time.Duration) *Turn {
	t := &Turn{s: s, name: name, length: length}
	_, _ = rand.Read(t.holder[:]) // it does not fail
	return t
}

// Mine says whether this server has the turn, and takes or keeps it where it can: at least half of
// its length is left then. fresh says that it did not have it before. Not for several callers at once.
func (t *Turn) Mine(now time.Time) (mine, fresh bool, err error) {
	if !t.s.Shared() {
		fresh, t.until = t.until.IsZero(), now
		return true, fresh, nil
	}
	had := !t.until.IsZero()
	if had && t.until.Sub(now) > t.length/2 {
		return true, false, nil
	}
	if !had { // looking costs less than writing
		b, err := t.s.Private(turns).Get(t.name)
		if err != nil || t.others(b, now) {
			return false, false, err
		}
	}
	until := now.Add(t.length)
	err = t.s.update(func(tx *transaction) error {
		mine = false
		b, err := tx.Bucket(bucketPrivate).CreateBucketIfNotExists([]byte(turns))
		if err != nil || t.others(b.Get([]byte(t.name)), now) {
			return err
		}
		mine = true
		return b.Put([]byte(t.name), binary.BigEndian.AppendUint64(append([]byte{}, t.holder[:]...), uint64(until.UnixMilli())))
	})
	if err != nil || !mine {
		t.until = time.Time{}
		return false, false, err
	}
	t.until = until
	return true, !had, nil
}

// others says whether a note gives the turn to somebody else now.
func (t *Turn) others(note []byte, now time.Time) bool {
	if len(note) != len(t.holder)+8 || [16]byte(note) == t.holder {
		return false
	}
	return time.UnixMilli(int64(binary.BigEndian.Uint64(note[len(t.holder):]))).After(now)
}

// Pass gives the turn up, so that another server need not wait.
func (t *Turn) Pass() error {
	if t.until.IsZero() || !t.s.Shared() {
		return nil
	}
	t.until = time.Time{}
	return t.s.update(func(tx *transaction) error {
		b := tx.Bucket(bucketPrivate).Bucket([]byte(turns))
		if b == nil || len(b.Get([]byte(t.name))) < len(t.holder) || [16]byte(b.Get([]byte(t.name))) != t.holder {
			return nil
		}
		return b.Delete([]byte(t.name))
	})
}
