package api_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"

	"github.com/google/go-cmp/cmp"
)

type doc = map[string]any

// phone is a technician's device, which drafts its own changes.
type phone struct {
	*testPlant
	drafter plant.Drafter
}

func (p *testPlant) phone() *phone {
	return &phone{p, plant.Drafter{Device: "ph0ne", Author: id("technician"), Random: rand.NewChaCha8([32]byte{1})}}
}

// keep puts a drafted change into the store as a push would.
func (f *phone) keep(c change.Change, s merge.State, err error) merge.State {
	f.t.Helper()
	if err != nil {
		f.t.Fatal(err)
	}
	r, err := f.store.Add(f.t.Context(), []change.Change{c})
	if err != nil || len(r.Refused) > 0 {
		f.t.Fatal(err, r.Refused)
	}
	return s
}

func set(field string, value any) plant.Set { return plant.Set{Field: field, Value: value} }

func (f *phone) make(kind, parent string, sets ...plant.Set) merge.State {
	f.t.Helper()
	return f.keep(f.drafter.New(kind, "", parent, f.now, sets...))
}

func (f *phone) edit(s merge.State, sets ...plant.Set) merge.State {
	f.t.Helper()
	return f.keep(f.drafter.Edit(s, f.now, sets...))
}

func item(tag string) doc {
	return doc{"tag": tag, "serial": "S-" + tag, "description": "filter outlet", "range": doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}, "resolution": "0.1",
		"limit": doc{"rule": "en837", "class": "1.6"}}
}

func finding(verdict string) doc {
	return doc{"verdict": verdict, "reason": "", "complete": true, "readings": []doc{{"step": "s1.up.1", "direction": "up", "point": 5, "applied": 5, "indicated": 5.1,
		"error": 0.1, "limit_low": -0.16, "limit_high": 0.16, "fraction": 0.625, "verdict": verdict}}, "worst": doc{"point": 5, "direction": "up", "fraction": 0.625}}
}

// visit makes a visit with one closed run; if signed, the signature covers the run as it is.
func (f *phone) visit(tag, verdict string, signed bool, more ...plant.Set) (visit, run merge.State) {
	f.t.Helper()
	base := []plant.Set{set("item", item(tag)), set("person", id("technician")), set("started", plant.Stamp(f.now)),
		set("standard", doc{"id": "std1", "range": doc{}, "snapshot": doc{"name": "master 1", "due": "2026-12-31"}}), set("method", twoPoints)}
	for _, x := range more {
		base = append(slices.DeleteFunc(base, func(b plant.Set) bool { return b.Field == x.Field }), x)
	}
	visit = f.make("visit", "", base...)
	read := map[string]string{"pass": "5.1", "fail": "5.5"}[verdict]
	begun := []plant.Set{set("label", "as found"), set("plan", doc{"steps": []doc{}}),
		set("capture.c1", doc{"step": "s1.up.1", "of": "indicated", "value": read, "unit": "bar", "at": plant.Stamp(f.now)})}
	if !slices.ContainsFunc(more, func(x plant.Set) bool { return x.Field == "method" }) {
		begun = append(begun, set("capture.c0", doc{"step": "s1.up.0", "of": "indicated", "value": "0", "unit": "bar", "at": plant.Stamp(f.now)}))
	}
	run = f.make("run", visit.ID, begun...)
	run = f.edit(run, set("finding", f.evaluated(visit, run, verdict)), set("closed", doc{"at": plant.Stamp(f.now)}))
	if signed {
		visit = f.sign(visit)
	}
	return visit, run
}

// twoPoints reads two points, rising.
var twoPoints = doc{"id": "m", "version": 1, "name": "Yearly check", "definition": doc{"kind": "gauge", "points": doc{"values": []string{"0", "5"}}, "directions": "up", "cycles": 1, "exercise": 0,
	"tap": false, "hold_s": 0, "hold_top_s": 0, "way": "applied-set", "decision": doc{"rule": "simple"}}}

// because is the method twoPoints, taken instead of the one that was set.
func because(reason string) doc {
	m := maps.Clone(twoPoints)
	m["reason"] = reason
	return m
}

// nameless is the same method without the name that a certificate needs.
var nameless = set("method", doc{"id": "m", "version": 1, "name": "", "definition": twoPoints["definition"]})

// evaluated returns the finding of a run from the phone's calculation, or an invented one if the
// visit cannot be calculated.
func (f *phone) evaluated(visit, run merge.State, verdict string) any {
	f.t.Helper()
	r, err := plant.ReadRun(run)
	if err != nil {
		f.t.Fatal(err)
	}
	v, err := plant.ReadVisit(visit)
	if err != nil {
		return finding(verdict)
	}
	sheet, err := v.Sheet(&r, true)
	if err != nil {
		return finding(verdict)
	}
	found := calc.Call("evaluate", sheet)
	if !strings.HasPrefix(string(found), `{"verdict":"`+verdict+`"`) {
		return finding(verdict)
	}
	return json.RawMessage(found)
}

// renew recalculates the finding of a run, as the phone does before a visit is signed again.
func (f *phone) renew(run string) {
	f.t.Helper()
	state := f.state(run)
	f.edit(state, set("finding", f.evaluated(f.state(state.Parent), state, "pass")))
}

func (f *phone) renewAll(visit string) {
	f.t.Helper()
	runs, err := plant.Runs(f.store, visit)
	if err != nil {
		f.t.Fatal(err)
	}
	for _, r := range runs {
		f.renew(r.ID)
	}
}

func (f *phone) covers(visit string) []string {
	f.t.Helper()
	runs, err := plant.Runs(f.store, visit)
	if err != nil {
		f.t.Fatal(err)
	}
	v, err := plant.LoadVisit(f.store, visit)
	if err != nil && !errors.Is(err, plant.ErrValue) {
		f.t.Fatal(err)
	}
	return plant.Covered(&v, runs)
}

func (f *phone) sign(visit merge.State) merge.State {
	f.t.Helper()
	return f.edit(visit, set("signature", doc{"name": "T", "strokes": []any{}, "at": plant.Stamp(f.now), "covers": f.covers(visit.ID), "of": plant.SignedOf}))
}

func js(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(b)
}

// TestWhoMaySeeTheOffice goes through the office's routes as guest, technician, reviewer and
// administrator, with wanted and unwanted content.
func TestWhoMaySeeTheOffice(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, run := f.visit("PI-1", "fail", true)
	other, _ := f.visit("PI-2", "pass", false)
	gauge := f.make("instrument", "", set("tag", "PI-7"), set("description", "reactor jacket"))
	f.make("instrument", "", set("tag", "PI-70"), set("serial", "p-31"))
	f.make("instrument", "", set("tag", "PI-71"), set("aliases", []string{"p-30", "p-31"}))
	p.do("technician", "POST", "/api/sync", push(made("c1", id("technician"), "visit", "approval")))
	office := [4]int{401, 403, 200, 200}
	missing := [4]int{401, 403, 404, 404}
	tests := []struct {
		method, path, body string
		want               [4]int
		has, hasNot        []string
	}{
		{"GET", "/api/office/day?date=2026-03-04", "", office, []string{"PI-1", "PI-2", `"fail"`, `"quarantined":1`}, []string{"PI-7"}},
		{"GET", "/api/office/day?date=2026-03-05", "", office, []string{"PI-1", `"visits":[]`}, []string{"PI-2"}}, // signed work waits on every day
		{"GET", "/api/office/day?date=today", "", [4]int{401, 403, 400, 400}, []string{`"range"`}, nil},
		{"GET", "/api/office/visits/" + visit.ID, "", office, []string{run.ID, `"capture.c1"`, `"history"`, `"technician"`}, []string{other.ID}},
		{"GET", "/api/office/visits/none", "", missing, []string{`"not_found"`}, nil},
		{"GET", "/api/office/visits/" + gauge.ID, "", missing, []string{`"not_found"`}, []string{"PI-7"}},
		{"GET", "/api/office/register?q=jacket%20pi", "", office, []string{"PI-7"}, []string{"PI-1"}},
		{"GET", "/api/office/register?name=pi-7", "", office, []string{`"PI-7"`, `"after":""`}, []string{"PI-70", "PI-71"}},
		{"GET", "/api/office/register?name=P-31", "", office, []string{`"PI-71"`}, []string{`"PI-7"`, "PI-70"}}, // by its alias
		{"GET", "/api/office/register?name=PI", "", office, []string{`"instruments":[]`}, []string{"PI-7"}},
		{"GET", "/api/office/register?q=boiler", "", office, []string{`"instruments":[]`}, []string{"PI-7"}},
		{"GET", "/api/office/history/" + gauge.ID, "", office, []string{"reactor jacket", `"technician"`}, []string{"PI-1"}},
		{"GET", "/api/office/history/none", "", missing, nil, nil},
		{"GET", "/api/office/quarantine", "", office, []string{"may not write the field approval", `"technician"`, `"visit"`}, nil},
		{"POST", "/api/office/visits/" + other.ID + "/approve", `{"covers":[]}`, [4]int{401, 403, 409, 409}, []string{`"unsigned"`}, nil},
		{"POST", "/api/office/visits/" + visit.ID + "/approve", `{"covers":[]}`, [4]int{401, 403, 409, 409}, []string{`"changed"`}, nil},
		{"POST", "/api/office/visits/" + visit.ID + "/return", `{"remark":" "}`, [4]int{401, 403, 400, 400}, []string{`"range"`}, nil},
		{"POST", "/api/office/visits/" + visit.ID + "/return", `{"remark":"x","more":1}`, [4]int{401, 403, 400, 400}, []string{`"syntax"`}, nil},
		{"POST", "/api/office/visits/none/return", `{"remark":"x"}`, missing, nil, nil},
		{"POST", "/api/office/visits/" + visit.ID + "/reopen", `{"reason":"a wrong serial"}`, [4]int{401, 403, 409, 409}, []string{`"unsigned"`}, nil}, // not approved
		{"POST", "/api/office/visits/" + visit.ID + "/reopen", `{"reason":" "}`, [4]int{401, 403, 400, 400}, []string{`"range"`}, nil},
		{"POST", "/api/office/visits/none/reopen", `{"reason":"x"}`, missing, nil, nil},
	}
	for _, tt := range tests {
		for i, who := range []string{"", "technician", "reviewer", "administrator"} {
			a := p.do(who, tt.method, tt.path, tt.body)
			if a.status != tt.want[i] {
				t.Errorf("%s %s as %q: %d, want %d: %s", tt.method, tt.path, who, a.status, tt.want[i], a.body)
			}
			for _, s := range tt.has {
				if i > 1 != strings.Contains(string(a.body), s) {
					t.Errorf("%s %s as %q: %q in %s", tt.method, tt.path, who, s, a.body)
				}
			}
			for _, s := range append(tt.hasNot, "argon2id") {
				if strings.Contains(string(a.body), s) {
					t.Errorf("%s %s as %q shows %q", tt.method, tt.path, who, s)
				}
			}
		}
	}
	if got, err := plant.LoadVisit(p.store, visit.ID); err != nil || got.Status != plant.Signed {
		t.Error("a refused request changed the visit:", got.Status, err)
	}
}

func (p *testPlant) status(visit string) plant.Status {
	p.t.Helper()
	v, err := plant.LoadVisit(p.store, visit)
	if err != nil {
		p.t.Fatal(err)
	}
	return v.Status
}

func (p *testPlant) refused(want string, status int, who, path, body string) {
	p.t.Helper()
	a := p.do(who, "POST", path, body)
	var e struct{ Error struct{ Code string } }
	if err := json.Unmarshal(a.body, &e); err != nil || a.status != status || e.Error.Code != want {
		p.t.Errorf("%s: %d %s, want %d %s", path, a.status, a.body, status, want)
	}
}

func TestApproving(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, run := f.visit("PI-1", "pass", true)
	path := "/api/office/visits/" + visit.ID + "/approve"
	seen := f.covers(visit.ID)
	run = f.edit(run, set("done.late", doc{"at": "x"}))
	p.refused("changed", 409, "reviewer", path, js(doc{"covers": seen}))
	p.refused("unsigned", 409, "reviewer", path, js(doc{"covers": f.covers(visit.ID)})) // the signature covers the earlier state
	visit = f.sign(visit)
	if a := p.do("reviewer", "POST", path, js(doc{"covers": f.covers(visit.ID)})); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	p.refused("approved", 409, "administrator", path, js(doc{"covers": f.covers(visit.ID)}))
	p.refused("approved", 409, "administrator", "/api/office/visits/"+visit.ID+"/return", `{"remark":"again"}`)
	got, err := plant.LoadVisit(p.store, visit.ID)
	if err != nil || got.Status != plant.Approved || got.Approval.By != id("reviewer") || !slices.Equal(got.Approval.Covers, f.covers(visit.ID)) {
		t.Errorf("%+v %v", got.Approval, err)
	}
	// A phone gets it with its next exchange, from the office's own device and after everything the
	// office had seen.
	a := p.do("technician", "POST", "/api/sync", push())
	var in struct {
		Changes []struct {
			Author, Device, Stamp string
			Set                   []struct{ Field string }
		}
	}
	if err := json.Unmarshal(a.body, &in); err != nil {
		t.Fatal(err)
	}
	last := in.Changes[len(in.Changes)-1]
	if last.Set[0].Field != "approval" || last.Author != id("reviewer") || last.Device == f.drafter.Device || last.Stamp <= in.Changes[len(in.Changes)-2].Stamp {
		t.Errorf("%+v", last)
	}
	f.edit(run, set("done.later", doc{"at": "x"}))
	if list := p.day(t, "2026-03-04").Visits[0].Attention; !slices.Contains(list, "after_approval") {
		t.Error(list)
	}
}

func TestReturningAndSigningAgain(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, _ := f.visit("PI-1", "pass", true)
	base := "/api/office/visits/" + visit.ID
	if a := p.do("reviewer", "POST", base+"/return", `{"remark":" the head is missing "}`); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	got, err := plant.LoadVisit(p.store, visit.ID)
	if err != nil || got.Status != plant.Returned || len(got.Returns) != 1 || got.Returns[0].Text != "the head is missing" || got.Returns[0].Author != id("reviewer") {
		t.Fatalf("%+v %v", got.Returns, err)
	}
	p.refused("unsigned", 409, "reviewer", base+"/approve", js(doc{"covers": f.covers(visit.ID)}))
	// The phone knows of the return before it signs again.
	s, _, err := p.store.Record(visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	if f.drafter.Count, err = plant.HighestCount(p.store); err != nil {
		t.Fatal(err)
	}
	f.sign(s)
	if a := p.do("administrator", "POST", base+"/approve", js(doc{"covers": f.covers(visit.ID)})); a.status != 200 || p.status(visit.ID) != plant.Approved {
		t.Errorf("%d %s", a.status, a.body)
	}
}

func TestNobodyApprovesTheirOwnVisit(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	approve := func(v merge.State) string { return "/api/office/visits/" + v.ID + "/approve" }
	made, _ := f.visit("PI-1", "pass", true, set("person", id("reviewer")))
	body := js(doc{"covers": f.covers(made.ID)})
	p.refused("own", 409, "reviewer", approve(made), body)
	if a := p.do("administrator", "POST", approve(made), body); a.status != 200 {
		t.Errorf("somebody else: %d %s", a.status, a.body)
	}
	f.drafter.Author = id("administrator")
	signed, _ := f.visit("PI-2", "pass", true, set("person", id("technician")))
	body = js(doc{"covers": f.covers(signed.ID)})
	p.refused("own", 409, "administrator", approve(signed), body)
	if p.status(signed.ID) != plant.Signed {
		t.Error(p.status(signed.ID))
	}
	if a := p.do("reviewer", "POST", approve(signed), body); a.status != 200 {
		t.Errorf("somebody else: %d %s", a.status, a.body)
	}
}

func TestContestedVisitIsNotApproved(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, _ := f.visit("PI-1", "pass", true)
	f.edit(visit, set("surroundings", doc{"temperature_c": "20"}))
	f.edit(visit, set("surroundings", doc{"temperature_c": "30"})) // written without having seen the other
	p.refused("contested", 409, "reviewer", "/api/office/visits/"+visit.ID+"/approve", js(doc{"covers": f.covers(visit.ID)}))
	if p.status(visit.ID) != plant.Signed {
		t.Error(p.status(visit.ID))
	}
}

// TestTheOfficesDeviceGoesOnAfterARestart checks that the office's device continues its counts after a
// restart, in a store that got other changes meanwhile.
func TestTheOfficesDeviceGoesOnAfterARestart(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	first, _ := f.visit("PI-1", "pass", true)
	second, _ := f.visit("PI-2", "pass", true)
	for _, v := range []merge.State{first, second} {
		p.handler = p.open()
		if a := p.do("reviewer", "POST", "/api/office/visits/"+v.ID+"/approve", js(doc{"covers": f.covers(v.ID)})); a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	list, _, err := p.store.Since(0, 1000, func(c *change.Change) bool { return c.Device != f.drafter.Device })
	if err != nil || len(list) != 3 || list[0].Change.Kind != "key" { // the office's key comes before its first change
		t.Fatal(len(list), err)
	}
	a, b := list[1].Change, list[2].Change
	if a.Device != b.Device || a.Seq != 2 || b.Seq != 3 || b.Stamp.Count <= a.Stamp.Count {
		t.Errorf("%+v then %+v", a.Stamp, b.Stamp)
	}
}

type dayList struct {
	Visits, Waiting []dayRow
}

type dayRow struct {
	ID, Tag, Status    string
	AsFound            string `json:"as_found"`
	Attention, Changed []string
}

func (p *testPlant) day(t *testing.T, date string) dayList {
	t.Helper()
	a := p.do("reviewer", "GET", "/api/office/day?date="+date, "")
	var in dayList
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	return in
}

// TestWhatNeedsAttention makes one visit for each thing that needs the office's attention.
func TestWhatNeedsAttention(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	if list := p.day(t, "2026-03-04"); len(list.Visits) != 0 {
		t.Fatal(list) // the lists below are built while the server runs
	}
	standard := func(due, reason string) plant.Set {
		return set("standard", doc{"id": "s", "range": doc{}, "snapshot": doc{"due": due}, "reason": reason})
	}
	want := map[string][]string{}
	make := func(name, verdict string, signed bool, codes string, more ...plant.Set) (merge.State, merge.State) {
		want[name] = strings.Fields(codes)
		return f.visit(name, verdict, signed, more...)
	}
	make("good", "pass", true, "")
	make("fails", "fail", true, "no_way fail")
	make("stays", "fail", true, "left_in_service fail", set("disposition", doc{"way": "left_in_service", "by": "shift lead", "until": "2026-04-01", "reason": "x", "at": "x"}))
	make("out", "fail", true, "taken_out fail", set("disposition", doc{"way": "taken_out", "code": "sticks", "reason": "x", "at": "x"}))
	make("bypassed", "pass", true, "bypass_in", set("bypass.a", doc{"name": "jumper 14", "state": "left", "reason": "x"}), set("bypass.b", doc{"name": "key 3", "state": "removed"}))
	make("undecided", "undecided", true, "undecided")
	make("open", "pass", false, "")
	make("expired", "pass", true, "standard_out_of_date", standard("2026-03-03", ""))
	make("lasts", "pass", true, "", standard("2026-03-04", ""))
	make("reasoned", "pass", true, "standard_out_of_date standard_reason", standard("", "no other here"))
	odd := func(calibrated, e string) plant.Set {
		return set("standard", doc{"id": "s", "range": doc{"low": "-1", "high": "2", "unit": "bar", "of_span_percent": "0.05", "k": "2", "points": []doc{{"applied": "1", "error": e, "expanded": "0.001", "k": "2"}}},
			"snapshot": doc{"calibrated": calibrated, "due": "2027-12-31"}})
	}
	make("sound standard", "pass", true, "", odd("2026-03-04", "0.004"))
	make("of the future", "pass", true, "standard_odd", odd("2026-03-05", "0.004"))
	make("far outside", "pass", true, "standard_odd", odd("2026-03-04", "0.3"))
	make("none", "pass", true, "no_standard", set("standard", nil))
	make("by another method", "pass", true, "other_method", set("method", because("two points were asked for")))
	make("other", "pass", true, "identity condition", set("identity", doc{"ok": false, "note": "x"}), set("condition", doc{"ok": false, "note": "y"}))
	make("broken", "undecided", true, "item_damaged not_tested undecided", set("condition", doc{"ok": false, "state": "damaged", "note": "glass broken"}),
		set("not_tested", doc{"why": "damaged", "reason": "glass broken", "at": "x"}))
	make("dirty", "pass", true, "condition", set("condition", doc{"ok": false, "state": "dirty", "note": "oil"}))
	make("unsafe", "undecided", true, "safety_no not_tested undecided", set("cautions", doc{"codes": []string{"lock_out"}, "met": false, "at": "x"}),
		set("not_tested", doc{"why": "cautions", "reason": "not isolated", "at": "x"}))
	for _, code := range []string{"safety_no", "not_at_pressure", "disc_twice", "no_place"} {
		visit, run := make(code, "undecided", false, map[bool]string{true: "safety_no undecided", false: "undecided " + code}[code == "safety_no"])
		f.edit(run, set("finding", doc{"verdict": "undecided", "complete": true, "missing": []string{}, "warnings": []doc{{"code": code, "field": "", "message": "x"}}}))
		f.sign(visit)
	}
	make("differs", "pass", true, "recomputed", set("check.1", doc{"ok": false, "calc": "1.0.0", "note": "differs"}))
	make("agrees", "pass", true, "", set("check.1", doc{"ok": true, "calc": "1.0.0", "note": ""}))
	_, run := make("late", "pass", true, "after_signature")
	f.edit(run, set("done.x", doc{"at": "x"}))
	visit, _ := make("retyped", "pass", false, "superseded stopped")
	again := f.make("run", visit.ID, set("label", "repeat"), set("capture.a", doc{"step": "s", "of": "indicated", "value": "1", "unit": "bar", "at": "x"}))
	again = f.edit(again, set("capture.b", doc{"step": "s", "of": "indicated", "value": "2", "unit": "bar", "at": "x", "supersedes": "a", "reason": "mistyped"}))
	f.edit(again, set("closed", doc{"at": "x", "stopped": "rain"}))
	f.sign(visit)
	contested, _ := make("contested", "pass", true, "contested after_signature")
	f.edit(contested, set("identity", doc{"ok": true, "note": "a"}))
	f.edit(contested, set("identity", doc{"ok": true, "note": "b"}))
	damaged, _ := f.visit("", "pass", true)
	f.edit(damaged, set("item", "no object"))
	want[""] = []string{"damaged"}

	got := map[string][]string{}
	for _, v := range p.day(t, "2026-03-04").Visits {
		got[v.Tag] = slices.DeleteFunc(v.Attention, func(name string) bool { return name == "warnings" }) // see TestWarningsReachTheReviewer
	}
	for name := range want {
		if want[name] == nil {
			want[name] = []string{}
		}
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	// The next day the signed ones wait; the open one and the approved ones do not.
	next := p.day(t, "2026-03-05")
	if len(next.Visits) != 0 || len(next.Waiting) != len(want)-1 {
		t.Errorf("%d and %d of %d", len(next.Visits), len(next.Waiting), len(want))
	}
}

func TestRegisterIsPaged(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	const many = 250
	for i := range many {
		f.make("instrument", "", set("tag", fmt.Sprintf("PI-%03d", many-i)), set("serial", fmt.Sprintf("sn%d", i)), set("place", "Boiler House"))
	}
	read := func(q, after string) (tags []string, next string) {
		t.Helper()
		a := p.do("reviewer", "GET", "/api/office/register?q="+q+"&after="+strings.ReplaceAll(after, "\n", "%0A"), "")
		var in struct {
			Instruments []struct{ Tag string }
			After       string
		}
		if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		for _, g := range in.Instruments {
			tags = append(tags, g.Tag)
		}
		return tags, in.After
	}
	var all []string
	for after := ""; ; {
		tags, next := read("boiler", after)
		if all = append(all, tags...); next == "" {
			break
		}
		after = next
	}
	if len(all) != many || !slices.IsSorted(all) || all[0] != "PI-001" {
		t.Error(len(all), all[:min(3, len(all))])
	}
	if tags, next := read("SN7+house", ""); len(tags) != 11 || next != "" { // sn7, sn70 … sn79
		t.Error(tags, next)
	}
	moved, _, err := p.store.Record(f.make("instrument", "", set("tag", "PI-000")).ID)
	if err != nil {
		t.Fatal(err)
	}
	f.edit(moved, set("tag", "PI-999"))
	if tags, _ := read("pi-999", ""); len(tags) != 1 {
		t.Error("a changed tag is not found:", tags)
	}
	if tags, _ := read("pi-000", ""); len(tags) != 0 {
		t.Error("the old tag is still found:", tags)
	}
}
