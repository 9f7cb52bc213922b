package company_test

import (
	"bytes"
	"maps"
	"slices"
	"testing"
	"time"

	"gaugewright/calc"
	"gaugewright/server/certificates"
	"gaugewright/server/demo/company"
	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

var today = time.Date(2026, 9, 14, 13, 0, 0, 0, time.FixedZone("plant", 2*3600))

func made(t *testing.T, dir string, o company.Options) (*store.Store, company.Result) {
	t.Helper()
	s, err := store.OpenWith(dir, store.Options{
		NoSync: true, NoLog: true, Now: func() time.Time { return today },
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	r, err := company.Make(t.Context(), s, o)
	if err != nil {
		t.Fatal(err)
	}
	return s, r
}

func some() company.Options {
	return company.Options{Seed: 7, Today: today, Instruments: 90, Sites: 3, Years: 2, Models: 20}
}

// TestCompany checks a company of copies as a plant of originals is checked.
func TestCompany(t *testing.T) {
	dir := t.TempDir()
	s, r := made(t, dir, some())
	if r.Instruments != 90 || r.Visits < 150 || r.Captures < 2000 || r.Certificates < 60 || len(r.Sites) != 3 {
		r.People = nil
		t.Errorf("%+v", r)
	}
	last, err := s.Last()
	if err != nil || int(last) != r.Changes {
		t.Error("the journal has", last, "of", r.Changes, err)
	}
	methods, err := plant.All(s, "method", plant.ReadMethod)
	if err != nil {
		t.Fatal(err)
	}
	roles := map[string]string{}
	for _, p := range r.People {
		roles[p.ID] = p.Role
	}
	for _, x := range methods {
		if a := x.Approvals[x.Version]; roles[a.By] != "administrator" || roles[a.Author] != "reviewer" || len(x.Drafts) > 0 {
			t.Errorf("the method %s: %+v by %s, %d drafts", x.Name, a, roles[a.Author], len(x.Drafts))
		}
	}
	tags, sites := map[string]bool{}, map[string]int{}
	instruments, err := plant.All(s, "instrument", plant.ReadInstrument)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range instruments {
		if found, err := s.Lookup("instrument", "tag", i.Tag); err != nil || len(found) != 1 || found[0].ID != i.ID {
			t.Error("the tag", i.Tag, "finds", found, err)
		}
		tags[i.Tag] = true
		sites[i.Site]++
	}
	if len(tags) != 90 || len(sites) != 3 || !slices.Equal(slices.Sorted(maps.Values(sites)), []int{30, 30, 30}) {
		t.Error("tags:", len(tags), "instruments by site:", sites)
	}
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	if err != nil {
		t.Fatal(err)
	}
	standards, sure := map[string]bool{}, 0
	for _, v := range visits {
		runs, err := plant.Runs(s, v.ID)
		if err != nil || len(runs) == 0 {
			t.Fatal(v.ID, v.Item.Tag, v.Started, v.Method.Name, v.Since, v.NotTested, len(runs), err)
		}
		changed, err := v.Unsigned(s, runs)
		if v.Approval != nil {
			changed, err = v.Unapproved(s, runs)
		}
		if err != nil || len(changed) > 0 {
			t.Error("a visit's signature does not cover", changed, err)
		}
		if v.Item.Tag == "" || !tags[v.Item.Tag] {
			t.Errorf("a visit is of the tag %q", v.Item.Tag)
		}
		if v.Standard != nil {
			standards[v.Standard.ID] = true
			std, ok, err := s.Record(v.Standard.ID)
			if err != nil || !ok || std.Kind != "standard" {
				t.Error("a visit's standard", v.Standard.ID, ok, err)
			}
		}
		for i := range runs { // the copied finding is what these readings give
			sheet, err := v.Sheet(&runs[i], true)
			if err != nil {
				t.Fatal(err)
			}
			if got := calc.Call("evaluate", sheet); !bytes.Equal(got, runs[i].Finding.Raw) {
				t.Errorf("%s: the finding is another one: %.200s, not %.200s", v.Item.Tag, got, runs[i].Finding.Raw)
			}
			sure++
		}
	}
	if sure != r.Runs || len(standards) < 9 {
		t.Error(sure, "of", r.Runs, "runs;", len(standards), "standards")
	}
	papers, err := plant.All(s, "certificate", plant.ReadCertificate)
	if err != nil || len(papers) != r.Certificates {
		t.Fatal(len(papers), err)
	}
	numbers := map[string]bool{}
	for _, c := range papers {
		in, err := certificates.Gather(s, c.Parent, certificates.Office{}, c.Number, today)
		if err != nil || in.Record != c.Fingerprint {
			t.Error("the certificate", c.Number, "is of another record", err)
		}
		numbers[c.Number] = true
	}
	if len(numbers) != len(papers) {
		t.Error(len(papers), "certificates have", len(numbers), "numbers")
	}
}

// TestSameCompany makes a company twice.
func TestSameCompany(t *testing.T) {
	o := some()
	o.Instruments, o.Sites, o.Models = 12, 2, 6
	var heads []string
	for range 2 {
		s, r := made(t, t.TempDir(), o)
		root, err := s.Root(uint64(r.Changes))
		if err != nil {
			t.Fatal(err)
		}
		heads = append(heads, root)
	}
	if heads[0] != heads[1] {
		t.Error("the same options gave two journals:", heads)
	}
}
