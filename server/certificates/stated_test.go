package certificates_test

import (
	"strings"
	"testing"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"
)

// Whose the item is, what the order says and what is accredited: on the paper, in the form for
// machines and in the record that is signed.
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
		in, err := certificates.Gather(w.store, w.visit.ID, own, "GW-2026-0007", w.now)
		if err != nil {
			t.Fatal(err)
		}
		xml, err := certificates.Machine(in)
		if err != nil {
			t.Fatal(err)
		}
		record, _, err := certificates.Record(in, xml)
		if err != nil {
			t.Fatal(err)
		}
		pdf, err := certificates.PDF(in)
		if err != nil {
			t.Fatal(err)
		}
		return []string{text(t, pdf), string(xml), string(record)}
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
	for i, want := range map[int]string{ // which file the standard's values rest on
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

// A draft says so on every page, and no code, key or form for machines goes with it.
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
