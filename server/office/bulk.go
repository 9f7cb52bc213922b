package office

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/server/certificates"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// ErrUndone is wrapped if a bulk change was already undone.
var ErrUndone = errors.New("this was undone already")

const (
	// maxBulk is how many instruments one bulk change may cover: it is one transaction, which holds
	// the writer.
	maxBulk = 20_000
	// maxBulks is how many bulk changes are listed for undoing.
	maxBulks = 20
	// maxMonths is the longest interval that a form accepts.
	maxMonths = 240
)

// Values are the values a bulk change gives to instruments. nil leaves a field as it is, and an
// empty text clears it.
type Values struct {
	Method         *string `json:"method,omitempty"`
	IntervalMonths *int    `json:"interval_months,omitempty"`
	Area           *string `json:"area,omitempty"`
	Due            *string `json:"due,omitempty"`
	Status         *string `json:"status,omitempty"`
	Language       *string `json:"language,omitempty"`
}

// Differing is one field of an instrument that would change.
type Differing struct {
	Field string `json:"field"`
	// Named are the entries of lists on the path of the field that have a name, by their own path.
	Named  map[string]string `json:"named,omitempty"`
	Before json.RawMessage   `json:"before"` // null where there is none
	After  json.RawMessage   `json:"after"`
}

// BulkRow is what a bulk change would do to one instrument.
type BulkRow struct {
	ID     string      `json:"id"`
	Tag    string      `json:"tag"`
	Fields []Differing `json:"fields"`
}

// BulkRefused is an instrument that cannot take the values, and why.
type BulkRefused struct {
	ID  string `json:"id"`
	Tag string `json:"tag"`
	Why string `json:"why"`
}

// Preview is what a bulk change would do.
type Preview struct {
	Rows    []BulkRow         `json:"rows"`
	Same    int               `json:"same"` // instruments that already have all the values
	Refused []BulkRefused     `json:"refused"`
	Names   map[string]string `json:"names"` // of the methods in the rows
	Shown   string            `json:"shown"` // names what is shown; nothing else is changed
}

// Bulk is a bulk change that was made.
type Bulk struct {
	ID     string     `json:"id"`
	By     string     `json:"by"` // user id
	At     string     `json:"at"`
	Count  int        `json:"count"`
	Values Values     `json:"values"`
	Undone string     `json:"undone"` // when; "" if it was not undone
	Parts  []bulkPart `json:"parts,omitempty"`
}

// bulkPart is what was done to one instrument, for undoing.
type bulkPart struct {
	Record string      `json:"record"`
	Change string      `json:"change"`
	Fields []Differing `json:"fields"`
}

// sets lists the given fields, in the order in which they are shown.
func (v *Values) sets() (list []plant.Set, err error) {
	text := func(field string, value *string) {
		if value == nil {
			return
		}
		var to any
		if *value != "" {
			to = *value
		}
		list = append(list, plant.Set{Field: field, Value: to})
	}
	text("method", v.Method)
	if n := v.IntervalMonths; n != nil {
		if *n < 1 || *n > maxMonths {
			return nil, document.Refuse(
				document.CodeRange, "interval_months",
				"is a number of months from 1 to "+strconv.Itoa(maxMonths),
			)
		}
		list = append(list, plant.Set{Field: "interval_months", Value: *n})
	}
	text("area", v.Area)
	if v.Due != nil && *v.Due != "" {
		if _, err := time.Parse(time.DateOnly, *v.Due); err != nil {
			return nil, fmt.Errorf("due: %w", ErrDate)
		}
	}
	text("due", v.Due)
	if v.Status != nil && !slices.Contains([]string{InService, "out of service"}, *v.Status) {
		return nil, document.Refuse(
			document.CodeRange, "status",
			strconv.Quote(*v.Status)+" is neither in service nor out of service",
		)
	}
	text("status", v.Status)
	if v.Language != nil && *v.Language != "" && !slices.Contains(certificates.Languages, *v.Language) {
		return nil, document.Refuse(document.CodeRange, "language", strconv.Quote(*v.Language)+" is neither en nor de")
	}
	text("language", v.Language)
	if len(list) == 0 {
		return nil, document.Refuse(document.CodeMissing, "values", "say what is to be changed")
	}
	return list, nil
}

// PreviewBulk returns what giving values to some instruments would do. It writes nothing.
//
// Refuses: a Fault that names the value; plant.ErrNotFound for a method.
func (o *Office) PreviewBulk(ids []string, v Values) (Preview, error) {
	p := Preview{Rows: []BulkRow{}, Refused: []BulkRefused{}, Names: map[string]string{}}
	_, err := o.look(ids, v, &p, nil)
	return p, err
}

// look finds what would be done, and drafts it if there is a drafter.
func (o *Office) look(
	ids []string, v Values, p *Preview, drafter *plant.Drafter,
) (list []change.Change, err error) {
	sets, err := v.sets()
	if err != nil {
		return nil, err
	}
	if len(ids) > maxBulk {
		return nil, document.Refuse(
			document.CodeRange, "instruments",
			"more than "+strconv.Itoa(maxBulk)+" cannot be changed at once",
		)
	}
	fits, err := o.fitter(v.Method, p.Names)
	if err != nil {
		return nil, err
	}
	sum := sha256.New()
	for _, id := range ids {
		state, err := o.Record(id)
		if err != nil && !errors.Is(err, plant.ErrNotFound) && !errors.Is(err, store.ErrDamaged) {
			return nil, err
		}
		tag := title(&state)
		if why := cannot(&state, err, sets); why != "" {
			p.Refused = append(p.Refused, BulkRefused{id, tag, why})
			continue
		}
		row := BulkRow{ID: id, Tag: tag}
		var wanted []plant.Set
		for _, s := range sets {
			after, err := plant.Canonical(s.Value)
			if err != nil {
				return nil, err
			}
			before := json.RawMessage("null")
			if b, ok := state.Value(s.Field); ok {
				before = b
			}
			if string(before) != string(after) {
				row.Fields, wanted = append(row.Fields, Differing{Field: s.Field, Before: before, After: after}), append(wanted, s)
			}
		}
		if len(row.Fields) == 0 {
			p.Same++
			continue
		}
		if row.Fields[0].Field == "method" {
			why, err := fits(&state)
			if err != nil {
				return nil, err
			}
			if why != "" {
				p.Refused = append(p.Refused, BulkRefused{id, tag, why})
				continue
			}
			o.nameMethod(row.Fields[0].Before, p.Names)
		}
		p.Rows = append(p.Rows, row)
		b, err := json.Marshal(row)
		if err != nil {
			return nil, err
		}
		sum.Write(b)
		if drafter != nil {
			one, _, err := drafter.Edit(state, o.now(), wanted...)
			if err != nil {
				return nil, err
			}
			list = append(list, one)
		}
	}
	p.Shown = hex.EncodeToString(sum.Sum(nil))
	return list, nil
}

// cannot returns why an instrument takes no values, or "".
func cannot(s *merge.State, err error, sets []plant.Set) string {
	switch {
	case errors.Is(err, plant.ErrNotFound):
		return "it is not here"
	case err != nil:
		return "its record cannot be read"
	case s.Kind != "instrument":
		return "it is no instrument"
	}
	for _, set := range sets {
		if f, ok := s.Field(set.Field); ok && f.Contested() {
			return set.Field + ": two people changed it without seeing each other; choose a value first"
		}
	}
	return ""
}

// nameMethod adds the name of a method to names by its id, if it has one.
func (o *Office) nameMethod(id json.RawMessage, names map[string]string) {
	of := textOf(id)
	if _, known := names[of]; known || of == "" {
		return
	}
	if state, err := o.Record(of); err == nil {
		names[of] = title(&state)
	}
}

// fitter returns a function that says why a method cannot be used for an instrument, in the words
// of the calculation that lays it out.
func (o *Office) fitter(
	method *string, names map[string]string,
) (func(*merge.State) (string, error), error) {
	if method == nil || *method == "" {
		return func(*merge.State) (string, error) { return "", nil }, nil
	}
	state, err := o.Record(*method)
	if err != nil {
		return nil, err
	}
	m, err := plant.ReadMethod(state)
	if err != nil {
		return nil, err
	}
	names[m.ID] = m.Name
	var of struct{ Kind string }
	if json.Unmarshal(m.Definition, &of) != nil || of.Kind == "" {
		return nil, document.Refuse(document.CodeConflict, "method", "the method is not published")
	}
	known := map[string]string{}
	return func(s *merge.State) (string, error) {
		b, _ := s.Value("kind")
		if kind := textOf(b); kind != "" && of.Kind != "programme" && kind != of.Kind {
			return "it is of the kind " + kind + ", the method is for " + of.Kind, nil
		}
		wants := plant.Wants(s)
		why, asked := known[wants]
		if !asked {
			if why, err = layOut(m.Definition, wants); err != nil {
				return "", err
			}
			known[wants] = why
		}
		return why, nil
	}, nil
}

// layOut lays a method out for an instrument and returns the calculation's refusal, or "".
func layOut(definition json.RawMessage, fields string) (string, error) {
	var item struct{ Instrument json.RawMessage }
	if err := json.Unmarshal(calc.Call("item", []byte(`{"fields":`+fields+`}`)), &item); err != nil {
		return "", err
	}
	in, err := json.Marshal(map[string]any{"method": definition, "instrument": item.Instrument})
	if err != nil {
		return "", err
	}
	var out struct {
		Error *struct{ Field, Message string }
	}
	if err := json.Unmarshal(calc.Call("expand", in), &out); err != nil || out.Error == nil {
		return "", err
	}
	if out.Error.Field == "" {
		return out.Error.Message, nil
	}
	return out.Error.Field + ": " + out.Error.Message, nil
}

// ChangeBulk gives values to instruments in one transaction, all of them or none, exactly as a
// preview showed it.
//
// Refuses: ErrStale if it would now do something else; those of PreviewBulk.
func (o *Office) ChangeBulk(
	ctx context.Context, user string, ids []string, v Values, shown string,
) (b Bulk, err error) {
	draft := func(drafter *plant.Drafter) ([]change.Change, []store.Step, error) {
		p := Preview{Names: map[string]string{}}
		list, err := o.look(ids, v, &p, drafter)
		if err != nil {
			return nil, nil, err
		}
		if p.Shown != shown {
			return nil, nil, ErrStale
		}
		b = Bulk{By: user, At: plant.Stamp(o.now()), Count: len(list), Values: v}
		if b.ID, err = change.NewID(rand.Reader); err != nil {
			return nil, nil, err
		}
		// Keys sort by time, and an id goes into a URL as it is.
		b.ID = strings.ReplaceAll(b.At, ":", "") + "_" + b.ID
		for i := range list {
			b.Parts = append(b.Parts, bulkPart{list[i].Record, list[i].ID, p.Rows[i].Fields})
		}
		step, err := o.noteBulk(&b)
		return list, []store.Step{step}, err
	}
	err = o.writer.writeNoted(ctx, user, draft, asSeen)
	b.Parts = nil
	return b, err
}

// asSeen refuses to overwrite what was written since the preview.
func asSeen(v store.View, c *change.Change) error {
	state, _, err := v.Record(c.Record)
	if err != nil {
		return err
	}
	for _, set := range c.Set {
		f, ok := state.Field(set.Field)
		if !ok {
			continue
		}
		for _, h := range f.Heads {
			if !slices.Contains(set.Sees, h.Change) {
				return ErrStale
			}
		}
	}
	return nil
}

func (o *Office) noteBulk(b *Bulk) (store.Step, error) {
	text, err := json.Marshal(b)
	return o.store.Private("bulks").Putting(b.ID, text), err
}

// UndoBulk restores the values that the instruments had. A field that was changed since keeps its
// value and is named.
//
// Refuses: plant.ErrNotFound, ErrUndone.
func (o *Office) UndoBulk(
	ctx context.Context, user, id string,
) (undone int, kept []BulkRefused, err error) {
	kept = []BulkRefused{}
	draft := func(drafter *plant.Drafter) (list []change.Change, _ []store.Step, err error) {
		b, err := o.bulk(id)
		if err != nil {
			return nil, nil, err
		}
		if b.Undone != "" {
			return nil, nil, ErrUndone
		}
		for _, part := range b.Parts {
			state, err := o.Record(part.Record)
			if err != nil {
				return nil, nil, err
			}
			var sets []plant.Set
			for _, d := range part.Fields {
				f, ok := state.Field(d.Field)
				if !ok || len(f.Heads) != 1 || f.Heads[0].Change != part.Change {
					kept = append(kept, BulkRefused{state.ID, title(&state), d.Field + " was changed since"})
					continue
				}
				sets = append(sets, plant.Set{Field: d.Field, Value: d.Before})
			}
			if len(sets) == 0 {
				continue
			}
			one, _, err := drafter.Edit(state, o.now(), sets...)
			if err != nil {
				return nil, nil, err
			}
			list = append(list, one)
		}
		undone, b.Undone = len(list), plant.Stamp(o.now())
		step, err := o.noteBulk(&b)
		return list, []store.Step{step}, err
	}
	if err := o.writer.writeNoted(ctx, user, draft, asSeen); err != nil {
		return 0, nil, err
	}
	return undone, kept, nil
}

func (o *Office) bulk(id string) (b Bulk, err error) {
	text, err := o.store.Private("bulks").Get(id)
	if err != nil {
		return b, err
	}
	if text == nil {
		return b, fmt.Errorf("the change %q %w", id, plant.ErrNotFound)
	}
	return b, json.Unmarshal(text, &b)
}

// Bulks lists the latest bulk changes, the newest first.
func (o *Office) Bulks() ([]Bulk, error) {
	list := []Bulk{}
	// Their keys begin with their dates.
	err := o.store.Private("bulks").Each(func(_ string, text []byte) error {
		var b Bulk
		err := json.Unmarshal(text, &b)
		b.Parts = nil
		list = append(list, b)
		return err
	})
	slices.Reverse(list)
	return list[:min(len(list), maxBulks)], err
}
