package office

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// Office works with the records of a store and the accounts. It knows no HTTP.
type Office struct {
	store    *store.Store
	keeper   *auth.Keeper
	now      func() time.Time
	index    *Index
	writer   *Writer
	contests *contests
	traces   awaited
	list     listed
	uses     *keyUses
	erased   erasedLists
	tests    *tests
}

// New returns the office of a store. A store has only one, since it has one writer. The office
// takes its calendar from now.
func New(s *store.Store, k *auth.Keeper, now func() time.Time) *Office {
	return &Office{store: s, keeper: k, now: now, index: NewIndex(s, now), writer: NewWriter(s),
		contests: newContests(s), uses: &keyUses{store: s}, tests: &tests{store: s, now: now}}
}

// Warm brings the lists in memory up to the journal's end, makes the rows of the queue and of today,
// counts the journal's changes, looks for contested records and asks which standards serve what, so
// that nobody waits for it who asks first.
func (o *Office) Warm() error {
	if err := o.index.whole(); err != nil {
		return err
	}
	cards, _, _, err := o.index.waiting()
	if err != nil {
		return err
	}
	if _, err := o.made(cards); err != nil {
		return err
	}
	today, waiting, _, err := o.index.day(o.now().Format(time.DateOnly))
	if err != nil {
		return err
	}
	if _, err := o.made(append(today, waiting...)); err != nil {
		return err
	}
	if err := o.writer.catchUp(); err != nil {
		return err
	}
	_, err = o.contests.all()
	return errors.Join(err, o.index.prepare())
}

// Unreadable reports whether an error is of one unreadable record, and not of the store.
func Unreadable(err error) bool {
	return errors.Is(err, plant.ErrValue) || errors.Is(err, store.ErrDamaged)
}

// sources is what a visit and everything about it is read from.
type sources interface {
	plant.Source
	plant.Journal
}

// compare notes on a visit what its signature, or the approval in force, does not cover, and
// whether their keys confirm them.
func compare(src sources, v *plant.Visit, runs []plant.Run) (err error) {
	if v.Approval != nil {
		v.Changed, err = v.Unapproved(src, runs)
	} else {
		v.Changed, err = v.Unsigned(src, runs)
	}
	if err == nil {
		v.Marks, err = plant.MarksOf(src, src, v, len(v.Changed) == 0)
	}
	return err
}

// Names maps user ids to names: of people on record, and of accounts without a record.
func (o *Office) Names() (map[string]string, error) {
	users, err := o.keeper.Users()
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, u := range users {
		names[u.ID] = u.Name
	}
	people, err := o.store.ByKind("person", "", 0)
	if err != nil {
		return nil, err
	}
	for _, one := range people {
		if p, err := plant.ReadPerson(one); err == nil && p.Name != "" {
			names[p.ID] = p.Name
		}
	}
	return names, nil
}

// Called returns a person's name, or the id if no name is known.
func Called(names map[string]string, id string) string {
	if n, ok := names[id]; ok {
		return n
	}
	return id
}

// Record returns a record.
//
// Refuses: plant.ErrNotFound.
func (o *Office) Record(id string) (merge.State, error) {
	state, ok, err := o.store.Record(id)
	if err == nil && !ok {
		err = fmt.Errorf("the record %q %w", id, plant.ErrNotFound)
	}
	return state, err
}

// textOf returns a JSON text, or "" for anything else.
func textOf(b []byte) (text string) {
	if json.Unmarshal(b, &text) != nil {
		return ""
	}
	return text
}

func settingOf(c *change.Change, field string) ([]byte, bool) {
	for _, set := range c.Set {
		if set.Field == field {
			return set.Value, true
		}
	}
	return nil, false
}
