package office_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"gaugewright/server/office"
	"gaugewright/server/plant"
)

// planned is a place with a method of about ten minutes, two standards, and instruments for them.
func planned(t *testing.T) (p *place, method string) {
	p = newPlace(t)
	method = p.keep(p.phone.New("method", "", "", p.now, set("name", "Five points"), set("kind", "gauge"),
		set("definition", doc{"kind": "gauge", "points": doc{"count": 5}, "decision": doc{"rule": "simple"}}))).ID
	for name, due := range map[string]string{"Kit A": "2026-06-30", "Kit B": "2027-12-01"} {
		high := map[string]string{"Kit A": "16", "Kit B": "100"}[name]
		p.keep(p.phone.New("standard", "", "", p.now, set("name", name), set("status", "in service"), set("due", due),
			set("calibrated", "2026-01-01"), set("ranges", []doc{{"low": "-1", "high": high, "unit": "bar", "mode": "gauge",
				"of_span_percent": "0.01", "k": "2"}})))
	}
	return p, method
}

func (p *place) gauge(tag, area, high, due, method string, months int) string {
	return p.keep(p.phone.New("instrument", "", "", p.now, set("tag", tag), set("kind", "gauge"), set("area", area),
		set("status", "in service"), set("interval_months", months), set("due", due), set("resolution", "0.01"),
		set("limit", doc{"rule": "en837", "class": "1"}), set("method", method),
		set("range", doc{"low": "0", "high": high, "unit": "bar", "mode": "gauge"}))).ID
}

// TestWorkload checks that every test of the year is counted in the week in which it is due and
// planned no later, that no week has more work than time, and that a test that cannot be done has
// the reason.
func TestWorkload(t *testing.T) {
	p, method := planned(t)
	day := func(n int) string { return p.now.AddDate(0, 0, n).Format(time.DateOnly) }
	for i := range 60 {
		p.gauge(fmt.Sprint("PI-", i), []string{"Weir", "Mill"}[i%2], "10", day(70), method, 12)
	}
	p.gauge("PI-OLD", "Mill", "10", day(-100), method, 6)
	p.gauge("PI-HIGH", "Mill", "600", day(30), method, 12)
	p.gauge("PI-BARE", "Mill", "10", day(30), "", 12)
	if err := p.office.SetPlanSettings(office.PlanSettings{Areas: []string{"Weir", "Mill"}, Hours: 0.5, AwayDays: 21}); err != nil {
		t.Fatal(err)
	}
	w, err := p.office.Workload()
	if err != nil {
		t.Fatal(err)
	}
	tests, minutes, levelled := 0, 0, 0
	for _, week := range w.Weeks {
		tests, minutes, levelled = tests+week.Tests, minutes+week.Minutes, levelled+week.Levelled
		if week.Levelled > week.Capacity {
			t.Errorf("%+v has more than there is time for", week)
		}
		sum := 0
		for _, a := range week.Areas {
			sum += a.Minutes
		}
		if sum != week.Minutes {
			t.Errorf("areas add up to %d of %d", sum, week.Minutes)
		}
	}
	// 60, PI-OLD now and after six and twelve months, PI-HIGH, PI-BARE
	if tests != 65 || w.Weeks[0].Tests != 1 || w.Weeks[0].Start != "2026-03-02" {
		t.Errorf("%d tests, %+v", tests, w.Weeks[0])
	}
	if w.Whys["standard"] != 1 || w.Whys["method"] != 1 || w.Whys["hours"] == 0 || len(w.Unmet) != w.Whys["hours"]+2 {
		t.Errorf("%+v", w.Whys)
	}
	if w.Areas[0] != "Weir" {
		t.Errorf("%v", w.Areas)
	}
	// Kit A is due in June 2026: it is away before, and Kit B serves meanwhile.
	if len(w.Standards) != 1 || w.Standards[0].Name != "Kit A" || w.Standards[0].Back > "2026-06-30" {
		t.Errorf("%+v", w.Standards)
	}
	more := w.Settings
	more.Hours = 40
	if err := p.office.SetPlanSettings(more); err != nil {
		t.Fatal(err)
	}
	if w, err = p.office.Workload(); err != nil || w.Whys["hours"] != 0 {
		t.Errorf("%v %v", w.Whys, err)
	}
	more.Hours = 0
	if p.office.SetPlanSettings(more) == nil {
		t.Error("no hours are taken")
	}
}

// TestBoard checks that proposals follow the order of areas and never need a standard that another
// round of the day has. Rounds that clash are named, with a free day.
func TestBoard(t *testing.T) {
	p, method := planned(t)
	if _, err := p.keeper.Add("sec0ndtech", "second", "technician", "a long enough secret"); err != nil {
		t.Fatal(err)
	}
	due := p.now.AddDate(0, 0, 1).Format(time.DateOnly)
	var ids []string
	for i := range 30 {
		ids = append(ids, p.gauge(fmt.Sprint("PI-", i), []string{"Mill", "Weir"}[i%2], "60", due, method, 12))
	}
	if err := p.office.SetPlanSettings(office.PlanSettings{Areas: []string{"Weir", "Mill"}, Hours: 30}); err != nil {
		t.Fatal(err)
	}
	b, err := p.office.Board(due)
	if err != nil || len(b.Ideas) == 0 || b.Ideas[0].Areas[0] != "Weir" {
		t.Fatalf("%+v %v", b.Ideas, err)
	}
	stops, used := 0, map[string]string{}
	for _, idea := range b.Ideas {
		stops += len(idea.Stops)
		for _, s := range idea.Standards {
			if who, taken := used[idea.Date+s]; idea.Date != "" && taken && who != idea.Person {
				t.Errorf("%s is needed twice on %s", s, idea.Date)
			}
			used[idea.Date+s] = idea.Person
		}
	}
	if stops != 30 {
		t.Errorf("%d stops of 30", stops)
	}
	of := func(person string, id string) office.NewRound {
		r := office.NewRound{Date: due, Person: person, Title: "To " + person}
		r.Stops = append(r.Stops, b.Ideas[0].Stops[0])
		r.Stops[0].Instrument = id
		return r
	}
	if err := p.office.MakeRounds(t.Context(), reviewer, []office.NewRound{of(technician, ids[0]), of("nobody", ids[1])}); err == nil {
		t.Error("a round for nobody is made")
	}
	if err := p.office.MakeRounds(t.Context(), reviewer, []office.NewRound{of(technician, ids[0]), of("sec0ndtech", ids[1])}); err != nil {
		t.Fatal(err)
	}
	if b, err = p.office.Board(due); err != nil || len(b.Rounds) != 2 || len(b.Clashes) != 1 {
		t.Fatalf("%+v %v", b, err)
	}
	c := b.Clashes[0]
	if c.Standard != "Kit B" || c.Free == "" {
		t.Errorf("%+v", c)
	}
	second := b.Rounds[1]
	if err := p.office.MoveRound(t.Context(), reviewer, second.ID, c.Free, second.Person, "as it was not"); !errors.Is(err, office.ErrStale) {
		t.Error(err)
	}
	if err := p.office.MoveRound(t.Context(), reviewer, second.ID, c.Free, second.Person, second.Date+" "+second.Person); err != nil {
		t.Fatal(err)
	}
	if b, err = p.office.Board(due); err != nil || len(b.Clashes) != 0 {
		t.Errorf("%+v %v", b.Clashes, err)
	}
	for _, idea := range b.Ideas {
		for _, s := range idea.Stops {
			if s.Instrument == ids[0] || s.Instrument == ids[1] {
				t.Error("what is in a round is proposed again")
			}
		}
	}
}

// TestPlanningKnowsCompetenceAndOrders checks that nobody is proposed for work they are not
// authorised for, that an existing round of that sort is flagged, and that work nobody may do says
// so. A work order moves its test to the day by which it is wanted, an urgent one to today.
func TestPlanningKnowsCompetenceAndOrders(t *testing.T) {
	p, method := planned(t)
	if _, err := p.keeper.Add("sec0ndtech", "second", "technician", "a long enough secret"); err != nil {
		t.Fatal(err)
	}
	due := p.now.AddDate(0, 0, 1).Format(time.DateOnly)
	far := p.now.AddDate(0, 0, 200).Format(time.DateOnly)
	first := p.gauge("PI-1", "Mill", "10", due, method, 12)
	p.gauge("PI-2", "Mill", "10", due, method, 12)
	ordered := p.gauge("PI-3", "Yard", "10", far, method, 12)
	state, _, err := p.store.Record(ordered)
	if err != nil {
		t.Fatal(err)
	}
	p.keep(p.phone.Edit(state, p.now, set("order.x", doc{
		"number": "W-1", "text": "shows nonsense", "wanted": "", "priority": "urgent", "from": "the works",
	})))
	may := func(user, kind string) {
		a := office.Authorisation{Kind: kind, May: []string{"do"}, From: "2026-01-01", Evidence: "seen"}
		if err := p.office.Authorise(t.Context(), reviewer, user, "", a); err != nil {
			t.Fatal(err)
		}
	}
	may(technician, "leak")
	w, err := p.office.Workload()
	if err != nil || w.Whys["competence"] == 0 || len(w.Unmet) == 0 || w.Unmet[0].Why != "competence" {
		t.Fatalf("nobody may test gauges: %v %v", w.Whys, err)
	}
	may("sec0ndtech", "gauge")
	b, err := p.office.Board(due)
	if err != nil || len(b.Ideas) == 0 {
		t.Fatalf("%+v %v", b, err)
	}
	if idea := b.Ideas[0]; idea.Person != "sec0ndtech" || idea.Urgent != 1 || idea.Tags[0] != "PI-3" || len(idea.Stops) != 3 {
		t.Errorf("%+v", idea)
	}
	err = p.office.MakeRounds(t.Context(), reviewer, []office.NewRound{
		{Date: due, Person: technician, Title: "Mill", Stops: []plant.Stop{{Instrument: first}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if b, err = p.office.Board(due); err != nil || len(b.Rounds) != 1 || !slices.Equal(b.Rounds[0].Unfit, []string{"gauge"}) {
		t.Errorf("%+v %v", b.Rounds, err)
	}
}
