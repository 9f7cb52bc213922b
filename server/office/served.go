package office

import (
	"encoding/json"
	"fmt"
	"slices"
	"unique"

	"gaugewright/server/plant"
)

// NoStandard selects the instruments that no standard serves today.
const NoStandard = "none"

// served remembers which standards serve what on a day. Most instruments of a plant are alike, so
// few calculations are needed.
type served struct {
	day       string
	standards json.RawMessage // nil until they have been read
	known     map[demand][]string
}

// demand is what decides which standard serves an instrument: its method and its own record.
type demand struct {
	method string
	wants  unique.Handle[string]
}

func (s *served) forget() { *s = served{} }

// serving returns a function that reports whether a standard serves an instrument today with its
// own method or, for NoStandard, whether none does. An instrument without a method needs no
// standard.
func (x *Index) serving(standard, today string) (func(*card) bool, error) {
	if err := x.onDay(today); err != nil {
		return nil, err
	}
	for _, c := range x.gauges {
		of := demand{c.facts.Method, c.wants}
		if _, known := x.served.known[of]; known || len(x.methods[c.facts.Method].definition) == 0 {
			continue
		}
		list, err := x.methods[of.method].chosen(of, x.served.standards, today)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", c.Tag, err)
		}
		x.served.known[of] = list
	}
	return func(c *card) bool {
		list, asked := x.served.known[demand{c.facts.Method, c.wants}]
		if standard == NoStandard {
			return asked && len(list) == 0
		}
		return slices.Contains(list, standard)
	}, nil
}

// onDay forgets what was true of another day, and reads the standards.
func (x *Index) onDay(today string) error {
	if x.served.day != today {
		x.served = served{day: today, known: map[demand][]string{}}
	}
	if x.served.standards != nil {
		return nil
	}
	return x.readStandards()
}

func (x *Index) readStandards() error {
	states, err := x.store.ByKind("standard", "", 0)
	if err != nil {
		return err
	}
	list := []map[string]json.RawMessage{}
	for i := range states {
		if states[i].Damaged == "" {
			list = append(list, plant.StandardAsked(&states[i]))
		}
	}
	x.served.standards, err = json.Marshal(list)
	return err
}

// chosen lists the standards, of some, against which nothing speaks on a day.
func (method methodCard) chosen(of demand, standards json.RawMessage, today string) ([]string, error) {
	return plant.Serving(of.wants.Value(), method.definition, method.cautions, standards, today)
}
