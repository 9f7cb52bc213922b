package office

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"

	"gaugewright/calc"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

var (
	// ErrDiffers is wrapped if a finding cannot be confirmed.
	ErrDiffers = errors.New("the server calculates another result from what is recorded; send the visit back, so that it is calculated and signed again")
	// ErrAway is wrapped if a finding cannot be recalculated yet.
	ErrAway = errors.New("the record of a logger has not arrived, so that the result cannot be calculated again")
)

// Recheck recalculates the findings in some changes from what is recorded, and notes on the visit
// where they differ. It also notes that a finding agrees again.
func (o *Office) Recheck(ctx context.Context, list []change.Change) error {
	var all error
	for i := range list {
		c := &list[i]
		if c.Kind != "run" || !slices.ContainsFunc(c.Set, func(x change.Setting) bool { return x.Field == "finding" }) {
			continue
		}
		if err := o.recheckRun(ctx, c.Record); err != nil {
			all = errors.Join(all, fmt.Errorf("run %s could not be calculated again: %w", c.Record, err))
		}
	}
	return all
}

// awaited are the runs that wait for a logger's record before they can be recalculated; the record
// arrives after the run that refers to it. After a restart a run is known again once somebody opens
// its visit for approval.
type awaited struct {
	mu   sync.Mutex
	runs map[string][]string // by the record's SHA-256
}

func (a *awaited) wait(sha256, run string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.runs == nil {
		a.runs = map[string][]string{}
	}
	if !slices.Contains(a.runs[sha256], run) {
		a.runs[sha256] = append(a.runs[sha256], run)
	}
}

// Arrived recalculates what waited for a blob, which is kept whatever the result.
func (o *Office) Arrived(ctx context.Context, sha256 string) (all error) {
	o.traces.mu.Lock()
	runs := o.traces.runs[sha256]
	delete(o.traces.runs, sha256)
	o.traces.mu.Unlock()
	for _, id := range runs {
		all = errors.Join(all, o.recheckRun(ctx, id))
	}
	return all
}

// recheckTraces recalculates those runs of a visit that use records of loggers, and reports whether
// any of these records has not arrived.
func (o *Office) recheckTraces(ctx context.Context, runs []plant.Run) (away bool, err error) {
	for i := range runs {
		for _, name := range runs[i].Records() {
			here, err := o.store.HasBlob(name)
			if err != nil {
				return away, err
			}
			away = away || !here
		}
		if len(runs[i].Records()) > 0 {
			if err := o.recheckRun(ctx, runs[i].ID); err != nil {
				return away, err
			}
		}
	}
	return away, nil
}

// confirm recalculates every finding of a visit from its present state, and refuses one that
// differs or cannot be calculated.
func (o *Office) confirm(ctx context.Context, runs []plant.Run) error {
	for i := range runs {
		note, away, err := o.checkRun(ctx, runs[i].ID)
		switch {
		case err != nil:
			return err
		case away:
			return ErrAway
		case note != "":
			return fmt.Errorf("%w: %s: %s", ErrDiffers, runs[i].Label, note)
		}
	}
	return nil
}

func (o *Office) recheckRun(ctx context.Context, id string) error {
	_, _, err := o.checkRun(ctx, id)
	return err
}

// checkRun recalculates the finding of a run and notes on the visit if it differs; away is true if
// a logger's record has not arrived.
func (o *Office) checkRun(ctx context.Context, id string) (note string, away bool, err error) {
	state, err := o.Record(id)
	if err != nil {
		return "", false, err
	}
	run, err := plant.ReadRun(state)
	if err != nil || run.Finding == nil {
		return "", false, err
	}
	v, err := plant.LoadVisit(o.store, run.Parent)
	if err != nil {
		return "", false, err
	}
	sheet, err := v.Sheet(&run, run.Stopped == "")
	if missing := (*plant.TraceError)(nil); errors.As(err, &missing) {
		o.traces.wait(missing.SHA256, id)
		return "", true, nil
	}
	if err != nil {
		return "", false, err
	}
	if note, err = Differs(run.Finding.Raw, calc.Call("evaluate", sheet)); err != nil {
		return "", false, err
	}
	field := "check." + run.ID
	return note, false, o.writer.Write(ctx, "", func(p *plant.Drafter) ([]change.Change, error) {
		visit, err := o.Record(v.ID)
		if err != nil {
			return nil, err
		}
		if f, noted := visit.Field(field); note == "" && !noted || noted && alreadyNoted(f, note) {
			return nil, nil
		}
		one, _, err := p.Edit(
			visit, o.now(),
			plant.Set{Field: field, Value: map[string]any{"ok": note == "", "calc": calc.Version, "note": note}},
		)
		return []change.Change{one}, err
	})
}

// alreadyNoted reports whether a check has this note already, by this version.
func alreadyNoted(f *merge.Field, note string) bool {
	var was struct{ Calc, Note string }
	return len(f.Heads) == 1 && json.Unmarshal(f.Heads[0].Value, &was) == nil && was.Calc == calc.Version && was.Note == note
}
