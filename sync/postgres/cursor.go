package postgres

import (
	"bytes"
	"slices"
)

// cursor reads a bucket page by page, each page longer than the one before, so that no statement of
// the database stays open.
type cursor struct {
	b     *bucket
	page  []write // in the order of the walk
	at    int     // in the page
	back  bool    // the page goes backwards
	ended bool    // no page follows this one
	limit int
}

const (
	firstPage = 16
	mostPage  = 1024
)

// First goes to the first key.
func (c *cursor) First() (key, value []byte) { return c.Seek(nil) }

// Seek goes to a key, or to the next one if it is not there.
func (c *cursor) Seek(to []byte) (key, value []byte) {
	c.limit = firstPage
	c.load(to, true, false)
	return c.here()
}

// Last goes to the last key.
func (c *cursor) Last() (key, value []byte) {
	c.limit = firstPage
	c.load(nil, true, true)
	return c.here()
}

// Next goes on.
func (c *cursor) Next() (key, value []byte) { return c.step(false) }

// Prev goes back.
func (c *cursor) Prev() (key, value []byte) { return c.step(true) }

func (c *cursor) here() (key, value []byte) {
	if c.at >= len(c.page) {
		return nil, nil
	}
	return c.page[c.at].key, c.page[c.at].value
}

func (c *cursor) step(back bool) (key, value []byte) {
	if c.at >= len(c.page) {
		return nil, nil // past an end
	}
	if c.back != back {
		last := c.page[c.at].key
		c.limit = firstPage
		c.load(last, false, back)
		return c.here()
	}
	if c.at++; c.at < len(c.page) || c.ended {
		return c.here()
	}
	c.limit = min(4*c.limit, mostPage)
	c.load(c.page[len(c.page)-1].key, false, back)
	return c.here()
}

// load reads the page that begins at a key, or behind it, or at the end if that is nil.
func (c *cursor) load(from []byte, with, back bool) {
	c.back, c.at, c.page = back, 0, nil
	for {
		base := c.base(from, with, back)
		c.ended = len(base) < c.limit
		var bound []byte // where the page ends, nil for the end of the bucket
		if !c.ended {
			bound = base[len(base)-1].key
		}
		c.page = merged(base, c.b.between(from, with, bound, back), back)
		if len(c.page) > 0 || c.ended {
			return
		}
		from, with = bound, false // all of the page was deleted
	}
}

// base reads a page as it is in the database.
func (c *cursor) base(from []byte, with, back bool) []write {
	if c.b.made {
		return nil
	}
	sql := "select key, value from gaugewright_entries where plant = $1 and bucket = $2"
	args := []any{c.b.tx.db.plant, c.b.id, c.limit}
	order := " order by key limit $3"
	if back {
		order = " order by key desc limit $3"
	}
	if from != nil {
		args = append(args, from)
		switch {
		case back && with:
			sql += " and key <= $4"
		case back:
			sql += " and key < $4"
		case with:
			sql += " and key >= $4"
		default:
			sql += " and key > $4"
		}
	}
	return pairs(c.b.tx.query(sql+order, args...))
}

// between returns the writes from a key to a bound, in the order of a walk.
func (b *bucket) between(from []byte, with bool, bound []byte, back bool) []write {
	low, high := 0, len(b.written)
	after := func(key []byte, with bool) int { // how many come before the key; with counts the key itself too
		i, found := slices.BinarySearchFunc(b.written, key, byKey)
		if found && with {
			i++
		}
		return i
	}
	if back {
		if from != nil {
			high = after(from, with)
		}
		if bound != nil {
			low = after(bound, false)
		}
	} else {
		if from != nil {
			low = after(from, !with)
		}
		if bound != nil {
			high = after(bound, true)
		}
	}
	if low >= high {
		return nil
	}
	list := slices.Clone(b.written[low:high])
	if back {
		slices.Reverse(list)
	}
	return list
}

// merged returns what the pairs and the writes make together, in the order of a walk.
func merged(base, written []write, back bool) (list []write) {
	if len(written) == 0 {
		return base
	}
	for len(base)+len(written) > 0 {
		which := 0
		switch {
		case len(base) == 0:
			which = 1
		case len(written) == 0:
			which = -1
		default:
			if which = bytes.Compare(base[0].key, written[0].key); back {
				which = -which
			}
		}
		if which < 0 {
			list, base = append(list, base[0]), base[1:]
			continue
		}
		if which == 0 {
			base = base[1:]
		}
		if written[0].value != nil {
			list = append(list, written[0])
		}
		written = written[1:]
	}
	return list
}
