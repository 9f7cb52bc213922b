package api_test

import (
	"strings"
	"testing"
)

// TestLabelsAndDefectTags asks for dated labels and for defect tags of instruments that were taken
// out of service by a visit, by the register, and not at all.
func TestLabelsAndDefectTags(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	f.drafter.Author = id("administrator")
	gauge := func(tag, status string) string {
		return f.make(
			"instrument", "", set("tag", tag), set("serial", "S-"+tag), set("kind", "gauge"),
			set("range", doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}),
			set("status", status), set("due", "2027-03-04"),
		).ID
	}
	good, out, tested := gauge("PI-1", "in service"), gauge("PI-2", "out of service"), gauge("PI-3", "in service")
	f.drafter.Author = id("technician")
	f.keep(f.drafter.New(
		"visit", "", tested, f.now, set("instrument", tested), set("item", item("PI-3")),
		set("person", id("technician")), set("started", "2026-03-03T08:00:00.000Z"),
		set("disposition", doc{
			"way": "taken_out", "reason": "needle sticks", "code": "D-07", "at": "2026-03-03T09:00:00.000Z",
		}),
	))
	ask := func(path string, body any) string {
		t.Helper()
		a := p.do("reviewer", "POST", path, js(body))
		if a.status != 200 {
			t.Fatalf("%s: %d %s", path, a.status, a.body)
		}
		return strings.Join(strings.Fields(printed(t, a.body)), " ")
	}
	plain := ask("/api/labels", doc{"instruments": []string{good}})
	if strings.Contains(plain, "due:") || !strings.Contains(plain, "PI-1") {
		t.Error("without a date:", plain)
	}
	dated := ask("/api/labels", doc{"instruments": []string{good, out}, "dated": true})
	for _, want := range []string{"due: 2027-03-04", "in service", "out of service"} {
		if !strings.Contains(dated, want) {
			t.Errorf("%q is not on %s", want, dated)
		}
	}
	const tags = "/api/labels/defects"
	said := ask(tags, doc{"instruments": []string{tested}})
	for _, want := range []string{
		"OUT OF SERVICE", "PI-3", "Serial S-PI-3", "needle sticks", "D-07", "technician", "2026-03-03",
	} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not on %s", want, said)
		}
	}
	said = ask(tags, doc{"instruments": []string{out}})
	for _, want := range []string{"PI-2", "administrator", "2026-03-04"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not on %s", want, said)
		}
	}
	if a := p.do("administrator", "PUT", "/api/office/letterhead", strings.TrimSuffix(head, "}")+`,"language":"de"}`); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	dated = ask("/api/labels", doc{"instruments": []string{good, out}, "dated": true})
	for _, want := range []string{"fällig: 2027-03-04", "in Betrieb", "außer Betrieb"} {
		if !strings.Contains(dated, want) {
			t.Errorf("in German: %q is not on %s", want, dated)
		}
	}
	said = ask(tags, doc{"instruments": []string{tested}})
	for _, want := range []string{
		"AUSSER BETRIEB", "PI-3", "Seriennummer S-PI-3", "Grund needle sticks", "Mangel D-07", "Gesperrt von", "Datum 2026-03-03",
	} {
		if !strings.Contains(said, want) {
			t.Errorf("in German: %q is not on %s", want, said)
		}
	}
	f.drafter.Author = id("administrator")
	foreign := f.make(
		"instrument", "", set("tag", "PI-4"), set("kind", "gauge"), set("status", "out of service"), set("language", "en"),
		set("range", doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}),
	).ID
	dated = ask("/api/labels", doc{"instruments": []string{good, foreign}, "dated": true})
	if !strings.Contains(dated, "in Betrieb") || !strings.Contains(dated, "no date set") {
		t.Errorf("one in English beside one in the laboratory's German: %s", dated)
	}
	if said := ask(tags, doc{"instruments": []string{foreign}}); !strings.Contains(said, "OUT OF SERVICE") {
		t.Errorf("the tag of one in English: %s", said)
	}
	a := p.do("reviewer", "POST", tags, js(doc{"instruments": []string{out, good}}))
	if a.status != 409 || !strings.Contains(string(a.body), "PI-1 is in service") {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do("technician", "POST", tags, js(doc{"instruments": []string{out}})); a.status != 403 {
		t.Errorf("%d", a.status)
	}
}
