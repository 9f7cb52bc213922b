package office

import (
	"cmp"
	"slices"
	"strings"
)

// order is a way to sort; the zero value sorts by tag, letter by letter.
type order struct {
	column string
	down   bool
}

// keyed is a card with its sort key.
type keyed struct {
	key
	c *card
}

// sorted are the cards in one order.
type sorted struct {
	by    order
	keys  []keyed
	cards []*card
	from  int // how many of the moves it has applied
}

// orders keep the recent sort orders of the register. A changed card moves to its new place when
// its order is next asked for.
type orders struct {
	lists []*sorted // the last used first
	moves []string  // the ids of changed cards, in turn
}

const (
	// mostOrders is how many sort orders are kept: as many as a few people use in turn.
	mostOrders = 6
	// mostMoves is how many cards are moved singly; beyond that all are sorted again.
	mostMoves = 4000
)

func (o *orders) forget() { *o = orders{} }

// moved notes that a card changed, or belongs elsewhere.
func (o *orders) moved(id string) {
	if len(o.lists) == 0 {
		return
	}
	if o.moves = append(o.moves, id); len(o.moves) > mostMoves {
		o.forget()
	}
}

// compare puts cards without a value last, and sorts equal ones by tag.
func (by order) compare(a, b *keyed) int {
	turn := 1
	if by.down {
		turn = -1
	}
	if a.none != b.none {
		return map[bool]int{true: 1, false: -1}[a.none]
	}
	if n := cmp.Compare(a.number, b.number); n != 0 {
		return n * turn
	}
	if n := strings.Compare(a.text, b.text); n != 0 {
		return n * turn
	}
	if n := strings.Compare(a.c.order, b.c.order); n != 0 && by.column != "" {
		return n
	}
	return strings.Compare(a.c.ID, b.c.ID)
}

func (by order) keyed(c *card) keyed {
	if of := sorts[by.column]; of != nil {
		return keyed{of(c), c}
	}
	return keyed{key{text: c.Tag}, c}
}

// sorted lists the instruments in an order; mu must be held.
func (x *Index) sorted(by order) []*card {
	o := &x.orders
	at := slices.IndexFunc(o.lists, func(s *sorted) bool { return s.by == by })
	if at < 0 {
		s := &sorted{by: by, keys: make([]keyed, 0, len(x.gauges))}
		for _, c := range x.gauges {
			s.keys = append(s.keys, by.keyed(c))
		}
		slices.SortFunc(s.keys, func(a, b keyed) int { return by.compare(&a, &b) })
		s.list()
		s.from = len(o.moves)
		o.lists = slices.Insert(o.lists, 0, s)
		o.lists = o.lists[:min(len(o.lists), mostOrders)]
		return s.cards
	}
	s := o.lists[at]
	if at > 0 {
		o.lists = slices.Insert(slices.Delete(o.lists, at, at+1), 0, s)
	}
	if s.from < len(o.moves) {
		s.put(x, o.moves[s.from:])
		s.from = len(o.moves)
	}
	return s.cards
}

// put moves cards to where they now belong.
func (s *sorted) put(x *Index, ids []string) {
	moved := map[string]bool{}
	for _, id := range ids {
		moved[id] = true
	}
	again := make([]keyed, 0, len(moved))
	for id := range moved {
		if c := x.gauges[id]; c != nil {
			again = append(again, s.by.keyed(c))
		}
	}
	compare := func(a, b keyed) int { return s.by.compare(&a, &b) }
	slices.SortFunc(again, compare)
	keys := make([]keyed, 0, len(s.keys)+len(again))
	for _, k := range s.keys {
		if moved[k.c.ID] {
			continue
		}
		for len(again) > 0 && compare(again[0], k) < 0 {
			keys, again = append(keys, again[0]), again[1:]
		}
		keys = append(keys, k)
	}
	s.keys = append(keys, again...)
	s.list()
}

func (s *sorted) list() {
	s.cards = make([]*card, len(s.keys))
	for i := range s.keys {
		s.cards[i] = s.keys[i].c
	}
}
