package office_test

import (
	"slices"
	"testing"

	"gaugewright/server/office"
	"gaugewright/server/plant"
)

// TestQueue checks that failures come before passes, that a returned visit stays in the queue
// behind both, and that an approved one leaves it.
func TestQueue(t *testing.T) {
	p := newPlace(t)
	ctx := t.Context()
	pass, fail, back := p.visit("PI-1"), p.visitReading("PI-2", "5.4"), p.visit("PI-3")
	if err := p.office.SendBack(ctx, reviewer, back, "which valve?", ""); err != nil {
		t.Fatal(err)
	}
	order := func(q office.Ask) (ids []string) {
		t.Helper()
		out, err := p.office.Queue(q)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range out.Rows {
			ids = append(ids, r.ID)
		}
		if out.All != 3 || out.Away != 1 || out.Found != len(ids) {
			t.Errorf("%+v", out)
		}
		return ids
	}
	for _, tt := range []struct {
		q    office.Ask
		want []string
	}{
		{office.Ask{}, []string{fail, pass, back}},
		{office.Ask{Sort: "tag"}, []string{pass, fail, back}},
		{office.Ask{State: string(plant.Returned)}, []string{back}},
		{office.Ask{Found: "fail"}, []string{fail}},
		{office.Ask{Person: "nobody"}, nil},
	} {
		if got := order(tt.q); !slices.Equal(got, tt.want) {
			t.Errorf("%+v: %v, want %v", tt.q, got, tt.want)
		}
	}
	if _, err := p.office.Approve(ctx, reviewer, pass, p.covers(pass), "", "", office.Sheet{}); err != nil {
		t.Fatal(err)
	}
	out, err := p.office.Queue(office.Ask{})
	if err != nil || len(out.Rows) != 2 || out.All != 2 {
		t.Errorf("%+v %v", out, err)
	}
}

// TestHistoryInWords checks that a history keeps what tells people something of a value, and drops
// strokes, hashes and lists of ids.
func TestHistoryInWords(t *testing.T) {
	p := newPlace(t)
	visit := p.visit("PI-1")
	list, err := p.office.History(visit)
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]string{}
	for _, c := range list {
		for _, x := range c.Set {
			said[x.Field] = string(x.Value)
		}
	}
	for field, want := range map[string]string{
		"signature": `{"at":"2026-03-04T05:06:07.000Z","name":"T"}`,
		"method":    `{"name":"Yearly check","version":1}`,
	} {
		if said[field] != want {
			t.Errorf("%s: %s", field, said[field])
		}
	}
}
