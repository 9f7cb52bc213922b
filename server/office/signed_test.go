package office

import (
	"bytes"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/demo"
	"gaugewright/server/paper"
	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

// shown is the office of an invented plant, with its certificates, which are drawn on demand.
func shown(t testing.TB) (*Office, []plant.Certificate) {
	t.Helper()
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	k, err := auth.New(s, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	today := time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC)
	options := demo.Options{Seed: 1, Today: today, Instruments: 12, Years: 2, Base: "http://localhost:8080"}
	if _, err := demo.Seed(t.Context(), s, options); err != nil {
		t.Fatal(err)
	}
	papers, err := plant.All(s, "certificate", plant.ReadCertificate)
	if err != nil || len(papers) == 0 {
		t.Fatal(papers, err)
	}
	return New(s, k, time.Now), papers
}

// TestPrintsNeedNoDrawing checks that the public list and the paper of a certificate refer to the
// same record, with and without a machine-readable form.
func TestPrintsNeedNoDrawing(t *testing.T) {
	o, papers := shown(t)
	for i := range papers[:3] {
		c := &papers[i]
		if c.Letterhead == nil {
			t.Fatalf("%+v", c)
		}
		in, pdf, err := o.redrawn(c)
		if err != nil || in.Signed == nil || !bytes.HasPrefix(pdf, []byte("%PDF")) {
			t.Fatal(err)
		}
		if print, err := o.printOf(c); err != nil || print != paper.PrintOf(in.Signed.Record) {
			t.Errorf("%s: %q, %v", c.Number, print, err)
		}
	}
}

// TestADamagedNameIsAnError checks that the public list does not silently leave out a replaced
// certificate.
func TestADamagedNameIsAnError(t *testing.T) {
	for _, name := range []string{"no digits", "abcd", ""} {
		c := plant.Certificate{Number: "2026-00001", Signed: &plant.SignedRecord{Record: name}}
		if print, err := (&Office{}).printOf(&c); err == nil {
			t.Errorf("%q gives %q", name, print)
		}
	}
}

// BenchmarkPrint compares an entry of the public list with drawing the certificate.
func BenchmarkPrint(b *testing.B) {
	o, papers := shown(b)
	c := &papers[0]
	b.Run("print", func(b *testing.B) {
		for b.Loop() {
			if _, err := o.printOf(c); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("drawing", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := o.redrawn(c); err != nil {
				b.Fatal(err)
			}
		}
	})
}
