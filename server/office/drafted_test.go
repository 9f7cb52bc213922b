package office_test

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"gaugewright/calc"
	"gaugewright/server/office"
	"gaugewright/server/plant"
)

// TestDraftMovesNoDueDate checks that work by a draft of a method, signed and approved, moves no
// due date. The dates of the register and the label stay. The advice on the interval, and the due
// date from accepting it, rest on the work by published methods only, and so does the history
// behind the forecasts. The same work by a published method does move the advice.
func TestDraftMovesNoDueDate(t *testing.T) {
	for _, c := range []struct {
		name    string
		version int
		moves   bool
	}{{"draft", 0, false}, {"published", 1, true}} {
		t.Run(c.name, func(t *testing.T) {
			p := newPlace(t)
			due := p.now.AddDate(0, 0, 20).Format(time.DateOnly)
			id := p.tested("PI-1", "Quiet", due, 0.1, 0.12)
			p.figures("")
			before, err := p.office.Outlook(id)
			if err != nil {
				t.Fatal(err)
			}
			visit := p.byMethod(id, c.version)
			if _, err := p.office.Approve(t.Context(), reviewer, visit, p.covers(visit), "", "no effect on the process", office.Sheet{}); err != nil {
				t.Fatal(err)
			}
			v, err := plant.LoadVisit(p.store, visit)
			if err != nil || v.Status != plant.Approved {
				t.Fatal(v.Status, err)
			}
			p.stillDue(id, due)
			p.figures("")
			after, err := p.office.Outlook(id)
			if err != nil {
				t.Fatal(err)
			}
			moved := after.Advice.NewDue != before.Advice.NewDue || after.Advice.Last.ID != before.Advice.Last.ID ||
				len(after.Found) != len(before.Found) || after.Advice.Tests != before.Advice.Tests
			if moved != c.moves {
				t.Errorf("advice %+v of %d, was %+v of %d", after.Advice, len(after.Found), before.Advice, len(before.Found))
			}
			if past := p.past(t, id, c.version < 1); past != c.moves {
				t.Errorf("in the history that the phone forecasts from: %v", past)
			}
		})
	}
}

// byMethod makes a signed visit of an instrument by version n of a method; 0 is a draft.
func (p *place) byMethod(instrument string, n int) string {
	p.t.Helper()
	id := p.visitOf(instrument, "PI-1", "5.3")
	v, err := plant.LoadVisit(p.store, id)
	if err != nil {
		p.t.Fatal(err)
	}
	state, err := p.office.Record(id)
	if err != nil {
		p.t.Fatal(err)
	}
	state = p.keep(p.phone.Edit(state, p.now, set("instrument", instrument), set("method", doc{
		"id": "m", "version": n, "name": "Yearly check", "definition": json.RawMessage(v.Method.Definition),
	}), set("summary", doc{"as_found": found("fail", 1.9)})))
	p.keep(p.phone.Edit(state, p.now, set("signature", doc{
		"name": "T", "strokes": []any{}, "at": plant.Stamp(p.now), "covers": p.covers(id), "of": plant.SignedOf,
	})))
	return id
}

// stillDue checks an instrument's due date, and that of its dated label.
func (p *place) stillDue(id, due string) {
	p.t.Helper()
	s, err := p.office.Record(id)
	if err != nil {
		p.t.Fatal(err)
	}
	if v, err := plant.ReadInstrument(s); err != nil || v.Due != due {
		p.t.Errorf("due %s, was %s: %v", v.Due, due, err)
	}
	list, err := p.office.Labels(p.t.Context(), reviewer, "https://office.example", []string{id}, true)
	if err != nil || len(list) != 1 || !slices.Contains(list[0].More, "due: "+due) {
		p.t.Errorf("label %+v, %v", list, err)
	}
}

// past asks the calculation past, as the phone does, whether a visit counts in its instrument's
// history.
func (p *place) past(t *testing.T, id string, draft bool) bool {
	t.Helper()
	b, err := json.Marshal(doc{"visits": []doc{{
		"id": id, "started": plant.Stamp(p.now), "signed": true, "draft": draft,
		"summary": doc{"as_found": found("fail", 1.9)},
	}}})
	if err != nil {
		t.Fatal(err)
	}
	var out struct {
		History []json.RawMessage
		Code    string
	}
	if err := json.Unmarshal(calc.Call("past", b), &out); err != nil || out.Code != "" {
		t.Fatal(out.Code, err)
	}
	return len(out.History) > 0
}
