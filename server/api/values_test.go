package api_test

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/auth"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// TestValuesFitTheirFields checks that what could not be read afterwards is quarantined, and that
// the rest of the push is accepted.
func TestValuesFitTheirFields(t *testing.T) {
	p := newPlant(t)
	n := 0
	for _, tt := range []struct{ kind, field, value string }{
		{"instrument", "place", `5`}, {"visit", "item", `7`}, {"visit", "started", `{}`}, {"visit", "person", `[]`}, {"visit", "signature", `"x"`}, {
			"visit", "surroundings", `{"temperature_c":"warm"}`,
		},
		{"run", "capture.x", `"5.1"`}, {
			"run", "capture.x", `{"of":"indicated","value":"five"}`,
		}, {"run", "closed", `true`}, {"run", "label", `1`}, {"run", "finding", `[]`}, {"visit", "with.x", `1`},
	} {
		n += 2
		bad, good := made(fmt.Sprintf("c%d", n), id("technician"), tt.kind, tt.field), made(
			fmt.Sprintf("c%d", n+1), id("technician"), "visit", "remark.x",
		)
		bad.Set[0].Value = []byte(tt.value)
		why := p.sends("technician", bad, good)
		if tt.field == "with.x" {
			continue // nothing reads it as more than a name
		}
		if !strings.Contains(why[0], "cannot be read") || !strings.Contains(why[0], tt.field) || why[1] != "" {
			t.Errorf("%s %s = %s: %q %q", tt.kind, tt.field, tt.value, why[0], why[1])
		}
	}
}

// TestOneVisitDoesNotStopTheOffice checks that a full record accepts nothing further, that the rest
// of the push is accepted, and that every page opens.
func TestOneVisitDoesNotStopTheOffice(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, _ := f.visit("PI-1", "pass", false)
	other, _ := f.visit("PI-2", "pass", false)
	text := strings.Repeat("x", 500_000)
	full := 0
	for i := range 70 {
		why := p.sends(
			"technician", f.drafts(visit, set(fmt.Sprintf("remark.m%d", i), doc{"text": text})),
			f.drafts(other, set(fmt.Sprintf("remark.m%d", i), doc{"text": "short"})),
		)
		if why[1] != "" {
			t.Fatal(why[1])
		}
		if strings.Contains(why[0], "full") {
			full++
		}
	}
	if full != 62 {
		t.Errorf("%d of 70 were set aside", full)
	}
	for _, path := range []string{"/api/office/day", "/api/office/register", "/api/office/contested", "/api/office/visits/" + visit.ID, "/api/office/visits/" + other.ID} {
		if a := p.do("reviewer", "GET", path, ""); a.status != 200 {
			t.Errorf("%s: %d", path, a.status)
		}
	}
}

// TestADamagedRecordIsShownAsSuch checks that one record whose stored bytes cannot be read breaks
// no page.
func TestADamagedRecordIsShownAsSuch(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, run := f.visit("PI-1", "pass", true)
	other, _ := f.visit("PI-2", "pass", true)
	gauge := f.make(
		"instrument", "", set("tag", "PI-7"), set("range", doc{"low": "0", "high": "10", "unit": "bar"}),
		set("label", "k7f3q9xw"),
	)
	gauge = f.edit(gauge, set("place", 5)) // accepted by an earlier version
	lost := f.make("instrument", "", set("tag", "PI-8"))
	lost = f.edit(lost, set("tag", "PI-9"))
	dir := p.store.Dir()
	if err := p.store.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := bbolt.Open(filepath.Join(dir, store.File), 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bbolt.Tx) error {
		b := tx.Bucket([]byte("records"))
		return errors.Join(b.Put([]byte(visit.ID), []byte("{")), b.Put([]byte(lost.ID), []byte("{")))
	})
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	again, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := again.Close(); err != nil {
			t.Error(err)
		}
	})
	p.store = again
	if p.keeper, err = auth.New(again, p.clock); err != nil {
		t.Fatal(err)
	}
	p.handler = p.open()
	got := map[string][]string{}
	for _, list := range [][]dayRow{p.day(t, "2026-03-04").Visits, p.day(t, "2026-03-04").Waiting} {
		for _, r := range list {
			got[r.ID] = r.Attention
		}
	}
	if len(got) != 2 || !slices.Equal(got[visit.ID], []string{"damaged"}) || slices.Contains(got[other.ID], "damaged") {
		t.Error(got)
	}
	for path, want := range map[string]int{"/api/office/visits/" + visit.ID: 422, "/api/office/visits/" + other.ID: 200, "/api/office/register": 200, "/api/office/contested": 200,
		"/api/office/people": 200, "/api/office/devices": 200, "/api/labels/" + gauge.ID + ".svg": 200, "/api/labels/" + lost.ID + ".svg": 422} {
		if a := p.do("reviewer", "GET", path, ""); a.status != want {
			t.Errorf("%s: %d, want %d: %.200s", path, a.status, want, a.body)
		}
	}
	if a := p.do("reviewer", "POST", "/api/labels", js(doc{"instruments": []string{gauge.ID}})); a.status != 200 {
		t.Errorf("labels: %d %s", a.status, a.body)
	}
	if why := p.sends("technician", f.drafts(visit, set("remark.x", doc{"text": "x"})), f.drafts(run, set("finding", finding("pass"))), f.drafts(other, set("remark.x", doc{"text": "x"}))); why[0] == "" || why[1] == "" || why[2] != "" {
		t.Errorf("%q", why)
	}
}
