package office

import (
	"fmt"
	"slices"
	"strings"
)

// Part is the instruments that a query finds, and a description of them.
type Part struct {
	Instruments []string // nil: the whole plant
	Part        string   // "" then
}

// Wanted finds the instruments to export by a query. An empty query means the whole plant.
//
// Refuses: what Table refuses.
func (o *Office) Wanted(q Query) (p Part, err error) {
	var says []string
	say := func(name, value string) {
		if value != "" {
			says = append(says, name+" "+value)
		}
	}
	say("with the words", q.Text)
	for _, name := range Filters() {
		if values := q.Only[name]; len(values) > 0 {
			quoted := make([]string, len(values))
			for i, v := range values {
				quoted[i] = fmt.Sprintf("%q", v)
			}
			slices.Sort(quoted)
			say(name, strings.Join(quoted, " or "))
		}
	}
	say("due", q.Due)
	if q.AtLeast != "" {
		say("range to at least", q.AtLeast+" "+q.Unit)
	}
	if q.AtMost != "" {
		say("range to at most", q.AtMost+" "+q.Unit)
	}
	say("served by the standard", q.Standard)
	if len(says) == 0 {
		return p, nil
	}
	q.IDs, q.From, q.Most = true, 0, 1
	t, err := o.Table(q)
	if err != nil {
		return p, err
	}
	p.Instruments = t.IDs
	if p.Instruments == nil {
		p.Instruments = []string{}
	}
	p.Part = "instruments " + strings.Join(says, ", ")
	return p, nil
}
