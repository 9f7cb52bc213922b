package office_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/server/certificates"
	"gaugewright/server/office"
	"gaugewright/server/paper"
	"gaugewright/server/plant"
)

// TestScannedPaper prints a certificate on each size of paper, turns the page into a picture as a
// scanner does, decodes it with another library, and checks the code against the office's public
// list.
func TestScannedPaper(t *testing.T) {
	for _, tool := range []string{"pdftoppm", "zbarimg"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatalf("install %s (Debian packages poppler-utils, zbar-tools): %v", tool, err)
		}
	}
	p := newPlace(t)
	for _, size := range []string{certificates.A4, certificates.Letter} {
		if _, err := p.office.SetLetterhead(office.Letterhead{Name: "Works laboratory", Address: []string{"1 Dock Road"},
			Customer: []string{"Works North"}, Country: "NL", Paper: size}); err != nil {
			t.Fatal(err)
		}
		visit := p.visit("PI-1 " + size)
		sheet := office.Sheet{Base: "https://office.example"}
		out, err := p.office.Approve(t.Context(), reviewer, visit, p.covers(visit), "", "", sheet)
		if err != nil || out.Number == "" {
			t.Fatal(out, err)
		}
		if p.phone.Count, err = plant.HighestCount(p.store); err != nil {
			t.Fatal(err)
		}
		state, _, err := p.store.Record(out.ID)
		if err != nil {
			t.Fatal(err)
		}
		c, err := plant.ReadCertificate(state)
		if err != nil {
			t.Fatal(err)
		}
		pdf, err := p.office.Document(&c)
		if err != nil {
			t.Fatal(err)
		}
		text := scanned(t, pdf)
		address, code, ok := strings.Cut(text, "#")
		if !ok || address != "https://office.example/verify" {
			t.Fatalf("%s: the code is %q", size, text)
		}
		file, err := p.office.List()
		if err != nil {
			t.Fatal(err)
		}
		list, err := paper.ReadList(file, nil)
		if err != nil {
			t.Fatal(err)
		}
		f, err := paper.Check([]byte(text), &list)
		if err != nil || f.Number != out.Number || f.Code.Item != "PI-1 "+size+"/S-PI-1 "+size && !f.Code.Cut {
			t.Errorf("%s: %+v %v", size, f, err)
		}
		if whole, err := paper.Check(pdf, &list); err != nil || whole.Code.Print != f.Code.Print {
			t.Errorf("%s: the scanned code is not that of the file: %v", size, err)
		}
		changed := []byte(address + "#" + strings.Replace(code, "."+f.Number+".", ".2026-99999.", 1))
		if _, err := paper.Check(changed, &list); err == nil {
			t.Errorf("%s: a code with another number holds", size)
		}
	}
}

// scanned turns the first page into a picture of 200 dots an inch and decodes it.
func scanned(t *testing.T, pdf []byte) string {
	t.Helper()
	dir := t.TempDir()
	file, page := filepath.Join(dir, "paper.pdf"), filepath.Join(dir, "page")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("pdftoppm", "-r", "200", "-gray", "-png", "-singlefile", file, page)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	out, err := exec.Command("zbarimg", "-q", "--raw", page+".png").Output()
	if err != nil {
		t.Fatalf("zbarimg reads nothing: %v", err)
	}
	return string(bytes.TrimSpace(out))
}
