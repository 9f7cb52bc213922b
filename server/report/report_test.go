package report_test

import (
	"bytes"
	"encoding/csv"
	"os/exec"
	"strings"
	"testing"
	"time"

	"gaugewright/server/report"

	"github.com/xuri/excelize/v2"
)

func table() *report.Table {
	return &report.Table{
		Name:    "results",
		Columns: []report.Column{{Name: "tag", Wide: 2}, {Name: "error", Number: true}, {Name: "note", Wide: 3}},
		Rows: [][]string{
			{"PI-1", "-0.050", "=SUM(A1:A9)"}, {"-PI-2", "1E-5", strings.Repeat("long words ", 40)}, {"@3", "", ""},
		},
	}
}

// TestTablesKeepTheirCells checks that a text that looks like a formula stays a text, and a number
// a number, in both forms. The .xlsx is read with the library's own reader.
func TestTablesKeepTheirCells(t *testing.T) {
	var b bytes.Buffer
	if err := report.CSV(&b, table()); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 4 {
		t.Fatal(rows, err)
	}
	if rows[1][1] != "-0.050" || rows[1][2] != "'=SUM(A1:A9)" || rows[2][0] != "'-PI-2" || rows[3][0] != "'@3" {
		t.Errorf("%q", rows)
	}
	b.Reset()
	if err := report.XLSX(&b, table(), &report.Table{Name: "none", Columns: []report.Column{{Name: "x"}}}); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	if got := f.GetSheetList(); len(got) != 2 || got[1] != "none" {
		t.Error(got)
	}
	for cell, want := range map[string]string{"A1": "tag", "A2": "PI-1", "B2": "-0.05", "C2": "=SUM(A1:A9)", "A4": "@3"} {
		if got, err := f.GetCellValue("results", cell); err != nil || got != want {
			t.Errorf("%s: %q, want %q; %v", cell, got, want, err)
		}
		if formula, _ := f.GetCellFormula("results", cell); formula != "" {
			t.Errorf("%s is the formula %q", cell, formula)
		}
	}
	if kind, err := f.GetCellType("results", "B2"); err != nil || kind != excelize.CellTypeUnset && kind != excelize.CellTypeNumber {
		t.Errorf("the error is not a number: %v %v", kind, err)
	}
}

// TestPDF checks that many rows continue over several pages, that a broken picture does not spoil
// the report, and that the same report gives the same bytes.
func TestPDF(t *testing.T) {
	long := table()
	for range 200 {
		long.Rows = append(long.Rows, []string{"PI-9", "0.1", "word"})
	}
	r := report.Report{Title: "A report", Of: "Works", Made: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC), Parts: []report.Part{
		{Heading: "First", Text: []string{"A sentence."}, Facts: [][2]string{{"Tag", "PI-1"}, {"Empty", ""}}},
		{Heading: "Second", NewPage: true, Table: long, Pictures: []report.Picture{{Type: "JPG", Bytes: []byte("no"), Caption: "a"}}},
	}}
	files := []report.File{{Name: "a.txt", Means: "what", Bytes: []byte("words")}}
	one, err := r.PDF(files...)
	if err != nil {
		t.Fatal(err)
	}
	two, err := r.PDF(files...)
	if err != nil || !bytes.Equal(one, two) {
		t.Error("two drawings differ", err)
	}
	if n := bytes.Count(one, []byte("/Type /Page\n")); n < 5 {
		t.Errorf("%d pages", n)
	}
	if !bytes.Contains(one, []byte("/EmbeddedFile")) {
		t.Error("nothing is attached")
	}
}

// TestNoWordIsBroken: a narrow column makes room for its longest word, and a heading stays on the page
// of its table.
func TestNoWordIsBroken(t *testing.T) {
	x := &report.Table{Columns: []report.Column{
		{Name: "Kalibrierschein", Wide: 0.1}, {Name: "Ausgangszustand", Wide: 0.1}, {Name: "a", Wide: 9}, {Name: "Anmerkung", Wide: 9},
	}}
	for range 60 {
		x.Rows = append(x.Rows, []string{"2026-00001", "unterschrieben", "1", "a few words"})
	}
	r := report.Report{Title: "A report", Made: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC), Parts: []report.Part{
		{Heading: "First", Table: x}, {Heading: "Second", Table: &report.Table{Columns: x.Columns, Rows: x.Rows[:1]}},
	}}
	for lines := range 60 { // the second heading comes to stand at every height of a page
		r.Parts[0].Table = &report.Table{Columns: x.Columns, Rows: x.Rows[:lines+1]}
		b, err := r.PDF()
		if err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command("pdftotext", "-layout", "-", "-")
		cmd.Stdin = bytes.NewReader(b)
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("pdftotext (Debian package poppler-utils): %v", err)
		}
		for _, page := range strings.Split(strings.TrimRight(string(out), "\f"), "\f") {
			if _, below, ok := strings.Cut(page, "Second"); ok && !strings.Contains(below, "2026-00001") {
				t.Errorf("after %d rows the heading stands alone:\n%s", lines+1, page)
			}
		}
		for _, word := range []string{"Kalibrierschein", "Ausgangszustand", "unterschrieben", "2026-00001"} {
			if !strings.Contains(string(out), word) {
				t.Fatalf("%q is broken:\n%s", word, out)
			}
		}
	}
}
