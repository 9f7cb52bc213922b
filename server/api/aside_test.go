package api_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

type asideReply struct {
	Quarantined []struct {
		Seq                                    uint64
		Reason, Author, From, Visit, Tag, Kind string
		Closed                                 *store.Closing
		Set                                    []struct {
			Field string
			Value json.RawMessage
		}
	}
	More int
}

func (p *testPlant) asides(query string) (r asideReply) {
	p.t.Helper()
	a := p.do("reviewer", "GET", "/api/office/quarantine"+query, "")
	if a.status != 200 || json.Unmarshal(a.body, &r) != nil {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return r
}

// brought pushes changes under a log-in and returns how many were acknowledged and quarantined, and
// the message for the person.
func (p *testPlant) brought(who string, list ...change.Change) (acknowledged, aside int, reasons map[string]string) {
	p.t.Helper()
	var out struct {
		Acknowledged, Quarantined []any
		Refusals                  []struct{ ID, Reason string }
	}
	body := strings.Replace(push(list...), `"nonce"`, `"refused":"","nonce"`, 1)
	if a := p.do(who, "POST", "/api/sync", body); a.status != 200 || json.Unmarshal(a.body, &out) != nil {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	reasons = map[string]string{}
	for _, r := range out.Refusals {
		reasons[r.ID] = r.Reason
	}
	return len(out.Acknowledged), len(out.Quarantined), reasons
}

func (p *testPlant) logIn(who string) {
	p.t.Helper()
	a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":%q,"password":%q}`, who, secret))
	var in struct{ Access string }
	if json.Unmarshal(a.body, &in) != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	p.tokens[who] = in.Access
}

// visitOf is a change that begins a visit to an instrument with that tag.
func visitOf(ident, author, tag string) change.Change {
	c := made(ident, author, "visit", "item")
	c.Set = []change.Setting{{Field: "item", Value: []byte(`{"tag":"` + tag + `"}`)}}
	return c
}

// TestAsideIsTakenOrRejected checks that a reviewer can accept what was quarantined by mistake,
// judged by its author's account, or reject it, each with a reason that is kept. The author hears
// of a rejection, and sending the change again does not reopen it.
func TestAsideIsTakenOrRejected(t *testing.T) {
	p := newPlant(t)
	if _, err := p.keeper.Add("ben", "ben", auth.Technician, secret); err != nil {
		t.Fatal(err)
	}
	visit := visitOf("v1", "ben", "PI-7")
	run := made("v2", "ben", "run", "label")
	run.Parent = visit.Record
	may := made("v3", "ben", "instrument", "limit")
	// A shared phone of an earlier version sends another person's work under this log-in.
	if took, aside, _ := p.brought("technician", visit, run, may); took != 0 || aside != 3 {
		t.Fatalf("%d taken, %d set aside", took, aside)
	}
	list := p.asides("")
	if len(list.Quarantined) != 3 {
		t.Fatalf("%+v", list)
	}
	for i, want := range []string{"visit PI-7", "run PI-7", "instrument "} {
		got := list.Quarantined[i]
		if got.Kind+" "+got.Tag != want || got.Author != "ben" || got.From != "technician" || len(got.Set) != 1 ||
			string(got.Set[0].Value) == "null" {
			t.Errorf("%+v", got)
		}
	}
	path := func(i int, do string) string {
		return fmt.Sprintf("/api/office/quarantine/%d/%s", list.Quarantined[i].Seq, do)
	}
	for _, tt := range []struct {
		who, path, body string
		want            int
	}{
		{"", path(0, "take"), `{"reason":"x"}`, 401}, {"technician", path(0, "take"), `{"reason":"x"}`, 403}, {
			"technician", path(0, "reject"), `{"reason":"x"}`, 403,
		},
		{"reviewer", path(0, "take"), `{"reason":" "}`, 400}, {"reviewer", path(0, "reject"), `{}`, 400}, {
			"reviewer", "/api/office/quarantine/999/take", `{"reason":"x"}`, 404,
		},
		{
			"reviewer", "/api/office/quarantine/x/take", `{"reason":"x"}`, 404,
		}, {"reviewer", path(2, "take"), `{"reason":"x"}`, 409},
		{
			"reviewer", path(0, "take"), `{"reason":"shared phone"}`, 204,
		}, {"reviewer", path(0, "take"), `{"reason":"twice"}`, 409}, {
			"reviewer", path(0, "reject"), `{"reason":"twice"}`, 409,
		},
		{"administrator", path(1, "reject"), `{"reason":"begun twice"}`, 204},
	} {
		if a := p.do(tt.who, "POST", tt.path, tt.body); a.status != tt.want {
			t.Errorf("%s as %q: %d, want %d: %s", tt.path, tt.who, a.status, tt.want, a.body)
		}
	}
	p.noted("quarantine_taken", "reviewer", "ben", "shared phone")
	p.noted("quarantine_rejected", "administrator", "ben", "begun twice")
	if state, ok, err := p.store.Record(visit.Record); err != nil || !ok || state.Fields[0].Heads[0].Author != "ben" {
		t.Errorf("the visit: %v, %v", ok, err)
	}
	if open := p.asides("").Quarantined; len(open) != 1 || open[0].Kind != "instrument" ||
		!strings.Contains(open[0].Reason, "may not write the field limit") {
		t.Errorf("%+v", open)
	}
	how := map[string]store.Closing{}
	for _, a := range p.asides("?closed=1").Quarantined {
		if a.Closed != nil {
			how[a.Kind+" "+a.Closed.How] = *a.Closed
		}
	}
	if c := how["visit taken"]; c.By != "reviewer" || c.Why != "shared phone" || c.At != "2026-03-04T05:06:07Z" {
		t.Errorf("%+v", how)
	}
	if c := how["run rejected"]; c.By != "administrator" || c.Why != "begun twice" {
		t.Errorf("%+v", how)
	}
	var day struct{ Quarantined int }
	if a := p.do("reviewer", "GET", "/api/office/day", ""); json.Unmarshal(a.body, &day) != nil ||
		day.Quarantined != 1 {
		t.Errorf("%s", a.body)
	}
	p.logIn("ben")
	if _, _, reasons := p.brought("ben"); reasons["v2"] != "rejected by the office: begun twice" || len(reasons) != 2 {
		t.Errorf("%v", reasons)
	}
	if _, _, reasons := p.brought("technician"); len(reasons) != 0 {
		t.Errorf("another person has reasons: %v", reasons)
	}
	// The author's own phone sends all of it: what was accepted is known, what was rejected stays
	// rejected until the office changes its mind.
	if took, aside, reasons := p.brought("ben", visit, run, may); took != 1 || aside != 2 || len(reasons) != 2 {
		t.Errorf("%d taken, %d set aside, %v", took, aside, reasons)
	}
	if open := p.asides("").Quarantined; len(open) != 1 {
		t.Errorf("%+v", open)
	}
	if a := p.do("reviewer", "POST", path(1, "take"), `{"reason":"it was right after all"}`); a.status != 204 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if took, _, reasons := p.brought("ben", run); took != 1 || len(reasons) != 1 {
		t.Errorf("%d taken, %v", took, reasons)
	}
}

// TestOwnWorkIsReconsidered checks that what was quarantined because of the account is accepted
// when the account allows it again, and at the author's log-in. What another person pushed in the
// author's name is not, even if that person no longer has an account.
func TestOwnWorkIsReconsidered(t *testing.T) {
	p := newPlant(t)
	who := id("technician")
	if err := p.keeper.Revoke(who); err != nil {
		t.Fatal(err)
	}
	own, forged := made("c1", who, "visit", "remark.a"), made("c2", id("reviewer"), "visit", "remark.a")
	if took, aside, _ := p.brought("technician", own, forged); took != 0 || aside != 2 {
		t.Fatalf("%d taken, %d set aside", took, aside)
	}
	has := func(id string) bool {
		t.Helper()
		_, there, err := p.store.Change(id)
		if err != nil {
			t.Fatal(err)
		}
		return there
	}
	if a := p.do("administrator", "POST", "/api/users/"+who+"/restore", "{}"); a.status != 204 || !has("c1") {
		t.Errorf("restored: %d %s, taken %v", a.status, a.body, has("c1"))
	}
	p.logIn("reviewer")
	if has("c2") {
		t.Error("what an ended account wrote in the reviewer's name was taken in")
	}
	// A higher role: what exceeded the former one is accepted.
	p.logIn("technician")
	serial := made("c3", who, "instrument", "serial")
	if took, _, _ := p.brought("technician", serial); took != 0 {
		t.Fatal("a technician wrote a serial number")
	}
	if a := p.do("administrator", "PUT", "/api/users/"+who+"/role", `{"role":"reviewer"}`); a.status != 204 ||
		!has("c3") {
		t.Errorf("%d %s, taken %v", a.status, a.body, has("c3"))
	}
	// Through a hub: everybody's work, each at its author's log-in. Here the account was made by
	// hand meanwhile.
	if _, err := p.keeper.Add("hvb", "hub", auth.Hub, secret); err != nil {
		t.Fatal(err)
	}
	p.logIn("hub")
	late := made("c4", "zed", "visit", "remark.a")
	if _, aside, reasons := p.brought("hub", late); aside != 1 || reasons["c4"] != "its author has no account here" {
		t.Fatalf("%d set aside, reasons %v", aside, reasons)
	}
	if _, err := p.keeper.Add("zed", "zed", auth.Technician, secret); err != nil {
		t.Fatal(err)
	}
	if has("c4") {
		t.Fatal("taken too early to show anything")
	}
	p.logIn("zed")
	if !has("c4") {
		t.Error("what the hub brought was not looked at again")
	}
	if _, _, reasons := p.brought("hub"); len(reasons) != 0 {
		t.Errorf("the hub has reasons %v", reasons)
	}
	if open := p.asides("").Quarantined; len(open) != 1 || open[0].Reason != auth.ErrRevoked.Error() {
		t.Errorf("%+v", open)
	}
}

// TestKnownWorkOfAnEndedAccount checks that work the office already has is acknowledged, whoever
// sends it again and whatever happened to the account.
func TestKnownWorkOfAnEndedAccount(t *testing.T) {
	p := newPlant(t)
	own := made("c1", id("technician"), "visit", "remark.a")
	p.brought("technician", own)
	if took, aside, _ := p.brought("reviewer", own); took != 1 || aside != 0 {
		t.Errorf("under another log-in: %d acknowledged, %d set aside", took, aside)
	}
	if err := p.keeper.Revoke(id("technician")); err != nil {
		t.Fatal(err)
	}
	if took, aside, _ := p.brought("technician", own); took != 1 || aside != 0 {
		t.Errorf("of an ended account: %d acknowledged, %d set aside", took, aside)
	}
}

// TestEndedAccountLacksNothingWhenItReturns checks that a phone whose account ended receives
// nothing meanwhile and does not skip what came in that time.
func TestEndedAccountLacksNothingWhenItReturns(t *testing.T) {
	p := newPlant(t)
	ask := func(place string) (out struct {
		Store, Epoch, Root string
		Cursor             uint64
		Changes            []any
	}) {
		t.Helper()
		a := p.do("technician", "POST", "/api/sync", `{`+place+`"nonce":"n1","device":"d1","changes":[]}`)
		if a.status != 200 || json.Unmarshal(a.body, &out) != nil {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return out
	}
	p.brought("reviewer", made("c1", id("reviewer"), "visit", "remark.a"))
	at := ask("")
	if at.Cursor != 1 {
		t.Fatalf("%+v", at)
	}
	if err := p.keeper.Revoke(id("technician")); err != nil {
		t.Fatal(err)
	}
	p.brought("reviewer", made("c2", id("reviewer"), "visit", "remark.a"))
	place := fmt.Sprintf(`"store":%q,"epoch":%q,"root":%q,"cursor":%d,`, at.Store, at.Epoch, at.Root, at.Cursor)
	if got := ask(place); got.Cursor != 1 || len(got.Changes) != 0 {
		t.Errorf("of an ended account: %+v", got)
	}
	if err := p.keeper.Restore(id("technician")); err != nil {
		t.Fatal(err)
	}
	p.logIn("technician")
	if got := ask(place); got.Cursor != 2 || len(got.Changes) != 1 {
		t.Errorf("returned: %+v", got)
	}
}
