package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Held is a change that was quarantined, with the reason.
type Held struct {
	Seq    uint64
	Reason string
	Bytes  []byte
	From   string   // the id of the user who brought it; "" if that was not recorded
	Change string   // the id of the change and of its author, "" if it cannot be read
	Author string   //
	Closed *Closing // nil while somebody still has to look at it
}

// How an entry of the quarantine was closed.
const (
	ClosedTaken    = "taken"    // somebody at the office let it in
	ClosedRejected = "rejected" // somebody at the office refused it for good
	ClosedArrived  = "arrived"  // the same change came into the journal on its own
	ClosedAgain    = "again"    // it was judged again and held for another reason
)

// Closing says how an entry of the quarantine was closed.
type Closing struct {
	How string `json:"how"`
	By  string `json:"by,omitempty"` // the id of a user, "" for nobody
	At  string `json:"at"`           // RFC 3339
	Why string `json:"why,omitempty"`
}

// slip is the data kept beside an entry of the quarantine. The entry's bytes change only if
// something is erased from them.
type slip struct {
	Author string   `json:"author,omitempty"`
	Change string   `json:"change,omitempty"`
	From   string   `json:"from,omitempty"`
	Closed *Closing `json:"closed,omitempty"`
}

// The marks of entries that their author has to know of.
const (
	markOpen     = 'o'
	markRejected = 'r'
)

// aside reads and writes the quarantine within one transaction.
type aside struct {
	tx  *transaction
	now func() time.Time
}

func (a aside) slip(seq []byte) (s slip, err error) {
	b := a.tx.Bucket(bucketSlips).Get(seq)
	if b == nil {
		return s, errors.New("the quarantine's index lacks a line")
	}
	return s, json.Unmarshal(b, &s)
}

// put writes a slip and its index line among those of its author.
func (a aside) put(seq []byte, s slip) error {
	b, err := json.Marshal(s)
	if err != nil {
		return err
	}
	if err := a.tx.Bucket(bucketSlips).Put(seq, b); err != nil {
		return err
	}
	authors, at := a.tx.Bucket(bucketHeldBy), append(key(s.Author, ""), seq...)
	switch {
	case s.Closed == nil:
		return authors.Put(at, []byte{markOpen})
	case s.Closed.How == ClosedRejected:
		return authors.Put(at, []byte{markRejected})
	}
	return authors.Delete(at)
}

func (a aside) closing(how string) *Closing {
	return &Closing{How: how, At: a.now().UTC().Format(time.RFC3339)}
}

// same calls f with the number and the slip of each entry that holds these bytes of a change, or
// that change before or after something was erased from it.
func (a aside) same(id string, sent []byte, f func(seq []byte, s slip) error) error {
	if id == "" {
		return nil
	}
	prefix := key(id, "")
	var list [][]byte
	c := a.tx.Bucket(bucketHeldAs).Cursor()
	for k, _ := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, _ = c.Next() {
		list = append(list, bytes.Clone(k[len(prefix):]))
	}
	var one *change.Change // parsed if the bytes differ
	for _, seq := range list {
		_, was, _ := bytes.Cut(a.tx.Bucket(bucketQuarantine).Get(seq), []byte{0})
		if !bytes.Equal(was, sent) {
			if one == nil {
				c, err := change.Parse(bytes.Clone(sent))
				if err != nil {
					continue
				}
				one = &c
			}
			if !isErased(was, one) {
				continue
			}
		}
		s, err := a.slip(seq)
		if err == nil {
			err = f(seq, s)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// arrived closes the entries of a change that is now in the journal.
func (a aside) arrived(id string, entry []byte) error {
	return a.same(id, entry, func(seq []byte, s slip) error {
		if s.Closed != nil && s.Closed.How != ClosedRejected {
			return nil
		}
		s.Closed = a.closing(ClosedArrived)
		return a.put(seq, s)
	})
}

// erase removes from the entries of a change what was erased from the change.
func (a aside) erase(record, id string, all []merge.Erased) error {
	prefix := key(id, "")
	var list [][]byte
	c := a.tx.Bucket(bucketHeldAs).Cursor()
	for k, _ := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, _ = c.Next() {
		list = append(list, bytes.Clone(k[len(prefix):]))
	}
	lines, held := a.tx.Bucket(bucketQuarantine), a.tx.Bucket(bucketHeld)
	for _, seq := range list {
		was := bytes.Clone(lines.Get(seq))
		reason, sent, _ := bytes.Cut(was, []byte{0})
		one, err := change.Parse(bytes.Clone(sent))
		if err != nil || one.Record != record {
			continue
		}
		left := merge.Without(one, all)
		if bytes.Equal(left.Bytes(), sent) {
			continue
		}
		s, err := a.slip(seq)
		if err != nil {
			return err
		}
		next := append(key(string(reason), ""), left.Bytes()...)
		sum, before := sha256.Sum256(next), sha256.Sum256(was)
		for held.Get(sum[:]) != nil { // the erased form is already held for the same reason
			reason = append(bytes.Clone(reason), ", once more"...)
			next = append(key(string(reason), ""), left.Bytes()...)
			sum = sha256.Sum256(next)
		}
		more := len(next) - len(was)
		if err := errors.Join(
			lines.Put(seq, next), held.Delete(before[:]), held.Put(sum[:], seq),
			grown(a.tx, 0, more), grownFrom(a.tx, s.From, more),
		); err != nil {
			return err
		}
	}
	return nil
}

// withoutErased returns the bytes of a change without what its record says was erased from it.
func (a aside) withoutErased(sent []byte) []byte {
	one, err := change.Parse(bytes.Clone(sent))
	if err != nil {
		return sent
	}
	state, ok, err := stateOf(a.tx, one.Record)
	if err != nil || !ok {
		return sent // a damaged record cannot say what was erased
	}
	all := merge.ErasedIn(&state, one.ID)
	if len(all) == 0 {
		return sent
	}
	left := merge.Without(one, all)
	return left.Bytes()
}

// hold keeps one entry. It keeps the same bytes with the same reason only once, and leaves the same
// change open under its latest reason only.
func (a aside) hold(of *Held) error {
	h := *of
	h.Bytes = a.withoutErased(h.Bytes)
	value := append(key(h.Reason, ""), h.Bytes...)
	sum := sha256.Sum256(value)
	held := a.tx.Bucket(bucketHeld)
	seq := bytes.Clone(held.Get(sum[:]))
	s := slip{From: h.From}
	if one, err := change.Parse(h.Bytes); err == nil {
		s.Change, s.Author = one.ID, one.Author
	}
	if seq == nil {
		b := a.tx.Bucket(bucketQuarantine)
		n, err := b.NextSequence()
		if err != nil {
			return err
		}
		seq = number(n)
		if err := errors.Join(b.Put(seq, value), held.Put(sum[:], seq), grown(a.tx, 1, len(value)), grownFrom(a.tx, h.From, len(value))); err != nil {
			return err
		}
		if s.Change != "" {
			if err := a.tx.Bucket(bucketHeldAs).Put(append(key(s.Change, ""), seq...), nil); err != nil {
				return err
			}
		}
	} else {
		was, err := a.slip(seq)
		if err != nil {
			return err
		}
		if was.From == s.Author || s.From == "" { // its author brought it at least once
			s.From = was.From
		}
		if was.Closed != nil && was.Closed.How != ClosedAgain {
			s.Closed = was.Closed
		}
	}
	if err := a.put(seq, s); err != nil {
		return err
	}
	err := a.same(s.Change, h.Bytes, func(other []byte, o slip) error {
		switch {
		case bytes.Equal(other, seq):
		case o.Closed == nil:
			o.Closed = a.closing(ClosedAgain)
			return a.put(other, o)
		case o.Closed.How == ClosedRejected && s.Closed == nil:
			s.Closed = o.Closed // the office has decided about this change already
		}
		return nil
	})
	return errors.Join(err, a.put(seq, s))
}

// Quarantine keeps changes that their sender may not write, in one synced transaction. Entries are
// never dropped. The same bytes with the same reason are kept once. The store sets Seq, Change,
// Author and Closed.
func (s *Store) Quarantine(list ...Held) error {
	err := s.together(func(tx *transaction) error {
		a := aside{tx, s.options.Now}
		for i := range list {
			if err := a.hold(&list[i]); err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, ErrHeldFull) {
		return &Error{"write the quarantine of", s.dir, err, ""}
	}
	if err != nil {
		return &Error{"write the quarantine of", s.dir, err, "is the disk full?"}
	}
	return nil
}

func (a aside) read(seq []byte) (Held, error) {
	v := a.tx.Bucket(bucketQuarantine).Get(seq)
	if v == nil {
		return Held{}, fmt.Errorf("entry %d: %w", binary.BigEndian.Uint64(seq), fs.ErrNotExist)
	}
	s, err := a.slip(seq)
	reason, sent, _ := bytes.Cut(v, []byte{0})
	return Held{binary.BigEndian.Uint64(seq), string(reason), bytes.Clone(sent), s.From, s.Change, s.Author, s.Closed}, err
}

func (s *Store) lookAside(what string, work func(aside) error) error {
	err := s.view(func(tx *transaction) error { return work(aside{tx, s.options.Now}) })
	if err != nil {
		return &Error{"read " + what + " of", s.dir, err, ""}
	}
	return nil
}

// Quarantined returns every entry, open or closed, oldest first.
func (s *Store) Quarantined() (list []Held, err error) {
	err = s.lookAside("the quarantine", func(a aside) error {
		return a.tx.Bucket(bucketQuarantine).ForEach(func(k, _ []byte) error {
			h, err := a.read(k)
			list = append(list, h)
			return err
		})
	})
	return list, err
}

// HeldAt returns one entry of the quarantine. Refuses: an error that wraps fs.ErrNotExist.
func (s *Store) HeldAt(seq uint64) (h Held, err error) {
	err = s.lookAside("the quarantine", func(a aside) (err error) {
		h, err = a.read(number(seq))
		return err
	})
	return h, err
}

// HeldCount returns how many entries of the quarantine are open.
func (s *Store) HeldCount() (n int, err error) {
	err = s.lookAside("the quarantine", func(a aside) error {
		return a.tx.Bucket(bucketHeldBy).ForEach(func(_, mark []byte) error {
			if mark[0] == markOpen {
				n++
			}
			return nil
		})
	})
	return n, err
}

// HeldAfter returns entries of the quarantine after one, oldest first, at most limit and not many
// more than a number of bytes. rest is how many open entries follow. closed includes closed
// entries.
func (s *Store) HeldAfter(seq uint64, limit, size int, closed bool) (list []Held, rest int, err error) {
	err = s.lookAside("the quarantine", func(a aside) error {
		c := a.tx.Bucket(bucketSlips).Cursor()
		for k, v := c.Seek(number(seq + 1)); k != nil; k, v = c.Next() {
			var one slip
			if err := json.Unmarshal(v, &one); err != nil {
				return err
			}
			if one.Closed != nil && !closed {
				continue
			}
			if len(list) >= limit || size <= 0 {
				if one.Closed == nil {
					rest++
				}
				continue
			}
			h, err := a.read(k)
			if err != nil {
				return err
			}
			list, size = append(list, h), size-len(h.Bytes)
		}
		return nil
	})
	return list, rest, err
}

// HeldBy returns the open entries of an author's changes after one, oldest first, at most limit and
// not many more than a number of bytes.
func (s *Store) HeldBy(author string, seq uint64, limit, size int) (list []Held, err error) {
	err = s.lookAside("the quarantine", func(a aside) error {
		return a.by(author, func(at []byte, mark byte) error {
			if mark != markOpen || len(list) >= limit || size <= 0 || binary.BigEndian.Uint64(at) <= seq {
				return nil
			}
			h, err := a.read(at)
			list, size = append(list, h), size-len(h.Bytes)
			return err
		})
	})
	return list, err
}

func (a aside) by(author string, f func(seq []byte, mark byte) error) error {
	prefix := key(author, "")
	c := a.tx.Bucket(bucketHeldBy).Cursor()
	for k, mark := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, mark = c.Next() {
		if err := f(k[len(prefix):], mark[0]); err != nil {
			return err
		}
	}
	return nil
}

// Refusal is what an author has to know of one of their changes.
type Refusal struct{ ID, Reason string }

// Refusals returns which changes of an author are held or were rejected, at most limit.
func (s *Store) Refusals(author string, limit int) (list []Refusal, err error) {
	err = s.lookAside("the quarantine", func(a aside) error {
		return a.by(author, func(at []byte, _ byte) error {
			if len(list) >= limit {
				return nil
			}
			one, err := a.slip(at)
			if err != nil || one.Change == "" {
				return err
			}
			reason, _, _ := bytes.Cut(a.tx.Bucket(bucketQuarantine).Get(at), []byte{0})
			list = append(list, Refusal{one.Change, saying(string(reason), one.Closed)})
			return nil
		})
	})
	return list, err
}

// RefusalsFrom returns the refusals of all changes that one user brought, whoever wrote them.
func (s *Store) RefusalsFrom(user string, limit int) (list []Refusal, err error) {
	err = s.lookAside("the quarantine", func(a aside) error {
		return a.tx.Bucket(bucketHeldBy).ForEach(func(k, _ []byte) error {
			if len(list) >= limit {
				return nil
			}
			at := k[len(k)-8:]
			one, err := a.slip(at)
			if err != nil || one.Change == "" || one.From != user {
				return err
			}
			reason, _, _ := bytes.Cut(a.tx.Bucket(bucketQuarantine).Get(at), []byte{0})
			list = append(list, Refusal{one.Change, saying(string(reason), one.Closed)})
			return nil
		})
	})
	return list, err
}

func saying(reason string, c *Closing) string {
	if c == nil || c.How != ClosedRejected {
		return reason
	}
	return "rejected by the office: " + c.Why
}

// CloseHeld records how an entry of the quarantine was closed. A later closing replaces an earlier
// one.
func (s *Store) CloseHeld(seq uint64, c Closing, more ...Step) error {
	err := s.together(func(tx *transaction) error {
		a := aside{tx, s.options.Now}
		one, err := a.slip(number(seq))
		if err != nil {
			return err
		}
		one.Closed = &c
		if err := a.put(number(seq), one); err != nil {
			return err
		}
		return s.steps(tx, more)
	})
	if err != nil {
		return &Error{"write the quarantine of", s.dir, err, "is the disk full?"}
	}
	return nil
}

// Standing is what the store knows of a change that is sent to it.
type Standing struct {
	Known    bool   // it is in the journal, as it was sent or without what was erased of it
	Rejected string // why the office refused these very bytes for good, for the author; "" otherwise
}

// Standings returns what the store knows of each of some changes.
func (s *Store) Standings(list []change.Change) (known []Standing, err error) {
	known = make([]Standing, len(list))
	err = s.view(func(tx *transaction) error {
		ids, entries := tx.Bucket(bucketIDs), tx.Bucket(bucketJournal)
		a := aside{tx, s.options.Now}
		first, _ := tx.Bucket(bucketHeldAs).Cursor().First()
		for i := range list {
			if seq := ids.Get([]byte(list[i].ID)); seq != nil {
				entry := entries.Get(seq)
				known[i].Known = bytes.Equal(entry, list[i].Bytes()) ||
					isErased(entry, &list[i]) && planted != "what was erased is not known again"
				continue
			}
			if first == nil || list[i].ID == "" {
				continue
			}
			err := a.same(list[i].ID, list[i].Bytes(), func(_ []byte, s slip) error {
				if s.Closed != nil && s.Closed.How == ClosedRejected {
					known[i].Rejected = saying("", s.Closed)
				}
				return nil
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	return known, err
}

// Has returns which of some ids belong to changes in the journal.
func (s *Store) Has(ids []string) (there []string, err error) {
	err = s.view(func(tx *transaction) error {
		for _, id := range ids {
			if tx.Bucket(bucketIDs).Get([]byte(id)) != nil {
				there = append(there, id)
			}
		}
		return nil
	})
	return there, err
}

// Change returns a change of the journal by its id, if it is there.
func (s *Store) Change(id string) (c change.Change, ok bool, err error) {
	err = s.view(func(tx *transaction) (err error) {
		if seq := tx.Bucket(bucketIDs).Get([]byte(id)); seq != nil {
			ok = true
			c, err = change.Parse(tx.Bucket(bucketJournal).Get(seq))
		}
		return err
	})
	if err != nil {
		return change.Change{}, false, &Error{"read change " + id + " of", s.dir, err, ""}
	}
	return c, ok, nil
}

// index makes the index lines of a quarantine that has none. Of a change that is held several times
// only the latest entry is open; of a change in the journal none is.
func (a aside) index() error {
	for _, name := range [][]byte{bucketSlips, bucketHeldBy, bucketHeldAs} {
		if _, err := a.tx.CreateBucketIfNotExists(name); err != nil {
			return err
		}
	}
	type line struct{ seq, sent []byte }
	var list []line
	err := a.tx.Bucket(bucketQuarantine).ForEach(func(k, v []byte) error {
		_, sent, _ := bytes.Cut(v, []byte{0})
		list = append(list, line{bytes.Clone(k), sent})
		return nil
	})
	if err != nil {
		return err
	}
	for _, l := range list {
		var s slip
		if one, err := change.Parse(l.sent); err == nil {
			s.Change, s.Author = one.ID, one.Author
			err := a.same(s.Change, l.sent, func(other []byte, o slip) error {
				if o.Closed == nil {
					o.Closed = a.closing(ClosedAgain)
				}
				return a.put(other, o)
			})
			if err != nil {
				return err
			}
			if err := a.tx.Bucket(bucketHeldAs).Put(append(key(s.Change, ""), l.seq...), nil); err != nil {
				return err
			}
			if at := a.tx.Bucket(bucketIDs).Get([]byte(s.Change)); at != nil &&
				bytes.Equal(a.tx.Bucket(bucketJournal).Get(at), l.sent) {
				s.Closed = a.closing(ClosedArrived)
			}
		}
		if err := a.put(l.seq, s); err != nil {
			return err
		}
	}
	return nil
}
