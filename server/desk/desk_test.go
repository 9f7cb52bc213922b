package desk_test

import (
	"encoding/json"
	"errors"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/demo"
	"gaugewright/server/desk"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

type doc = map[string]any

const reviewer = "rev1ewer"

// place is the desk of an invented plant.
type place struct {
	t       testing.TB
	store   *store.Store
	office  *office.Office
	desk    *desk.Desk
	now     time.Time
	drafter plant.Drafter
}

func newPlace(t testing.TB, instruments int) *place {
	t.Helper()
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	p := &place{t: t, store: s, now: time.Date(2026, 9, 14, 9, 0, 0, 0, time.UTC)}
	clock := func() time.Time { return p.now }
	if instruments > 0 {
		if _, err := demo.Seed(t.Context(), s, demo.Options{
			Seed: 3, Today: p.now, Instruments: instruments, Years: 2,
		}); err != nil {
			t.Fatal(err)
		}
	}
	keeper, err := auth.New(s, clock)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := keeper.Add(reviewer, reviewer, auth.Reviewer, "a long enough secret"); err != nil {
		t.Fatal(err)
	}
	p.office = office.New(s, keeper, clock)
	p.desk = desk.New(t.Context(), s, p.office, clock)
	count, err := plant.HighestCount(s)
	if err != nil {
		t.Fatal(err)
	}
	p.drafter = plant.Drafter{Device: "dev1ce", Author: reviewer, Count: count, Random: rand.NewChaCha8([32]byte{1})}
	return p
}

func set(field string, value any) plant.Set { return plant.Set{Field: field, Value: value} }

func (p *place) keep(c change.Change, s merge.State, err error) merge.State {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
	if r, err := p.store.Add(p.t.Context(), []change.Change{c}); err != nil || len(r.Refused) > 0 {
		p.t.Fatal(err, r.Refused)
	}
	return s
}

// faultOf returns the field that an error names.
func faultOf(err error) string {
	var f *document.Fault
	if errors.As(err, &f) {
		return f.Field
	}
	return ""
}

// master is a standard of 0 to 10 bar with certificates from one and two years ago.
func (p *place) master() merge.State {
	p.t.Helper()
	rng := doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge", "absolute": "0.004", "k": "2"}
	at := func(e0, e10 string) []doc {
		return []doc{
			{"applied": "0", "error": e0, "expanded": "0.003", "k": "2"},
			{"applied": "10", "error": e10, "expanded": "0.003", "k": "2"},
		}
	}
	whole := doc{"points": at("0", "0.006")}
	for k, v := range rng {
		whole[k] = v
	}
	return p.keep(p.drafter.New("standard", "", "", p.now, set("name", "Master"), set("serial", "S1"),
		set("ranges", []doc{whole}), set("status", "in service"), set("certificate_no", "C2"),
		set("calibrated", "2026-01-10"), set("due", "2027-01-10"),
		set("certificate.a", doc{"number": "C1", "calibrated": "2025-01-10", "due": "2026-01-10", "by": "Lab",
			"range": rng, "points": at("0", "0.003")}),
		set("certificate.b", doc{"number": "C2", "calibrated": "2026-01-10", "due": "2027-01-10", "by": "Lab",
			"range": rng, "points": at("0", "0.009")})))
}

// TestCertificatesAreCompared: by hand the error at 10 bar changes by 0.006 with U 0.003 on both
// sides, so that En is 0.006 / (0.003 √2) = 1.4.
func TestCertificatesAreCompared(t *testing.T) {
	p := newPlace(t, 0)
	s := p.master()
	view, err := p.desk.Standard(s.ID)
	if err != nil || len(view.Certificates) != 2 {
		t.Fatalf("%+v %v", view, err)
	}
	now, before := view.Certificates[0], view.Certificates[1]
	if now.Number != "C2" || !now.InForce || now.Before != "C1" || now.WorstEn != "1.4" || now.Agrees ||
		now.Drift != "0.006" || now.PerYear != "0.0060041" {
		t.Errorf("%+v", now)
	}
	if before.InForce || before.Before != "" || len(before.Points) != 0 {
		t.Errorf("%+v", before)
	}
	if view.Row.State != desk.Valid || *view.Row.Days != 118 {
		t.Errorf("%+v", view.Row)
	}
}

// TestChecksBetweenCalibrations checks that a check is kept with what it means for the standard,
// and that one that does not agree puts the standard first in the list until it is taken back.
func TestChecksBetweenCalibrations(t *testing.T) {
	p := newPlace(t, 0)
	s := p.master()
	ctx := t.Context()
	check := func(c desk.NewCheck) error { return p.desk.Check(ctx, reviewer, s.ID, c) }
	good := desk.NewCheck{Date: "2026-03-01", Applied: "10", Shown: "10.010", Expanded: "0.002", With: "dead weights"}
	for field, change := range map[string]func(*desk.NewCheck){
		"date": func(c *desk.NewCheck) { c.Date = "2026-09-15" }, "applied": func(c *desk.NewCheck) { c.Applied = "11" },
		"shown":    func(c *desk.NewCheck) { c.Shown = "ten" },
		"expanded": func(c *desk.NewCheck) { c.Expanded = "-1" }, "of": func(c *desk.NewCheck) { c.Of = 1 },
	} {
		bad := good
		change(&bad)
		if got := faultOf(check(bad)); got != field {
			t.Errorf("the fault of %s is of %q", field, got)
		}
	}
	state := func() (string, desk.CheckChart) {
		t.Helper()
		view, err := p.desk.Standard(s.ID)
		if err != nil || len(view.Charts) != 1 {
			t.Fatalf("%+v %v", view.Charts, err)
		}
		return view.Row.State, view.Charts[0]
	}
	if err := check(good); err != nil {
		t.Fatal(err)
	}
	row, chart := state()
	// The certificate gives an expected +0.009; U of the standard combines its certificate and its
	// specification, 0.003 and 0.004 for k = 2.
	first := chart.Checks[0]
	if row != desk.Valid || chart.State != desk.Agrees || first.Error != "0.01" || first.Expected != "0.009" ||
		first.Deviation != "0.001" || !first.Agrees || chart.Base != 0 {
		t.Errorf("%s %+v", row, chart)
	}
	for day := range 6 {
		c := good
		c.Date = time.Date(2026, 3, 8+7*day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
		c.Shown = []string{"10.009", "10.010"}[day%2]
		if err := check(c); err != nil {
			t.Fatal(err)
		}
	}
	if row, chart = state(); chart.State != desk.InControl || chart.Base != 6 || row != desk.Valid {
		t.Errorf("%s %+v", row, chart)
	}
	bad := good
	bad.Date, bad.Shown = "2026-08-01", "10.030"
	if err := check(bad); err != nil {
		t.Fatal(err)
	}
	row, chart = state()
	last := chart.Checks[len(chart.Checks)-1]
	if row != desk.CheckOut || chart.State != desk.Out || last.Agrees || !last.Beyond {
		t.Errorf("%s %+v", row, last)
	}
	if err := p.desk.TakeBack(ctx, reviewer, s.ID, last.ID); err != nil {
		t.Fatal(err)
	}
	if row, _ = state(); row != desk.Valid {
		t.Error(row)
	}
	if err := p.desk.TakeBack(ctx, reviewer, s.ID, last.ID); !errors.Is(err, plant.ErrNotFound) {
		t.Error(err)
	}
}

// TestWhereAStandardIs checks who has it since when, and which others travel with it.
func TestWhereAStandardIs(t *testing.T) {
	p := newPlace(t, 0)
	a, b := p.master(), p.master()
	ctx := t.Context()
	where := plant.Whereabouts{Place: "van 2", Person: reviewer, Since: "2026-09-01"}
	if err := p.desk.Put(ctx, reviewer, a.ID, "Field kit", where); err != nil {
		t.Fatal(err)
	}
	if err := p.desk.Put(ctx, reviewer, b.ID, "field kit", plant.Whereabouts{}); err != nil {
		t.Fatal(err)
	}
	view, err := p.desk.Standard(a.ID)
	if err != nil || view.Row.Place != "van 2" || view.Row.Person != reviewer || len(view.Kit) != 1 || view.Kit[0].ID != b.ID {
		t.Errorf("%+v %v", view, err)
	}
	where.Since = "2026-09-15"
	if got := faultOf(p.desk.Put(ctx, reviewer, a.ID, "", where)); got != "since" {
		t.Error(got)
	}
	where.Since, where.Person = "2026-09-01", "nobody"
	if got := faultOf(p.desk.Put(ctx, reviewer, a.ID, "", where)); got != "person" {
		t.Error(got)
	}
}

// TestStandardsByWhatTheyNeed checks that those that need attention come first, then by due date.
func TestStandardsByWhatTheyNeed(t *testing.T) {
	p := newPlace(t, 0)
	for _, x := range [][3]string{ // calibrated, due, status
		{"2026-01-01", "2027-06-01", "in service"}, {"2026-01-01", "2027-01-01", "in service"},
		{"2025-01-01", "2026-09-13", "in service"}, {"2026-01-01", "2026-10-01", "in service"},
		{"2026-10-01", "2027-10-01", "in service"}, {"", "", "in service"}, {"2025-01-01", "2026-01-01", "out of service"},
	} {
		p.keep(p.drafter.New("standard", "", "", p.now, set("name", "N"), set("calibrated", x[0]), set("due", x[1]), set("status", x[2])))
	}
	list, err := p.desk.Standards()
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range list {
		got = append(got, r.State+" "+r.Due)
	}
	want := []string{"future 2027-10-01", "expired 2026-09-13", "no_date ", "soon 2026-10-01", "valid 2027-01-01",
		"valid 2027-06-01", "out 2026-01-01"}
	if !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
}

// doubted is the standard of the invented plant with the most results on one of its ranges, and the
// known values of that range.
func (p *place) doubted() (id string, q plant.LookbackQuestion) {
	p.t.Helper()
	briefs, err := p.office.Briefs("", "")
	if err != nil {
		p.t.Fatal(err)
	}
	counts, most := map[string]int{}, 0
	for _, b := range briefs {
		for _, s := range b.Standards {
			of, err := p.office.UsesOf(s, b.ID)
			if err != nil {
				p.t.Fatal(err)
			}
			for _, u := range of {
				var kept struct {
					Snapshot struct{ Range json.RawMessage }
				}
				var known struct{ Points json.RawMessage }
				if json.Unmarshal(u.Standard, &kept) != nil || json.Unmarshal(kept.Snapshot.Range, &known) != nil ||
					len(known.Points) == 0 || u.As != "standard" {
					continue
				}
				var r plant.Range
				if err := json.Unmarshal(kept.Snapshot.Range, &r); err != nil {
					p.t.Fatal(err)
				}
				key := s + string(r.High) + r.Unit
				if counts[key]++; counts[key] > most {
					most, id = counts[key], s
					q = plant.LookbackQuestion{
						Range: kept.Snapshot.Range, Since: "2020-01-01", After: known.Points, Reason: "found out",
					}
				}
			}
		}
	}
	return id, q
}

// shifted changes the errors of points by a fraction of the range.
func shifted(t testing.TB, points json.RawMessage, by float64) json.RawMessage {
	t.Helper()
	var list []map[string]any
	if err := json.Unmarshal(points, &list); err != nil {
		t.Fatal(err)
	}
	for _, x := range list {
		x["error"] = by
	}
	b, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func (p *place) wait(id string) desk.LookbackView {
	p.t.Helper()
	for {
		view, err := p.desk.Lookback(id)
		if err != nil {
			p.t.Fatal(err)
		}
		if view.Row.Progress.State != "running" {
			if view.Row.Progress.State != "done" || view.Row.Progress.Done != view.Row.Progress.Of {
				p.t.Fatalf("%+v", view.Row.Progress)
			}
			return view
		}
		time.Sleep(time.Millisecond)
	}
}

// TestAStandardWasOut checks that a look-back finds what is touched, that a visit that cannot be
// read is listed and hides nothing, and that each instrument is tracked until it is closed.
func TestAStandardWasOut(t *testing.T) {
	p := newPlace(t, 20)
	ctx := t.Context()
	id, q := p.doubted()
	var rng plant.Range
	if err := json.Unmarshal(q.Range, &rng); err != nil {
		t.Fatal(err)
	}
	damaged := p.keep(p.drafter.New("visit", "", "", p.now, set("instrument", "x"), set("started", plant.Stamp(p.now)),
		set("standard", doc{"id": id, "range": rng}), set("item", "no item")))

	high := json.Number(rng.High)
	top, err := high.Float64()
	if err != nil {
		t.Fatal(err)
	}
	for field, change := range map[string]func(*plant.LookbackQuestion){
		"since": func(q *plant.LookbackQuestion) { q.Since = "soon" }, "after": func(q *plant.LookbackQuestion) { q.After = nil },
		"reason": func(q *plant.LookbackQuestion) { q.Reason = " " },
		"range":  func(q *plant.LookbackQuestion) { q.Range = json.RawMessage(`{"low":"0","high":"1","unit":"mm"}`) },
	} {
		bad := q
		change(&bad)
		if _, err := p.desk.Open(ctx, reviewer, id, bad); faultOf(err) != field {
			t.Errorf("the fault of %s: %v", field, err)
		}
	}
	out := q
	out.After = shifted(t, q.After, 0.2*top)
	lookback, err := p.desk.Open(ctx, reviewer, id, out)
	if err != nil {
		t.Fatal(err)
	}
	view := p.wait(lookback)
	f := view.Row.Found
	if f == nil || f.Runs == 0 || f.Changed == 0 || f.Suspect == 0 {
		t.Fatalf("%+v", f)
	}
	if len(view.Unread) != 1 || view.Unread[0].Visit != damaged.ID || f.Faults != 1 {
		t.Errorf("%+v, %d faults", view.Unread, f.Faults)
	}
	if len(view.Instruments) < 2 || !view.Instruments[0].Failing || view.Row.Undecided != len(view.Instruments) {
		t.Fatalf("%+v", view.Row)
	}
	one, two := view.Instruments[0].ID, view.Instruments[1].ID
	if err := p.desk.Begin(reviewer, lookback); !errors.Is(err, desk.ErrBusy) {
		t.Error(err)
	}
	if err := p.desk.Close(ctx, reviewer, lookback, []string{one}, "done"); !errors.Is(err, desk.ErrUndecided) {
		t.Error(err)
	}
	decision := plant.LookbackDecision{Way: "recall", Reason: "outside now", Owner: reviewer, Due: "2026-09-13"}
	for field, change := range map[string]func(*plant.LookbackDecision){
		"way":    func(x *plant.LookbackDecision) { x.Way = "forget" },
		"reason": func(x *plant.LookbackDecision) { x.Reason = "" },
		"owner":  func(x *plant.LookbackDecision) { x.Owner = "nobody" },
		"due":    func(x *plant.LookbackDecision) { x.Due = "" },
	} {
		bad := decision
		change(&bad)
		if err := p.desk.Decide(ctx, reviewer, lookback, []string{one}, bad); faultOf(err) != field {
			t.Errorf("the fault of %s: %v", field, err)
		}
	}
	if err := p.desk.Decide(ctx, reviewer, lookback, []string{one, two}, decision); err != nil {
		t.Fatal(err)
	}
	if view = p.wait(lookback); view.Row.Open != 2 || view.Row.Overdue != 2 {
		t.Errorf("%+v", view.Row)
	}
	if err := p.desk.Close(ctx, reviewer, lookback, []string{one}, "recalibrated on site"); err != nil {
		t.Fatal(err)
	}
	// A new decision opens the instrument again.
	decision.Way, decision.Owner, decision.Due = "none", "", ""
	if err := p.desk.Decide(ctx, reviewer, lookback, []string{one}, decision); err != nil {
		t.Fatal(err)
	}
	if view = p.wait(lookback); view.Row.Open != 2 || view.Row.Closed {
		t.Errorf("%+v", view.Row)
	}
	var rest []string
	for _, x := range view.Instruments {
		rest = append(rest, x.ID)
	}
	if err := p.desk.Decide(ctx, reviewer, lookback, rest, decision); err != nil {
		t.Fatal(err)
	}
	if err := p.desk.Close(ctx, reviewer, lookback, rest, "nothing to do"); err != nil {
		t.Fatal(err)
	}
	if view = p.wait(lookback); !view.Row.Closed {
		t.Errorf("%+v", view.Row)
	}

	// Values that were known all along change nothing.
	q.Before = q.After
	same, err := p.desk.Open(ctx, reviewer, id, q)
	if err != nil {
		t.Fatal(err)
	}
	if view = p.wait(same); view.Row.Found.Changed != 0 || view.Row.Found.Suspect != 0 || len(view.Instruments) != 0 {
		t.Errorf("%+v", view.Row.Found)
	}
}
