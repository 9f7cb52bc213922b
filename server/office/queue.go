package office

import (
	"cmp"
	"iter"
	"maps"
	"slices"
	"strings"

	"gaugewright/server/plant"
)

// Sorts are the orders of the queue: the most urgent, the longest waiting, or by a column.
var Sorts = []string{"need", "signed", "tag", "area", "person"}

// Queue is what waits for the office: visits that are signed, returned or reopened, and those that
// cannot be read.
type Queue struct {
	Rows   []Row    `json:"rows"`
	Found  int      `json:"found"` // how many the filter finds
	All    int      `json:"all"`
	Away   int      `json:"away"` // of all, those waiting for their technician
	More   int      `json:"more"` // found but not listed; they appear as the listed ones are dealt with
	People []string `json:"people"`
	Areas  []string `json:"areas"`
	States []string `json:"states"`
}

// Ask selects a part of the queue and its order; "" means no restriction.
type Ask struct{ State, Person, Area, Found, Sort string }

// maxQueue is how many visits the queue reads at once.
const maxQueue = 400

// Queue lists what waits for the office. By need, safety comes first, then failures, then what is
// unclear, then the longest waiting.
func (o *Office) Queue(q Ask) (out Queue, err error) {
	cards, all, away, err := o.index.waiting()
	if err != nil {
		return out, err
	}
	out.All, out.Away, out.More = all, away, all-len(cards)
	names, err := o.Names()
	if err != nil {
		return out, err
	}
	rows, err := o.rows(cards, names)
	if err != nil {
		return out, err
	}
	people, areas, states := map[string]bool{}, map[string]bool{}, map[string]bool{}
	out.Rows = []Row{}
	for _, r := range rows {
		people[r.Person], areas[r.Area], states[r.Status] = true, true, true
		if (q.State == "" || r.Status == q.State) && (q.Person == "" || r.Person == q.Person) &&
			(q.Area == "" || r.Area == q.Area) && (q.Found == "" || r.AsFound == q.Found) {
			out.Rows = append(out.Rows, r)
		}
	}
	out.Found = len(out.Rows)
	out.People, out.Areas, out.States = named(people), named(areas), named(states)
	key := func(r *Row) string {
		switch q.Sort {
		case "tag":
			return natural(r.Tag)
		case "area":
			return r.Area
		case "person":
			return r.Person
		}
		return ""
	}
	slices.SortStableFunc(out.Rows, func(a, b Row) int {
		n := 0
		if q.Sort == "" || q.Sort == "need" {
			n = cmp.Compare(need(&a), need(&b))
		}
		return cmp.Or(n, strings.Compare(key(&a), key(&b)), strings.Compare(cmp.Or(a.Signed, a.Started), cmp.Or(b.Signed, b.Started)))
	})
	return out, nil
}

func named(set map[string]bool) []string {
	delete(set, "")
	return append([]string{}, slices.Sorted(maps.Keys(set))...)
}

// need ranks a visit by urgency: those that the office can decide on come before those that wait
// for their technician.
func need(r *Row) int {
	n := 0
	if r.Status == string(plant.Returned) || r.Status == string(plant.Reopened) {
		n = 10
	}
	switch {
	case urgent(r.Attention):
		return n
	case slices.Contains(r.Attention, "damaged"):
		return n + 1
	case slices.Contains(r.Attention, "fail"):
		return n + 2
	case slices.Contains(r.Attention, "undecided"):
		return n + 3
	case len(r.Attention) > 0:
		return n + 4
	}
	return n + 5
}

// waiting lists the visits that wait for the office, the longest waiting first, at most maxQueue. It
// counts them all, and those that wait for their technician.
func (x *Index) waiting() (list []visitCard, all, away int, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, 0, 0, err
	}
	for _, c := range x.open {
		if !c.damaged && c.status != plant.Signed {
			away++
		}
	}
	list = firstOf(maps.Values(x.open), maxQueue, func(a, b *visitCard) int {
		return cmp.Or(strings.Compare(cmp.Or(a.signed, a.started), cmp.Or(b.signed, b.started)), strings.Compare(a.id, b.id))
	})
	return list, len(x.open), away, nil
}

// firstOf returns copies of the first n visits in an order. It sorts no more than it has to.
func firstOf(all iter.Seq[*visitCard], n int, order func(a, b *visitCard) int) []visitCard {
	var list []*visitCard
	var last *visitCard // n of the list do not come after it
	for c := range all {
		if last != nil && order(c, last) > 0 {
			continue
		}
		if list = append(list, c); len(list) == 2*n {
			slices.SortFunc(list, order)
			list, last = list[:n], list[n-1]
		}
	}
	slices.SortFunc(list, order)
	out := make([]visitCard, min(n, len(list)))
	for i := range out {
		out[i] = *list[i]
	}
	return out
}
