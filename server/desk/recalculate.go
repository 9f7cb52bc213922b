package desk

import (
	"context"
	"encoding/json"
	"slices"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

const (
	// visitsAtOnce is how many visits are examined between two reports of progress.
	visitsAtOnce = 50
	// itemsAtOnce is how many instruments one change of a look-back names.
	itemsAtOnce = 50
)

// result is the outcome for one use of the standard.
type result struct {
	use      *office.Use
	before   string
	after    string
	was, is  *float64
	changed  bool
	readings int
	out      int
	fault    string
}

// calculate judges all results that depend on the standard again and stores what is touched.
func (d *Desk) calculate(ctx context.Context, user string, l *plant.Lookback) error {
	briefs, err := d.office.BriefsWith(l.Standard, l.Question.Since)
	if err != nil {
		return err
	}
	d.advance(l.ID, func(p *Progress) { p.Of = len(briefs) })
	found := plant.LookbackFound{}
	items, unread := map[string]*plant.LookbackItem{}, []plant.LookbackUnread{}
	for part := range slices.Chunk(briefs, visitsAtOnce) {
		if err := ctx.Err(); err != nil {
			return err
		}
		var uses []office.Use
		for i := range part {
			of, err := d.office.UsesOf(l.Standard, part[i].ID)
			if err != nil {
				return err
			}
			for _, u := range of {
				if u.Run == "" { // the whole visit cannot be read
					unread = append(unread, plant.LookbackUnread{Visit: u.Visit, Tag: u.Tag, Started: part[i].Started, Why: u.Unread})
					continue
				}
				uses = append(uses, u)
			}
		}
		results, err := again(uses, &l.Question)
		if err != nil {
			return err
		}
		for i := range results {
			if err := d.take(&results[i], &found, items); err != nil {
				return err
			}
		}
		d.advance(l.ID, func(p *Progress) { p.Done += len(part) })
	}
	found.Faults += len(unread)
	found.At = plant.Stamp(d.now())
	return d.keep(ctx, user, l.ID, &found, items, unread)
}

// again judges uses with the present values of the standard.
func again(uses []office.Use, q *plant.LookbackQuestion) ([]result, error) {
	if len(uses) == 0 {
		return nil, nil
	}
	type asked struct {
		Standard   json.RawMessage `json:"standard"`
		YearsSince string          `json:"years_since"`
		Unread     bool            `json:"unread"`
	}
	in := map[string]any{"range": q.Range, "after": q.After, "most": len(uses)}
	if len(q.Before) > 0 {
		in["before"] = q.Before
	}
	list := make([]asked, 0, len(uses))
	for i := range uses {
		list = append(list, asked{uses[i].Standard, uses[i].YearsSince, uses[i].Unread != ""})
	}
	in["uses"] = list
	var grouped struct {
		OfRange []int `json:"of_range"`
		Pieces  []struct {
			Unit          string
			Before, After json.RawMessage
			Uses          []int
		}
	}
	if err := ask("uses", in, &grouped); err != nil {
		return nil, err
	}
	results := map[int]*result{}
	for _, n := range grouped.OfRange {
		results[n] = &result{use: &uses[n], before: uses[n].Verdict, fault: uses[n].Unread}
		if results[n].fault == "" {
			results[n].fault = "nothing is known of the standard's accuracy on this visit"
		}
	}
	for _, p := range grouped.Pieces {
		judged(uses, p.Unit, p.Before, p.After, p.Uses, results)
	}
	out := make([]result, 0, len(results))
	for _, n := range grouped.OfRange {
		out = append(out, *results[n])
	}
	return out, nil
}

// judged calls the calculation reverse for uses with the same values of the standard. If it refuses
// them all, each has that fault.
func judged(
	uses []office.Use, unit string, before, after json.RawMessage, places []int, results map[int]*result,
) {
	type affected struct {
		As    string          `json:"as"`
		Sheet json.RawMessage `json:"sheet"`
	}
	in := map[string]any{"unit": unit, "before": before, "after": after}
	list := make([]affected, 0, len(places))
	for _, n := range places {
		list = append(list, affected{uses[n].As, uses[n].Sheet})
	}
	in["affected"] = list
	type side struct {
		Verdict string
		Worst   *float64 `json:"worst_fraction"`
	}
	var reply struct {
		Sheets []struct {
			Before, After side
			Changed       bool
			Taken         struct{ Out int }
			Readings      []json.RawMessage
			Error         *struct{ Message string }
		}
	}
	err := ask("reverse", in, &reply)
	for i, n := range places {
		r := results[n]
		switch {
		case err != nil:
			r.fault = err.Error()
		case i >= len(reply.Sheets):
			r.fault = "the calculation gave no result"
		case reply.Sheets[i].Error != nil:
			r.fault = reply.Sheets[i].Error.Message
		default:
			x := &reply.Sheets[i]
			r.fault, r.before, r.after, r.was, r.is = "", x.Before.Verdict, x.After.Verdict, x.Before.Worst, x.After.Worst
			r.changed, r.readings, r.out = x.Changed, len(x.Readings), x.Taken.Out
		}
	}
}

// take counts a result, and lists it if it is touched.
func (d *Desk) take(r *result, found *plant.LookbackFound, items map[string]*plant.LookbackItem) error {
	found.Runs++
	switch {
	case r.fault != "":
		found.Faults++
	case r.changed:
		found.Changed++
	}
	if r.out > 0 {
		found.Suspect++
	}
	if r.fault == "" && !r.changed && r.readings == 0 && r.out == 0 {
		return nil
	}
	u := r.use
	item := items[u.Instrument]
	if item == nil {
		item = &plant.LookbackItem{Tag: u.Tag, Serial: u.Serial, Description: u.Description}
		items[u.Instrument] = item
	}
	certificate, err := d.certificateOf(u.Visit)
	if err != nil {
		return err
	}
	item.Runs = append(item.Runs, plant.LookbackRun{
		Visit: u.Visit, Label: u.Label, As: u.As, Started: u.Started, Before: r.before, After: r.after,
		WorstBefore: r.was, WorstAfter: r.is, Readings: r.readings, Out: r.out, Certificate: certificate, Fault: r.fault,
	})
	return nil
}

// certificateOf is the number of the latest certificate of a visit, "" if it has none.
func (d *Desk) certificateOf(visit string) (number string, err error) {
	kids, err := d.store.Children(visit)
	if err != nil {
		return "", err
	}
	issued := ""
	for _, k := range kids {
		if k.Kind != "certificate" {
			continue
		}
		if c, err := plant.ReadCertificate(k); err == nil && c.Issued >= issued {
			number, issued = c.Number, c.Issued
		}
	}
	return number, nil
}

// keep writes what was found, a few instruments per change. The mark that it is complete comes
// last, so that an interrupted look-back starts again.
func (d *Desk) keep(
	ctx context.Context, user, id string, found *plant.LookbackFound, items map[string]*plant.LookbackItem,
	unread []plant.LookbackUnread,
) error {
	var all []plant.Set
	for instrument, item := range items {
		all = append(all, plant.Set{Field: "affected." + instrument, Value: item})
	}
	for _, u := range unread {
		all = append(all, plant.Set{Field: "unread." + u.Visit, Value: u})
	}
	slices.SortFunc(all, func(a, b plant.Set) int {
		if a.Field < b.Field {
			return -1
		}
		return 1
	})
	write := func(set []plant.Set) error {
		_, err := d.office.Edit(ctx, user, func() (merge.State, []plant.Set, error) {
			s, err := d.office.Record(id)
			return s, set, err
		})
		return err
	}
	for part := range slices.Chunk(all, itemsAtOnce) {
		if err := write(part); err != nil {
			return err
		}
	}
	return write([]plant.Set{{Field: "found", Value: found}})
}
