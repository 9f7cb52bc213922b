package office

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"unique"

	"gaugewright/calc"
	"gaugewright/sync/merge"
)

// NoStandard asks for the instruments that no standard serves today.
const NoStandard = "none"

// served remembers which standards serve what on a day. Most instruments of a plant are like
// others, so that few are asked about.
type served struct {
	day       string
	standards json.RawMessage // nil until they are read
	known     map[demand][]string
}

// demand is what decides which standard serves an instrument: its method and its own record.
type demand struct {
	method string
	wants  unique.Handle[string]
}

func (s *served) forget() { *s = served{} }

// standardFields are what the calculation choose takes of a standard.
var standardFields = []string{
	"name", "status", "due", "calibrated", "medium", "cleaned_for_oxygen", "ranges",
}

// serving says of each instrument whether a standard serves it today with its own method, or with
// NoStandard whether none does. An instrument without a method asks for no standard.
func (x *Index) serving(standard, today string) (func(*card) bool, error) {
	if x.served.day != today {
		x.served = served{day: today, known: map[demand][]string{}}
	}
	if x.served.standards == nil {
		if err := x.readStandards(); err != nil {
			return nil, err
		}
	}
	for _, c := range x.gauges {
		of := demand{c.facts.Method, c.wants}
		if _, known := x.served.known[of]; known || len(x.methods[c.facts.Method].definition) == 0 {
			continue
		}
		list, err := x.chosen(of)
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

func (x *Index) readStandards() error {
	states, err := x.store.ByKind("standard", "", 0)
	if err != nil {
		return err
	}
	list := []map[string]json.RawMessage{}
	for i := range states {
		if states[i].Damaged == "" {
			list = append(list, fieldsOf(&states[i], standardFields))
		}
	}
	x.served.standards, err = json.Marshal(list)
	return err
}

// fieldsOf gives some fields of a record with its id.
func fieldsOf(s *merge.State, names []string) map[string]json.RawMessage {
	out := map[string]json.RawMessage{"id": json.RawMessage(fmt.Sprintf("%q", s.ID))}
	for _, name := range names {
		if b, ok := s.Value(name); ok && string(b) != "null" {
			out[name] = b
		}
	}
	if out["ranges"] == nil {
		out["ranges"] = json.RawMessage("[]")
	}
	return out
}

// chosen lists the standards against which nothing speaks.
func (x *Index) chosen(of demand) ([]string, error) {
	wants, method := of.wants.Value(), x.methods[of.method]
	var item struct{ Instrument json.RawMessage }
	if err := json.Unmarshal(calc.Call("item", []byte(`{"fields":`+wants+`}`)), &item); err != nil {
		return nil, err
	}
	var about struct {
		Medium   string
		Cautions []string
	}
	_ = json.Unmarshal([]byte(wants), &about) // what cannot be read speaks for no service
	cautions := append(append([]string{}, about.Cautions...), method.cautions...)
	in, err := json.Marshal(map[string]any{
		"method": method.definition, "instrument": item.Instrument, "today": x.served.day,
		"medium": about.Medium, "cautions": cautions,
		"standards": x.served.standards,
	})
	if err != nil {
		return nil, err
	}
	var out struct {
		List []struct {
			Standard   string
			Objections []json.RawMessage
		}
		Error *struct{ Field, Message string }
	}
	if err := json.Unmarshal(calc.Call("choose", in), &out); err != nil {
		return nil, err
	}
	// An instrument that cannot be worked on by its method has no list: no standard serves it.
	if e := out.Error; e != nil && !strings.HasPrefix(e.Field, "instrument") && !strings.HasPrefix(e.Field, "method") {
		return nil, fmt.Errorf("which standard serves it: %s: %s", e.Field, e.Message)
	}
	var list []string
	for _, one := range out.List {
		if len(one.Objections) == 0 && !slices.Contains(list, one.Standard) {
			list = append(list, one.Standard)
		}
	}
	return list, nil
}
