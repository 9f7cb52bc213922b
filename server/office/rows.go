package office

import (
	"cmp"
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// A row of a list of visits is made from the whole visit: its record, its runs, the keys of its
// statements, for a safety function the other visits to the instrument. Rows that were made stay in
// memory with the ids of the records that they were made from. The index drops a row when a change
// of one of these records, or of a child of one, comes into the journal. What depends on the time,
// on the people on record or on who is authorised is added whenever a list is shown.

// madeRow is a row as the records say it.
type madeRow struct {
	row    Row // without the person's name, the day of the signature and no_competence
	person string
	work   string    // kind of work
	latest time.Time // latest moment that the visit claims
	ahead  bool      // that was later than now
	broken bool      // something of the visit cannot be read
	from   []string  // records that it was made from; empty if that is not known
	used   uint64    // the last list that showed it
}

// maxRows is how many rows stay in memory: the queue, what waits and some days.
const maxRows = 3000

// rows are the rows in memory; whoever uses them holds the index's lock.
type rows struct {
	made   map[string]*madeRow        // by visit
	of     map[string]map[string]bool // by record: the visits whose rows were made from it
	lists  uint64                     // counts the lists that were shown
	making map[*making]bool
	one    sync.Mutex // held, without the index's lock, by the list whose rows are being made
}

// making is a list whose rows are being made, without the lock.
type making struct {
	moved map[string]bool // records that changed meanwhile
}

func newRows() *rows {
	return &rows{made: map[string]*madeRow{}, of: map[string]map[string]bool{}, making: map[*making]bool{}}
}

// moved drops the rows that were made from a record.
func (x *rows) moved(record string) {
	if record == "" {
		return
	}
	for m := range x.making {
		m.moved[strings.Clone(record)] = true
	}
	for visit := range x.of[record] {
		x.drop(visit)
	}
}

func (x *rows) drop(visit string) {
	for _, id := range x.made[visit].from {
		if delete(x.of[id], visit); len(x.of[id]) == 0 {
			delete(x.of, id)
		}
	}
	delete(x.made, visit)
}

func (x *rows) put(visit string, r *madeRow) {
	if x.made[visit] != nil {
		x.drop(visit)
	}
	x.made[visit] = r
	for _, id := range r.from {
		if x.of[id] == nil {
			x.of[id] = map[string]bool{}
		}
		x.of[id][visit] = true
	}
}

// shrink drops the rows that were not shown for the longest time, if there are too many.
func (x *rows) shrink() {
	if len(x.made) <= maxRows {
		return
	}
	type one struct {
		visit string
		used  uint64
	}
	list := make([]one, 0, len(x.made))
	for visit, r := range x.made {
		list = append(list, one{visit, r.used})
	}
	slices.SortFunc(list, func(a, b one) int { return cmp.Compare(a.used, b.used) })
	for _, r := range list[:len(list)-maxRows*3/4] {
		x.drop(r.visit)
	}
}

// made returns the rows of some visits as the records stand, in their order. Those that are not in
// memory are made from the whole visits, without the index's lock, and by one list at a time: the
// next one finds most of its rows made.
func (o *Office) made(cards []visitCard) ([]*madeRow, error) {
	x, now := o.index, o.now()
	list, whole, err := x.known(cards, now, nil)
	if err != nil || whole {
		return list, err
	}
	x.rows.one.Lock()
	defer x.rows.one.Unlock()
	begun := &making{moved: map[string]bool{}}
	if list, _, err = x.known(cards, now, begun); err != nil {
		return nil, err
	}
	fresh := map[string]*madeRow{}
	for i := range cards {
		if list[i] != nil {
			continue
		}
		if list[i], err = o.makeRow(cards[i].id, now); err != nil {
			break
		}
		if len(list[i].from) > 0 {
			fresh[cards[i].id] = list[i]
		}
	}
	return list, errors.Join(err, x.keepRows(fresh, begun))
}

// known returns the rows that are in memory, and whether these are all. begun, if it is not nil,
// notes from now on which records change.
func (x *Index) known(cards []visitCard, now time.Time, begun *making) (list []*madeRow, whole bool, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, false, err
	}
	x.rows.lists++
	list, whole = make([]*madeRow, len(cards)), true
	for i := range cards {
		if r := x.rows.made[cards[i].id]; r != nil && r.ahead == isAhead(r.latest, now) {
			r.used, list[i] = x.rows.lists, r
		} else {
			whole = false
		}
	}
	if begun != nil {
		x.rows.making[begun] = true
	}
	return list, whole, nil
}

// keepRows keeps rows that were just made, but for those of which a record changed meanwhile.
func (x *Index) keepRows(fresh map[string]*madeRow, begun *making) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	defer delete(x.rows.making, begun)
	if err := x.follow(); err != nil {
		return err
	}
	for visit, r := range fresh {
		if !slices.ContainsFunc(r.from, func(id string) bool { return begun.moved[id] }) {
			r.used = x.rows.lists
			x.rows.put(visit, r)
		}
	}
	x.rows.shrink()
	return nil
}

// makeRow reads a visit with all that its row needs.
func (o *Office) makeRow(id string, now time.Time) (*madeRow, error) {
	src := &noting{store: o.store, from: map[string]bool{}}
	broken := &madeRow{broken: true} // it is read again whenever it is listed
	v, err := plant.LoadVisit(src, id)
	if Unreadable(err) {
		return broken, nil // one unreadable visit must not hide the others
	}
	if err != nil {
		return nil, err
	}
	runs, err := plant.Runs(src, v.ID)
	if err == nil {
		err = compare(src, &v, runs)
	}
	if Unreadable(err) {
		return broken, nil
	}
	if err != nil {
		return nil, err
	}
	looked := attention(&v, runs, now)
	again, err := foundAgain(src, &v, runs)
	if err != nil {
		return nil, err
	}
	if again {
		looked = append([]string{"found_again"}, looked...)
	}
	r := &madeRow{
		row: Row{
			ID: id, Tag: v.Item.Tag, Serial: v.Item.Serial, Description: v.Item.Description,
			Area: v.Item.Area, Place: v.Item.Place, Method: v.Method.Name, Started: v.Started,
			Status: string(v.Status), Attention: looked, Changed: append([]string{}, v.Changed...),
		},
		person: v.Person, work: workOf(&v), latest: latest(&v),
	}
	r.ahead = isAhead(r.latest, now)
	sum := v.Summarise(runs)
	if sum.AsFound != nil {
		r.row.AsFound, r.row.WorstFraction = sum.AsFound.Verdict, sum.AsFound.WorstFraction
		r.row.OfLimit = ofLimit(r.row.WorstFraction)
	}
	if sum.AsLeft != nil {
		r.row.AsLeft = sum.AsLeft.Verdict
	}
	if !src.all {
		for id := range src.from {
			r.from = append(r.from, strings.Clone(id))
		}
	}
	r.own()
	return r, nil
}

// own copies the texts, which are parts of whole changes that would stay in memory with them.
func (r *madeRow) own() {
	for _, of := range []*string{
		&r.row.ID, &r.row.Tag, &r.row.Serial, &r.row.Description, &r.row.Area, &r.row.Place, &r.row.Method,
		&r.row.Started, &r.row.AsFound, &r.row.AsLeft, &r.person, &r.work,
	} {
		*of = strings.Clone(*of)
	}
	for _, list := range [][]string{r.row.Attention, r.row.Changed} {
		for i := range list {
			list[i] = strings.Clone(list[i])
		}
	}
}

// shown completes a row for a list.
func (o *Office) shown(r *madeRow, card *visitCard, names map[string]string, who authorised) Row {
	if r.broken {
		return Row{
			ID: card.id, Started: card.started, Signed: card.signed, Status: string(card.status),
			Attention: []string{"damaged"}, Changed: []string{},
		}
	}
	row := r.row
	row.Person, row.Signed = Called(names, r.person), card.signed
	row.Attention = append([]string{}, row.Attention...)
	if o.unauthorised(who, r.person, r.work, row.Started) {
		row.Attention = append(row.Attention, "no_competence")
	}
	return row
}

// noting reads records and notes which.
type noting struct {
	store *store.Store
	from  map[string]bool
	all   bool // it cannot say which
}

// Record reads a record.
func (n *noting) Record(id string) (merge.State, bool, error) {
	n.from[id] = true
	return n.store.Record(id)
}

// Children reads the children of a record. A change names the parent of its record, which notes
// them all.
func (n *noting) Children(id string) ([]merge.State, error) {
	n.from[id] = true
	return n.store.Children(id)
}

// History reads the changes of a record.
func (n *noting) History(record string) ([]store.Entry, error) {
	n.from[record] = true
	return n.store.History(record)
}

// ByKind reads records that are not known by an id.
func (n *noting) ByKind(kind, after string, limit int) ([]merge.State, error) {
	n.all = true
	return n.store.ByKind(kind, after, limit)
}

// Lookup reads records that are not known by an id.
func (n *noting) Lookup(kind, field, value string) ([]merge.State, error) {
	n.all = true
	return n.store.Lookup(kind, field, value)
}
