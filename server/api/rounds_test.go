package api_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// pushed sends one change and returns why it was quarantined, or "".
func (p *testPlant) pushed(who string, c change.Change) string {
	p.t.Helper()
	a := p.do(who, "POST", "/api/sync", push(c))
	var r struct {
		Acknowledged []string
		Quarantined  []struct{ Reason string }
	}
	if err := json.Unmarshal(a.body, &r); err != nil || len(r.Acknowledged)+len(r.Quarantined) != 1 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	if len(r.Quarantined) == 1 {
		return r.Quarantined[0].Reason
	}
	return ""
}

func setting(field, value string) change.Setting {
	return change.Setting{Field: field, Value: []byte(value)}
}

func TestRoundsAreJudged(t *testing.T) {
	p := newPlant(t)
	seq := uint64(0)
	write := func(who, record, kind string, set ...change.Setting) (string, change.Change) {
		seq++
		c := change.Change{
			ID: fmt.Sprintf("c%07d", seq), Device: "d1", Seq: seq, Author: id(who),
			Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(seq, 0, "d1"), Record: record, Kind: kind,
			Set: set,
		}
		return p.pushed(who, c), c
	}
	for _, one := range [][3]string{
		{"gage0001", "instrument", "tag"}, {"gage0002", "instrument", "tag"}, {"meth0d01", "method", "note"},
	} {
		if why, _ := write("administrator", one[0], one[1], setting(one[2], `"x"`)); why != "" {
			t.Fatal(why)
		}
	}
	if _, err := p.keeper.Add("g0ne0001", "Gone", "technician", secret); err != nil {
		t.Fatal(err)
	}
	if err := p.keeper.Revoke("g0ne0001"); err != nil {
		t.Fatal(err)
	}
	date, person := setting("date", `"2026-03-09"`), setting("person", `"`+id("technician")+`"`)
	stops := setting("stops", `[{"instrument":"gage0001","method":"meth0d01"},{"instrument":"gage0002","method":""}]`)
	tests := []struct {
		name, who string
		set       []change.Setting
		want      string // a part of the reason; "" if it is accepted
	}{
		{"a reviewer plans", "reviewer", []change.Setting{date, person, stops}, ""},
		{
			"an administrator plans", "administrator",
			[]change.Setting{date, person, stops, setting("title", `"Boilers"`)}, "",
		},
		{"a technician does not plan", "technician", []change.Setting{date, person, stops}, "may not write"},
		{"no date", "reviewer", []change.Setting{person, stops}, "date: a round begins with it"},
		{"no person", "reviewer", []change.Setting{date, stops}, "person: a round begins with it"},
		{"no stops", "reviewer", []change.Setting{date, person}, "stops: a round begins with it"},
		{"a day that is none", "reviewer", []change.Setting{setting("date", `"2026-02-30"`), person, stops}, "date: "},
		{"nobody", "reviewer", []change.Setting{date, setting("person", `"n0b0dy"`), stops}, "person: nobody"},
		{
			"ended access", "reviewer", []change.Setting{date, setting("person", `"g0ne0001"`), stops},
			"person: the access",
		},
		{"empty list", "reviewer", []change.Setting{date, person, setting("stops", `[]`)}, "stops: from 1"},
		{"not a list", "reviewer", []change.Setting{date, person, setting("stops", `"gage0001"`)}, "stops: a list"},
		{
			"unknown instrument", "reviewer",
			[]change.Setting{date, person, setting("stops", `[{"instrument":"gage0009","method":""}]`)},
			"stop 1: no instrument",
		},
		{
			"a method is no instrument", "reviewer",
			[]change.Setting{date, person, setting("stops", `[{"instrument":"meth0d01","method":""}]`)},
			"stop 1: no instrument",
		},
		{
			"unknown method", "reviewer",
			[]change.Setting{date, person, setting("stops", `[{"instrument":"gage0001","method":"gage0002"}]`)},
			"stop 1: no method",
		},
		{
			"the same one twice", "reviewer",
			[]change.Setting{date, person, setting("stops", `[{"instrument":"gage0001"},{"instrument":"gage0001"}]`)},
			"stop 2: ",
		},
		{
			"a title too long", "reviewer",
			[]change.Setting{date, person, stops, setting("title", `"`+strings.Repeat("x", 201)+`"`)},
			"title: ",
		},
	}
	for i, tt := range tests {
		record := fmt.Sprintf("r0vnd%03d", i)
		why, _ := write(tt.who, record, "round", tt.set...)
		if (why == "") != (tt.want == "") || !strings.Contains(why, tt.want) {
			t.Errorf("%s: %q, want %q", tt.name, why, tt.want)
		}
	}
	for _, tt := range []struct {
		name, who string
		set       change.Setting
		want      string
	}{
		{"another day", "reviewer", setting("date", `"2026-03-10"`), ""},
		{"without a reason", "reviewer", setting("taken_back", `{"reason":" "}`), "taken_back: "},
		{"by a technician", "technician", setting("taken_back", `{"reason":"rain"}`), "may not write"},
		{"with a reason", "reviewer", setting("taken_back", `{"reason":"rain"}`), ""},
		{"planned again", "administrator", setting("taken_back", `null`), ""},
	} {
		if why, _ := write(tt.who, "r0vnd000", "round", tt.set); (why == "") != (tt.want == "") ||
			!strings.Contains(why, tt.want) {
			t.Errorf("changed: %s: %q, want %q", tt.name, why, tt.want)
		}
	}
	// What was accepted once is accepted again, though its person no longer has access.
	why, sent := write("reviewer", "r0vnd0aa", "round", date, person, stops)
	if why != "" {
		t.Fatal(why)
	}
	if err := p.keeper.Revoke(id("technician")); err != nil {
		t.Fatal(err)
	}
	if why := p.pushed("reviewer", sent); why != "" {
		t.Errorf("sent again: %s", why)
	}
}

func TestColleaguesAndWhatIsDue(t *testing.T) {
	p := newPlant(t)
	for path, want := range map[string][4]int{"/api/office/people": {401, 403, 200, 200}, "/api/office/register?due=2026-04-01": {401, 403, 200, 200}, "/api/office/register?due=soon": {401, 403, 400, 400}} {
		for i, who := range []string{"", "technician", "reviewer", "administrator"} {
			if a := p.do(who, "GET", path, ""); a.status != want[i] {
				t.Errorf("%s as %q: %d, want %d: %s", path, who, a.status, want[i], a.body)
			}
		}
	}
	if err := p.keeper.Revoke(id("technician")); err != nil {
		t.Fatal(err)
	}
	var people struct {
		People []struct{ Name, Role string }
	}
	if err := json.Unmarshal(p.do("reviewer", "GET", "/api/office/people", "").body, &people); err != nil ||
		len(people.People) != 2 || people.People[0].Name != "administrator" {
		t.Errorf("%v %+v", err, people)
	}
	const all = 230
	for i := range all {
		due := []string{`"2026-03-20"`, `"2026-09-01"`}[i%2]
		c := change.Change{ID: fmt.Sprintf("c%07d", i), Device: "d1", Seq: uint64(i + 1), Author: id("administrator"), Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(uint64(i), 0, "d1"),
			Record: fmt.Sprintf("gage%04d", i), Kind: "instrument", Set: []change.Setting{
				setting("due", due), setting("tag", fmt.Sprintf(`"P-%04d"`, i)),
			}}
		if i == 4 {
			c.Set = append(c.Set[:1:1], setting("status", `"retired"`), c.Set[1])
		}
		if why := p.pushed("administrator", c); why != "" {
			t.Fatal(why)
		}
	}
	var tags []string
	after, pages := "", 0
	for pages == 0 || after != "" {
		var r struct {
			Instruments []struct{ Tag, Due string }
			After       string
		}
		a := p.do(
			"reviewer", "GET", "/api/office/register?due=2026-04-01&after="+strings.ReplaceAll(after, "\n", "%0A"), "",
		)
		if err := json.Unmarshal(a.body, &r); err != nil || len(r.Instruments) > 100 || pages > 5 {
			t.Fatalf("%v %d %s", err, pages, a.body)
		}
		for _, one := range r.Instruments {
			if one.Due != "2026-03-20" || len(tags) > 0 && tags[len(tags)-1] >= one.Tag {
				t.Errorf("%+v after %v", one, tags)
			}
			tags = append(tags, one.Tag)
		}
		after = r.After
		pages++
	}
	if len(tags) != all/2-1 || pages != 2 {
		t.Errorf("%d due in %d pages", len(tags), pages)
	}
}
