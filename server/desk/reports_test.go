package desk_test

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc/conformity"
	"gaugewright/server/desk"
	"gaugewright/server/german"
	"gaugewright/server/plant"
	"gaugewright/server/report"
)

// drawn draws a report and, if a folder is named, saves it there for inspection.
func drawn(t *testing.T, name string, r report.Report, files ...report.File) []byte {
	t.Helper()
	b, err := r.PDF(files...)
	if err != nil {
		t.Fatal(err)
	}
	if dir := os.Getenv("REPORTS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return b
}

// words are all sentences and cells of a report.
func words(r *report.Report) string {
	var b strings.Builder
	for _, p := range r.Parts {
		b.WriteString(p.Heading + "\n" + strings.Join(p.Text, "\n"))
		for _, f := range p.Facts {
			b.WriteString("\n" + f[0] + ": " + f[1])
		}
		if p.Table != nil {
			for _, row := range p.Table.Rows {
				b.WriteString("\n" + strings.Join(row, " | "))
			}
		}
		b.WriteString("\n")
	}
	return b.String()
}

// TestState counts the plant in another way: from the records themselves.
func TestState(t *testing.T) {
	p := newPlace(t, 40)
	s, err := p.desk.State()
	if err != nil {
		t.Fatal(err)
	}
	all, err := plant.All(p.store, "instrument", plant.ReadInstrument)
	if err != nil {
		t.Fatal(err)
	}
	service, overdue, soon, eight := 0, 0, 0, 0
	for _, i := range all {
		if i.Status != "in service" {
			continue
		}
		service++
		switch due := i.Due[:min(10, len(i.Due))]; {
		case due == "":
		case due < "2026-09-14":
			overdue++
		case due < "2026-11-09": // eight weeks from Monday, 14 September 2026
			eight++
			fallthrough
		default:
			if due <= "2026-10-14" {
				soon++
			}
		}
	}
	if s.Instruments != service || s.Overdue != overdue || s.DueSoon != soon || s.OutOfService != len(all)-service {
		t.Errorf("%+v; want %d, %d, %d", s, service, overdue, soon)
	}
	sum, areas, late := 0, 0, 0
	for _, w := range s.Weeks {
		sum += w.Due
	}
	for _, a := range s.Areas {
		areas += a.InService
		late += a.Overdue
	}
	if sum != eight || areas != service || late != overdue || len(s.Weeks) != 8 || s.Weeks[1].From != "2026-09-21" {
		t.Errorf("weeks %d of %d, areas %d, %+v", sum, eight, areas, s.Weeks)
	}
	if !slices.IsSortedFunc(s.Bad, func(a, b desk.Bad) int { return strings.Compare(a.Verdict, b.Verdict) }) {
		t.Error("failures do not come first")
	}
	if s.Failed+s.Undecided < len(s.Bad) {
		t.Errorf("%d and %d, listed %d", s.Failed, s.Undecided, len(s.Bad))
	}
	r, err := p.desk.StateReport("")
	if err != nil {
		t.Fatal(err)
	}
	drawn(t, "state", r)
}

// TestFailuresUnderACondition checks that a conditional failure is a failure in the state of the
// plant and in the report of its month, with what it means.
func TestFailuresUnderACondition(t *testing.T) {
	p := newPlace(t, 0)
	at := plant.Stamp(p.now)
	gauge := p.keep(p.drafter.New("instrument", "", "", p.now, set("tag", "PI-1"), set("status", "in service")))
	visit := p.keep(p.drafter.New("visit", "", gauge.ID, p.now, set("instrument", gauge.ID), set("started", at),
		set("person", reviewer), set("summary", doc{"as_found": doc{"verdict": conformity.ConditionalFail}}),
		set("signature", doc{"name": "R", "strokes": []any{}, "at": at, "covers": []string{}, "of": plant.SignedOf})))
	s, err := p.desk.State()
	if err != nil || s.Failed != 1 || len(s.Bad) != 1 || s.Bad[0].Visit != visit.ID || s.Bad[0].Verdict != conformity.Fail {
		t.Errorf("%+v %v", s.Bad, err)
	}
	m, err := p.desk.Month("2026-09", "")
	if err != nil || len(m.Failures.Rows) != 1 || m.Areas.Rows[0][3] != "1" {
		t.Errorf("%+v %v", m, err)
	}
}

// TestMonth checks that each visit signed in the month is a row, and that the tallies add up to
// them.
func TestMonth(t *testing.T) {
	p := newPlace(t, 40)
	for _, bad := range []string{"", "2026", "2026-13", "2026-10", "2026-09-01"} {
		if _, err := p.desk.Month(bad, ""); faultOf(err) != "month" {
			t.Errorf("%q: %v", bad, err)
		}
	}
	briefs, err := p.office.Briefs("", "")
	if err != nil {
		t.Fatal(err)
	}
	months := map[string]int{}
	for _, b := range briefs {
		if b.Signed != "" {
			months[b.Signed[:7]]++
		}
	}
	busiest := ""
	for m, n := range months {
		if n > months[busiest] || n == months[busiest] && m < busiest {
			busiest = m
		}
	}
	m, err := p.desk.Month(busiest, "")
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Visits.Rows) != months[busiest] {
		t.Errorf("%d rows of %d", len(m.Visits.Rows), months[busiest])
	}
	for _, x := range []*report.Table{m.Areas, m.People} {
		sum := 0
		for _, row := range x.Rows {
			n, err := strconv.Atoi(row[1])
			if err != nil {
				t.Fatal(err)
			}
			sum += n
		}
		if sum != len(m.Visits.Rows) {
			t.Errorf("%s add up to %d of %d", x.Name, sum, len(m.Visits.Rows))
		}
	}
	drawn(t, "month", m.Report)
	var b bytes.Buffer
	if err := report.XLSX(&b, m.Tables()...); err != nil {
		t.Error(err)
	}
}

// TestDossier checks that it has each visit of an instrument, and that each certificate is
// attached.
func TestDossier(t *testing.T) {
	p := newPlace(t, 12)
	briefs, err := p.office.Briefs("", "")
	if err != nil {
		t.Fatal(err)
	}
	visits := map[string]int{}
	for _, b := range briefs {
		if i, err := plant.LoadInstrument(p.store, b.Instrument); err == nil && i.Kind != "" {
			visits[b.Instrument]++
		}
	}
	id := ""
	for i, n := range visits {
		if n > visits[id] || n == visits[id] && i < id {
			id = i
		}
	}
	papers := 0
	for _, b := range briefs {
		if b.Instrument != id {
			continue
		}
		kids, err := p.store.Children(b.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range kids {
			if k.Kind == "certificate" {
				papers++
			}
		}
	}
	for _, b := range briefs {
		if b.Instrument != id {
			continue
		}
		s, err := p.office.Record(b.ID)
		if err != nil {
			t.Fatal(err)
		}
		v, err := plant.ReadVisit(s)
		if err != nil {
			t.Fatal(err)
		}
		p.keep(p.drafter.Edit(s, p.now, plant.Set{Field: "method", Value: map[string]any{
			"id": v.Method.ID, "version": v.Method.Version, "name": v.Method.Name, "definition": v.Method.Definition,
			"reason": "the customer asked for 3 points",
		}}))
		break
	}
	r, files, err := p.desk.Dossier(id, "")
	if err != nil {
		t.Fatal(err)
	}
	said := words(&r)
	if strings.Count(said, "\nReason for this method: the customer asked for 3 points\n") != 1 {
		t.Error("one visit was by another method, for a reason")
	}
	if got := strings.Count(said, "\nVisit of "); got != visits[id] {
		t.Errorf("%d visits of %d", got, visits[id])
	}
	if papers == 0 || len(files) < papers {
		t.Errorf("%d files, %d certificates", len(files), papers)
	}
	for _, f := range files {
		if strings.HasPrefix(f.Name, "certificate-") && !bytes.HasPrefix(f.Bytes, []byte("%PDF-")) {
			t.Errorf("%s is not a PDF", f.Name)
		}
	}
	if b := drawn(t, "dossier", r, files...); bytes.Count(b, []byte("/EmbeddedFile")) < papers {
		t.Error("not every certificate is in the file")
	}
	if _, _, err := p.desk.Dossier("n0where", ""); !errors.Is(err, plant.ErrNotFound) {
		t.Error(err)
	}
}

// TestLettersAndReport checks that those concerned get a letter with their own instruments only.
func TestLettersAndReport(t *testing.T) {
	p := newPlace(t, 20)
	ctx := t.Context()
	id, q := p.doubted()
	q.After = shifted(t, q.After, 0.5)
	lookback, err := p.desk.Open(ctx, reviewer, id, q)
	if err != nil {
		t.Fatal(err)
	}
	view := p.wait(lookback)
	if _, err := p.desk.Letters(&view); !errors.Is(err, desk.ErrNobody) {
		t.Error(err)
	}
	if len(view.Instruments) < 3 {
		t.Fatalf("%d instruments", len(view.Instruments))
	}
	one, two, three := view.Instruments[0], view.Instruments[1], view.Instruments[2]
	s, err := p.office.Record(one.ID)
	if err != nil {
		t.Fatal(err)
	}
	p.drafter.Count, _ = plant.HighestCount(p.store)
	p.keep(p.drafter.Edit(s, p.now, set("customer", "Other Works\n2 Dock Road")))
	for instrument, way := range map[string]string{one.ID: "recall", two.ID: "tell", three.ID: "none"} {
		if err := p.desk.Decide(ctx, reviewer, lookback, []string{instrument}, plant.LookbackDecision{
			Way: way, Reason: "outside now", Owner: reviewer, Due: "2026-10-01",
		}); err != nil {
			t.Fatal(err)
		}
	}
	view = p.wait(lookback)
	letters, err := p.desk.Letters(&view)
	if err != nil {
		t.Fatal(err)
	}
	said := words(&letters)
	if strings.Count(said, "Dear Sir or Madam") != 2 || !strings.Contains(said, "Other Works, 2 Dock Road") ||
		strings.Contains(said, three.Tag+" | ") {
		t.Error(said)
	}
	drawn(t, "letters", letters)
	r, err := p.desk.LookbackReport(&view, "")
	if err != nil {
		t.Fatal(err)
	}
	if said := words(&r); !strings.Contains(said, "recalled | outside now") || !strings.Contains(said, "not decided") {
		t.Error(said)
	}
	drawn(t, "lookback", r)
	d, _, err := p.desk.Dossier(one.ID, "")
	if err != nil || !strings.Contains(words(&d), "Decision: recalled") {
		t.Error("the dossier does not say what was decided", err)
	}
}

// TestReportsInGerman: the month, the state, a dossier, a look-back and the letters are in German where
// that is asked for or is the language of those they go to, and no heading, name of a fact or column is
// left in English, nor a word of the program on paper.
func TestReportsInGerman(t *testing.T) {
	p := newPlace(t, 20)
	ctx := t.Context()
	id, q := p.doubted()
	q.After = shifted(t, q.After, 0.5)
	lookback, err := p.desk.Open(ctx, reviewer, id, q)
	if err != nil {
		t.Fatal(err)
	}
	view := p.wait(lookback)
	one := view.Instruments[0]
	state, err := p.office.Record(one.ID)
	if err != nil {
		t.Fatal(err)
	}
	p.drafter.Count, _ = plant.HighestCount(p.store)
	p.keep(p.drafter.Edit(state, p.now, set("customer", "Werk Nord\nHafenstr. 2")))
	if err := p.desk.Decide(ctx, reviewer, lookback, []string{one.ID}, plant.LookbackDecision{
		Way: "recall", Reason: "outside now", Owner: reviewer, Due: "2026-10-01",
	}); err != nil {
		t.Fatal(err)
	}
	view = p.wait(lookback)
	head, err := p.office.Letterhead()
	if err != nil {
		t.Fatal(err)
	}
	head.Language = "de"
	if _, err := p.office.SetLetterhead(head); err != nil {
		t.Fatal(err)
	}
	letters, err := p.desk.Letters(&view)
	if err != nil {
		t.Fatal(err)
	}
	said := words(&letters)
	for _, want := range []string{
		"Sehr geehrte Damen und Herren", "bis zum 1. Oktober 2026", "Bitte nehmen Sie es jetzt außer Gebrauch", "Eingangszustand",
	} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not in\n%s", want, said)
		}
	}
	if strings.Contains(said, "Dear") || strings.Contains(said, "Please") {
		t.Error(said)
	}
	month, err := p.desk.Month(p.now.Format("2006-01"), "de")
	if err != nil {
		t.Fatal(err)
	}
	of, err := p.desk.StateReport("de")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(month.Report.Title, "Monatsbericht, ") || of.Title != "Zustand der Anlage" || of.Language != "de" {
		t.Errorf("%q, %q", month.Report.Title, of.Title)
	}
	dossier, files, err := p.desk.Dossier(one.ID, "")
	if err != nil {
		t.Fatal(err)
	}
	doubt, err := p.desk.LookbackReport(&view, "")
	if err != nil {
		t.Fatal(err)
	}
	filled := regexp.MustCompile("^(Die Anlage am|Nicht bestanden und offen, oder|Am längsten überfällig|Prüfung vom|Durchgang:|" +
		"Ein Normal war außerhalb:|Eingelesen:) ")
	for _, r := range []report.Report{month.Report, of, dossier, doubt} {
		for _, part := range r.Parts {
			asked := []string{part.Heading}
			for _, f := range part.Facts {
				asked = append(asked, f[0])
			}
			if part.Table != nil {
				asked = append(asked, part.Table.None)
				for _, c := range part.Table.Columns {
					asked = append(asked, c.Name)
				}
			}
			for _, text := range asked {
				if _, known := german.Phrase(text); text != "" && !known && !filled.MatchString(text) {
					t.Errorf("%q has no German", text)
				}
			}
		}
	}
	drawn(t, "letters-de", letters)
	drawn(t, "month-de", month.Report)
	drawn(t, "state-de", of)
	for name, paper := range map[string]struct {
		pdf  []byte
		says []string
	}{
		"dossier-de": {drawn(t, "dossier-de", dossier, files...), []string{
			"Akte von " + one.Tag, "Das Gerät, wie es geführt wird", "Lebenslauf in Kürze", "Ein Normal war außerhalb: ", "Entscheidung zurückgerufen",
			"Prüfung vom ", "Durchgang: Eingangszustand", "Urteil bestanden", "Art Manometer", " psi, Überdruck", "12 Monate", "Verfahren ",
			"Wer seinen Eintrag geändert hat", "An diese Datei angehängt", "Seite 1 von ", "Zuständig, bis", "anliegend Abweichung Grenze U Urteil",
		}},
		"lookback-de": {drawn(t, "lookback-de", doubt), []string{
			"Ein Normal war außerhalb: ", "Zweifelhaft seit", "Neu beurteilte Ergebnisse", "Entscheidungen", "zurückgerufen", "nicht entschieden",
			"Eingangszustand", "bestanden", "1. Januar 2020",
		}},
	} {
		said := readBack(t, paper.pdf)
		for _, want := range paper.says {
			if !strings.Contains(said, want) {
				t.Errorf("%s lacks %q:\n%s", name, want, first(said, 6000))
			}
		}
		if left := english.FindAllString(said, -1); left != nil {
			t.Errorf("%s has English left: %q", name, left)
		}
	}
	if d, err := p.desk.LookbackReport(&view, "en"); err != nil || d.Title != "A standard was out: "+view.Row.Name {
		t.Error(d.Title, err)
	}
	if d, _, err := p.desk.Dossier(one.ID, "en"); err != nil || d.Title != "Dossier of "+one.Tag {
		t.Error(d.Title, err)
	}
}

// english are words that a report of the program has in English alone.
var english = regexp.MustCompile(`(?i)\b(with|as found|as left|passed?|fail(ed)?|visit|decided?|decision|recalled|` +
	`months|signed|approved|interval|serial|range|verdict|applied|error|limit|in service|mode|unit|attached)\b`)

func first(text string, n int) string { return text[:min(n, len(text))] }

// readBack gives the words of a PDF, one blank between two.
func readBack(t *testing.T, pdf []byte) string {
	t.Helper()
	cmd := exec.Command("pdftotext", "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext (Debian package poppler-utils): %v", err)
	}
	return strings.Join(strings.Fields(string(out)), " ")
}
