package api_test

import (
	"encoding/json"
	"strings"
	"testing"
)

// TestMessagesAboutAnInstrument checks that phone and office can write and answer, that a message
// is written once and not empty, and that nobody marks as seen for another.
func TestMessagesAboutAnInstrument(t *testing.T) {
	p := newPlant(t)
	tech, reviewer := id("technician"), id("reviewer")
	n := 0
	one := func(who, field, value string) string {
		n++
		c := made("c"+strings.Repeat("x", n), id(who), "instrument", field)
		c.Record, c.Set[0].Value, c.Seq = "rmessage", []byte(value), uint64(n)
		return p.sends(who, c)[0]
	}
	for _, c := range []struct{ who, field, value, why string }{
		{"technician", "message.m1", `{"text":"Valve handle is missing."}`, ""},
		{"technician", "message.m1", `{"text":"No, it is there."}`, "written once"},
		{"reviewer", "message.m1", `{"text":"Other words."}`, "written once"},
		{"reviewer", "message.m2", `{"text":"A new one is ordered."}`, ""},
		{"reviewer", "seen.m1." + reviewer, `true`, ""},
		{"technician", "seen.m2." + reviewer, `true`, "for themselves alone"},
		{"reviewer", "seen.m2." + tech, `true`, "for themselves alone"},
		{"technician", "seen.m2." + tech, `false`, "for themselves alone"},
		{"technician", "seen.m2." + tech, `true`, ""},
		{"technician", "message.m3", `{"text":"  "}`, "1 to 1000"},
		{"technician", "message.m3", `{"text":"` + strings.Repeat("ü", 1001) + `"}`, "1 to 1000"},
		{"technician", "message.m3", `{"text":"` + strings.Repeat("ü", 1000) + `"}`, ""},
		{"technician", "message.m4", `"a text alone"`, "cannot be read"},
		{"technician", "limit", `{"class":"4"}`, "may not write"},
	} {
		if why := one(c.who, c.field, c.value); (why == "") != (c.why == "") || !strings.Contains(why, c.why) {
			t.Errorf("%s, %s = %.40s: set aside for %q, wanted %q", c.who, c.field, c.value, why, c.why)
		}
	}
}

// TestAVisitIsSeen checks that opening a signed visit at the office notes it once, without voiding
// anything, and that a phone cannot note it.
func TestAVisitIsSeen(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, _ := f.visit("PI-1", "pass", true)
	path := "/api/office/visits/" + visit.ID
	if a := p.do("technician", "POST", path+"/seen", "{}"); a.status != 403 {
		t.Errorf("a technician: %d", a.status)
	}
	seen := func() (n int, changed []string) {
		var r struct {
			Visit struct {
				Fields map[string]struct {
					Heads []struct{ Value json.RawMessage }
				}
			}
			Changed []string
		}
		if err := json.Unmarshal(p.do("reviewer", "GET", path, "").body, &r); err != nil {
			t.Fatal(err)
		}
		for name, field := range r.Visit.Fields {
			if strings.HasPrefix(name, "seen.") {
				n++
				var said struct{ Of []string }
				if len(field.Heads) != 1 || json.Unmarshal(field.Heads[0].Value, &said) != nil || len(said.Of) != 1 {
					t.Errorf("%s: %+v", name, field)
				}
			}
		}
		return n, r.Changed
	}
	for range 2 {
		if a := p.do("reviewer", "POST", path+"/seen", "{}"); a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	if n, changed := seen(); n != 1 || len(changed) != 0 {
		t.Errorf("%d marks, changed after the signature: %v", n, changed)
	}
	forged := f.drafts(visit, set("seen."+id("technician"), doc{"at": "2026-03-04T05:06:07.089Z", "of": []string{}}))
	if why := p.sends("technician", forged); why[0] == "" {
		t.Error("a phone wrote that the office has seen its visit")
	}
}
