package api_test

import (
	"bytes"
	"strings"
	"testing"

	"gaugewright/server/dcc"
)

// TestAFormForMachines: a laboratory that states its country issues a machine-readable form with
// each certificate. It stays as it is, and contains the PDF.
func TestAFormForMachines(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	if a := p.do("administrator", "PUT", "/api/office/letterhead", strings.Replace(head, "{", `{"country":"Holland",`, 1)); a.status != 400 || !strings.Contains(string(a.body), "no country") {
		t.Errorf("%d %s", a.status, a.body)
	}
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	plain := f.approve(f.wholeVisit("PI-1").ID)
	if a := p.do("technician", "GET", "/api/certificates/"+plain.ID+".xml", ""); a.status != 404 ||
		!strings.Contains(string(a.body), "had no country") {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do("administrator", "PUT", "/api/office/letterhead", strings.Replace(head, "{", `{"country":" nl ",`, 1)); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	visit := f.wholeVisit("PI-2")
	c := f.approve(visit.ID)
	file := "/api/certificates/" + c.ID
	first := p.do("technician", "GET", file+".xml", "").body
	if err := dcc.Check(first); err != nil {
		t.Error(err)
	}
	for _, want := range []string{"<dcc:countryCodeISO3166_1>NL<", ">" + c.Number + "<", "<dcc:mimeType>application/pdf<", "basic_measurementError"} {
		if !strings.Contains(string(first), want) {
			t.Errorf("without %s", want)
		}
	}
	if got := p.look(visit.ID).Certificates[0]; !got.Machine {
		t.Errorf("%+v", got)
	}
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	if again := p.do("technician", "GET", file+".xml", "").body; !bytes.Equal(first, again) {
		t.Error("the form for machines changed with the letterhead")
	}
	if a := p.do("technician", "GET", file+".xml.pdf", ""); a.status != 404 {
		t.Error(a.status)
	}
}
