package store

import (
	"bytes"
	"encoding/binary"
)

// passing is the private part for changes in a form that this program cannot read yet: by number,
// and under "as" the number by the id of the change.
var (
	passing   = []byte("passing")
	passingAs = []byte("passing as")
)

// Passing is a change that a newer program wrote. It is kept as bytes and passed on unchanged.
type Passing struct {
	Seq   uint64
	ID    string
	From  string // the id of the user who brought it, "" if it came from above
	Above bool   // it came from the office above
	Bytes []byte
}

func (p *Passing) value() []byte {
	b := []byte{0}
	if p.Above {
		b[0] = 1
	}
	return append(append(b, key(p.ID, p.From, "")...), p.Bytes...)
}

func readPassing(k, v []byte) Passing {
	id, rest, _ := bytes.Cut(v[1:], []byte{0})
	from, sent, _ := bytes.Cut(rest, []byte{0})
	return Passing{binary.BigEndian.Uint64(k), string(id), string(from), v[0] == 1, bytes.Clone(sent)}
}

// Pass keeps changes of newer programs, synced when it returns. A change that is kept already stays
// as it is, except that Pass records if it now came from above. Refuses: ErrForged if the bytes of
// one differ, ErrHeldFull if too much is kept: then it keeps nothing of that call.
func (s *Store) Pass(list ...Passing) error {
	if len(list) == 0 {
		return nil
	}
	err := s.together(func(tx *transaction) error {
		b, err := tx.Bucket(bucketPrivate).CreateBucketIfNotExists(passing)
		if err != nil {
			return err
		}
		as, err := tx.Bucket(bucketPrivate).CreateBucketIfNotExists(passingAs)
		if err != nil {
			return err
		}
		for i := range list {
			one := list[i]
			if at := as.Get([]byte(one.ID)); at != nil {
				was := readPassing(at, b.Get(at))
				switch {
				case !bytes.Equal(was.Bytes, one.Bytes):
					return ErrForged
				case one.Above && !was.Above:
					was.Above = true
					if err := b.Put(bytes.Clone(at), was.value()); err != nil {
						return err
					}
				}
				continue
			}
			if err := grownFrom(tx, one.From, len(one.Bytes)); err != nil {
				return err
			}
			n, err := b.NextSequence()
			if err != nil {
				return err
			}
			if err := b.Put(number(n), one.value()); err != nil {
				return err
			}
			if err := as.Put([]byte(one.ID), number(n)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return &Error{"keep what passes through", s.dir, err, ""}
	}
	return nil
}

// PassingAfter returns changes of newer programs after a number, oldest first, at most limit and
// not many more than a number of bytes.
func (s *Store) PassingAfter(seq uint64, limit, size int) (list []Passing, err error) {
	err = s.view(func(tx *transaction) error {
		b := tx.Bucket(bucketPrivate).Bucket(passing)
		if b == nil {
			return nil
		}
		c := b.Cursor()
		for k, v := c.Seek(number(seq + 1)); k != nil && len(list) < limit && size > 0; k, v = c.Next() {
			list = append(list, readPassing(k, v))
			size -= len(v)
		}
		return nil
	})
	if err != nil {
		return nil, &Error{"read what passes through", s.dir, err, ""}
	}
	return list, nil
}

// Passed drops changes that this program can read by now, once the journal has them.
func (s *Store) Passed(list ...Passing) error {
	if len(list) == 0 {
		return nil
	}
	err := s.together(func(tx *transaction) error {
		b, as := tx.Bucket(bucketPrivate).Bucket(passing), tx.Bucket(bucketPrivate).Bucket(passingAs)
		for i := range list {
			if err := grownFrom(tx, list[i].From, -len(list[i].Bytes)); err != nil {
				return err
			}
			if err := b.Delete(number(list[i].Seq)); err != nil {
				return err
			}
			if err := as.Delete([]byte(list[i].ID)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return &Error{"drop what passed through", s.dir, err, ""}
	}
	return nil
}

// PassingAs returns the change of a newer program with an id, if one is kept.
func (s *Store) PassingAs(id string) (p Passing, ok bool, err error) {
	err = s.view(func(tx *transaction) error {
		as := tx.Bucket(bucketPrivate).Bucket(passingAs)
		if as == nil {
			return nil
		}
		if at := as.Get([]byte(id)); at != nil {
			p, ok = readPassing(at, tx.Bucket(bucketPrivate).Bucket(passing).Get(at)), true
		}
		return nil
	})
	if err != nil {
		return Passing{}, false, &Error{"read what passes through", s.dir, err, ""}
	}
	return p, ok, nil
}
