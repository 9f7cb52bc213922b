package store

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"gaugewright/sync/change"
)

// Came says which of a device's changes have come. The device counts them from 1, so a gap is work
// that is on its way, or that somebody held back.
type Came struct {
	// By lists the accounts that wrote with the device, the first one first.
	By    []string `json:"by"`
	Taken Spans    `json:"taken"` // numbers of changes in the journal
	// Held has the numbers of refused changes, which are in the quarantine.
	Held Spans `json:"held,omitempty"`
	// Twice has the numbers that more than one change of the journal has, the first spans of them.
	Twice Spans `json:"twice,omitempty"`
}

// Spans are numbers as spans from first to last, in rising order, with a gap between each two.
type Spans [][2]uint64

var (
	// bucketCame has, by device, which changes came. A missing entry is computed from the journal.
	bucketCame = []byte("came")

	// ErrGaps is returned for a change of a device whose numbers have more gaps than an honest
	// device's.
	ErrGaps = errors.New("seq: the device's changes are numbered with too many gaps")
)

const (
	maxSpans = 1024 // an offline phone has one gap at most, a hub's queue some
	maxBy    = 256  // accounts of one device
)

// Has reports whether a number is in a span.
func (s Spans) Has(n uint64) bool {
	_, in := s.find(n)
	return in
}

// find returns the index of the span that has n, or of the next one after it.
func (s Spans) find(n uint64) (int, bool) {
	return slices.BinarySearchFunc(s, n, func(span [2]uint64, n uint64) int {
		switch {
		case span[1] < n:
			return -1
		case span[0] > n:
			return 1
		}
		return 0
	})
}

// joins reports whether a number is in a span or next to one, so that it needs no span of its own.
func (s Spans) joins(n uint64) bool {
	i, in := s.find(n)
	return in || i > 0 && s[i-1][1]+1 == n || i < len(s) && s[i][0] == n+1
}

// with returns the spans with one more number.
func (s Spans) with(n uint64) Spans {
	i, in := s.find(n)
	if in {
		return s
	}
	before, after := i > 0 && s[i-1][1]+1 == n, i < len(s) && s[i][0] == n+1
	switch {
	case before && after:
		s[i-1][1] = s[i][1]
		return slices.Delete(s, i, i+1)
	case before:
		s[i-1][1] = n
	case after:
		s[i][0] = n
	default:
		return slices.Insert(s, i, [2]uint64{n, n})
	}
	return s
}

// Missing returns the numbers below the highest one that neither came nor were refused.
func (c *Came) Missing() (gaps Spans) {
	next := uint64(1)
	taken, held := c.Taken, c.Held
	for len(taken)+len(held) > 0 {
		from := &taken
		if len(taken) == 0 || len(held) > 0 && held[0][0] < taken[0][0] {
			from = &held
		}
		span := (*from)[0]
		*from = (*from)[1:]
		if span[0] > next {
			gaps = append(gaps, [2]uint64{next, span[0] - 1})
		}
		next = max(next, span[1]+1)
	}
	return gaps
}

// Count returns how many numbers there are.
func (s Spans) Count() (n uint64) {
	for _, span := range s {
		n += span[1] - span[0] + 1
	}
	return n
}

// take records a change of the journal.
func (c *Came) take(one *change.Change) {
	if c.Taken.Has(one.Seq) && planted != "a number that comes twice goes unnoticed" {
		if c.Twice.joins(one.Seq) || len(c.Twice) < maxSpans {
			c.Twice = c.Twice.with(one.Seq)
		}
	}
	c.Taken = c.Taken.with(one.Seq)
	if !slices.Contains(c.By, one.Author) && len(c.By) < maxBy {
		c.By = append(c.By, one.Author)
	}
}

// hold records a refused change. It counts only if its author writes with the device, so that
// nobody else can hide a gap.
func (c *Came) hold(one *change.Change) bool {
	ours := len(c.By) == 0 || slices.Contains(c.By, one.Author)
	if !ours || len(c.Held) >= maxSpans || c.Held.Has(one.Seq) {
		return false
	}
	c.Held = c.Held.with(one.Seq)
	return true
}

// fits refuses a number that would open more gaps than are kept.
func (c *Came) fits(seq uint64) error {
	if c.Taken.joins(seq) || len(c.Taken) < maxSpans {
		return nil
	}
	return ErrGaps
}

func readCame(v []byte) (*Came, error) {
	c := &Came{}
	if v == nil {
		return c, nil
	}
	return c, json.Unmarshal(v, c)
}

// came returns which changes of a device have come, with those of this transaction.
func (w *writer) came(device string) (*Came, error) {
	if c, ok := w.devices[device]; ok {
		return c, nil
	}
	c, err := readCame(w.tx.Bucket(bucketCame).Get([]byte(device)))
	if err != nil {
		return nil, fmt.Errorf("what came of the device %s is damaged: %w", device, err)
	}
	w.devices[device] = c
	return c, nil
}

// keepCame writes the entries of the devices that this transaction changed.
func (w *writer) keepCame() error {
	for _, id := range w.marked {
		b, err := json.Marshal(w.devices[id])
		if err == nil {
			err = w.tx.Bucket(bucketCame).Put([]byte(id), b)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// markDevice marks a device whose entry must be written.
func (w *writer) markDevice(device string) {
	if !slices.Contains(w.marked, device) {
		w.marked = append(w.marked, device)
	}
}

// countCame computes the entries of a file that has none, from the whole journal.
func countCame(tx *transaction) error {
	if tx.Bucket(bucketCame) != nil {
		return nil
	}
	all, err := replayCame(tx)
	if err != nil {
		return err
	}
	b, err := tx.CreateBucket(bucketCame)
	if err != nil {
		return err
	}
	for id, c := range all {
		v, err := json.Marshal(c)
		if err == nil {
			err = b.Put([]byte(id), v)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func replayCame(tx *transaction) (map[string]*Came, error) {
	all := map[string]*Came{}
	err := tx.Bucket(bucketJournal).ForEach(func(_, v []byte) error {
		one, err := change.Parse(v)
		if err != nil {
			return nil // a check reports damage; a damaged entry does not count here
		}
		if all[one.Device] == nil {
			all[one.Device] = &Came{}
		}
		all[one.Device].take(&one)
		return nil
	})
	return all, err
}

// Came returns, by device, which changes have come.
func (s *Store) Came() (map[string]*Came, error) {
	all := map[string]*Came{}
	err := s.view(func(tx *transaction) (err error) {
		b := tx.Bucket(bucketCame)
		if b == nil {
			all, err = replayCame(tx)
			return err
		}
		return b.ForEach(func(k, v []byte) (err error) {
			all[string(k)], err = readCame(v)
			return err
		})
	})
	if err != nil {
		return nil, &Error{"read what came of the devices of", s.dir, err, ""}
	}
	return all, nil
}

// CameOf returns which changes of one device have come.
func (s *Store) CameOf(device string) (c *Came, err error) {
	err = s.view(func(tx *transaction) (err error) {
		b := tx.Bucket(bucketCame)
		if b == nil {
			all, err := replayCame(tx)
			if c = all[device]; c == nil {
				c = &Came{}
			}
			return err
		}
		c, err = readCame(b.Get([]byte(device)))
		return err
	})
	if err != nil {
		return nil, &Error{"read what came of the device " + device + " of", s.dir, err, ""}
	}
	return c, nil
}

// came checks what is kept of each device against the journal, and notes gaps and repeats.
func (w *walk) came(tx *transaction) {
	want, err := replayCame(tx)
	if err != nil {
		w.damage("came", "%v", err)
		return
	}
	b := tx.Bucket(bucketCame)
	if b != nil {
		c := b.Cursor()
		for k, _ := c.First(); k != nil; k, _ = c.Next() {
			if want[string(k)] == nil { // at most a device whose changes were all refused
				want[string(k)] = &Came{}
			}
		}
		for id, c := range want {
			got, err := readCame(b.Get([]byte(id)))
			if err != nil {
				w.damage("came", "what came of the device %s is damaged: %v", id, err)
				continue
			}
			held := got.Held
			got.Held = nil
			is, errIs := json.Marshal(got)
			was, errWas := json.Marshal(c)
			if err := errors.Join(errIs, errWas); err != nil || !bytes.Equal(is, was) {
				w.damage("came", "what came of the device %s is not what the journal has", id)
			}
			c.Held = held
		}
	}
	for _, id := range slices.Sorted(maps.Keys(want)) {
		c := want[id]
		if gaps := c.Missing(); len(gaps) > 0 {
			w.report.Notes = append(w.report.Notes, fmt.Sprintf(
				"of the device %s %d changes did not come, the first one is number %d",
				id, gaps.Count(), gaps[0][0],
			))
		}
		if len(c.Twice) > 0 {
			w.report.Notes = append(w.report.Notes, fmt.Sprintf(
				"of the device %s %d numbers came more than once, the first one is number %d",
				id, c.Twice.Count(), c.Twice[0][0],
			))
		}
	}
}
