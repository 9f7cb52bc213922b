package office

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"gaugewright/calc/rounding"
)

// ErrDate is wrapped if a date is not valid.
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
	AsFound       string   `json:"as_found"` // verdicts; "" if there is none
	AsLeft        string   `json:"as_left"`
	WorstFraction *float64 `json:"worst_fraction"`
	OfLimit       string   `json:"of_limit,omitempty"` // the largest error in whole per cent of its limit
	Attention     []string `json:"attention"`
	Changed       []string `json:"changed"` // since the signature or approval: fields, "runs", or "away" for what has not arrived
}

// maxWaiting is how many visits of other days are listed. The rest appear as these are dealt with.
const maxWaiting = 200

// Day is the office's view of a day: the visits that began or were signed on it, and those of other
// days that wait.
type Day struct {
	Visits, Waiting []Row
	More            int // how many more wait
	Quarantined     int
}

func ofLimit(part *float64) string {
	if part == nil {
		return ""
	}
	return rounding.OfLimit(*part)
}

// Day lists the visits of a date.
//
// Refuses: ErrDate.
func (o *Office) Day(date string) (d Day, err error) {
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return d, ErrDate
	}
	today, waiting, more, err := o.index.day(date)
	if err != nil {
		return d, err
	}
	d.More = more
	names, err := o.Names()
	if err != nil {
		return d, err
	}
	if d.Visits, err = o.rows(today, names); err != nil {
		return d, err
	}
	if d.Waiting, err = o.rows(waiting, names); err != nil {
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
	made, err := o.made(cards)
	if err != nil {
		return nil, err
	}
	for i, r := range made {
		list = append(list, o.shown(r, &cards[i], names, who))
	}
	slices.SortStableFunc(list, func(a, b Row) int { // safety first
		return cmp.Compare(
			map[bool]int{true: 0, false: 1}[urgent(a.Attention)],
			map[bool]int{true: 0, false: 1}[urgent(b.Attention)],
		)
	})
	return list, nil
}
