package api_test

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/journal"
	"gaugewright/sync/store"
)

type field struct {
	name  string
	value any
}

// put adds the first change of a record straight to the store.
func (p *testPlant) put(record, kind, parent string, fields ...field) {
	p.t.Helper()
	c := change.Change{ID: "c" + record, Device: "dan", Seq: 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(0, 0, "dan"),
		Record: record, Kind: kind, Parent: parent}
	for _, f := range fields {
		b, err := json.Marshal(f.value)
		if err != nil {
			p.t.Fatal(err)
		}
		c.Set = append(c.Set, change.Setting{Field: f.name, Value: b})
	}
	if r, err := p.store.Add(context.Background(), []change.Change{c}); err != nil || len(r.Accepted) != 1 {
		p.t.Fatalf("%s: %+v, %v", record, r, err)
	}
}

func (p *testPlant) pulled(who string) (records []string) {
	p.t.Helper()
	var r struct{ Changes []struct{ Record string } }
	if a := p.do(who, "POST", "/api/sync", push()); a.status != 200 || json.Unmarshal(a.body, &r) != nil {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	for _, c := range r.Changes {
		records = append(records, c.Record)
	}
	return records
}

// TestScopeOfRuns checks that of five old visits a phone gets every visit, but only the runs of the
// latest two and of its user's own. A recent visit of another instrument with a long history is
// always complete.
func TestScopeOfRuns(t *testing.T) {
	p := newPlant(t)
	old := func(days int) string { return p.now.AddDate(0, 0, -days).Format(time.RFC3339) }
	visit := func(n int, instrument, started, person string) {
		v := fmt.Sprintf("v%d", n)
		p.put(
			v, "visit", instrument, field{"instrument", instrument}, field{"started", started}, field{"person", person},
		)
		p.put(fmt.Sprintf("r%d", n), "run", v, field{"label", "as found"})
	}
	p.put("n1", "instrument", "", field{"tag", "PI-1"})
	for n, person := range []string{"an", id("technician"), "an", "an", "an"} {
		visit(n, "n1", old(900-n*100), person)
	}
	p.put("n2", "instrument", "", field{"tag", "PI-2"})
	for n := 5; n < 9; n++ {
		visit(n, "n2", old(20-n), "an")
	}
	p.put("r9", "run", "v9", field{"label", "its visit has not come"})
	want := func(who string, runs ...string) {
		t.Helper()
		got := p.pulled(who)
		for n := range 10 {
			run := fmt.Sprintf("r%d", n)
			if slices.Contains(got, run) != slices.Contains(runs, run) {
				t.Errorf("%s: %s among %v: want %v", who, run, got, runs)
			}
			if n < 9 && !slices.Contains(got, fmt.Sprintf("v%d", n)) {
				t.Errorf("%s lacks visit v%d", who, n)
			}
		}
	}
	want("technician", "r1", "r3", "r4", "r5", "r6", "r7", "r8", "r9")
	want("reviewer", "r3", "r4", "r5", "r6", "r7", "r8", "r9")
	// A newer visit replaces an older one, although the scope was computed before.
	visit(10, "n1", old(100), "an")
	want("reviewer", "r4", "r5", "r6", "r7", "r8", "r9")
	p.now = p.now.AddDate(0, 0, 60)
	var in struct{ Access string }
	if r := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":"reviewer","password":%q}`, secret)); json.Unmarshal(r.body, &in) != nil || in.Access == "" {
		t.Fatalf("login: %d %s", r.status, r.body)
	}
	p.tokens["reviewer"] = in.Access
	want("reviewer", "r4", "r7", "r8", "r9")
}

// TestTreeOverTheAPI checks that with a kept head the API's answer alone proves that its journal is
// the beginning of today's.
func TestTreeOverTheAPI(t *testing.T) {
	p := newPlant(t)
	type answer struct {
		Key   string
		Head  store.Head
		Proof []string
	}
	ask := func(query string) (a answer) {
		t.Helper()
		if r := p.do("technician", "GET", "/api/tree"+query, ""); r.status != 200 || json.Unmarshal(r.body, &a) != nil {
			t.Fatalf("%d %s", r.status, r.body)
		}
		if err := a.Head.Verify(a.Key); err != nil {
			t.Error(err)
		}
		return a
	}
	for n := range 5 {
		p.put(fmt.Sprintf("r%d", n), "visit", "", field{"f", "1"})
	}
	first := ask("")
	for n := 5; n < 12; n++ {
		p.put(fmt.Sprintf("r%d", n), "visit", "", field{"f", "1"})
	}
	now := ask("?from=5")
	var proof []journal.Hash
	for _, one := range now.Proof {
		proof = append(proof, hashOf(t, one))
	}
	if err := journal.CheckConsistency(5, 12, hashOf(t, first.Head.Root), hashOf(t, now.Head.Root), proof); err != nil || now.Key != first.Key {
		t.Errorf("%+v: %v", now, err)
	}
	for _, bad := range []string{"0", "13", "-1", "x"} {
		if r := p.do("technician", "GET", "/api/tree?from="+bad, ""); r.status != 400 {
			t.Errorf("from %s: %d %s", bad, r.status, r.body)
		}
	}
}

func hashOf(t *testing.T, text string) journal.Hash {
	t.Helper()
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != len(journal.Hash{}) {
		t.Fatalf("%q is not a hash", text)
	}
	return journal.Hash(b)
}
