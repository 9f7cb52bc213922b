package office

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"gaugewright/server/plant"
)

// Sorts are the orders of the queue: what needs somebody most, the longest waiting, or by a column.
var Sorts = []string{"need", "signed", "tag", "area", "person"}

// Queue is what waits for the office: visits that are signed, sent back or opened again, and those
// that cannot be read.
type Queue struct {
	Rows   []Row    `json:"rows"`
	Found  int      `json:"found"` // as the filter has it
	All    int      `json:"all"`
	Away   int      `json:"away"` // of all, those that wait for their technician
	More   int      `json:"more"` // found and not listed; they come up as these are dealt with
	People []string `json:"people"`
	Areas  []string `json:"areas"`
	States []string `json:"states"`
}

// Ask says which part of the queue is asked for, and in which order; "" is everything.
type Ask struct{ State, Person, Area, Found, Sort string }

// maxQueue is how many visits the queue reads at once.
const maxQueue = 400

// Queue lists what waits for the office. By need, what can hurt somebody comes first, then failures,
// what is not clear, and the longest waiting.
func (o *Office) Queue(q Ask) (out Queue, err error) {
	cards, err := o.index.waiting()
	if err != nil {
		return out, err
	}
	for _, c := range cards {
		if !c.damaged && c.status != plant.Signed {
			out.Away++
		}
	}
	out.All, out.More = len(cards), max(0, len(cards)-maxQueue)
	names, err := o.Names()
	if err != nil {
		return out, err
	}
	rows, err := o.rows(cards[:len(cards)-out.More], names)
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

// need ranks a visit by how much it needs somebody: those that are to be decided on before those
// that wait for their technician.
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

// waiting lists the visits that wait for the office, the longest waiting first.
func (x *Index) waiting() ([]visitCard, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	var list []visitCard
	for _, c := range x.visits {
		if c.damaged || c.status == plant.Signed || c.status == plant.Returned || c.status == plant.Reopened {
			list = append(list, c)
		}
	}
	slices.SortFunc(list, func(a, b visitCard) int {
		return cmp.Or(strings.Compare(cmp.Or(a.signed, a.started), cmp.Or(b.signed, b.started)), strings.Compare(a.id, b.id))
	})
	return list, nil
}
