package calendar_test

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"gaugewright/server/auth"
	"gaugewright/server/calendar"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"github.com/emersion/go-ical"
)

type doc = map[string]any

type site struct {
	t       *testing.T
	store   *store.Store
	keeper  *auth.Keeper
	now     time.Time
	drafter plant.Drafter
	feeds   *calendar.Feeds
	north   string
	round   merge.State
}

func set(field string, value any) plant.Set { return plant.Set{Field: field, Value: value} }

func (p *site) keep(c change.Change, s merge.State, err error) merge.State {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
	if r, err := p.store.Add(p.t.Context(), []change.Change{c}); err != nil || len(r.Refused) > 0 {
		p.t.Fatal(err, r.Refused)
	}
	return s
}

const awkward = "Kessel; Süd, \\ Teil \"A\" – über dem großen Wärmetauscher mit sehr langem Namen 漢字漢字漢字漢字漢字"

func newSite(t *testing.T) *site {
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	p := &site{t: t, store: s, now: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC),
		drafter: plant.Drafter{Device: "desk", Author: "adm1n", Random: rand.NewChaCha8([32]byte{3})}}
	clock := func() time.Time { return p.now }
	if p.keeper, err = auth.New(s, clock); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"anna", "bert"} {
		if _, err := p.keeper.Add(name, name, auth.Technician, "a long enough secret"); err != nil {
			t.Fatal(err)
		}
	}
	p.feeds = calendar.NewFeeds(s, office.New(s, p.keeper, clock), clock)
	p.north = p.keep(p.drafter.New("site", "", "", p.now, set("code", "N"), set("name", "North"))).ID
	var stops []doc
	for i, one := range []struct{ tag, due, site string }{
		{"PI-1", "2026-03-20", p.north}, {"PI-2", "2026-03-20", ""}, {"PI-3", "2026-05-02", p.north}, {"PI-4", "2020-01-01", ""},
	} {
		g := p.keep(p.drafter.New("instrument", one.site, "", p.now, set("tag", one.tag), set("due", one.due),
			set("status", "in service"), set("place", awkward)))
		if i < 2 {
			stops = append(stops, doc{"instrument": g.ID, "method": ""})
		}
	}
	p.round = p.keep(p.drafter.New("round", "", "", p.now, set("date", "2026-03-10"), set("person", "anna"), set("title", awkward), set("stops", stops)))
	p.keep(p.drafter.New("round", "", "", p.now, set("date", "2026-03-11"), set("person", "bert"), set("title", "his"), set("stops", stops)))
	p.keep(p.drafter.New("round", "", "", p.now, set("date", "2026-03-12"), set("person", "anna"), set("title", "no more"), set("stops", stops),
		set("taken_back", doc{"reason": "x"})))
	p.keep(p.drafter.New("standard", "", "", p.now, set("name", "master, 1"), set("due", "2026-04-01")))
	return p
}

func noted(kind string) store.Step { return store.Noting(store.Event{Kind: kind}) }

func (p *site) make(f calendar.Feed) (calendar.Feed, string) {
	p.t.Helper()
	made, secret, err := p.feeds.Make(f, noted("feed_made"))
	if err != nil {
		p.t.Fatal(err)
	}
	return made, secret
}

// read reads a calendar with an independent library, and checks its lines against RFC 5545, 3.1.
func (p *site) read(secret string) map[string]*ical.Component {
	p.t.Helper()
	b, err := p.feeds.At(secret, "https://plant.example")
	if err != nil {
		p.t.Fatal(err)
	}
	for line := range strings.SplitSeq(strings.TrimSuffix(string(b), "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") || !utf8.ValidString(line) {
			p.t.Errorf("a line of %d octets: %q", len(line), line)
		}
	}
	if bytes.Contains(b, []byte("NAME:Anna;")) {
		p.t.Error("the name is not written as a text is (3.3.11)")
	}
	cal, err := ical.NewDecoder(bytes.NewReader(b)).Decode()
	if err != nil {
		p.t.Fatal(err)
	}
	if v := cal.Props.Get("VERSION"); v == nil || v.Value != "2.0" || cal.Props.Get("PRODID") == nil {
		p.t.Errorf("%+v", cal.Props)
	}
	if name, err := cal.Props.Text("NAME"); err != nil || strings.HasPrefix(name, "Anna") && name != "Anna; her, rounds" {
		p.t.Errorf("%q, %v", name, err)
	}
	found := map[string]*ical.Component{}
	for _, e := range cal.Children {
		uid, _, _ := strings.Cut(e.Props.Get("UID").Value, "@")
		if found[uid] != nil || e.Props.Get("DTSTAMP") == nil {
			p.t.Errorf("%s twice, or without a stamp", uid)
		}
		found[uid] = e
	}
	return found
}

func text(t *testing.T, e *ical.Component, name string) string {
	t.Helper()
	s, err := e.Props.Text(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestOfAPerson checks that the feed has their rounds only, as they were typed.
func TestOfAPerson(t *testing.T) {
	p := newSite(t)
	_, secret := p.make(calendar.Feed{Name: "Anna; her, rounds", Person: "anna", Rounds: true})
	events := p.read(secret)
	e := events["round-"+p.round.ID]
	if len(events) != 1 || e == nil {
		t.Fatalf("%v", events)
	}
	if got := text(t, e, "SUMMARY"); got != awkward+" (2 stops)" {
		t.Errorf("%q", got)
	}
	if got := text(t, e, "DESCRIPTION"); got != "PI-1, "+awkward+"\nPI-2, "+awkward {
		t.Errorf("%q", got)
	}
	start, end := e.Props.Get("DTSTART"), e.Props.Get("DTEND")
	if start.Value != "20260310" || start.Params.Get("VALUE") != "DATE" || end.Value != "20260311" {
		t.Errorf("%+v %+v", start, end)
	}
	p.keep(p.drafter.Edit(p.round, p.now, set("date", "2026-03-13")))
	if got := p.read(secret)["round-"+p.round.ID].Props.Get("DTSTART").Value; got != "20260310" {
		t.Errorf("written again at once: %s", got)
	}
	p.now = p.now.Add(5 * time.Minute)
	if got := p.read(secret)["round-"+p.round.ID]; got == nil || got.Props.Get("DTSTART").Value != "20260313" {
		t.Errorf("under another UID, or not moved: %+v", got)
	}
	if err := p.keeper.Revoke("anna"); err != nil {
		t.Fatal(err)
	}
	if _, err := p.feeds.At(secret, ""); err != calendar.ErrNone {
		t.Errorf("of somebody whose access ended: %v", err)
	}
}

// TestOfASite checks that the feed has the site's due dates only, in German.
func TestOfASite(t *testing.T) {
	p := newSite(t)
	_, secret := p.make(calendar.Feed{Name: "Nord", Site: p.north, Due: true, Language: "de"})
	events := p.read(secret)
	e := events["due-2026-03-20-"+p.north]
	if len(events) != 2 || e == nil || text(t, e, "SUMMARY") != "Fällig: 1 Gerät" ||
		!strings.HasPrefix(text(t, e, "DESCRIPTION"), "PI-1, ") {
		t.Errorf("%+v", events)
	}
}

// TestOfEverything checks that the feed has everything, until it is ended.
func TestOfEverything(t *testing.T) {
	p := newSite(t)
	f, secret := p.make(calendar.Feed{Name: "all", Due: true, Rounds: true})
	var uids []string
	for uid := range p.read(secret) {
		uids = append(uids, uid[:strings.IndexAny(uid, "-")])
	}
	slices.Sort(uids)
	if want := []string{"due", "due", "round", "round", "standard"}; !slices.Equal(uids, want) {
		t.Errorf("%v", uids)
	}
	b, err := os.ReadFile(filepath.Join(p.store.Dir(), store.File))
	if err != nil || bytes.Contains(b, []byte(secret)) {
		t.Errorf("the address is in the database, or %v", err)
	}
	if err := p.feeds.End(f.ID, noted("feed_ended")); err != nil {
		t.Fatal(err)
	}
	if _, err := p.feeds.At(secret, ""); err != calendar.ErrNone {
		t.Errorf("ended: %v", err)
	}
	for _, wrong := range []calendar.Feed{
		{Rounds: true}, {Name: "x"}, {Name: "x", Rounds: true, Person: "nobody"},
		{Name: "x", Due: true, Site: "nowhere"}, {Name: "x", Due: true, Language: "xx"},
	} {
		if _, _, err := p.feeds.Make(wrong, noted("x")); err == nil {
			t.Errorf("%+v is made", wrong)
		}
	}
}
