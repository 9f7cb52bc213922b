package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// another is another person's device, with an account of its own.
func (p *testPlant) another(name string, role auth.Role) *phone {
	p.t.Helper()
	if _, err := p.keeper.Add(id(name), name, role, secret); err != nil {
		p.t.Fatal(err)
	}
	a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":%q,"password":%q}`, name, secret))
	var in struct{ Access string }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	p.tokens[name] = in.Access
	return &phone{
		p,
		plant.Drafter{Device: id(name) + "1", Author: id(name), Random: rand.NewChaCha8([32]byte{2, byte(len(p.tokens))})},
	}
}

// sends pushes changes as a user and returns why each was quarantined, "" for those accepted.
func (p *testPlant) sends(who string, list ...change.Change) []string {
	p.t.Helper()
	a := p.do(who, "POST", "/api/sync", push(list...))
	var r struct {
		Acknowledged []string
		Quarantined  []struct{ ID, Reason string }
	}
	if err := json.Unmarshal(a.body, &r); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	why := make([]string, len(list))
	for i, c := range list {
		switch {
		case slices.Contains(r.Acknowledged, c.ID):
		case !slices.ContainsFunc(r.Quarantined, func(h struct{ ID, Reason string }) bool { why[i] = h.Reason; return h.ID == c.ID }):
			p.t.Fatalf("nothing is said of %s: %s", c.ID, a.body)
		}
	}
	return why
}

func (f *phone) drafts(s merge.State, sets ...plant.Set) change.Change {
	f.t.Helper()
	c, _, err := f.drafter.Edit(s, f.now, sets...)
	if err != nil {
		f.t.Fatal(err)
	}
	return c
}

// TestASignatureCoversTheWholeVisit changes every field of a signed visit, one by one, as the
// person who signed it. The change is accepted, the office sees which field it was, and approves
// only what was signed again. ISO/IEC 17025:2017 lists in 7.8.2 what a report states, and 7.8.1.1
// asks that it be authorised.
func TestASignatureCoversTheWholeVisit(t *testing.T) {
	fields := []struct {
		field string
		value any
		named string
	}{
		{
			"item",
			doc{
				"tag": "PI-1", "serial": "another",
				"range": doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}, "resolution": "0.1",
				"limit": doc{"rule": "en837", "class": "1.6"},
			},
			"item",
		},
		{
			"item",
			doc{
				"tag": "PI-1", "serial": "S-PI-1",
				"range": doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}, "resolution": "0.1",
				"limit": doc{"rule": "en837", "class": "4"},
			},
			"item",
		},
		{
			"standard",
			doc{
				"id": "std1", "range": doc{},
				"snapshot": doc{"name": "master 1", "serial": "forged", "due": "2027-12-31"},
			},
			"standard",
		},
		{"surroundings", doc{"temperature_c": "22"}, "surroundings"},
		{"head", doc{"standard_above_m": "1", "fluid": "water"}, "head"},
		{"identity", doc{"ok": false, "note": "x"}, "identity"},
		{"condition", doc{"ok": true, "note": "dented"}, "condition"},
		{"adjusted", doc{"done": false, "note": "screw turned"}, "adjusted"},
		{"method", doc{"id": "m", "version": 2, "name": "Other", "definition": twoPoints["definition"]}, "method"},
		{"method", because("said afterwards"), "method"},
		{"started", "2026-03-03T05:06:07.000Z", "started"},
		{"person", id("technician"), "person"},
		{"instrument", "1nstr", "instrument"},
		{"round", "r0vnd", "round"},
		{"cautions", doc{"codes": []string{}, "at": "x"}, "cautions"},
		{"summary", doc{}, "summary"},
		{"not_tested", doc{"why": "damaged", "reason": "glass broken", "at": "x"}, "not_tested"},
		{
			"meter",
			doc{
				"id": "std2", "range": doc{},
				"snapshot": doc{"name": "loop meter", "serial": "forged", "due": "2027-12-31"},
			},
			"meter",
		},
		{
			"barometer",
			doc{
				"id": "std3", "range": doc{},
				"snapshot": doc{"name": "barometer", "serial": "forged", "due": "2027-12-31"},
			},
			"barometer",
		},
		{"service", doc{"standard": "clean", "at": "x"}, "service"},
		{"typed", doc{"surroundings": doc{}}, "typed"},
		{"disposition", doc{"way": "replaced", "serial": "Q-118", "at": "x"}, "disposition"},
		{"bypasses", doc{"none": true, "at": "x"}, "bypasses"},
		{"bypass.b1", doc{"name": "jumper 14", "state": "removed", "at": "x"}, "bypass"},
		{"since", doc{"visit": "v0", "note": "", "at": "x"}, "since"},
		{"order", doc{"number": "4711", "received": "2026-01-31"}, "order"},
		{"manifold", doc{"visits": []string{id("visit"), "0ther"}, "high": "10", "unit": "bar"}, "manifold"},
		{"remark.r1", doc{"text": "valve stiff"}, "remark"},
		{"photo.p1", doc{"sha256": strings.Repeat("a", 64), "type": "image/jpeg", "caption": ""}, "photo"},
		{"something.new", "x", "something"},
		{"with." + id("reviewer"), doc{}, "with"},
	}
	for _, name := range fieldsOf(t, "visit") {
		if name != "signature" && !plant.OfficeField(name) && !slices.ContainsFunc(fields, func(x struct {
			field string
			value any
			named string
		}) bool {
			return x.named == name
		}) {
			t.Errorf("the field %s of a visit is not tested", name)
		}
	}
	p := newPlant(t)
	f := p.phone()
	for i, tt := range fields {
		visit := f.wholeVisit(fmt.Sprintf("PI-%d", i))
		path := "/api/office/visits/" + visit.ID + "/approve"
		if got := p.look(visit.ID); slices.Contains(got.Attention, "after_signature") {
			t.Fatalf("%s: before anything was changed: %v", tt.field, got.Attention)
		}
		if why := p.sends("technician", f.drafts(f.state(visit.ID), set(tt.field, tt.value))); why[0] != "" {
			t.Errorf("%s: %s", tt.field, why[0])
			continue
		}
		got := p.look(visit.ID)
		if !slices.Contains(got.Attention, "after_signature") || !slices.Equal(got.Changed, []string{tt.named}) {
			t.Errorf("%s: %v %v", tt.field, got.Attention, got.Changed)
		}
		for _, r := range p.day(t, "2026-03-04").Visits {
			if r.ID == visit.ID && !slices.Equal(r.Changed, []string{tt.named}) {
				t.Errorf("%s in the list: %v", tt.field, r.Changed)
			}
		}
		p.refused("unsigned", 409, "administrator", path, js(doc{"covers": f.covers(visit.ID)}))
		if tt.field == "person" { // its value is the same, so once signed again it is approved
			f.sign(f.state(visit.ID))
			if a := p.do("administrator", "POST", path, js(doc{"covers": f.covers(visit.ID)})); a.status != 200 {
				t.Errorf("signed again: %d %s", a.status, a.body)
			}
		}
	}
	// and of a run
	for _, s := range []plant.Set{set("capture.x", doc{"step": "s1.up.1", "of": "indicated", "value": "5.0", "unit": "bar", "at": "x", "supersedes": "c1", "reason": "y"}), set("finding", finding("pass"))} {
		visit, run := f.visit("PI-run", "pass", true)
		f.edit(run, s)
		if got := p.look(visit.ID); !slices.Equal(got.Changed, []string{"runs"}) {
			t.Errorf("%s: %v", s.Field, got.Changed)
		}
		p.refused(
			"unsigned", 409, "reviewer", "/api/office/visits/"+visit.ID+"/approve",
			js(doc{"covers": f.covers(visit.ID)}),
		)
	}
}

// fieldsOf lists the fields of a kind of record in RECORDS.md.
func fieldsOf(t *testing.T, kind string) (names []string) {
	t.Helper()
	b, err := os.ReadFile("../plant/RECORDS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, part, found := strings.Cut(string(b), "\n## "+kind+"\n")
	part, _, _ = strings.Cut(part, "\n## ")
	for _, m := range regexp.MustCompile("(?m)^- `([a-z_]+)").FindAllStringSubmatch(part, -1) {
		names = append(names, m[1])
	}
	if !found || len(names) < 10 {
		t.Fatalf("RECORDS.md names %v of a %s", names, kind)
	}
	return names
}

// TestASignatureOfAnEarlierVersion: such a signature lists the changes of the runs only. It is
// valid as long as nothing of the visit came after it, whatever the stamps say.
func TestASignatureOfAnEarlierVersion(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	for _, late := range []bool{false, true} {
		visit, _ := f.visit("PI-old", "pass", false)
		runs, err := plant.Runs(p.store, visit.ID)
		if err != nil {
			t.Fatal(err)
		}
		visit = f.edit(visit, set("signature", doc{"name": "T", "strokes": []any{}, "at": plant.Stamp(f.now), "covers": plant.Covers(runs)}))
		path, want := "/api/office/visits/"+visit.ID+"/approve", 200
		if late {
			f.drafter.Count = 0 // with a count as if it had come before
			f.edit(visit, set("remark.r1", doc{"text": "x"}))
			want = 409
			if got := p.look(visit.ID); !slices.Equal(got.Changed, []string{"remark"}) {
				t.Error(got.Changed)
			}
		}
		if a := p.do("reviewer", "POST", path, js(doc{"covers": f.covers(visit.ID)})); a.status != want {
			t.Errorf("late %v: %d %s", late, a.status, a.body)
		}
	}
}

// TestWhatIsApprovedIsCalculatedAgain checks that a finding which the server cannot reproduce from
// the record is not approved, and that the visit says so from then on.
func TestWhatIsApprovedIsCalculatedAgain(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, run := f.visit("PI-1", "pass", false)
	forged := strings.Replace(js(f.evaluated(visit, run, "pass")), `"error":0.`, `"error":0.0`, 1)
	f.edit(run, set("finding", json.RawMessage(forged))) // stored before this version checked it
	f.sign(visit)
	p.refused("recomputed", 409, "reviewer", "/api/office/visits/"+visit.ID+"/approve", js(doc{"covers": f.covers(visit.ID)}))
	if got := p.look(visit.ID); !slices.Contains(got.Attention, "recomputed") || got.Status != "signed" {
		t.Errorf("%+v", got)
	}
}

// TestNobodyWritesIntoAnothersVisit checks that technicians write to their own visits, and to those
// of others that name them, and that nobody writes to an approved one.
func TestNobodyWritesIntoAnothersVisit(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	o := p.another("orla", auth.Technician)
	const theirs, frozen = "another person's", "approved and takes nothing"
	took := func(name, want, who string, c change.Change) {
		t.Helper()
		if why := p.sends(who, c)[0]; (why == "") != (want == "") || !strings.Contains(why, want) {
			t.Errorf("%s: %q, want %q", name, why, want)
		}
	}
	visit, run := f.visit("PI-1", "pass", false)
	reading := set("capture.o1", doc{"step": "s9", "of": "indicated", "value": "1", "unit": "bar", "at": "x"})
	begin := func(visit string) change.Change {
		c, _, err := o.drafter.New("run", "", visit, p.now, set("label", "repeat"), set("plan", doc{"steps": []doc{}}), reading)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	took("a field of another's", theirs, "orla", o.drafts(visit, set("surroundings", doc{"temperature_c": "9"})))
	took("a reading of another's", theirs, "orla", o.drafts(run, set("finding", finding("pass"))))
	took("a run of another's", theirs, "orla", begin(visit.ID))
	took("takes it over", theirs, "orla", o.drafts(visit, set("person", id("orla"))))
	took("names herself beside something", theirs, "orla", o.drafts(visit, set("with."+id("orla"), doc{}), set("remark.o", doc{"text": "x"})))
	took("gives her own to another", "", "technician", f.drafts(visit, set("remark.t", doc{"text": "x"})))
	took("names another as its person", theirs, "technician", f.drafts(visit, set("person", id("orla"))))
	fresh, _, err := o.drafter.New("visit", "", "", p.now, set("item", item("PI-9")), set("person", id("technician")))
	if err != nil {
		t.Fatal(err)
	}
	took("begins one in another's name", theirs, "orla", fresh)
	took("an unknown visit", "", "orla", begin("n0where"))
	took("helps", "", "orla", o.drafts(f.state(visit.ID), set("with."+id("orla"), doc{"at": "x"})))
	took("a field, helping", "", "orla", o.drafts(f.state(visit.ID), set("remark.o", doc{"text": "x"})))
	took("a run, helping", "", "orla", begin(visit.ID))
	took("the office", "", "reviewer", (&phone{p, plant.Drafter{Device: "0ff1ce", Author: id("reviewer"), Random: rand.NewChaCha8([32]byte{9})}}).drafts(f.state(visit.ID), set("remark.v", doc{"text": "x"})))

	signed := f.wholeVisit("PI-2")
	took("helps with a signed one", theirs, "orla", o.drafts(signed, set("with."+id("orla"), doc{"at": "x"})))
	runs, err := plant.Runs(p.store, signed.ID)
	if err != nil {
		t.Fatal(err)
	}
	f.approve(signed.ID)
	took("a field of an approved one", frozen, "technician", f.drafts(f.state(signed.ID), set("remark.t", doc{"text": "x"})))
	took("its signature", frozen, "technician", f.drafts(f.state(signed.ID), set("signature", doc{"name": "x"})))
	took("its run", frozen, "technician", f.drafts(f.state(runs[0].ID), set("finding", finding("pass"))))
	took("by the office", frozen, "administrator", (&phone{p, plant.Drafter{Device: "0ff1ce2", Author: id("administrator"), Random: rand.NewChaCha8([32]byte{8})}}).drafts(f.state(signed.ID), set("remark.v", doc{"text": "x"})))
	p.reopen("reviewer", signed.ID, "x")
	took("opened again", "", "technician", f.drafts(f.state(signed.ID), set("remark.t", doc{"text": "x"})))
	took("opened again, another's", theirs, "orla", o.drafts(f.state(signed.ID), set("remark.o", doc{"text": "x"})))
}

// TestSitesHoldForWriting checks that a user with sites writes nothing to a record of another site,
// nor below it, and does not receive its certificates.
func TestSitesHoldForWriting(t *testing.T) {
	p := newPlant(t)
	for n, site := range []string{"s1", "s2", ""} {
		p.at(site, fmt.Sprintf("n%d", n), "instrument", "")
		p.at(site, fmt.Sprintf("k%d", n), "certificate", "")
	}
	if err := p.keeper.SetSites(id("technician"), []string{"s1"}); err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, tt := range []struct {
		kind, site, parent string
		taken              bool
	}{{"visit", "s1", "n0", true}, {"visit", "s2", "n1", false}, {"visit", "", "n1", false}, {"visit", "s1", "n1", false}, {"visit", "", "n2", true}, {"run", "", "v1n1", false}, {"note", "s2", "", false}} {
		n++
		c := made(fmt.Sprintf("c%d", n), id("technician"), "visit", "remark.x")
		c.Kind, c.Site, c.Parent = tt.kind, tt.site, tt.parent
		if tt.kind == "run" {
			p.at("s2", "v1n1", "visit", "n1")
			c.Set[0].Field = "label"
		}
		if tt.kind == "note" {
			c.Kind, c.Record, c.Parent, c.Set[0].Field = "instrument", "n1", "", "note"
		}
		if why := p.sends("technician", c)[0]; (why == "") != tt.taken {
			t.Errorf("%+v: %q", tt, why)
		}
	}
	for n, want := range []bool{true, false, true} {
		a := p.do("technician", "GET", fmt.Sprintf("/api/certificates/k%d.pdf", n), "")
		if (a.status == 404) == want { // documents of other sites do not exist for them
			t.Errorf("the certificate of site %d: %d %s", n, a.status, a.body)
		}
	}
}

// TestSitesHoldForBlobs checks that a photo is given to those who receive a record that names it.
func TestSitesHoldForBlobs(t *testing.T) {
	p := newPlant(t)
	names := make([]string, 3)
	for n, site := range []string{"s1", "s2", ""} {
		text := []byte("photo of " + site)
		sum := sha256.Sum256(text)
		names[n] = hex.EncodeToString(sum[:])
		if err := p.store.PutBlob(names[n], text); err != nil {
			t.Fatal(err)
		}
		c := made(fmt.Sprintf("c%d", n), id("technician"), "visit", "photo.x")
		c.Site, c.Set[0].Value = site, []byte(`{"caption":"","sha256":"`+names[n]+`"}`)
		if why := p.sends("technician", c)[0]; why != "" {
			t.Fatal(why)
		}
	}
	look := func(who string, want ...int) {
		t.Helper()
		for n, name := range names {
			if a := p.do(who, "GET", "/api/blobs/"+name, ""); a.status != want[n] {
				t.Errorf("%s, blob %d: %d, want %d", who, n, a.status, want[n])
			}
		}
	}
	look("technician", 200, 200, 200)
	if err := p.keeper.SetSites(id("technician"), []string{"s1"}); err != nil {
		t.Fatal(err)
	}
	look("technician", 200, 404, 200)
	look("reviewer", 200, 200, 200)
	p.handler = p.open() // what was learned is kept
	c := made("c9", id("administrator"), "visit", "photo.x")
	c.Site, c.Set[0].Value = "s1", []byte(`{"caption":"","sha256":"`+names[1]+`"}`)
	look("technician", 200, 404, 200)
	if why := p.sends("administrator", c)[0]; why != "" {
		t.Fatal(why)
	}
	look("technician", 200, 200, 200)
}

// TestNobodyCountsAhead checks that a change whose stamp is far beyond what is known, or whose time
// is not a date, is quarantined, and that nobody else counts on from it.
func TestNobodyCountsAhead(t *testing.T) {
	p := newPlant(t)
	for i, tt := range []struct {
		count uint64
		wall  string
		want  string
	}{
		{clock.MaxCount, "2026-03-04T05:06:07.089Z", "counts too far"},
		{1 << 33, "2026-03-04T05:06:07.089Z", "counts too far"},
		{1, "9999-99-99T99:99:99.999Z", "wall"},
		{1, "2026-13-45T05:06:07.089Z", "wall"},
		{1, "2026-02-29T05:06:07.089Z", "wall"},
		{1, "2031-03-04T05:06:07.089Z", ""}, // a wrong clock affects nobody
		{1 << 32, "1970-01-01T00:00:00.000Z", ""},
	} {
		c := made(fmt.Sprintf("c%d", i), id("technician"), "visit", "remark.x")
		c.Stamp.Count, c.Wall = tt.count, tt.wall
		if why := p.sends("technician", c)[0]; (why == "") != (tt.want == "") || !strings.Contains(why, tt.want) {
			t.Errorf("%d %s: %q", tt.count, tt.wall, why)
		}
	}
}

// TestADecisionIsOfWhatItNames checks that a return and a reopening apply to the signature in
// force, however high its phone counted.
func TestADecisionIsOfWhatItNames(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, _ := f.visit("PI-1", "pass", false)
	f.drafter.Count += 1 << 31 // a phone whose count runs ahead as far as allowed
	visit = f.sign(visit)
	signature, _ := visit.Field("signature")
	own := signature.Heads[0].Stamp.Count
	f.drafter.Count = 1 << 20
	base := "/api/office/visits/" + visit.ID
	if a := p.do("reviewer", "POST", base+"/return", `{"remark":"again"}`); a.status != 200 || p.status(visit.ID) != plant.Returned {
		t.Errorf("%d %s: %s", a.status, a.body, p.status(visit.ID))
	}
	// Signed again by a phone whose count is behind: it had not received what others wrote.
	again := f.drafts(f.state(visit.ID), set("signature", doc{"name": "T", "at": plant.Stamp(f.now), "covers": f.covers(visit.ID), "of": plant.SignedOf}))
	again.Stamp.Count = own + 1
	if why := p.sends("technician", again); why[0] != "" || p.status(visit.ID) != plant.Signed {
		t.Fatalf("%v %s", why, p.status(visit.ID))
	}
	f.approve(visit.ID)
	p.reopen("reviewer", visit.ID, "x")
	if got := p.status(visit.ID); got != plant.Reopened {
		t.Error(got)
	}
	third := f.drafts(f.state(visit.ID), set("signature", doc{"name": "T", "at": plant.Stamp(f.now), "covers": f.covers(visit.ID), "of": plant.SignedOf}))
	third.Stamp.Count = own + 2
	if why := p.sends("technician", third); why[0] != "" || p.status(visit.ID) != plant.Signed {
		t.Errorf("%v %s", why, p.status(visit.ID))
	}
}

// TestClosedRunsInOnePush checks that the rules for values written once and for closed runs apply
// inside one push as they do between two.
func TestClosedRunsInOnePush(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	capture := func(name, value string) plant.Set {
		return set("capture."+name, doc{"step": "s1", "of": "indicated", "value": value, "unit": "bar", "at": "x"})
	}
	visit := f.make("visit", "", set("item", item("PI-1")), set("person", id("technician")))
	begun, run, err := f.drafter.New("run", "", visit.ID, p.now, set("label", "as found"), set("plan", doc{"steps": []doc{}}))
	if err != nil {
		t.Fatal(err)
	}
	next := func(sets ...plant.Set) change.Change {
		t.Helper()
		c, s, err := f.drafter.Edit(run, p.now, sets...)
		if err != nil {
			t.Fatal(err)
		}
		run = s
		return c
	}
	list := []change.Change{begun, next(capture("a1", "5.00")), next(capture("a1", "9.99")),
		next(set("label", "repeat")), next(set("plan", doc{"steps": []doc{{}}})), // of a run that is open
		next(set("closed", doc{"at": "x"})), next(capture("a2", "1.0")),
		next(set("label", "as left")), next(set("plan", doc{"steps": []doc{}, "as_found_once": false})), next(set("closed", nil)), next(set("closed", doc{"at": "y"})), next(set("done.x", doc{"at": "x"}))}
	want := []bool{true, true, false, false, false, true, false, false, false, false, false, false}
	for i, why := range p.sends("technician", list...) {
		if (why == "") != want[i] {
			t.Errorf("change %d of the push: %q", i, why)
		}
	}
	state := f.state(run.ID)
	if v, ok := state.Value("capture.a1"); !ok || !strings.Contains(string(v), "5.00") {
		t.Errorf("%s", v)
	}
}

// TestReadingsOfWhoHadNotHeard checks that a phone which did not know that the run was closed keeps
// its readings, whoever comes first, and that the office sees that they came late.
func TestReadingsOfWhoHadNotHeard(t *testing.T) {
	p := newPlant(t)
	a, b := p.phone(), p.phone()
	b.drafter.Device, b.drafter.Random = "ph0ne2", rand.NewChaCha8([32]byte{7})
	visit, _ := a.visit("PI-1", "pass", false)
	run := a.make("run", visit.ID, set("label", "repeat"), set("plan", doc{"steps": []doc{}}))
	b.drafter.Count = a.drafter.Count
	var readings []change.Change
	for i := range 3 {
		readings = append(readings, b.drafts(run, set(fmt.Sprintf("capture.b%d", i), doc{"step": "s1.up.1", "of": "indicated", "value": "5.0", "unit": "bar", "at": "x"})))
	}
	closing := a.drafts(run, set("closed", doc{"at": "x"}))
	for _, why := range append(p.sends("technician", closing), p.sends("technician", readings...)...) {
		if why != "" {
			t.Error(why)
		}
	}
	if got := p.look(visit.ID); !slices.Contains(got.Attention, "after_closing") {
		t.Error(got.Attention)
	}
	knows := b.drafts(b.state(run.ID), set("closed", doc{"at": "y"}), set("capture.b9", doc{"step": "s1", "of": "indicated", "value": "5.0", "unit": "bar", "at": "x"}))
	if why := p.sends("technician", knows)[0]; !strings.Contains(why, "closed") {
		t.Error("of one that had heard of it:", why)
	}
}

// TestCertificatesComeFromTheOffice checks that no push writes a certificate, whatever the role,
// and that no number pushed earlier affects the office's.
func TestCertificatesComeFromTheOffice(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	for i, who := range []string{"technician", "reviewer", "administrator"} {
		c := made(fmt.Sprintf("c%d", i), id(who), "certificate", "number")
		c.Set[0].Value = []byte(`"9999-99999"`)
		if why := p.sends(who, c)[0]; why == "" {
			t.Errorf("%s wrote a certificate", who)
		}
	}
	f.make("certificate", "v1s1t", set("number", "9999-99999")) // by an earlier version
	f.make("certificate", "v1s1t", set("number", "2031-00007"))
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	if c := f.approve(f.wholeVisit("PI-1").ID); c.Number != "2026-00001" {
		t.Errorf("%+v", c)
	}
}

// restored is the plant as a backup has it, with everybody logged in again.
func (f *phone) restored(backup string) *phone {
	t := f.t
	t.Helper()
	dir := filepath.Join(t.TempDir(), "restored")
	if _, err := store.Restore(dir, strings.NewReader(backup)); err != nil {
		t.Fatal(err)
	}
	s, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	q := *f.testPlant
	q.store = s
	if q.keeper, err = auth.New(s, q.clock); err != nil {
		t.Fatal(err)
	}
	q.handler = q.open()
	q.tokens = map[string]string{} // the log-ins have ended
	for name := range people {
		q.logIn(name)
	}
	g := *f
	g.testPlant = &q
	return &g
}

// TestNumbersAfterARestore checks that numbers given after a backup are not given again once it is
// restored, however often.
func TestNumbersAfterARestore(t *testing.T) {
	p := newPlant(t)
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	f := p.phone()
	first := f.wholeVisit("PI-1")
	second := f.wholeVisit("PI-2")
	var backup strings.Builder
	if err := p.store.Backup(&backup, false); err != nil {
		t.Fatal(err)
	}
	given := []string{f.approve(first.ID).Number}
	for range 2 {
		g := f.restored(backup.String())
		given = append(given, g.approve(second.ID).Number, g.approve(first.ID).Number)
	}
	slices.Sort(given)
	if n := len(slices.Compact(slices.Clone(given))); n != 5 || slices.Contains(given, "") {
		t.Errorf("twice the same: %v", given)
	}
}
