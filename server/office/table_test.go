package office_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/server/plant"

	"github.com/google/go-cmp/cmp"
)

// instrument adds an instrument to the register, in service unless facts say otherwise.
func (p *place) instrument(tag string, facts ...plant.Set) string {
	p.t.Helper()
	sets := append([]plant.Set{set("tag", tag)}, facts...)
	if !slices.ContainsFunc(facts, func(f plant.Set) bool { return f.Field == "status" }) {
		sets = append(sets, set("status", "in service"))
	}
	return p.keep(p.phone.New("instrument", "", "", p.now, sets...)).ID
}

func span(low, high, unit string) plant.Set {
	return set("range", doc{"low": low, "high": high, "unit": unit, "mode": "gauge"})
}

func tags(t office.Table) string {
	var list []string
	for _, g := range t.Rows {
		list = append(list, g.Tag)
	}
	return strings.Join(list, " ")
}

// register is a place with six instruments; the first has two visits.
func register(t *testing.T) (p *place, first string) {
	p = newPlace(t)
	method := p.keep(p.phone.New("method", "", "", p.now, set("name", "Five points"), set("kind", "gauge"),
		set("definition", doc{"kind": "gauge", "points": doc{"count": 5}, "decision": doc{"rule": "simple"}}))).ID
	class := set("limit", doc{"rule": "en837", "class": "1"})
	first = p.instrument("PI-2", span("0", "10", "bar"), set("kind", "gauge"), set("area", "Boiler house"), class,
		set("resolution", "0.02"), set("method", method), set("due", "2026-02-01"), set("manufacturer", "Fennmark"))
	p.instrument("PI-10", span("0", "145", "psi"), set("kind", "gauge"), set("area", "Boiler house"), class,
		set("resolution", "0.5"), set("due", "2026-03-04"), set("manufacturer", "Osterholt"))
	p.instrument("PI-11", span("0", "600", "bar"), set("kind", "gauge"), set("area", "Jetty"), class,
		set("resolution", "2"), set("method", method), set("due", "2026-04-01"))
	p.instrument(
		"PT-1", span("0", "10", "bar"), set("kind", "gauge"),
		set("output", doc{"low": "4", "high": "20", "unit": "mA"}),
	)
	p.instrument("AL-1", span("-1000", "20000", "ft"), set("kind", "altimeter"), set("area", "Hangar"))
	p.instrument(
		"PI-3", span("0", "10", "bar"), set("kind", "gauge"), set("due", "2026-01-01"), set("status", "out of service"),
	)
	for at, verdict := range map[string]string{"2025-01-01T08:00:00Z": "pass", "2026-01-01T08:00:00Z": "fail"} {
		p.keep(p.phone.New("visit", "", first, p.now, set("instrument", first), set("started", at),
			set("summary", doc{"as_found": doc{"verdict": verdict, "worst_fraction": 1, "points": []doc{}}})))
	}
	p.keep(p.phone.New("standard", "", "", p.now, set("name", "Kit"), set("due", "2027-01-01"), set("status", "in service"),
		set("calibrated", "2026-01-01"), set("ranges", []doc{{"low": "-1", "high": "20", "unit": "bar", "mode": "gauge",
			"of_span_percent": "0.02", "k": "2"}})))
	return p, first
}

func TestTable(t *testing.T) {
	p, _ := register(t)
	standards, err := p.store.ByKind("standard", "", 0)
	if err != nil {
		t.Fatal(err)
	}
	only := func(name string, values ...string) office.Query {
		return office.Query{Only: map[string][]string{name: values}}
	}
	for _, c := range []struct {
		name string
		q    office.Query
		want string
	}{
		{"by tag, numbers as numbers", office.Query{}, "AL-1 PI-2 PI-3 PI-10 PI-11 PT-1"},
		{"the last first", office.Query{Down: true}, "PT-1 PI-11 PI-10 PI-3 PI-2 AL-1"},
		{"without a date last", office.Query{Sort: "due"}, "PI-3 PI-2 PI-10 PI-11 AL-1 PT-1"},
		{
			"without a date last also backwards", office.Query{Sort: "due", Down: true},
			"PI-11 PI-10 PI-2 PI-3 AL-1 PT-1",
		},
		{"by range across units", office.Query{Sort: "range", Text: "p"}, "PI-10 PI-2 PI-3 PT-1 PI-11"},
		{"the failed first", office.Query{Sort: "verdict", Most: 1}, "PI-2"},
		{"area", only("area", "Boiler house"), "PI-2 PI-10"},
		{"two areas", only("area", "Jetty", "Hangar"), "AL-1 PI-11"},
		{"no area", only("area", ""), "PI-3 PT-1"},
		{"kind", only("kind", "transmitter"), "PT-1"},
		{"range", only("range", "0 … 10 bar"), "PI-2 PI-3 PT-1"},
		{"maker", only("manufacturer", "Osterholt"), "PI-10"},
		{"method", only("method", "Five points"), "PI-2 PI-11"},
		{"state", only("status", "out of service"), "PI-3"},
		{"the latest verdict as found", only("verdict", "fail"), "PI-2"},
		{"an earlier verdict", only("verdict", "pass"), ""},
		{"overdue, in service", office.Query{Due: "overdue"}, "PI-2"},
		{"due by a day", office.Query{Due: "2026-03-04"}, "PI-2 PI-3 PI-10"},
		{"no date", office.Query{Due: "none"}, "AL-1 PT-1"},
		{"upper end in another unit", office.Query{AtLeast: "145", AtMost: "150", Unit: "psi"}, "PI-2 PI-3 PI-10 PT-1"},
		{"upper end from", office.Query{AtLeast: "11", Unit: "bar"}, "PI-11"},
		{"served by the standard", office.Query{Standard: standards[0].ID}, "PI-2"},
		{"served by none", office.Query{Standard: office.NoStandard}, "PI-11"},
		{"a page", office.Query{From: 2, Most: 2}, "PI-3 PI-10"},
		{"behind the end", office.Query{From: 99}, ""},
	} {
		if c.q.Most == 0 {
			c.q.Most = 100
		}
		got, err := p.office.Table(c.q)
		if err != nil || tags(got) != c.want || got.All != 6 {
			t.Errorf("%s: %q of %d (%v), want %q", c.name, tags(got), got.All, err, c.want)
		}
	}
}

// TestTableValues checks that a filter offers the values that the other filters leave.
func TestTableValues(t *testing.T) {
	p, _ := register(t)
	got, err := p.office.Table(
		office.Query{Only: map[string][]string{"area": {"Jetty"}, "kind": {"gauge"}}, Most: 9, IDs: true},
	)
	if err != nil || got.Found != 1 || len(got.IDs) != 1 {
		t.Fatal(got.Found, got.IDs, err)
	}
	want := []office.Count{{Value: "", Count: 1}, {Value: "Boiler house", Count: 2}, {Value: "Jetty", Count: 1}}
	if diff := cmp.Diff(want, got.Values["area"]); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]office.Count{{Value: "gauge", Count: 1}}, got.Values["kind"]); diff != "" {
		t.Error(diff)
	}
}

func TestTableRefuses(t *testing.T) {
	p, _ := register(t)
	for field, q := range map[string]office.Query{
		"sort": {Sort: "colour"}, "unit": {AtLeast: "1", Unit: "furlong"}, "at_most": {AtMost: "ten", Unit: "bar"},
	} {
		var fault *document.Fault
		if _, err := p.office.Table(q); !errors.As(err, &fault) || fault.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	if _, err := p.office.Table(office.Query{Due: "soon"}); !errors.Is(err, office.ErrDate) {
		t.Error(err)
	}
}

// TestTableFollows checks that every list concerned shows a write in its next answer.
func TestTableFollows(t *testing.T) {
	p, first := register(t)
	ask := func(q office.Query, want string) {
		t.Helper()
		q.Most = 100
		if got, err := p.office.Table(q); err != nil || tags(got) != want {
			t.Errorf("%q (%v), want %q", tags(got), err, want)
		}
	}
	fail := office.Query{Only: map[string][]string{"verdict": {"fail"}}}
	ask(fail, "PI-2")
	ask(office.Query{Standard: office.NoStandard}, "PI-11")
	p.keep(p.phone.New("visit", "", first, p.now, set("instrument", first), set("started", plant.Stamp(p.now)),
		set("summary", doc{"as_found": doc{"verdict": "pass", "worst_fraction": 0.5, "points": []doc{}}})))
	ask(fail, "")
	state, err := p.office.Record(first)
	if err != nil {
		t.Fatal(err)
	}
	p.keep(p.phone.Edit(state, p.now, set("area", "Mill"), set("due", "2030-01-01")))
	ask(office.Query{Only: map[string][]string{"area": {"Mill"}}}, "PI-2")
	ask(office.Query{Due: "overdue"}, "")
	p.keep(p.phone.New("standard", "", "", p.now, set("name", "High"), set("due", "2027-01-01"), set("calibrated", "2026-01-01"),
		set(
			"ranges",
			[]doc{{"low": "0", "high": "700", "unit": "bar", "mode": "gauge", "of_span_percent": "0.02", "k": "2"}},
		)))
	ask(office.Query{Standard: office.NoStandard}, "")
	p.now = p.now.AddDate(2, 0, 0) // both standards are overdue by then
	ask(office.Query{Standard: office.NoStandard}, "PI-2 PI-11")
}

// TestTableAfterStart checks that a restarted office answers every query as before, from its kept
// index and what came meanwhile.
func TestTableAfterStart(t *testing.T) {
	p, first := register(t)
	for i := range 1000 { // enough records for the index to be kept
		p.instrument(fmt.Sprintf("X-%d", i), span("0", "1", "bar"))
	}
	if _, err := p.office.Table(office.Query{}); err != nil {
		t.Fatal(err)
	}
	if b, err := p.store.Private("index").Get(" head"); err != nil || len(b) == 0 {
		t.Fatalf("no index is kept: %v", err)
	}
	state, err := p.office.Record(first)
	if err != nil {
		t.Fatal(err)
	}
	p.keep(p.phone.Edit(state, p.now, set("area", "Mill")))
	p.keep(p.phone.New("visit", "", first, p.now, set("instrument", first), set("started", plant.Stamp(p.now)),
		set("summary", doc{"as_found": doc{"verdict": "undecided", "worst_fraction": nil, "points": []doc{}}})))
	again := office.New(p.store, p.keeper, func() time.Time { return p.now })
	for _, q := range []office.Query{
		{}, {Sort: "verdict"}, {Only: map[string][]string{"area": {"Mill"}}}, {Due: "overdue"}, {Text: "fennmark"},
		{Standard: office.NoStandard}, {Only: map[string][]string{"method": {"Five points"}}},
	} {
		q.Most = -1
		want, err := p.office.Table(q)
		if err != nil {
			t.Fatal(err)
		}
		got, err := again.Table(q)
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Errorf("%+v: %v %s", q, err, diff)
		}
	}
	today, err := again.Day("2026-03-04")
	if err != nil || len(today.Visits) != 1 {
		t.Errorf("%d visits, %v", len(today.Visits), err)
	}
}

// TestOrdersFollow checks that a register sorted in many ways before some changes gives the same as
// one sorted after them.
func TestOrdersFollow(t *testing.T) {
	p, first := register(t)
	other := p.instrument("A-1", span("0", "1", "bar"))
	look := func(o *office.Office) (list []office.Table) {
		for _, column := range []string{"tag", "due", "verdict", "area", "range"} {
			for _, down := range []bool{false, true} {
				one, err := o.Table(office.Query{Sort: column, Down: down, Most: -1})
				if err != nil {
					t.Fatal(err)
				}
				list = append(list, one)
			}
		}
		return list
	}
	check := func() {
		t.Helper()
		fresh := office.New(p.store, p.keeper, func() time.Time { return p.now })
		if diff := cmp.Diff(look(fresh), look(p.office)); diff != "" {
			t.Error(diff)
		}
	}
	look(p.office)
	edit := func(id string, sets ...plant.Set) {
		t.Helper()
		state, err := p.office.Record(id)
		if err != nil {
			t.Fatal(err)
		}
		p.keep(p.phone.Edit(state, p.now, sets...))
	}
	edit(first, set("due", "2031-02-03"), set("area", "Zinc hall"))
	edit(other, set("tag", "ZZ-9"), set("range", doc{"low": "0", "high": "250", "unit": "bar", "mode": "gauge"}))
	check()
	p.keep(p.phone.New("visit", "", other, p.now, set("instrument", other), set("started", plant.Stamp(p.now)),
		set("summary", doc{"as_found": doc{"verdict": "fail", "worst_fraction": nil, "points": []doc{}}})))
	p.instrument("M-5", span("0", "16", "bar"))
	check()
	edit(other, set("tag", "B-2"))
	check()
}

// TestWhatServesWhileStandardsChange: which standards serve is asked while the lists are free; a
// standard that changes meanwhile leaves nothing behind that was true before.
func TestWhatServesWhileStandardsChange(t *testing.T) {
	p, first := register(t)
	standards, err := p.store.ByKind("standard", "", 0)
	if err != nil {
		t.Fatal(err)
	}
	kit := standards[0]
	for i := range 40 {
		warmed := make(chan error, 1)
		go func() { warmed <- p.office.Warm() }()
		status, want := "out of service", 0
		if i%2 == 1 {
			status, want = "in service", 1
		}
		kit = p.keep(p.phone.Edit(kit, p.now, set("status", status)))
		got, err := p.office.Table(office.Query{Standard: kit.ID, Most: -1})
		if err != nil || got.Found != want || want == 1 && got.Rows[0].ID != first {
			t.Fatalf("%s: %d served, %v", status, got.Found, err)
		}
		if err := <-warmed; err != nil {
			t.Fatal(err)
		}
		if got, err = p.office.Table(office.Query{Standard: kit.ID}); err != nil || got.Found != want {
			t.Fatalf("%s, when all was asked: %d served, %v", status, got.Found, err)
		}
	}
}
