package api_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// at adds the first change of a record of a site straight to the store.
func (p *testPlant) at(site, record, kind, parent string) {
	p.t.Helper()
	c := change.Change{ID: "c" + record, Device: "dan", Seq: 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(0, 0, "dan"), Record: record, Kind: kind,
		Site: site, Parent: parent, Set: []change.Setting{{Field: "name", Value: []byte(`"x"`)}}}
	if r, err := p.store.Add(context.Background(), []change.Change{c}); err != nil || len(r.Accepted) != 1 {
		p.t.Fatalf("%s: %+v, %v", record, r, err)
	}
}

type scoped struct {
	Store, Epoch, Root string
	Scope              *string
	Sites              *[]string
	Cursor             int
	More               bool
	Changes            []struct{ Record string }
}

func (s *scoped) records() (list []string) {
	for _, c := range s.Changes {
		list = append(list, c.Record)
	}
	slices.Sort(list)
	return list
}

// TestPullOfSites checks that a technician with sites receives their records and those without a
// site, and that other sites send the device back to the beginning, once. The office, and a program
// that does not know scopes, are not sent back.
func TestPullOfSites(t *testing.T) {
	p := newPlant(t)
	for n, site := range []string{"s1", "s2", ""} {
		if site != "" {
			p.at("", site, "site", "")
		}
		p.at(site, fmt.Sprintf("n%d", n), "instrument", "")
		p.at(site, fmt.Sprintf("v%d", n), "visit", fmt.Sprintf("n%d", n))
		p.at(site, fmt.Sprintf("r%d", n), "run", fmt.Sprintf("v%d", n))
	}
	ask := func(who string, from *scoped, scope string) (r scoped) {
		t.Helper()
		body := fmt.Sprintf(
			`{"store":%q,"epoch":%q,"root":%q,"cursor":%d,"nonce":"n1","device":"d1","changes":[]%s}`,
			from.Store, from.Epoch, from.Root, from.Cursor, scope,
		)
		if a := p.do(who, "POST", "/api/sync", body); a.status != 200 || json.Unmarshal(a.body, &r) != nil {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return r
	}
	sites := func(who string, ids ...string) {
		t.Helper()
		if a := p.do("administrator", "PUT", "/api/users/"+id(who)+"/sites", js(doc{"sites": append([]string{}, ids...)})); a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	check := func(what string, got scoped, want string) {
		t.Helper()
		if list := strings.Join(got.records(), " "); list != want {
			t.Errorf("%s: %s, want %s", what, list, want)
		}
	}
	const all, first, second = "n0 n1 n2 r0 r1 r2 s1 s2 v0 v1 v2", "n0 n2 r0 r2 s1 s2 v0 v2", "n1 n2 r1 r2 s1 s2 v1 v2"
	whole := ask("technician", &scoped{}, `,"scope":""`)
	check("without sites", whole, all)
	if whole.Scope != nil || whole.Sites != nil {
		t.Errorf("%+v", whole)
	}
	sites("technician", "s1")
	sites("reviewer", "s1")
	check("a reviewer", ask("reviewer", &scoped{}, `,"scope":""`), all)
	check("a program that knows of no scope, new", ask("technician", &scoped{}, ""), first)
	check("a program that knows of no scope, at the end", ask("technician", &whole, ""), "")
	now := ask("technician", &whole, `,"scope":""`)
	check("sites were given", now, first)
	if now.Scope == nil || now.Sites == nil || !slices.Equal(*now.Sites, []string{"s1"}) || now.Cursor != 11 {
		t.Fatalf("%+v", now)
	}
	again := ask("technician", &now, `,"scope":`+js(*now.Scope))
	check("nothing has changed", again, "")
	if again.Sites != nil || *again.Scope != *now.Scope {
		t.Errorf("%+v", again)
	}
	sites("technician", "s2")
	next := ask("technician", &again, `,"scope":`+js(*again.Scope))
	check("another site", next, second)
	if *next.Scope == *now.Scope || !slices.Equal(*next.Sites, []string{"s2"}) {
		t.Errorf("%+v", next)
	}
	sites("technician")
	back := ask("technician", &next, `,"scope":`+js(*next.Scope))
	check("all sites again", back, all)
	if back.Scope != nil || back.Sites != nil {
		t.Errorf("%+v", back)
	}
	sites("technician", "s1", "s2")
	var in struct{ User struct{ Sites []string } }
	if a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":"technician","password":%q}`, secret)); json.Unmarshal(a.body, &in) != nil || len(in.User.Sites) != 2 {
		t.Errorf("%s", a.body)
	}
	for _, tt := range []struct {
		who, body string
		want      int
	}{
		{"", `{"sites":[]}`, 401}, {"reviewer", `{"sites":[]}`, 403},
		{"administrator", `{"sites":["n0"]}`, 400}, {"administrator", `{"sites":["none"]}`, 400},
	} {
		if a := p.do(tt.who, "PUT", "/api/users/"+id("technician")+"/sites", tt.body); a.status != tt.want {
			t.Errorf("%+v: %d %s", tt, a.status, a.body)
		}
	}
}

// TestOtherVersionsExchange checks that requests in the form of the first version, and in one that
// a later version might have, are answered. Unknown parts of a change are passed on unchanged.
func TestOtherVersionsExchange(t *testing.T) {
	files, err := filepath.Glob("testdata/sync/*.json")
	if err != nil || len(files) < 2 {
		t.Fatalf("%v, %v", files, err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			p := newPlant(t)
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			var in struct {
				Request json.RawMessage
				Carried []string
				Reply   []string // the fields that such a program reads
			}
			if err := json.Unmarshal(b, &in); err != nil {
				t.Fatal(err)
			}
			a := p.do(
				"technician", "POST", "/api/sync", strings.ReplaceAll(string(in.Request), "AUTHOR", id("technician")),
			)
			var r map[string]json.RawMessage
			if a.status != 200 || json.Unmarshal(a.body, &r) != nil {
				t.Fatalf("%d %s", a.status, a.body)
			}
			for _, name := range in.Reply {
				if _, ok := r[name]; !ok {
					t.Errorf("the reply has no %s: %s", name, a.body)
				}
			}
			if string(r["acknowledged"]) != `["c1"]` || string(r["quarantined"]) != "[]" {
				t.Errorf("%s", a.body)
			}
			seen := p.do("reviewer", "POST", "/api/sync", push())
			for _, part := range in.Carried {
				if !strings.Contains(string(seen.body), part) {
					t.Errorf("%s is not carried: %s", part, seen.body)
				}
			}
		})
	}
}
