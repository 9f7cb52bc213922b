package api_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
)

type backReply struct {
	Restored bool
	Back     []struct {
		Author, Kind, Visit, Tag string
		Count                    int
		Fields, Numbers, By      []string
	}
}

func (p *testPlant) cameBack() (r backReply) {
	p.t.Helper()
	a := p.do("reviewer", "GET", "/api/office/back", "")
	if a.status != 200 || json.Unmarshal(a.body, &r) != nil {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return r
}

// TestDecisionsComeBackAfterARestore: what the office decided after an older copy is on the phones,
// with the office's signature. A technician's phone brings it back, with what others wrote. The
// certificate keeps its number, the next one gets another, and the office sees what came back.
func TestDecisionsComeBackAfterARestore(t *testing.T) {
	p := newPlant(t)
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	f := p.phone()
	first, second := f.wholeVisit("PI-1"), f.wholeVisit("PI-2")
	var backup strings.Builder
	if err := p.store.Backup(&backup, false); err != nil {
		t.Fatal(err)
	}
	before := f.approve(first.ID)
	if r := p.cameBack(); r.Restored || len(r.Back) != 0 {
		t.Errorf("before: %+v", r)
	}
	pulled := p.do(
		"technician", "POST", "/api/sync", `{"nonce":"n1","device":"dev1ce","changes":[],"protocol":2,"limit":2000}`,
	)
	var given struct {
		Given   string
		Changes json.RawMessage
		Cursor  uint64
	}
	if err := json.Unmarshal(pulled.body, &given); err != nil || given.Given == "" {
		t.Fatalf("%s", pulled.body)
	}
	g := f.restored(backup.String())
	bring := func(given string, changes []byte) (out struct{ Acknowledged, Quarantined []any }) {
		t.Helper()
		a := g.do("technician", "POST", "/api/sync", fmt.Sprintf(`{"nonce":"n2","device":"dev1ce","changes":[],"protocol":2,"limit":1,"back":[{"given":%q,"changes":%s}]}`, given, changes))
		if a.status != 200 || json.Unmarshal(a.body, &out) != nil {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return out
	}
	// Without a signature a technician may not push what the office wrote: it is quarantined.
	if out := bring("", given.Changes); len(out.Quarantined) == 0 {
		t.Errorf("unsigned: %+v", out)
	}
	if v, err := plant.LoadVisit(g.store, first.ID); err != nil || v.Status == plant.Approved {
		t.Errorf("%v, %v", v.Status, err)
	}
	if out := bring(given.Given, given.Changes); len(out.Quarantined) != 0 {
		t.Errorf("signed: %+v", out)
	}
	v, err := plant.LoadVisit(g.store, first.ID)
	if err != nil || v.Status != plant.Approved {
		t.Errorf("%v, %v", v.Status, err)
	}
	list := g.asides("")
	if len(list.Quarantined) != 0 {
		t.Errorf("still set aside: %+v", list)
	}
	r := g.cameBack()
	if !r.Restored || len(r.Back) == 0 {
		t.Fatalf("%+v", r)
	}
	numbers := []string{}
	for _, one := range r.Back {
		if one.Kind == "key" || one.Kind == "person" { // the office's own key, and its people
			continue
		}
		if one.Visit != first.ID || one.Tag != "PI-1" || len(one.By) != 1 || one.By[0] != "technician" {
			t.Errorf("%+v", one)
		}
		numbers = append(numbers, one.Numbers...)
	}
	if len(numbers) != 1 || numbers[0] != before.Number {
		t.Errorf("came back: %v, it was %s", numbers, before.Number)
	}
	if next := g.approve(second.ID); next.Number == before.Number || next.Number == "" {
		t.Errorf("%q after %q", next.Number, before.Number)
	}
}

// TestAKeyThatIsBroughtBackIsNotConfirmed checks that a key that arrived through a hub stays
// unconfirmed when its owner's phone brings it back after a restore: the phone only received it.
func TestAKeyThatIsBroughtBackIsNotConfirmed(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	f.wholeVisit("PI-1")
	var backup strings.Builder
	if err := p.store.Backup(&backup, false); err != nil {
		t.Fatal(err)
	}
	k := newRing(t, 9)
	one := k.record(f, id("technician"))
	if r, err := p.store.Add(t.Context(), []change.Change{one}); err != nil || len(r.Accepted) != 1 {
		t.Fatal(r, err)
	}
	pulled := p.do(
		"technician", "POST", "/api/sync", `{"nonce":"n1","device":"dev1ce","changes":[],"protocol":2,"limit":2000}`,
	)
	var given struct {
		Given   string
		Changes json.RawMessage
	}
	if err := json.Unmarshal(pulled.body, &given); err != nil || given.Given == "" {
		t.Fatalf("%s", pulled.body)
	}
	g := f.restored(backup.String())
	mark := func(what string, want plant.Mark) {
		t.Helper()
		for _, x := range g.ring().Keys {
			if x.ID == k.id {
				g.wants(what, x.Mark, want)
				return
			}
		}
		t.Errorf("%s: the key is not here", what)
	}
	body := `{"nonce":"n2","device":"dev1ce","changes":[],"protocol":2,"limit":1,"back":[{"given":%q,"changes":%s}]}`
	if a := g.do("technician", "POST", "/api/sync", fmt.Sprintf(body, given.Given, given.Changes)); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	mark("brought back", plant.MarkUnconfirmed)
	if why := g.pushed("technician", one); why != "" {
		t.Fatal(why)
	}
}
