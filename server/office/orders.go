package office

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"gaugewright/calc/document"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

var (
	// ErrOrderDiffers is wrapped if another order has the number.
	ErrOrderDiffers = errors.New("there is another order of this number")
	// ErrOrderDone is wrapped if a change is to an order whose work is approved.
	ErrOrderDone = errors.New("the work of this order is approved already")
)

// Priorities of an order, the most urgent first.
var Priorities = []string{"urgent", "soon", "normal"}

const (
	longestOrderNumber = 60
	longestOrderText   = 500
	// mostOrdered is how many instruments one order may name: the list of a shutdown.
	mostOrdered = 500
)

// WorkOrder is work that another system orders under a number of its own. Each of its instruments
// has it on its record, where planning and phones find it.
type WorkOrder struct {
	Number      string   `json:"number"`
	Text        string   `json:"text"`        // what is to be done
	Wanted      string   `json:"wanted"`      // the day by which it is wanted, "" if none was given
	Priority    string   `json:"priority"`    // one of Priorities
	Instruments []string `json:"instruments"` // ids
	From        string   `json:"from"`        // the ordering system
	Taken       string   `json:"taken"`       // when it arrived, RFC 3339
	Withdrawn   string   `json:"withdrawn"`   // when it was withdrawn, "" while it is in force
}

// OrderedVisit is a visit that was made for an order.
type OrderedVisit struct {
	ID           string
	Started      string
	Status       plant.Status
	AsFound      string
	AsLeft       string
	Certificates []Paper
}

// OrderedWork is the state of an order at one of its instruments.
type OrderedWork struct {
	Instrument, Tag, State string // state: open, begun, signed, returned, approved or reopened
	Visits                 []OrderedVisit
}

func (o *Office) orders() store.Private { return o.store.Private("work orders") }

// orderField returns the field of an instrument's record for an order. It is made from the order's
// number, so that the same order is the same field.
func orderField(number string) (string, error) {
	sum := sha256.Sum256([]byte("work order " + number))
	id, err := change.NewID(bytes.NewReader(sum[:]))
	return "order." + id, err
}

// CheckOrder checks an order's fields and brings them into the form in which they are stored.
//
// Refuses: a Fault that names the field.
func CheckOrder(w *WorkOrder) error {
	w.Number, w.Text = strings.TrimSpace(w.Number), strings.TrimSpace(w.Text)
	if n := utf8.RuneCountInString(w.Number); n == 0 || n > longestOrderNumber {
		return document.Refuse(
			document.CodeRange, "number", fmt.Sprintf("has 1 to %d characters", longestOrderNumber),
		)
	}
	if strings.ContainsFunc(w.Number, func(r rune) bool { return r < ' ' || r == '/' }) {
		return document.Refuse(document.CodeRange, "number", "has no slash and nothing that cannot be seen")
	}
	if utf8.RuneCountInString(w.Text) > longestOrderText {
		return document.Refuse(
			document.CodeRange, "text", fmt.Sprintf("has at most %d characters", longestOrderText),
		)
	}
	if _, err := time.Parse(time.DateOnly, w.Wanted); w.Wanted != "" && err != nil {
		return document.Refuse(document.CodeRange, "wanted", "is a day such as 2026-01-31")
	}
	w.Priority = cmp.Or(w.Priority, "normal")
	if !slices.Contains(Priorities, w.Priority) {
		return document.Refuse(
			document.CodeRange, "priority", "is one of "+strings.Join(Priorities, ", "),
		)
	}
	if len(w.Instruments) == 0 || len(w.Instruments) > mostOrdered {
		return document.Refuse(
			document.CodeRange, "tags", fmt.Sprintf("names 1 to %d instruments", mostOrdered),
		)
	}
	return nil
}

// Tagged finds the instruments in service that tags name, at some sites or, where none is named, at all.
//
// Refuses: a Fault that names the tag, as tags[2].
func (o *Office) Tagged(tags, sites []string) (ids []string, err error) {
	for i, tag := range tags {
		at := "tags[" + strconv.Itoa(i) + "]"
		found, err := o.index.named(strings.TrimSpace(tag), sites, maxRegister)
		if err != nil {
			return nil, err
		}
		found = slices.DeleteFunc(found, func(g Gauge) bool { return g.Status != InService })
		switch {
		case len(found) == 0:
			return nil, document.Refuse(
				document.CodeRange, at, strconv.Quote(tag)+" is no instrument in service here",
			)
		case len(found) > 1:
			return nil, document.Refuse(
				document.CodeConflict, at, strconv.Quote(tag)+" names more than one instrument",
			)
		case slices.Contains(ids, found[0].ID):
			return nil, document.Refuse(document.CodeConflict, at, strconv.Quote(tag)+" is there twice")
		}
		ids = append(ids, found[0].ID)
	}
	return ids, nil
}

// Order returns an order by its number.
//
// Refuses: plant.ErrNotFound.
func (o *Office) Order(number string) (w WorkOrder, err error) {
	b, err := o.orders().Get(number)
	if err == nil && b == nil {
		err = fmt.Errorf("the order %q %w", number, plant.ErrNotFound)
	}
	if err != nil {
		return w, err
	}
	return w, json.Unmarshal(b, &w)
}

// Orders lists orders by number, after the number after; "" starts at the first.
func (o *Office) Orders(after string, most int) (list []WorkOrder, err error) {
	at := after
	if after != "" {
		at += "\x00"
	}
	for len(list) < most {
		k, v, err := o.orders().From(at)
		if err != nil || k == "" {
			return list, err
		}
		var w WorkOrder
		if err := json.Unmarshal(v, &w); err != nil {
			return nil, fmt.Errorf("the order %q is damaged: %w", k, err)
		}
		list, at = append(list, w), k+"\x00"
	}
	return list, nil
}

// same reports whether two orders ask for the same.
func (w WorkOrder) same(x WorkOrder) bool {
	w.From, w.Taken, w.Withdrawn = x.From, x.Taken, x.Withdrawn
	return reflect.DeepEqual(w, x)
}

// TakeOrder stores an order and runs with in the same transaction. The same order again changes
// nothing; replace allows an order of the same number to change what it asks for.
//
// Gives:   the order as it is stored, and whether it is new.
// Refuses: ErrOrderDiffers, ErrOrderDone; those of CheckOrder.
func (o *Office) TakeOrder(
	ctx context.Context, w WorkOrder, replace bool,
	with func(w WorkOrder, fresh bool) ([]store.Step, error),
) (out WorkOrder, fresh bool, err error) {
	if err := CheckOrder(&w); err != nil {
		return w, false, err
	}
	err = o.writer.writeNoted(ctx, "", func(p *plant.Drafter) ([]change.Change, []store.Step, error) {
		old, err := o.Order(w.Number)
		fresh = errors.Is(err, plant.ErrNotFound)
		if err != nil && !fresh {
			return nil, nil, err
		}
		w.Taken, w.Withdrawn = plant.Stamp(o.now()), ""
		var list []change.Change
		switch {
		case !fresh && old.same(w) && old.Withdrawn == "":
			w = old
		case !fresh && !replace:
			return nil, nil, fmt.Errorf("%w: %s", ErrOrderDiffers, w.Number)
		default:
			if !fresh {
				w.Taken = old.Taken
			}
			if list, err = o.ordered(p, old.Instruments, w.Instruments, &w); err != nil {
				return nil, nil, err
			}
		}
		out = w
		b, err := json.Marshal(w)
		if err != nil {
			return nil, nil, err
		}
		steps, err := with(w, fresh)
		return list, append(steps, o.orders().Putting(w.Number, b)), err
	}, nil)
	return out, fresh, err
}

// WithdrawOrder withdraws an order; what was done for it stays.
//
// Refuses: plant.ErrNotFound, ErrOrderDone.
func (o *Office) WithdrawOrder(ctx context.Context, number string, with store.Step) error {
	return o.writer.writeNoted(ctx, "", func(p *plant.Drafter) ([]change.Change, []store.Step, error) {
		w, err := o.Order(number)
		if err != nil || w.Withdrawn != "" {
			return nil, nil, err
		}
		list, err := o.ordered(p, w.Instruments, nil, &w)
		if err != nil {
			return nil, nil, err
		}
		w.Withdrawn = plant.Stamp(o.now())
		b, err := json.Marshal(w)
		return list, []store.Step{o.orders().Putting(number, b), with}, err
	}, nil)
}

// ordered drafts an order onto the records of its instruments, and removes it from instruments that
// it no longer names.
func (o *Office) ordered(p *plant.Drafter, before, now []string, w *WorkOrder) (list []change.Change, err error) {
	field, err := orderField(w.Number)
	if err != nil {
		return nil, err
	}
	all := slices.Clone(now)
	for _, id := range before {
		if !slices.Contains(all, id) {
			all = append(all, id)
		}
	}
	for _, id := range all {
		state, err := o.Record(id)
		if err != nil {
			return nil, err
		}
		if has := orderOn(&state, field); has != nil && has.Done != "" {
			return nil, fmt.Errorf("%w: %s", ErrOrderDone, w.Number)
		}
		var said *plant.Ordered
		if slices.Contains(now, id) {
			said = &plant.Ordered{
				Number: w.Number, Text: w.Text, Wanted: w.Wanted, Priority: w.Priority, From: w.From,
			}
		}
		one, _, err := p.Edit(state, o.now(), plant.Set{Field: field, Value: said})
		if err != nil {
			return nil, err
		}
		list = append(list, one)
	}
	return list, nil
}

// orderOn reads an order from a field of an instrument's record; nil if there is none.
func orderOn(s *merge.State, field string) *plant.Ordered {
	var has *plant.Ordered
	if b, ok := s.Value(field); !ok || json.Unmarshal(b, &has) != nil {
		return nil
	}
	return has
}

// fulfilled drafts that an approved visit has done the order it names, if its instrument has that
// order.
func (o *Office) fulfilled(p *plant.Drafter, visit merge.State) ([]change.Change, error) {
	v, err := plant.ReadVisit(visit)
	if err != nil || v.Order.Number == "" {
		return nil, nil // a visit that cannot be read fulfils nothing
	}
	field, err := orderField(v.Order.Number)
	if err != nil {
		return nil, err
	}
	state, ok, err := o.store.Record(v.Instrument)
	if err != nil || !ok {
		return nil, err
	}
	has := orderOn(&state, field)
	if has == nil || has.Done != "" {
		return nil, nil
	}
	has.Done = visit.ID
	one, _, err := p.Edit(state, o.now(), plant.Set{Field: field, Value: has})
	return []change.Change{one}, err
}

// Work returns the state of an order at each of its instruments.
func (o *Office) Work(w *WorkOrder) (list []OrderedWork, err error) {
	for _, id := range w.Instruments {
		i, err := plant.LoadInstrument(o.store, id)
		if err != nil && !Unreadable(err) {
			return nil, err
		}
		one := OrderedWork{Instrument: id, Tag: i.Tag, State: "open", Visits: []OrderedVisit{}}
		visits, err := plant.History(o.store, id)
		if err != nil {
			return nil, err
		}
		for n := range visits {
			v := &visits[n]
			if v.Order.Number != w.Number {
				continue
			}
			papers, err := o.certificatesOf(v.ID)
			if err != nil {
				return nil, err
			}
			done := OrderedVisit{ID: v.ID, Started: v.Started, Status: v.Status, Certificates: papers}
			if v.Summary.AsFound != nil {
				done.AsFound = v.Summary.AsFound.Verdict
			}
			if v.Summary.AsLeft != nil {
				done.AsLeft = v.Summary.AsLeft.Verdict
			}
			one.Visits, one.State = append(one.Visits, done), string(v.Status)
			if v.Status == plant.Open {
				one.State = "begun"
			}
		}
		list = append(list, one)
	}
	return list, nil
}
