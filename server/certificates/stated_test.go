package certificates_test

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"
)

// TestCustomerOrderAndAccreditation checks that owner, order and accreditation are on paper, in the
// machine-readable form and in the signed record.
func TestCustomerOrderAndAccreditation(t *testing.T) {
	w := start(t, true, 3)
	instrument := w.keep(w.drafter.New("instrument", w.visit.Site, "", w.now, plant.Set{Field: "tag", Value: "PI-1001"}))
	standard := w.keep(w.drafter.New("standard", "", "", w.now, plant.Set{Field: "certificate.x", Value: doc{
		"number": "C-2025-118", "by": "Dock Laboratory", "accreditation": "K-118",
		"file": strings.Repeat("5e", 32),
	}}))
	visit, err := plant.LoadVisit(w.store, w.visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	w.visit = w.keep(w.drafter.Edit(
		w.visit, w.now, plant.Set{Field: "instrument", Value: instrument.ID},
		plant.Set{Field: "order", Value: doc{"number": "PO 4711", "received": "2026-03-01"}},
		plant.Set{Field: "standard", Value: doc{
			"id": standard.ID, "range": visit.Standard.Range, "snapshot": visit.Standard.Snapshot,
		}},
	))
	w.approve()
	of := func(accredited bool) []string {
		t.Helper()
		own := office
		own.Country = "NL"
		if accredited {
			own.Accreditation = &plant.Accreditation{
				Text: "Accredited by the Board to ISO/IEC 17025", Number: "C 042", Scope: "gauge pressure 0 … 20 bar",
			}
		}
		return w.forms(own)
	}
	form := []string{"the paper", "the form for machines", "the record"}
	holds := func(list []string, want string, there bool) {
		t.Helper()
		for i := range list {
			if strings.Contains(list[i], want) != there {
				t.Errorf("%s: %q is there: %v", form[i], want, !there)
			}
		}
	}
	plain := of(false)
	for _, want := range []string{"Plant Operations", "PO 4711", "Dock Laboratory (accreditation K-118)"} {
		holds(plain, want, true)
	}
	for i, want := range map[int]string{ // the file with the standard's values
		1: "<dcc:procedure>SHA-256</dcc:procedure>\n", 2: `"hash":"` + strings.Repeat("5e", 32) + `"`,
	} {
		if !strings.Contains(plain[i], want) || !strings.Contains(plain[i], strings.Repeat("5e", 32)) {
			t.Errorf("%s lacks %q", form[i], want)
		}
	}
	for i, want := range []string{"Received 1 March 2026", "<dcc:receiptDate>2026-03-01</dcc:receiptDate>", `"received":"2026-03-01"`} {
		if !strings.Contains(plain[i], want) {
			t.Errorf("%s lacks %q", form[i], want)
		}
	}
	holds(plain, "C 042", false)
	holds(of(true), "Accredited by the Board to ISO/IEC 17025, No. C 042; scope: gauge pressure 0 … 20 bar", true)

	site, _, err := w.store.Record(w.visit.Site)
	if err != nil {
		t.Fatal(err)
	}
	w.keep(w.drafter.Edit(site, w.now, plant.Set{Field: "customer", Value: "Northern Gas\n\n 9 Pier Road "}))
	bySite := of(false)
	holds(bySite, "Northern Gas", true)
	holds(bySite, "9 Pier Road", true)
	holds(bySite, "Plant Operations", false)
	w.keep(w.drafter.Edit(instrument, w.now, plant.Set{Field: "customer", Value: "Ship Repair"}))
	own := of(false)
	holds(own, "Ship Repair", true)
	holds(own, "Northern Gas", false)
}

// TestDraftIsMarked checks that every page says it is a draft, without code, key or
// machine-readable form.
func TestDraftIsMarked(t *testing.T) {
	w := start(t, true, 30) // several pages, not approved
	own := office
	own.Country = "NL"
	in, err := certificates.Draft(w.store, w.visit.ID, own, w.now)
	if err != nil {
		t.Fatal(err)
	}
	pdf, err := certificates.PDF(in)
	if err != nil {
		t.Fatal(err)
	}
	whole := text(t, pdf)
	pages := strings.Count(whole, "not approved, not issued, and no proof of anything")
	if !strings.Contains(whole, "page 3 of ") || !strings.Contains(whole, "of "+string(rune('0'+pages))) {
		t.Errorf("%d pages are marked:\n%s", pages, whole)
	}
	for _, word := range []string{"/verify", "Record at", "Date of issue", "Checked by"} {
		if strings.Contains(whole, word) {
			t.Errorf("a draft says %q", word)
		}
	}
	if strings.Contains(string(pdf), "/Type /EmbeddedFile ") {
		t.Error("a draft carries a file")
	}
}

// TestDraftStandsAcrossThePage checks that the word behind the text of a draft is whole and in the
// middle of every page, on both paper sizes and in both languages.
func TestDraftStandsAcrossThePage(t *testing.T) {
	w := start(t, true, 30)
	word := regexp.MustCompile(`xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(\S*)</word>`)
	for _, size := range []string{certificates.A4, certificates.Letter} {
		for language, says := range map[string]string{certificates.English: "DRAFT", certificates.German: "ENTWURF"} {
			own := office
			own.Country, own.Paper, own.Language = "NL", size, language
			in, err := certificates.Draft(w.store, w.visit.ID, own, w.now)
			if err != nil {
				t.Fatal(err)
			}
			pdf, err := certificates.PDF(in)
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(t.TempDir(), "draft.pdf")
			if err := os.WriteFile(file, pdf, 0o600); err != nil {
				t.Fatal(err)
			}
			tool(t, "pdftotext", "poppler-utils")
			out, err := exec.Command("pdftotext", "-bbox", file, "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			for n, page := range strings.Split(string(out), "<page ")[1:] {
				var wide, tall float64
				if _, err := fmt.Sscanf(strings.ReplaceAll(page, "\"", ""), "width=%g height=%g>", &wide, &tall); err != nil {
					t.Fatal(err)
				}
				letters := 0 // of the word, which is read back in pieces since it is turned
				low, high := [2]float64{wide, tall}, [2]float64{}
				for _, m := range word.FindAllStringSubmatch(page, -1) {
					var at [4]float64
					for i := range at {
						if at[i], err = strconv.ParseFloat(m[i+1], 64); err != nil {
							t.Fatal(err)
						}
					}
					if at[3]-at[1] > 40 { // points; all other words are smaller
						letters += len(m[5])
						low = [2]float64{min(low[0], at[0]), min(low[1], at[1])}
						high = [2]float64{max(high[0], at[2]), max(high[1], at[3])}
					}
				}
				x, y := (low[0]+high[0])/2, (low[1]+high[1])/2
				if letters != len(says) || low[0] < 0 || low[1] < 0 || high[0] > wide || high[1] > tall ||
					math.Abs(x-wide/2) > wide/10 || math.Abs(y-tall/2) > tall/10 {
					t.Errorf("%s, %s, page %d of %g × %g: %d letters of %s lie between %v and %v", size, language, n+1, wide, tall,
						letters, says, low, high)
				}
			}
		}
	}
}

// TestReasonForAnotherMethod checks that a visit by another method than the one set says why, beside
// the method, on the paper in both languages, in the machine-readable form and in the signed record;
// and that a visit by the usual one has no such line. ISO/IEC 17025:2017 7.8.2.1 f) and n) ask for
// the method and for deviations from it.
func TestReasonForAnotherMethod(t *testing.T) {
	const reason = "the customer asked for 3 points"
	for _, c := range []struct{ language, name string }{
		{"", "Reason for this method"}, {"de", "Grund der Wahl"},
	} {
		w := start(t, true, 3)
		of := func(why string) []string {
			t.Helper()
			visit, err := plant.LoadVisit(w.store, w.visit.ID)
			if err != nil {
				t.Fatal(err)
			}
			m := doc{"id": "m", "version": 3, "name": visit.Method.Name, "definition": visit.Method.Definition}
			if why != "" {
				m["reason"] = why
			}
			w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{Field: "method", Value: m}))
			w.approve()
			own := office
			own.Language, own.Country = c.language, "NL"
			return w.forms(own)
		}
		for i, form := range of("") {
			if strings.Contains(form, c.name) {
				t.Errorf("%q, form %d of a visit by the usual method has %q", c.language, i, c.name)
			}
		}
		forms := of(reason)
		for i, want := range []string{c.name + " " + reason, c.name + ": " + reason, reason} {
			if !strings.Contains(forms[i], want) {
				t.Errorf("%q, form %d lacks %q", c.language, i, want)
			}
		}
	}
}

// forms returns the visit's certificate as a paper's text, the form for machines and the record.
func (w *world) forms(own certificates.Office) []string {
	w.t.Helper()
	in, err := certificates.Gather(w.store, w.visit.ID, own, "GW-2026-0007", w.now)
	if err != nil {
		w.t.Fatal(err)
	}
	xml, err := certificates.Machine(in)
	if err != nil {
		w.t.Fatal(err)
	}
	record, _, err := certificates.Record(in, xml)
	if err != nil {
		w.t.Fatal(err)
	}
	pdf, err := certificates.PDF(in)
	if err != nil {
		w.t.Fatal(err)
	}
	return []string{text(w.t, pdf), string(xml), string(record)}
}
