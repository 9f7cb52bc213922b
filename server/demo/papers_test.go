package demo_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/certificates"
	"gaugewright/server/dcc"
	"gaugewright/server/dcc/dcctest"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

var update = flag.Bool("update", false, "freeze the papers' texts again")

// sheets gathers the certificates of a plant, and names the kind of work of each.
func sheets(t *testing.T, s *store.Store) (list []certificates.Input, kinds []string) {
	t.Helper()
	papers, err := plant.All(s, "certificate", plant.ReadCertificate)
	for _, c := range all(t, papers, err) {
		at, err := time.Parse(time.RFC3339, c.Issued)
		if err != nil {
			t.Fatal(err)
		}
		in, err := certificates.Gather(
			s, c.Parent,
			certificates.OfficeOf(c.Letterhead),
			c.Number, at,
		)
		if err != nil {
			t.Fatal(err)
		}
		var method struct{ Kind string }
		if err := json.Unmarshal(in.Visit.Method.Definition, &method); err != nil {
			t.Fatal(err)
		}
		if in.Visit.Item.Output != nil {
			method.Kind = "transmitter"
		}
		if err := in.IssuedBy(s, c.By); err != nil {
			t.Fatal(err)
		}
		list, kinds = append(list, in), append(kinds, method.Kind)
	}
	return list, kinds
}

// TestPapers: every kind of work has its paper, whose text is frozen in testdata/goldens/papers,
// and a machine-readable form that is valid by the published schema and the rules beyond it. To
// change a paper on purpose: go test ./server/demo -run TestPapers -args -update.
func TestPapers(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 1, Today: today, Instruments: 60, Years: 2, Base: "http://localhost:8080"})
	list, kinds := sheets(t, s)
	for _, kind := range []string{"gauge", "transmitter", "programme", "switch", "leak", "burst", "altimeter", "airspeed", "vertical-speed", "reporting-altitude", "pitot-static-leak"} {
		i := slices.Index(kinds, kind)
		if i < 0 {
			t.Fatalf("no certificate of %s among %v", kind, kinds)
		}
		frozen(t, kind, list[i])
		in := list[i]
		in.Office.Language = certificates.German
		frozen(t, kind+".de", in)
	}
	for _, language := range certificates.Languages {
		t.Run("for machines, "+language, func(t *testing.T) { forMachines(t, list, language) })
	}
	t.Run("attached", func(t *testing.T) { attached(t, list[0]) })
}

// frozen compares the text of a paper with the stored one.
func frozen(t *testing.T, name string, in certificates.Input) {
	t.Run("text of "+name, func(t *testing.T) {
		pdf, err := certificates.PDF(in)
		if err != nil {
			t.Fatal(err)
		}
		got := textOf(t, pdf)
		frozen := filepath.Join("..", "..", "testdata", "goldens", "papers", name+".txt")
		if *update {
			if err := os.WriteFile(frozen, []byte(got), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(frozen)
		if err != nil {
			t.Fatal(err)
		}
		was, is := strings.Split(string(want), "\n"), strings.Split(got, "\n")
		for i := range max(len(was), len(is)) {
			if i >= len(was) || i >= len(is) || was[i] != is[i] {
				t.Fatalf(
					"%s:%d differs; the paper says now\n%s", frozen, i+1,
					strings.Join(is[min(i, len(is)):min(i+3, len(is))], "\n"),
				)
			}
		}
	})
}

// forMachines checks the machine-readable forms against the schema and its rules; each states its
// language.
func forMachines(t *testing.T, list []certificates.Input, language string) {
	var files []string
	dir := t.TempDir()
	for _, in := range list {
		in.Office.Language = language
		b, err := certificates.Machine(in)
		if err == nil {
			err = dcc.Check(b)
		}
		if err != nil {
			t.Errorf("%s of %s: %v", in.Number, in.Visit.Item.Tag, err)
		}
		for _, says := range []string{"dcc:usedLangCodeISO639_1", "dcc:mandatoryLangCodeISO639_1"} {
			if !bytes.Contains(b, []byte("<"+says+">"+language+"</")) {
				t.Errorf("%s: %s is not %s", in.Number, says, language)
			}
		}
		files = append(files, filepath.Join(dir, in.Number+".xml"))
		if err := os.WriteFile(files[len(files)-1], b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if wrong := dcctest.Validate(t, files...); wrong != "" {
		t.Error(wrong)
	}
}

// textOf reads a PDF with pdftotext, without the lines that name the record: ids change with each
// version of the demo plant.
func textOf(t *testing.T, pdf []byte) string {
	t.Helper()
	paper := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(paper, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", paper, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext (Debian's poppler-utils): %v", err)
	}
	var kept []string
	for _, line := range strings.Split(strings.ReplaceAll(string(out), "\f", ""), "\n") {
		if line = strings.TrimRight(line, " "); !strings.HasPrefix(line, "Record ") && !strings.HasPrefix(line, "Aufzeichnung ") &&
			!strings.HasPrefix(line, "Calculations ") && !strings.HasPrefix(line, "Berechnungen ") {
			kept = append(kept, line)
		}
	}
	return strings.Join(kept, "\n")
}

// attached compares the attachments of a PDF with the machine-readable forms.
func attached(t *testing.T, in certificates.Input) {
	t.Helper()
	pdf, err := certificates.PDF(in)
	if err != nil {
		t.Fatal(err)
	}
	paper, out := filepath.Join(t.TempDir(), "paper.pdf"), filepath.Join(t.TempDir(), "out.xml")
	if err := os.WriteFile(paper, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	if b, err := exec.Command("pdfdetach", "-save", "1", "-o", out, paper).CombinedOutput(); err != nil {
		t.Fatalf("pdfdetach (Debian's poppler-utils): %v\n%s", err, b)
	}
	got, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	if want, err := certificates.Machine(in); err != nil || !bytes.Equal(got, want) {
		t.Errorf("%d bytes are attached, a machine gets %d: %v", len(got), len(want), err)
	}
}
