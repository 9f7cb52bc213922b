package api_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/calc"
)

type usesReply struct {
	Uses []struct {
		Visit, Run, Label, Tag, Started, Status, Verdict string
		Standard, Sheet                                  json.RawMessage
	}
	After   string
	Damaged int
}

func (p *testPlant) uses(query string) (all usesReply) {
	p.t.Helper()
	for after := ""; ; after = all.After {
		a := p.do("reviewer", "GET", "/api/office/standards/"+query+"&after="+after, "")
		var one usesReply
		if err := json.Unmarshal(a.body, &one); err != nil || a.status != 200 {
			p.t.Fatal(a.status, string(a.body), err)
		}
		all.Uses, all.After, all.Damaged = append(all.Uses, one.Uses...), one.After, all.Damaged+one.Damaged
		if one.After == "" {
			return all
		}
	}
}

// TestUsesOfAStandard: the visits on which a standard was used since a date, each with a sheet that the calculation takes; over several pieces.
func TestUsesOfAStandard(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	standard := f.make("standard", "", set("name", "master 1"))
	kept := doc{"id": standard.ID, "range": doc{"low": "0", "high": "20", "unit": "bar", "absolute": "0.01"}, "snapshot": doc{"name": "master 1", "due": "2026-12-31"}}
	method := set("method", doc{"definition": doc{"kind": "gauge", "points": doc{"values": []string{"0", "5"}}, "directions": "up"}})
	var wanted []string
	for i := range 230 { // more than one piece
		v, _ := f.visit(fmt.Sprintf("PI-%d", i), "pass", true, set("standard", kept), method)
		wanted = append(wanted, v.ID)
	}
	f.visit("PI-other", "pass", true, method)
	f.visit("PI-bad", "pass", true, set("standard", 7))
	f.visit("PI-old", "pass", true, set("standard", kept), method, set("started", "2025-01-01T08:00:00.000Z"))
	got := p.uses(standard.ID + "/uses?since=" + p.now.Format(time.DateOnly))
	var ids []string
	for _, u := range got.Uses {
		ids = append(ids, u.Visit)
	}
	slices.Sort(ids)
	slices.Sort(wanted)
	if !slices.Equal(ids, wanted) || got.Damaged != 1 {
		t.Errorf("%d of %d visits, %d damaged", len(ids), len(wanted), got.Damaged)
	}
	if all := p.uses(standard.ID + "/uses?since="); len(all.Uses) != len(wanted)+1 {
		t.Errorf("without a date: %d", len(all.Uses))
	}
	one := got.Uses[0]
	if out := string(calc.Call("evaluate", one.Sheet)); !strings.Contains(out, `"readings":[{"step":"s1.up.1"`) || !strings.Contains(out, `"expanded"`) {
		t.Errorf("the sheet is not calculated: %s from %s", out, one.Sheet)
	}
	if one.Label != "as found" || one.Verdict != "pass" || one.Status != "signed" || !strings.Contains(string(one.Standard), `"snapshot"`) {
		t.Errorf("%+v", one)
	}
	for path, want := range map[string]int{"none/uses": 404, standard.ID + "/uses?since=soon": 400} {
		if a := p.do("reviewer", "GET", "/api/office/standards/"+path, ""); a.status != want {
			t.Errorf("%s: %d, want %d", path, a.status, want)
		}
	}
	for who, want := range map[string]int{"": 401, "technician": 403} {
		if a := p.do(who, "GET", "/api/office/standards/"+standard.ID+"/uses", ""); a.status != want {
			t.Errorf("%q: %d, want %d", who, a.status, want)
		}
	}
}
