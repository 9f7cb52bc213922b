package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image/png"
	"strings"
	"testing"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

const head = `{"name":"Works laboratory","address":["1 Dock Road"],"customer":["Works North"]}`

// wholeVisit makes a signed visit that has all a certificate states.
func (f *phone) wholeVisit(tag string, more ...plant.Set) merge.State {
	f.t.Helper()
	visit, _ := f.visit(tag, "pass", true, append([]plant.Set{
		set("surroundings", doc{"temperature_c": "21"}),
		set("identity", doc{"ok": true, "note": ""}), set("condition", doc{"ok": true, "note": ""}),
		set("adjusted", doc{"done": false, "note": ""}),
	}, more...)...)
	return visit
}

type certificate struct{ ID, Number, Without string }

func (f *phone) approve(visit string) certificate {
	f.t.Helper()
	a := f.do("reviewer", "POST", "/api/office/visits/"+visit+"/approve", js(doc{"covers": f.covers(visit)}))
	var in struct{ Certificate certificate }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		f.t.Fatalf("%d %s", a.status, a.body)
	}
	return in.Certificate
}

func TestApprovingIssuesTheCertificate(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	early := f.wholeVisit("PI-1")
	if c := f.approve(early.ID); c.ID != "" || !strings.Contains(c.Without, "name and address") {
		t.Errorf("without a letterhead: %+v", c)
	}
	if a := p.do("administrator", "PUT", "/api/office/letterhead", head); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	f.drafter.Count, _ = plant.HighestCount(p.store)
	c := f.approve(f.wholeVisit("PI-2").ID)
	if c.Number != "2026-00001" || c.Without != "" {
		t.Fatalf("%+v", c)
	}
	for _, who := range []string{"technician", "reviewer"} {
		a := p.do(who, "GET", "/api/certificates/"+c.ID+".pdf", "")
		if a.status != 200 || !bytes.HasPrefix(a.body, []byte("%PDF-")) ||
			!strings.Contains(a.header.Get("Content-Disposition"), "certificate-2026-00001.pdf") {
			t.Errorf("%s: %d %v", who, a.status, a.header)
		}
	}
	kept, err := plant.All(p.store, "certificate", plant.ReadCertificate)
	if err != nil || len(kept) != 1 || kept[0].By != id("reviewer") || len(kept[0].Fingerprint) != 64 {
		t.Errorf("%+v %v", kept, err)
	}
	// The earlier one is issued now, once, and a newly started server continues the numbers.
	p.handler = p.open()
	path := "/api/office/visits/" + early.ID + "/certificate"
	a := p.do("reviewer", "POST", path, "")
	if a.status != 200 || !strings.Contains(string(a.body), "2026-00002") {
		t.Errorf("%d %s", a.status, a.body)
	}
	p.refused("issued", 409, "reviewer", path, "")
	open, _ := f.visit("PI-3", "pass", false)
	f.sign(f.edit(open, nameless))
	p.refused("unsigned", 409, "reviewer", "/api/office/visits/"+open.ID+"/certificate", "")
	if c := f.approve(open.ID); c.ID != "" || !strings.Contains(c.Without, "a certificate has to state this") {
		t.Errorf("a visit without its method: %+v", c)
	}
}

func TestWhoMayHavePapers(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	gauge := f.make(
		"instrument", "", set("tag", "PI-7"), set("range", doc{"low": "0", "high": "10", "unit": "bar"}),
		set("label", "k7f3q9xw"),
	)
	bare := f.make("instrument", "", set("tag", "PI-8"), set("range", doc{"low": "0", "high": "10", "unit": "bar"}))
	office := [4]int{401, 403, 200, 200}
	wrong := [4]int{401, 403, 400, 400}
	tests := []struct {
		method, path, body string
		want               [4]int
		has                string
	}{
		{"GET", "/api/labels/" + bare.ID + ".svg", "", wrong, `"range"`}, // before the sheet gives it a label
		{"POST", "/api/labels", js(doc{"instruments": []string{gauge.ID, bare.ID}}), office, "%PDF-"},
		{"POST", "/api/labels", `{"instruments":[]}`, wrong, `"range"`},
		{"POST", "/api/labels", js(doc{"instruments": []string{gauge.ID, gauge.ID}}), wrong, `"range"`},
		{"POST", "/api/labels", `{"instruments":["none"]}`, [4]int{401, 403, 404, 404}, `"not_found"`},
		{"GET", "/api/labels/" + gauge.ID + ".svg", "", office, "PI-7"},
		{"GET", "/api/labels/" + gauge.ID + ".png", "", office, "PNG"},
		{"GET", "/api/labels/" + gauge.ID + ".gif", "", [4]int{401, 403, 404, 404}, `"not_found"`},
		{"GET", "/api/certificates/none.pdf", "", [4]int{401, 404, 404, 404}, ""},
		{"GET", "/api/certificates/" + gauge.ID + ".pdf", "", [4]int{401, 404, 404, 404}, ""},
		{"GET", "/api/office/letterhead", "", office, `"address":[]`},
		{"PUT", "/api/office/letterhead", `{"name":"L","address":[],"customer":["c"]}`, [4]int{401, 403, 403, 400}, ""},
		{"PUT", "/api/office/letterhead", head, [4]int{401, 403, 403, 200}, ""},
		{"GET", "/api/office/letterhead", "", office, "Dock Road"},
		{"POST", "/api/office/visits/none/certificate", "", [4]int{401, 403, 404, 404}, `"not_found"`},
	}
	for _, tt := range tests {
		for i, who := range []string{"", "technician", "reviewer", "administrator"} {
			a := p.do(who, tt.method, tt.path, tt.body)
			if a.status != tt.want[i] {
				t.Errorf("%s %s as %q: %d, want %d: %.200s", tt.method, tt.path, who, a.status, tt.want[i], a.body)
			}
			if i > 1 && !strings.Contains(string(a.body), tt.has) || i < 2 && strings.Contains(string(a.body), "PI-7") {
				t.Errorf("%s %s as %q: %.200s", tt.method, tt.path, who, a.body)
			}
		}
	}
	got, err := plant.LoadInstrument(p.store, bare.ID)
	if err != nil || len(got.Label) != 10 {
		t.Error("the sheet gave no label:", got.Label, err)
	}
	img, err := png.Decode(bytes.NewReader(p.do("reviewer", "GET", "/api/labels/"+bare.ID+".png", "").body))
	if err != nil {
		t.Fatal(err)
	}
	bits, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	code, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	if err != nil || code.GetText() != "http://example.com/t/"+got.Label { // the host in httptest's requests
		t.Error(code, err)
	}
}

// TestDraftOfAPaper checks that a waiting visit is shown as the certificate it would become, and
// that nothing takes that for a certificate.
func TestDraftOfAPaper(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit := f.wholeVisit("PI-1")
	path := "/api/office/visits/" + visit.ID + "/draft.pdf"
	no := func(want string, status int, path string) {
		t.Helper()
		if a := p.do("reviewer", "GET", path, ""); a.status != status || !strings.Contains(string(a.body), want) {
			t.Errorf("%s: %d %s", path, a.status, a.body)
		}
	}
	no("name and address", 400, path) // no letterhead
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	if a := p.do("technician", "GET", path, ""); a.status != 403 {
		t.Errorf("a technician: %d", a.status)
	}
	a := p.do("reviewer", "GET", path, "")
	if a.status != 200 || !bytes.HasPrefix(a.body, []byte("%PDF-")) {
		t.Fatalf("%d %s", a.status, a.body)
	}
	text := printed(t, a.body)
	for _, page := range strings.Split(strings.TrimSuffix(text, "\f"), "\f") {
		if !strings.Contains(page, "not approved, not issued") {
			t.Errorf("a page is not marked:\n%s", page)
		}
	}
	for _, word := range []string{"/verify", "Signed SHA-256", "Date of issue", "Record at"} {
		if strings.Contains(text, word) {
			t.Errorf("a draft says %q", word)
		}
	}
	if kept, err := plant.All(p.store, "certificate", plant.ReadCertificate); err != nil || len(kept) != 0 {
		t.Errorf("a draft was kept: %v %v", kept, err)
	}
	bare := f.make("visit", "", set("item", item("PI-9")), set("person", id("technician")))
	no("no standard is recorded", 409, "/api/office/visits/"+bare.ID+"/draft.pdf")
	no("not_found", 404, "/api/office/visits/none/draft.pdf")
}

// A certificate is in the language chosen for it, else in that of its instrument, else in that of its
// site's customer, else in the laboratory's; what was issued before stays as it was.
func TestLanguageOfACertificate(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	letterhead := func(language string) answer {
		return p.do("administrator", "PUT", "/api/office/letterhead", strings.TrimSuffix(head, "}")+
			`,"country":"NL","language":"`+language+`"}`)
	}
	if a := letterhead("fr"); a.status != 400 || !strings.Contains(string(a.body), `\"fr\" is neither`) {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := letterhead(""); a.status != 200 || !strings.Contains(string(a.body), `"language":"en"`) {
		t.Errorf("%d %s", a.status, a.body)
	}
	issue := func(tag, body string, more ...plant.Set) (id string, pdf []byte, text, form string) {
		t.Helper()
		f.drafter.Count, _ = plant.HighestCount(p.store)
		visit := f.wholeVisit(tag, more...)
		a := f.do("reviewer", "POST", "/api/office/visits/"+visit.ID+"/approve",
			strings.TrimSuffix(js(doc{"covers": f.covers(visit.ID)}), "}")+body+"}")
		var in struct{ Certificate certificate }
		if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 || in.Certificate.ID == "" {
			t.Fatalf("%s: %d %s", tag, a.status, a.body)
		}
		id = in.Certificate.ID
		pdf = p.do("reviewer", "GET", "/api/certificates/"+id+".pdf", "").body
		form = string(p.do("reviewer", "GET", "/api/certificates/"+id+".xml", "").body)
		return id, pdf, printed(t, pdf), form
	}
	english, german := []string{"Calibration certificate", "page 1 of"}, []string{"Kalibrierschein", "Seite 1 von"}
	in := func(what, text, form string, says []string, code string) {
		t.Helper()
		for _, word := range says {
			if !strings.Contains(text, word) {
				t.Errorf("%s lacks %s:\n%s", what, word, text)
			}
		}
		if !strings.Contains(form, "<dcc:usedLangCodeISO639_1>"+code+"<") || !strings.Contains(form, `lang="`+code+`"`) {
			t.Errorf("%s: the form for machines is not in %s", what, code)
		}
	}
	first, before, text, form := issue("PI-1", "")
	in("by default", text, form, english, "en")
	_, _, text, form = issue("PI-2", `,"language":"de"`)
	in("as chosen", text, form, german, "de")
	if a := letterhead("de"); a.status != 200 {
		t.Fatal(a.status)
	}
	_, _, text, form = issue("PI-3", "")
	in("as the laboratory", text, form, german, "de")
	_, _, text, form = issue("PI-4", `,"language":"en"`)
	in("chosen against the laboratory", text, form, english, "en")
	f.drafter.Count, _ = plant.HighestCount(p.store)
	for i, own := range []struct{ instrument, says, code string }{
		{"en", "Calibration certificate", "en"}, {"de", "Kalibrierschein", "de"}, {"xx", "Kalibrierschein", "de"},
	} {
		f.drafter.Count, _ = plant.HighestCount(p.store)
		tag := fmt.Sprintf("PI-1%d", i)
		gauge := f.make("instrument", "", set("tag", tag), set("kind", "gauge"), set("language", own.instrument))
		_, _, text, form = issue(tag, "", set("instrument", gauge.ID))
		in("as its instrument, "+own.instrument, text, form, []string{own.says}, own.code)
		_, _, text, form = issue(tag, `,"language":"de"`, set("instrument", gauge.ID))
		in("chosen against its instrument", text, form, german, "de")
	}
	f.drafter.Count, _ = plant.HighestCount(p.store)
	gauge := f.make("instrument", "", set("tag", "PI-20"), set("kind", "gauge"), set("language", "en"))
	drafted := f.wholeVisit("PI-20", set("instrument", gauge.ID))
	if text := printed(t, p.do("reviewer", "GET", "/api/office/visits/"+drafted.ID+"/draft.pdf", "").body); !strings.Contains(text, "DRAFT of") {
		t.Errorf("the draft of an instrument in English: %s", text)
	}
	if again := p.do("reviewer", "GET", "/api/certificates/"+first+".pdf", "").body; !bytes.Equal(again, before) {
		t.Error("the certificate of before has other bytes now")
	}
	f.drafter.Count, _ = plant.HighestCount(p.store)
	visit := f.wholeVisit("PI-5")
	a := f.do("reviewer", "POST", "/api/office/visits/"+visit.ID+"/approve",
		strings.TrimSuffix(js(doc{"covers": f.covers(visit.ID)}), "}")+`,"language":"fr"}`)
	if a.status != 400 {
		t.Errorf("in French: %d %s", a.status, a.body)
	}
	if text := printed(t, p.do("reviewer", "GET", "/api/office/visits/"+visit.ID+"/draft.pdf", "").body); !strings.Contains(text, "ENTWURF vom") {
		t.Errorf("the draft: %s", text)
	}
}

// TestReadingACertificate checks that another laboratory's certificate is read and its file kept,
// and that this alone enters nothing.
func TestReadingACertificate(t *testing.T) {
	p := newPlant(t)
	const path, table = "/api/office/certificates/read?unit=bar&name=c.csv", "applied_kPa,error_kPa,expanded_kPa\n0,0.1,0.4\n500,-0.2,0.4\n"
	before, err := p.store.Last()
	if err != nil {
		t.Fatal(err)
	}
	a := p.do("reviewer", "POST", path, table)
	var got struct {
		File   string
		Tables []struct {
			Name   string
			Points []struct{ Applied, Error, Expanded, K string }
		}
	}
	if err := json.Unmarshal(a.body, &got); err != nil || a.status != 200 || len(got.Tables) != 1 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if q := got.Tables[0]; q.Name != "c.csv" || len(q.Points) != 2 || q.Points[1].Applied != "5" ||
		q.Points[1].Error != "-0.002" || q.Points[1].K != "2" {
		t.Errorf("%+v", q)
	}
	if b, err := p.store.Blob(got.File); err != nil || string(b) != table {
		t.Errorf("kept: %q %v", b, err)
	}
	if after, err := p.store.Last(); err != nil || after != before {
		t.Errorf("something was entered: %d, %d, %v", before, after, err)
	}
	for body, want := range map[string]string{"<a/>": "root", "x,y\n1,2\n": "applied", "": "empty"} {
		if a := p.do("reviewer", "POST", path, body); a.status != 400 || !strings.Contains(string(a.body), want) {
			t.Errorf("%q: %d %s", body, a.status, a.body)
		}
	}
	if a := p.do("technician", "POST", path, table); a.status != 403 {
		t.Errorf("a technician: %d", a.status)
	}
}
