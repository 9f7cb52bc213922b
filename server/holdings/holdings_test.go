package holdings_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/holdings"
	"gaugewright/server/office"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/store"
)

var now = time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)

// plant is a store that a test fills directly.
type plant struct {
	t     *testing.T
	store *store.Store
	n     uint64
	*holdings.Holdings
}

func newPlant(t *testing.T) *plant {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	at := func() time.Time { return now }
	return &plant{t, s, 0, holdings.New(s, office.NewScope(s), office.New(s, nil, at).Sites, at, 10)}
}

type set map[string]any

// put adds a change of a record, made some days after now.
func (p *plant) put(record, kind, site, parent string, days int, fields set) change.Change {
	p.t.Helper()
	p.n++
	c := change.Change{
		ID: fmt.Sprintf("c%d", p.n), Device: "dan", Seq: p.n, Author: "an",
		Wall:  now.AddDate(0, 0, days).Format("2006-01-02T15:04:05.000Z"),
		Stamp: clock.Next(p.n, 0, "dan"), Record: record, Kind: kind, Site: site, Parent: parent,
	}
	names := make([]string, 0, len(fields))
	for name := range fields {
		names = append(names, name)
	}
	slices.Sort(names)
	state, known, err := p.store.Record(record)
	if err != nil {
		p.t.Fatal(err)
	}
	for _, name := range names {
		b, err := json.Marshal(fields[name])
		if err != nil {
			p.t.Fatal(err)
		}
		one := change.Setting{Field: name, Value: b}
		if f, has := state.Field(name); known && has {
			for _, h := range f.Heads {
				one.Sees = append(one.Sees, h.Change)
			}
			slices.Sort(one.Sees)
		}
		c.Set = append(c.Set, one)
	}
	if r, err := p.store.Add(context.Background(), []change.Change{c}); err != nil || len(r.Accepted) != 1 {
		p.t.Fatalf("%s: %+v, %v", record, r, err)
	}
	return c
}

func day(days int) string { return now.AddDate(0, 0, days).Format(time.DateOnly) }

func stops(ids ...string) (list []set) {
	for _, id := range ids {
		list = append(list, set{"instrument": id, "method": ""})
	}
	return list
}

var (
	tina = auth.User{ID: "tina", Role: auth.Technician, Sites: []string{"s1"}}
	otto = auth.User{ID: "otto", Role: auth.Technician}
)

func (p *plant) planned(u auth.User) []string {
	p.t.Helper()
	list, err := p.Planned(u)
	if err != nil {
		p.t.Fatal(err)
	}
	return list
}

// TestPlannedAreTheComingDays checks that work in progress comes first, then the rounds of the week
// with the next day first, then what is late, but nothing withdrawn, another person's, far ahead or
// of another site.
func TestPlannedAreTheComingDays(t *testing.T) {
	p := newPlant(t)
	for n := range 9 {
		p.put(fmt.Sprintf("n%d", n), "instrument", "s1", "", -100, set{"tag": fmt.Sprint("PI-", n)})
	}
	p.put("m1", "instrument", "s2", "", -100, set{"tag": "TI-1"})
	p.put("ra", "round", "s1", "", -3, set{"date": day(2), "person": "tina", "stops": stops("n2", "n1")})
	p.put("rb", "round", "s1", "", -3, set{"date": day(0), "person": "tina", "stops": stops("n3", "n2")})
	p.put("rc", "round", "s1", "", -3, set{"date": day(-1), "person": "tina", "stops": stops("n4")})
	p.put("rd", "round", "s1", "", -3, set{"date": day(40), "person": "tina", "stops": stops("n5")})
	p.put("re", "round", "s1", "", -3, set{"date": day(1), "person": "otto", "stops": stops("n6")})
	p.put("rf", "round", "s2", "", -3, set{"date": day(1), "person": "tina", "stops": stops("m1")})
	p.put("v1", "visit", "s1", "n7", -2, set{"instrument": "n7", "person": "tina", "started": day(-2) + "T08:00:00Z"})
	p.put("v2", "visit", "s1", "n8", -2, set{"instrument": "n8", "person": "tina", "signature": set{"by": "tina"}})
	if got := p.planned(tina); !slices.Equal(got, []string{"n7", "n3", "n2", "n1", "n4"}) {
		t.Error(got)
	}
	if got := p.planned(otto); !slices.Equal(got, []string{"n6"}) {
		t.Error(got)
	}
	// Later events are followed: a round moves to another person, another is withdrawn, a visit is
	// signed, and one without a person is everybody's.
	p.put("ra", "round", "s1", "", 0, set{"person": "otto"})
	p.put("rc", "round", "s1", "", 0, set{"taken_back": set{"reason": "shut"}})
	p.put("v1", "visit", "s1", "n7", 0, set{"signature": set{"by": "tina"}})
	p.put("rg", "round", "s1", "", 0, set{"date": day(3), "person": "", "stops": stops("n0", "gone")})
	if got := p.planned(tina); !slices.Equal(got, []string{"n3", "n2", "n0"}) {
		t.Error(got)
	}
	if got := p.planned(otto); !slices.Equal(got, []string{"n6", "n2", "n1", "n0"}) {
		t.Error(got)
	}
}

// TestFollow checks that a phone receives from the journal the base, its user's rounds and its
// units; of other instruments at its sites what a search shows, once; of other sites nothing.
func TestFollow(t *testing.T) {
	p := newPlant(t)
	p.put("n1", "instrument", "s1", "", -100, set{"tag": "PI-1"})
	p.put("n2", "instrument", "s1", "", -100, set{"tag": "PI-2"})
	p.put("n3", "instrument", "s2", "", -100, set{"tag": "PI-3"})
	p.put("std", "standard", "", "", -100, set{"name": "Reference"})
	p.put("v1", "visit", "s1", "n1", -2, set{"instrument": "n1", "started": day(-2) + "T08:00:00Z"})
	p.put("v2", "visit", "s1", "n2", -2, set{"instrument": "n2", "started": day(-2) + "T08:00:00Z"})
	f, err := p.Follow(tina, []string{"n1", "n3"})
	if err != nil {
		t.Fatal(err)
	}
	for _, one := range []struct {
		what string
		c    change.Change
		want bool
	}{
		{"a unit's instrument", p.put("n1", "instrument", "s1", "", 0, set{"note": "x"}), true},
		{"another instrument", p.put("n2", "instrument", "s1", "", 0, set{"due": day(9)}), false},
		{"the same again", p.put("n2", "instrument", "s1", "", 0, set{"due": day(10)}), false},
		{"another site's, although it is named", p.put("n3", "instrument", "s2", "", 0, set{"due": day(9)}), false},
		{"a unit's visit", p.put("v3", "visit", "s1", "n1", 0, set{"instrument": "n1"}), true},
		{"another one's visit", p.put("v4", "visit", "s1", "n2", 0, set{"instrument": "n2"}), false},
		{"a unit's run", p.put("r1", "run", "s1", "v1", 0, set{"label": "as found"}), true},
		{"another one's run", p.put("r2", "run", "s1", "v2", 0, set{"label": "as found"}), false},
		{"a unit's certificate", p.put("k1", "certificate", "s1", "v1", 0, set{"number": "1"}), true},
		{"another one's certificate", p.put("k2", "certificate", "s1", "v2", 0, set{"number": "2"}), false},
		{"a unit's past", p.put("p1", "result", "s1", "n1", 0, set{"note": "x"}), true},
		{"another one's past", p.put("p2", "result", "s1", "n2", 0, set{"note": "x"}), false},
		{"a standard", p.put("std", "standard", "", "", 0, set{"status": "in service"}), true},
		{"a standard's own visit", p.put("v5", "visit", "", "std", 0, set{"instrument": "std"}), true},
		{"a method", p.put("m", "method", "", "", 0, set{"name": "x"}), true},
		{"a look-back", p.put("l", "lookback", "", "", 0, set{"standard": "std"}), false},
		{"the person's round", p.put("ra", "round", "s1", "", 0, set{"date": day(1), "person": "tina"}), true},
		{"a round that was theirs", p.put("ra", "round", "s1", "", 0, set{"person": "otto"}), true},
		{"another's round", p.put("rb", "round", "s1", "", 0, set{"date": day(1), "person": "otto"}), false},
	} {
		if got, err := f.InScope(&one.c); got != one.want || err != nil {
			t.Errorf("%s: %v, %v", one.what, got, err)
		}
	}
	list, err := f.Entries()
	if err != nil || len(list) != 1 || !strings.Contains(string(list[0]), `"due":"`+day(10)) {
		t.Errorf("%s, %v", list, err)
	}
}

// TestRegisterIsWholeInPieces checks that page by page each instrument of the user's sites comes,
// including one that is added meanwhile.
func TestRegisterIsWholeInPieces(t *testing.T) {
	p := newPlant(t)
	for n := range 50 {
		p.put(
			fmt.Sprintf("n%02d", n), "instrument", fmt.Sprint("s", n%3), "", -100,
			set{"tag": fmt.Sprint("PI-", n), "limit": set{"class": "1.6"}, "output": set{"low": "4"}},
		)
	}
	for _, who := range []struct {
		user auth.User
		want int
	}{{otto, 51}, {auth.User{ID: "x", Role: auth.Technician, Sites: []string{"s1", "s2"}}, 33}} {
		seen := map[string]bool{}
		for from, pages := 0, 0; ; pages++ {
			list, next, all, err := p.Register(who.user, from, 7)
			if err != nil || pages > 20 {
				t.Fatal(pages, err)
			}
			for _, b := range list {
				var e struct {
					ID  string
					Set map[string]any
				}
				if err := json.Unmarshal(b, &e); err != nil || e.Set["tag"] == nil || e.Set["limit"] != nil {
					t.Fatalf("%s: %v", b, err)
				}
				seen[e.ID] = true
			}
			if next == 0 {
				if all != who.want && who.want != 51 {
					t.Error(all)
				}
				break
			}
			if from = next; pages == 2 && who.want == 51 {
				p.put("n99", "instrument", "s0", "", 0, set{"tag": "PI-99"})
			}
		}
		if who.want == 51 {
			delete(seen, "n99") // it may be too early for the pages, and then comes through the journal
			if len(seen) != 50 {
				t.Error(len(seen))
			}
		} else if len(seen) != who.want {
			t.Error(len(seen))
		}
	}
}

// TestWhole checks that a unit has its visits, certificates and past, and the runs of the latest
// two visits. It is found by any of its records and by its label, but not by a user of another
// site.
func TestWhole(t *testing.T) {
	p := newPlant(t)
	p.put("n1", "instrument", "s1", "", -900, set{"tag": "PI-1", "label": "ab12"})
	for n := 1; n <= 4; n++ {
		v := fmt.Sprint("v", n)
		p.put(v, "visit", "s1", "n1", -900, set{"started": now.AddDate(0, 0, -100*(5-n)).Format(time.RFC3339)})
		p.put(fmt.Sprint("r", n), "run", "s1", v, -900, set{"label": "as found"})
		p.put(fmt.Sprint("k", n), "certificate", "s1", v, -900, set{"number": v})
	}
	p.put("p1", "result", "s1", "n1", -900, set{"note": "x"})
	var ids []string
	list, err := p.Whole(tina, "n1")
	for _, s := range list {
		ids = append(ids, s.ID)
	}
	slices.Sort(ids)
	if want := strings.Fields("k1 k2 k3 k4 n1 p1 r3 r4 v1 v2 v3 v4"); err != nil || !slices.Equal(ids, want) {
		t.Error(ids, err)
	}
	stranger := auth.User{ID: "x", Role: auth.Technician, Sites: []string{"s2"}}
	if list, err := p.Whole(stranger, "n1"); len(list) > 0 || err != nil {
		t.Error(list, err)
	}
	for _, name := range []string{"n1", "v2", "r1", "k4", "p1", "ab12"} {
		if unit, err := p.Unit(tina, name); unit != "n1" || err != nil {
			t.Errorf("%s: %q, %v", name, unit, err)
		}
		if unit, err := p.Unit(stranger, name); unit != "" || err != nil {
			t.Errorf("%s: %q, %v", name, unit, err)
		}
	}
	if unit, err := p.Unit(tina, "nothing"); unit != "" || err != nil {
		t.Errorf("%q, %v", unit, err)
	}
}

// TestRegisterBelievesTheOffice checks that an instrument's site is not read again if the office
// knows it, that those it does not know are read, and that nobody waits for its first reading.
func TestRegisterBelievesTheOffice(t *testing.T) {
	p := newPlant(t)
	for n := range 5 {
		p.put(fmt.Sprintf("n%d", n), "instrument", "s1", "", -100, set{"tag": fmt.Sprint("PI-", n)})
	}
	// These sites are not those of the records, so that one sees where the register has them from.
	elsewhere := map[string]string{"n0": "s2", "n1": "s2", "n3": "s2"}
	for _, c := range []struct {
		what   string
		known  holdings.Sites
		s1, s2 int
	}{
		{"known", func() (map[string]string, error) { return elsewhere, nil }, 3, 2},
		{"reading", func() (map[string]string, error) { return nil, office.ErrReading }, 5, 0},
	} {
		h := holdings.New(p.store, office.NewScope(p.store), c.known, func() time.Time { return now }, 10)
		for site, want := range map[string]int{"s1": c.s1, "s2": c.s2} {
			_, _, all, err := h.Register(auth.User{ID: "x", Role: auth.Technician, Sites: []string{site}}, 0, 9)
			if err != nil || all != want {
				t.Errorf("%s, %s: %d, %v; want %d", c.what, site, all, err, want)
			}
		}
	}
	broken := holdings.New(p.store, office.NewScope(p.store), func() (map[string]string, error) {
		return nil, errors.ErrUnsupported
	}, func() time.Time { return now }, 10)
	if _, _, _, err := broken.Register(otto, 0, 9); !errors.Is(err, errors.ErrUnsupported) {
		t.Error(err)
	}
}

// TestPartsByLength checks that a plant is too large by the length of its changes, not their
// number, and that a phone near the bound does not switch back and forth.
func TestPartsByLength(t *testing.T) {
	p := newPlant(t)
	h := holdings.New(p.store, office.NewScope(p.store), nil, func() time.Time { return now }, 60_000)
	want := func(what string, free, holding bool) {
		t.Helper()
		for holds, want := range map[bool]bool{false: free, true: holding} {
			if got, err := h.Parts(holds); got != want || err != nil {
				t.Errorf("%s, holds %v: %v, %v", what, holds, got, err)
			}
		}
	}
	want("nothing", false, false)
	for n := range 60 {
		p.put(fmt.Sprintf("n%02d", n), "instrument", "", "", 0, set{"tag": fmt.Sprint("PI-", n)})
	}
	want("60 short changes", false, false)
	for n := range 10 {
		p.put(fmt.Sprintf("r%02d", n), "run", "", "v1", 0, set{"note": strings.Repeat("x", 4000)})
	}
	want("40 kB", false, true)
	for n := range 10 {
		p.put(fmt.Sprintf("r9%d", n), "run", "", "v1", 0, set{"note": strings.Repeat("x", 4000)})
	}
	want("90 kB", true, true)
}
