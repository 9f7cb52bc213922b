package office

import (
	"time"

	"gaugewright/server/plant"
)

// maxRegister is how many instruments one answer lists.
const maxRegister = 100

// Gauge is an instrument in a list.
type Gauge struct {
	ID          string      `json:"id"`
	Tag         string      `json:"tag"`
	Serial      string      `json:"serial"`
	Description string      `json:"description"`
	Range       plant.Range `json:"range"`
	Area        string      `json:"area"`
	Place       string      `json:"place"`
	Due         string      `json:"due"`
	Status      string      `json:"status"`
	Label       string      `json:"label"`
	Contested   []string    `json:"contested"`
	Damaged     bool        `json:"damaged"`
}

// maxLooked is how many instruments are looked at for one answer, where only those are asked for
// that are due.
const maxLooked = 2000

// Search says which instruments are asked for.
type Search struct {
	Name  string // those alone that have it as tag or alias
	Text  string // those that have every word of it
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
	var ids []string
	if q.Name != "" {
		ids, err = o.index.named(q.Name, most)
	} else {
		ids, next, err = o.index.search(q.Text, q.After, most)
	}
	if err != nil {
		return nil, "", err
	}
	list = []Gauge{}
	for i, id := range ids {
		v, err := plant.LoadInstrument(o.store, id)
		if err != nil && !Unreadable(err) {
			return nil, "", err
		}
		if by != "" && (err != nil || v.Due == "" || v.Due[:min(len(v.Due), len(by))] > by || v.Status != "" && v.Status != "in service") {
			continue
		}
		list = append(
			list,
			Gauge{
				id, v.Tag, v.Serial, v.Description, v.Range, v.Area, v.Place, v.Due, v.Status, v.Label,
				v.Contested, err != nil,
			},
		)
		if len(list) == maxRegister && i < len(ids)-1 {
			next = v.Tag + "\n" + id
			break
		}
	}
	return list, next, nil
}
