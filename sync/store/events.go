package store

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// Event is something done to accounts, keys, backups or the quarantine, which no record says. It
// holds no secret.
type Event struct {
	Seq     uint64 `json:"seq"`
	At      string `json:"at"` // the server's clock, RFC 3339
	Kind    string `json:"kind"`
	By      string `json:"by,omitempty"`      // the id of an account, "" for nobody or the command line
	About   string `json:"about,omitempty"`   // the id of an account, or the number of an entry of the quarantine
	Address string `json:"address,omitempty"` // where the request came from
	Detail  string `json:"detail,omitempty"`
}

// The log is a chain: each entry's link is the SHA-256 of the link before it and of the SHA-256 of
// the entry's bytes. The key of the heads signs the newest link and the number of entries, so that
// nobody can remove entries at the end either. A missing bucket is an empty log.
var (
	bucketEvents = []byte("events") // sequence → link, then the entry's JSON, or 0 and its SHA-256 once its time is over
	metaEvents   = []byte("events") // number of entries, link of the newest, signature
	metaForgot   = []byte("events forgot")
)

const (
	linkBytes = sha256.Size
	forgotten = 0 // begins what is left of an entry whose time is over; JSON begins with a brace
	// KeepEvents is how long an entry is kept. After it only its place in the chain is.
	KeepEvents = 3 * 366 * 24 * time.Hour
	// forgetAtOnce is how many expired entries are forgotten with each new one.
	forgetAtOnce = 16
)

func eventLink(before []byte, entry [sha256.Size]byte) []byte {
	sum := sha256.Sum256(append(bytes.Clone(before), entry[:]...))
	return sum[:]
}

func eventsSigned(store string, count uint64, link []byte) []byte {
	return fmt.Appendf(nil, "gaugewright events 1\n%s\n%d\n%x\n", store, count, link)
}

// readEvents returns how many entries there are and the newest link.
func readEvents(tx *transaction) (count uint64, link, signature []byte, err error) {
	v := tx.Bucket(bucketMeta).Get(metaEvents)
	switch {
	case v == nil:
		return 0, make([]byte, linkBytes), nil, nil
	case len(v) != 8+linkBytes+ed25519.SignatureSize:
		return 0, nil, nil, errEvents
	}
	return binary.BigEndian.Uint64(v), v[8 : 8+linkBytes], v[8+linkBytes:], nil
}

var errEvents = errors.New("what is noted of the event log is damaged")

// Note adds an event to the log. The event is synced when Note returns. The store sets Seq and At.
func (s *Store) Note(e Event) error {
	if err := s.Keep(Noting(e)); err != nil {
		return &Error{"write the event log of", s.dir, err, "is the disk full?"}
	}
	return nil
}

// Noting is the step that adds an event to the log.
func Noting(e Event) Step {
	return Step{func(s *Store, tx *transaction) error {
		count, link, _, err := readEvents(tx)
		if err != nil {
			return err
		}
		b, err := tx.CreateBucketIfNotExists(bucketEvents)
		if err != nil {
			return err
		}
		b.fill(0.9) // entries are only added at the end
		now := s.options.Now()
		e.Seq, e.At = count+1, now.UTC().Format(time.RFC3339)
		entry, err := json.Marshal(&e)
		if err != nil {
			return err
		}
		next := eventLink(link, sha256.Sum256(entry))
		if err := b.Put(number(e.Seq), append(bytes.Clone(next), entry...)); err != nil {
			return err
		}
		state := append(append(number(e.Seq), next...), ed25519.Sign(s.key, eventsSigned(s.id, e.Seq, next))...)
		if err := tx.Bucket(bucketMeta).Put(metaEvents, state); err != nil {
			return err
		}
		return forget(tx, b, now)
	}}
}

// forget reduces expired entries to what the chain needs.
func forget(tx *transaction, b *bucket, now time.Time) error {
	meta := tx.Bucket(bucketMeta)
	done := uint64(0)
	if v := meta.Get(metaForgot); len(v) == 8 {
		done = binary.BigEndian.Uint64(v)
	}
	was := done
	for range forgetAtOnce {
		v := b.Get(number(done + 1))
		var e Event
		if len(v) <= linkBytes || json.Unmarshal(v[linkBytes:], &e) != nil {
			break
		}
		at, err := time.Parse(time.RFC3339, e.At)
		if err != nil || now.Sub(at) <= KeepEvents {
			break
		}
		sum := sha256.Sum256(v[linkBytes:])
		if err := b.Put(number(done+1), append(append(bytes.Clone(v[:linkBytes]), forgotten), sum[:]...)); err != nil {
			return err
		}
		done++
	}
	if done == was {
		return nil
	}
	return meta.Put(metaForgot, number(done))
}

// Events returns entries of the log before one, the newest first, at most limit; 0 begins at the
// newest. It leaves out expired entries.
func (s *Store) Events(before uint64, limit int) (list []Event, err error) {
	err = s.view(func(tx *transaction) error {
		b := tx.Bucket(bucketEvents)
		if b == nil {
			return nil
		}
		c := b.Cursor()
		k, v := c.Last()
		if before > 0 {
			if k, v = c.Seek(number(before)); k == nil {
				k, v = c.Last()
			}
			for k != nil && binary.BigEndian.Uint64(k) >= before {
				k, v = c.Prev()
			}
		}
		for ; k != nil && len(list) < limit; k, v = c.Prev() {
			if len(v) > linkBytes && v[linkBytes] == forgotten {
				break
			}
			var e Event
			if len(v) <= linkBytes || json.Unmarshal(v[linkBytes:], &e) != nil {
				return fmt.Errorf("entry %d: %w", binary.BigEndian.Uint64(k), ErrDamaged)
			}
			list = append(list, e)
		}
		return nil
	})
	if err != nil {
		return nil, &Error{"read the event log of", s.dir, err, ""}
	}
	return list, nil
}

// events checks each entry of the event log against the one before it, and the newest against the
// signature.
func (w *walk) events(tx *transaction) {
	count, newest, signature, err := readEvents(tx)
	if err != nil {
		w.damage("events", "%v", err)
		return
	}
	n, link := uint64(0), make([]byte, linkBytes)
	if b := tx.Bucket(bucketEvents); b != nil {
		c := b.Cursor()
		for k, v := c.First(); k != nil; k, v = c.Next() {
			n++
			if !bytes.Equal(k, number(n)) || len(v) <= linkBytes {
				w.damage("events", "entry %d is missing or misplaced", n)
				return
			}
			sum := sha256.Sum256(v[linkBytes:])
			if v[linkBytes] == forgotten {
				if len(v) != linkBytes+1+sha256.Size {
					w.damage("events", "what is left of entry %d is damaged", n)
					return
				}
				sum = [sha256.Size]byte(v[linkBytes+1:])
			}
			if link = eventLink(link, sum); !bytes.Equal(link, v[:linkBytes]) {
				w.damage("events", "entry %d is not what was written, or not in its place", n)
				return
			}
		}
	}
	w.report.Events = int(n)
	if n != count || !bytes.Equal(link, newest) {
		w.damage("events", "%d entries where %d were signed", n, count)
		return
	}
	if private, err := signer(tx); count > 0 &&
		(err != nil || !ed25519.Verify(private.Public().(ed25519.PublicKey), eventsSigned(w.report.Store, count, newest), signature)) {
		w.damage("events", "the newest entry was not signed by this store's key")
	}
}
