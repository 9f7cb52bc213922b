package office

import (
	"fmt"
	"slices"
	"time"

	"gaugewright/server/plant"
)

// maxRegister is how many instruments one answer lists.
const maxRegister = 100

// Gauge is an instrument in a list.
type Gauge struct {
	ID             string       `json:"id"`
	Tag            string       `json:"tag"`
	Serial         string       `json:"serial"`
	Description    string       `json:"description"`
	Kind           string       `json:"kind"` // "transmitter" for a gauge with an output
	Manufacturer   string       `json:"manufacturer"`
	Model          string       `json:"model"`
	Range          *plant.Range `json:"range"`
	Limit          *plant.Limit `json:"limit"`
	Area           string       `json:"area"`
	Site           string       `json:"site"` // id, "" for none
	Place          string       `json:"place"`
	Method         string       `json:"method"` // its name
	IntervalMonths int          `json:"interval_months"`
	Due            string       `json:"due"`
	Status         string       `json:"status"`
	Tested         string       `json:"tested"`  // the day of the latest visit with a result; "" if there is none
	Verdict        string       `json:"verdict"` // of that visit, as found
	Label          string       `json:"label"`
	Contested      []string     `json:"contested"`
	Damaged        bool         `json:"damaged"`
	// Orders are its open work orders.
	Orders []plant.Ordered `json:"orders"`
}

// wanted reports whether an open order asks for the instrument by a day. An order without a day
// asks for it now.
func (g *Gauge) wanted(by string) bool {
	return slices.ContainsFunc(g.Orders, func(o plant.Ordered) bool { return o.Wanted <= by })
}

// maxLooked is how many instruments one answer examines when only those due are asked for.
const maxLooked = 2000

// Search selects instruments.
type Search struct {
	Name  string // only those with this tag or alias
	Text  string // only those that match it
	After string // the place to continue from, "" for the first
	Due   string // only those in service that are due, or ordered, by this day
}

// Register lists instruments by tag, a page at a time; next is where the next page starts, "" at
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
		found, err = o.index.named(q.Name, nil, most)
	} else {
		found, next, err = o.index.search(q.Text, q.After, most)
	}
	if err != nil {
		return nil, "", err
	}
	list = []Gauge{}
	for i, g := range found {
		due := g.Due != "" && g.Due <= by || g.wanted(by)
		if by != "" && (g.Damaged || !due || g.Status != InService) {
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

// Listed returns an instrument as lists show it.
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

// Papers lists the certificates of a visit in order of issue, replaced ones too.
func (o *Office) Papers(visit string) ([]Paper, error) { return o.certificatesOf(visit) }
