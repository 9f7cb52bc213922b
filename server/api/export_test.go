package api_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"io"
	"strings"
	"testing"

	"gaugewright/server/export"
	"gaugewright/server/verify"
	"gaugewright/sync/store"
)

// TestExport exports a plant, or some of its instruments, and imports it into a new plant.
func TestExport(t *testing.T) {
	p := newPlant(t)
	listed(p)
	taken := func(query string) *zip.Reader {
		t.Helper()
		a := p.do("reviewer", "GET", "/api/office/export.zip"+query, "")
		z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
		if a.status != 200 || err != nil {
			t.Fatalf("%d %v", a.status, err)
		}
		return z
	}
	tags := func(z *zip.Reader) (list []string) {
		t.Helper()
		f, err := z.Open("instruments.csv")
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows[1:] {
			list = append(list, row[2])
		}
		return list
	}
	all := taken("")
	if got := strings.Join(tags(all), " "); got != "'=1+1 PI-10 PI-2" {
		t.Error("the whole plant:", got)
	}
	part := taken("?q=pi-2&area=Mill")
	if got := strings.Join(tags(part), " "); got != "PI-2" {
		t.Error("a part:", got)
	}
	f, err := part.Open("README.txt")
	if err != nil {
		t.Fatal(err)
	}
	if b, err := io.ReadAll(f); err != nil || !strings.Contains(string(b), `with the words pi-2, area "Mill"`) {
		t.Errorf("which part it is: %s %v", b, err)
	}
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	if _, err := export.Bring(context.Background(), s, all); err != nil {
		t.Error(err)
	}
	if list, err := s.ByKind("instrument", "", 0); err != nil || len(list) != 3 {
		t.Errorf("%d instruments were brought in, %v", len(list), err)
	}
	if a := p.do("technician", "GET", "/api/office/export.zip", ""); a.status != 403 {
		t.Errorf("a technician: %d", a.status)
	}
	if a := p.do("reviewer", "GET", "/api/office/export.zip?due=soon", ""); a.status != 400 {
		t.Errorf("a bad filter: %d %s", a.status, a.body)
	}
	if a := p.do("administrator", "GET", "/api/events", ""); strings.Count(string(a.body), `"exported"`) != 2 {
		t.Errorf("the events: %s", a.body)
	}
}

// TestAnExportOfIssuedCertificatesHolds checks that signatures, approvals and certificates by the
// office's key verify in an export, and in a plant made from it.
func TestAnExportOfIssuedCertificatesHolds(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	if a := p.do("administrator", "PUT", "/api/office/letterhead", head); a.status != 200 {
		t.Fatal(a.status)
	}
	visit := f.wholeVisit("PI-3")
	c := f.approve(visit.ID)
	if c.Number == "" {
		t.Fatal("no certificate was issued")
	}
	a := p.do("reviewer", "GET", "/api/office/export.zip", "")
	z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
	if a.status != 200 || err != nil {
		t.Fatal(a.status, err)
	}
	if _, err := z.Open("certificates/" + c.Number + ".pdf"); err != nil {
		t.Error(err)
	}
	r, err := verify.Export(z, nil)
	if err != nil || r.Certificates != 1 || r.Findings == 0 {
		t.Errorf("%+v %v", r, err)
	}
}
