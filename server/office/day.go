package office

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"gaugewright/server/plant"
)

// ErrDate is wrapped where a date is not one of the calendar.
var ErrDate = errors.New("date has the form 2026-03-04")

// Row is a visit in a list.
type Row struct {
	ID            string   `json:"id"`
	Tag           string   `json:"tag"`
	Serial        string   `json:"serial"`
	Description   string   `json:"description"`
	Area          string   `json:"area"`
	Place         string   `json:"place"`
	Method        string   `json:"method"`
	Person        string   `json:"person"`
	Started       string   `json:"started"`
	Signed        string   `json:"signed"`
	Status        string   `json:"status"`
	AsFound       string   `json:"as_found"` // verdicts; "" where there is none
	AsLeft        string   `json:"as_left"`
	WorstFraction *float64 `json:"worst_fraction"`
	Attention     []string `json:"attention"`
	Changed       []string `json:"changed"` // what was changed since it was signed, or approved: names of fields, "runs", or "away" for what has not arrived
}

// maxWaiting is how many visits of other days are listed at once; what is left comes up as these
// are dealt with.
const maxWaiting = 200

// Day is what the office sees of a day: the visits that were begun or signed on it, and those of
// other days that wait.
type Day struct {
	Visits, Waiting []Row
	More            int // how many more wait
	Quarantined     int
}

// Day lists the visits of a date.
//
// Refuses: ErrDate.
func (o *Office) Day(date string) (d Day, err error) {
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return d, ErrDate
	}
	today, waiting, err := o.index.day(date)
	if err != nil {
		return d, err
	}
	d.More = max(0, len(waiting)-maxWaiting)
	names, err := o.Names()
	if err != nil {
		return d, err
	}
	if d.Visits, err = o.rows(today, names); err != nil {
		return d, err
	}
	if d.Waiting, err = o.rows(waiting[:len(waiting)-d.More], names); err != nil {
		return d, err
	}
	d.Quarantined, err = o.store.HeldCount()
	return d, err
}

func (o *Office) rows(cards []visitCard, names map[string]string) ([]Row, error) {
	list := []Row{}
	who, err := o.authorised()
	if err != nil {
		return nil, err
	}
	for _, card := range cards {
		r, err := o.row(card, names, who)
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	slices.SortStableFunc(list, func(a, b Row) int { // what can hurt somebody first
		return cmp.Compare(
			map[bool]int{true: 0, false: 1}[urgent(a.Attention)],
			map[bool]int{true: 0, false: 1}[urgent(b.Attention)],
		)
	})
	return list, nil
}

func (o *Office) row(card visitCard, names map[string]string, who authorised) (Row, error) {
	damaged := Row{
		ID: card.id, Started: card.started, Signed: card.signed, Status: string(card.status),
		Attention: []string{"damaged"}, Changed: []string{},
	}
	v, err := plant.LoadVisit(o.store, card.id)
	if Unreadable(err) {
		return damaged, nil // one unreadable visit does not hide the others
	}
	if err != nil {
		return Row{}, err
	}
	runs, err := plant.Runs(o.store, v.ID)
	if err == nil {
		err = o.compare(&v, runs)
	}
	if Unreadable(err) {
		return damaged, nil
	}
	if err != nil {
		return Row{}, err
	}
	looked, err := o.attention(&v, runs, who)
	if err != nil {
		return Row{}, err
	}
	r := Row{ID: v.ID, Tag: v.Item.Tag, Serial: v.Item.Serial, Description: v.Item.Description, Area: v.Item.Area, Place: v.Item.Place,
		Method: v.Method.Name, Person: Called(names, v.Person), Started: v.Started, Signed: card.signed, Status: string(v.Status), Attention: looked, Changed: append([]string{}, v.Changed...)}
	sum := v.Summarise(runs)
	if sum.AsFound != nil {
		r.AsFound, r.WorstFraction = sum.AsFound.Verdict, sum.AsFound.WorstFraction
	}
	if sum.AsLeft != nil {
		r.AsLeft = sum.AsLeft.Verdict
	}
	return r, nil
}
