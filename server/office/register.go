package office

import (
	"fmt"
	"time"

	"gaugewright/server/plant"
)

// maxRegister is how many instruments one answer lists.
const maxRegister = 100

// Gauge is an instrument in a list.
type Gauge struct {
	ID             string      `json:"id"`
	Tag            string      `json:"tag"`
	Serial         string      `json:"serial"`
	Description    string      `json:"description"`
	Kind           string      `json:"kind"` // "transmitter" for a gauge with an output
	Manufacturer   string      `json:"manufacturer"`
	Model          string      `json:"model"`
	Range          plant.Range `json:"range"`
	Limit          plant.Limit `json:"limit"`
	Area           string      `json:"area"`
	Place          string      `json:"place"`
	Method         string      `json:"method"` // its name
	IntervalMonths int         `json:"interval_months"`
	Due            string      `json:"due"`
	Status         string      `json:"status"`
	Tested         string      `json:"tested"`  // the day of the latest visit with a result; "" where there is none
	Verdict        string      `json:"verdict"` // of that visit, as found
	Label          string      `json:"label"`
	Contested      []string    `json:"contested"`
	Damaged        bool        `json:"damaged"`
}

// maxLooked is how many instruments are looked at for one answer, where only those are asked for
// that are due.
const maxLooked = 2000

// Search says which instruments are asked for.
type Search struct {
	Name  string // those alone that have it as tag or alias
	Text  string // those that answer it
	After string // the place to go on from, "" for the first
	Due   string // those alone in service that are due by this day
}

// Register lists instruments by tag, a piece at a time: next is where the next piece begins, "" at
// the end.
//
// Refuses: ErrDate.
func (o *Office) Register(q Search) (list []Gauge, next string, err error) {
	by, most := q.Due, maxRegister
	if by != "" {
		if _, err := time.Parse(time.DateOnly, by); err != nil {
			return nil, "", ErrDate
		}
		most = maxLooked
	}
	var found []Gauge
	if q.Name != "" {
		found, err = o.index.named(q.Name, most)
	} else {
		found, next, err = o.index.search(q.Text, q.After, most)
	}
	if err != nil {
		return nil, "", err
	}
	list = []Gauge{}
	for i, g := range found {
		if by != "" && (g.Damaged || g.Due == "" || g.Due > by || g.Status != InService) {
			continue
		}
		list = append(list, g)
		if len(list) == maxRegister && i < len(found)-1 {
			next = g.Tag + "\n" + g.ID
			break
		}
	}
	return list, next, nil
}

// Listed is an instrument as lists show it.
//
// Refuses: plant.ErrNotFound.
func (o *Office) Listed(id string) (Gauge, error) {
	x := o.index
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return Gauge{}, err
	}
	c := x.gauges[id]
	if c == nil {
		return Gauge{}, fmt.Errorf("the instrument %q %w", id, plant.ErrNotFound)
	}
	return c.Gauge, nil
}

// Papers lists the certificates of a visit in the order of their issue, replaced ones too.
func (o *Office) Papers(visit string) ([]Paper, error) { return o.certificatesOf(visit) }
