package demo_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc/visit"
	"gaugewright/server/certificates"
	"gaugewright/server/demo"
	"gaugewright/server/german"
	"gaugewright/server/plant"
)

// sample is a paper of the corpus, with the texts that must be on it.
type sample struct {
	name string
	in   certificates.Input
	says []string
}

// kindsOf are the kinds of work that have papers.
var kindsOf = []string{
	"gauge", "transmitter", "programme", "switch", "leak", "burst", "altimeter", "airspeed", "vertical-speed",
	"reporting-altitude", "pitot-static-leak",
}

// workOf is the kind of work of a kind of paper.
func workOf(paper string) string {
	if paper == "transmitter" {
		return "gauge"
	}
	return paper
}

// corpus returns papers of every kind of work: ordinary ones, and ones that are hard to print.
func corpus(t *testing.T) (list []sample) {
	t.Helper()
	s, _ := seed(t, demo.Options{Seed: 1, Today: today, Instruments: 60, Years: 2, Base: "http://localhost:8080"})
	inputs, kinds := sheets(t, s)
	count := map[string]int{}
	pick := func(kind string, fits func(in *certificates.Input) bool) (certificates.Input, bool) {
		for i := range inputs {
			if kinds[i] == kind && fits(&inputs[i]) {
				return inputs[i], true
			}
		}
		return certificates.Input{}, false
	}
	for i := range inputs {
		in := inputs[i]
		verdict := "as left alone"
		if in.Found != nil {
			verdict = in.Found.Finding.Verdict
		}
		if in.Left != nil && in.Found != nil {
			verdict += ", adjusted"
		}
		name := kinds[i] + " " + verdict
		if count[name]++; count[name] <= 2 { // two with the same outcome are enough
			list = append(list, sample{fmt.Sprintf("%s %d", name, count[name]), in, nil})
		}
	}
	any := func(*certificates.Input) bool { return true }
	for _, kind := range kindsOf {
		in, ok := pick(kind, any)
		if !ok {
			t.Fatal("no paper of", kind)
		}
		long := in
		long.Visit.Item.Description = strings.Repeat("Feedwaterpumpdischargeheader", 6)
		long.Visit.Item.Tag = "PI-" + strings.Repeat("8", 60)
		long.Visit.Remarks = []plant.Remark{{Text: strings.Repeat("Isolation valve stiff. ", 50)}}
		long.Office.Name, long.Office.Address = strings.Repeat("W", 80), slices.Repeat([]string{strings.Repeat("M", 80)}, 8)
		long.Office.Customer = []string{strings.Repeat("W", 80), "Works"}
		long.Why, long.Change, long.Replaces = strings.Repeat("tag ", 60), strings.Repeat("was7 ", 60), "1999-00001"
		list = append(list, sample{kind + " long words", long, []string{"1999-00001", "Isolation valve"}})
		names := in
		names.Technician.Name, names.Approver.Name = "Łukasz Ståhl-Öğüt", "Ирина Жукова"
		names.Visit.Item.Description = "Μανόμετρο αντλίας"
		names.Office.Customer = []string{"海港", "Harbour"}
		list = append(
			list,
			sample{
				kind + " names", names, []string{"Łukasz Ståhl-Öğüt", "Ирина Жукова", "Μανόμετρο", "[U+6D77][U+6E2F]"},
			},
		)
	}
	for _, kind := range []string{"gauge", "transmitter"} { // columns of wide figures
		in, _ := pick(kind, func(in *certificates.Input) bool { return in.Found != nil })
		run := *in.Found
		finding := *run.Finding
		finding.Readings = slices.Clone(finding.Readings)
		wide := func(x **float64) {
			if *x != nil {
				y := **x*1000 - 99999
				*x = &y
			}
		}
		for i := range finding.Readings {
			r := &finding.Readings[i]
			wide(&r.Applied)
			wide(&r.Indicated)
			wide(&r.Error)
			wide(&r.LimitLow)
			wide(&r.LimitHigh)
		}
		run.Finding, in.Found = &finding, &run
		list = append(list, sample{kind + " wide figures", in, nil})
	}
	gauge, ok := pick(
		"gauge", func(in *certificates.Input) bool { return in.Found != nil && len(in.Found.Finding.Readings) > 4 },
	)
	if !ok {
		t.Fatal("no gauge")
	}
	changed := func(name string, change func(f *plant.Finding), says ...string) {
		in, run := gauge, *gauge.Found
		finding := *run.Finding
		finding.Readings, finding.Points = slices.Clone(finding.Readings), slices.Clone(finding.Points)
		change(&finding)
		run.Finding, in.Found = &finding, &run
		list = append(list, sample{name, in, says})
	}
	conditional := 0
	for _, kind := range kindsOf {
		in, ok := pick(kind, func(in *certificates.Input) bool { return in.Found != nil && in.Found.Finding.Verdict == "pass" })
		if !ok {
			t.Fatal("nothing passed of", kind)
		}
		in.Left = nil
		failed, ok := outcome(t, in, "fail")
		if !ok {
			t.Fatal("nothing makes it fail:", kind)
		}
		list = append(list, sample{kind + " fail", failed, []string{"As found: fail"}})
		open, ok := missing(t, in)
		if !ok {
			t.Fatal("nothing leaves it undecided:", kind)
		}
		list = append(list, sample{kind + " undecided", open, []string{"As found: undecided", open.Found.Finding.Reason}})
		if one, ok := outcome(t, ruledBy(t, in, "guarded-four"), "conditional-pass"); ok { // not every kind has such a rule
			conditional++
			list = append(list, sample{kind + " conditional pass", one, []string{"As found: conditional pass"}})
		}
		if !visit.Adjustable(workOf(kind)) {
			continue
		}
		failed.Left, failed.Visit.Adjusted = in.Found, nil // not those of the other papers
		if err := json.Unmarshal([]byte(`{"Done":true}`), &failed.Visit.Adjusted); err != nil {
			t.Fatal(err)
		}
		list = append(list, sample{kind + " adjusted", failed, []string{"As found: fail", "As left: pass", "Results as left, after adjustment"}})
	}
	if conditional < 4 {
		t.Errorf("%d kinds of work have a paper of a conditional pass", conditional)
	}
	changed("gauge below a stop pin", func(f *plant.Finding) {
		r := &f.Readings[0]
		r.LimitLow, r.LimitHigh, r.Indicated, r.Error, r.Verdict = nil, nil, nil, nil, "not judged"
	}, "not judged")
	changed("gauge mixed places", func(f *plant.Finding) { // uncertainties with more and fewer decimals
		for i := range f.Points {
			u := []float64{0.0098, 0.12, 0.98}[i%3]
			f.Points[i].Expanded, f.Points[i].OfReading = &u, nil
		}
	})
	changed("gauge long table", func(f *plant.Finding) {
		var all []plant.Reading
		for range 24 {
			all = append(all, f.Readings...)
		}
		f.Readings = all
	}, "page 4 of")
	return list
}

// TestCorpus prints the corpus on both paper sizes and in both languages and reads it back. Every
// required text is there, every page has its number, no letter lacks its glyph, no word of the
// other language is left, and no word overlaps another or leaves the margins. Each paper is
// signed, and each signature is checked here, by golang-jwt and with Python's cryptography.
func TestCorpus(t *testing.T) {
	list := corpus(t)
	if len(list) < 30 {
		t.Errorf("the corpus has %d papers", len(list))
	}
	outside, lines := newOthers(t), 0
	for i, s := range list {
		name := fmt.Sprintf("%02d %s", i, s.name)
		t.Run(name, func(t *testing.T) { lines += printed(t, name, s, outside) })
	}
	if lines < 200 {
		t.Errorf("the error of %d lines only was calculated again", lines)
	}
	outside.check(t)
}

// printed signs and prints one paper on both sizes and in both languages, reads each back and has
// every signature checked. It returns how many lines of readings were calculated again.
func printed(t *testing.T, name string, s sample, outside *others) (lines int) {
	keys := listOf(t)
	keep := os.Getenv("PAPERS") // folder for inspecting them
	for _, on := range []sheetOf{
		{certificates.A4, certificates.English}, {certificates.Letter, certificates.English},
		{certificates.A4, certificates.German}, {certificates.Letter, certificates.German},
	} {
		s.in.Office.Paper, s.in.Office.Language = on.size, on.language
		one := sign(t, &s.in)
		one.holds(t, keys, s.in.Number)
		for form, b := range one.forms() {
			outside.add(t, fmt.Sprintf("%s, %s on %s in %s", name, form, on.size, on.language), form, s.in.Number, b)
		}
		file := filepath.Join(t.TempDir(), "paper.pdf")
		if keep != "" {
			file = filepath.Join(keep, fmt.Sprintf("%s %s %s.pdf", name, on.size, on.language))
		}
		if err := os.WriteFile(file, one.pdf, 0o600); err != nil {
			t.Fatal(err)
		}
		found := faults(t, file, on, &s)
		if on.language == certificates.English && on.size == certificates.A4 && !strings.Contains(name, "wide figures") {
			wrong, n := recomputed(t, layoutOf(t, file))
			found, lines = append(found, wrong...), lines+n
		}
		for _, fault := range found {
			t.Errorf("on %s in %s: %s", on.size, on.language, fault)
		}
	}
	return lines
}

// sheetOf is a paper size and a language.
type sheetOf struct{ size, language string }

// foot returns the page number in the foot of a page.
func (on sheetOf) foot(page, of int) string {
	if on.language == certificates.German {
		return fmt.Sprintf("Seite %d von %d", page, of)
	}
	return fmt.Sprintf("page %d of %d", page, of)
}

// said returns a text of the program in the language.
func (on sheetOf) said(text string) string {
	if on.language == certificates.English {
		return text
	}
	if phrase, ok := german.Phrase(text); ok {
		return phrase
	}
	if when, verdict, ok := strings.Cut(text, ": "); ok {
		return on.said(when) + ": " + on.said(verdict)
	}
	if number, ok := strings.CutPrefix(text, "page "); ok {
		return "Seite " + strings.Replace(number, " of", " von", 1)
	}
	return german.Sentence(text)
}

// englishLeft matches words that are not German, with their surroundings.
var englishLeft = regexp.MustCompile(
	`(?:\S+ ){0,4}\b(the|of|and|is|are|not|with|this|that|from|for|has|have|be|its|by|to|or|on)\b(?: \S+){0,4}`,
)

// written removes from a paper's text what people wrote, which is the same in any language.
func written(text string, s *sample) string {
	v := &s.in.Visit
	own := []string{
		v.Item.Description, v.Method.Name, s.in.Place, s.in.Why, s.in.Change, v.Item.Manufacturer, v.Standard.Snapshot.Name,
	}
	for _, r := range v.Remarks {
		own = append(own, r.Text)
	}
	var whole any
	if json.Unmarshal(v.Method.Definition, &whole) == nil {
		own = append(own, texts(whole)...)
	}
	if json.Unmarshal(v.Item.Particulars, &whole) == nil {
		own = append(own, texts(whole)...)
	}
	if v.Condition != nil {
		own = append(own, v.Condition.Note)
	}
	if v.Adjusted != nil {
		own = append(own, v.Adjusted.Note)
	}
	blanks := regexp.MustCompile(`\s+`)
	text = blanks.ReplaceAllString(html.UnescapeString(text), " ")
	for _, part := range own {
		if part = blanks.ReplaceAllString(strings.TrimSpace(part), " "); part != "" {
			text = strings.ReplaceAll(text, part, "")
		}
	}
	return text
}

// texts returns the texts in a document that people wrote: in a programme, those between quotes.
func texts(x any) (list []string) {
	switch x := x.(type) {
	case string:
		for _, part := range strings.Split(x, "\"") {
			if strings.Contains(part, " ") && !strings.Contains(part, "\n") {
				list = append(list, part)
			}
		}
	case []any:
		for _, one := range x {
			list = append(list, texts(one)...)
		}
	case map[string]any:
		for _, one := range x {
			list = append(list, texts(one)...)
		}
	}
	return list
}

var (
	pageOf = regexp.MustCompile(`<page width="([\d.]+)" height="([\d.]+)">`)
	wordOf = regexp.MustCompile(`xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">([^<]*)<`)
)

// point is a typographic point in mm.
const point = 25.4 / 72

// box is the place of a word, in mm.
type box struct {
	x0, y0, x1, y1 float64
	word           string
}

func faults(t *testing.T, file string, on sheetOf, s *sample) (list []string) {
	t.Helper()
	out, err := exec.Command("pdftotext", "-bbox", file, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext (Debian's poppler-utils): %v", err)
	}
	number := func(text string) float64 {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		return x * point
	}
	want := map[string][2]float64{certificates.A4: {210, 297}, certificates.Letter: {215.9, 279.4}}[on.size]
	pages := pageOf.FindAllStringSubmatchIndex(string(out), -1)
	var all strings.Builder
	var words [][]box
	for n, at := range pages {
		end := len(out)
		if n+1 < len(pages) {
			end = pages[n+1][0]
		}
		width, height := number(string(out[at[2]:at[3]])), number(string(out[at[4]:at[5]]))
		if max(width-want[0], want[0]-width, height-want[1], want[1]-height) > 0.1 {
			list = append(list, fmt.Sprintf("page %d is %.1f × %.1f mm", n+1, width, height))
		}
		var boxes []box
		var text strings.Builder
		for _, m := range wordOf.FindAllStringSubmatch(string(out[at[1]:end]), -1) {
			boxes = append(boxes, box{number(m[1]), number(m[2]), number(m[3]), number(m[4]), m[5]})
			text.WriteString(m[5] + " ")
		}
		all.WriteString(text.String())
		words = append(words, boxes)
		if foot := on.foot(n+1, len(pages)); !strings.Contains(text.String(), foot) ||
			!strings.Contains(text.String(), s.in.Number) {
			list = append(list, "lacks "+foot+" or its number")
		}
		if !strings.Contains(text.String(), s.in.Number+" · "+s.in.Office.Name[:8]) {
			list = append(list, fmt.Sprintf("the foot of page %d does not say whose it is", n+1))
		}
		list = append(list, misplaced(boxes, width, height)...)
		list = append(list, torn(boxes, height)...)
		if n > 0 && alone(boxes, height) {
			list = append(list, fmt.Sprintf("page %d begins with a single line of what is on the page before", n+1))
		}
		for _, heading := range []string{"Results as found", "Results as left, after adjustment"} {
			if _, below, ok := strings.Cut(text.String(), on.said(heading)); ok && !strings.Contains(below, on.said("verdict")) {
				list = append(list, fmt.Sprintf("page %d ends with the heading %q", n+1, heading))
			}
		}
	}
	list = append(list, parted(words, on, want[1])...)
	for _, want := range s.says {
		if want = on.said(want); !strings.Contains(all.String(), want) {
			list = append(list, "lacks "+want)
		}
	}
	if strings.ContainsAny(all.String(), "\ufffd\x00") ||
		strings.Contains(all.String(), "[U+") && !strings.HasSuffix(s.name, " names") {
		list = append(list, "has a letter without a shape")
	}
	if on.language == certificates.German {
		for _, m := range englishLeft.FindAllString(written(all.String(), s), -1) {
			list = append(list, "says in English: "+m)
		}
	}
	return list
}

// alone reports whether the first line of a page is separated from the rest: the end of a
// paragraph, of a table or of the whole paper. Lines of a paragraph and of a table are 4.7 and 5 mm
// apart, a heading 6 mm from what is below it; text above a chart is small, as in the foot.
func alone(boxes []box, height float64) bool {
	var body []box
	foot := 0.0
	for _, b := range boxes {
		if b.y0 > 26 && b.y0 < height-20 {
			body = append(body, b)
		} else if b.y0 >= height-20 {
			foot = b.y1 - b.y0
		}
	}
	slices.SortStableFunc(body, func(a, b box) int { return cmp.Compare(a.y0, b.y0) })
	for _, b := range body {
		if b.y0 > body[0].y0+2 { // an exponent is raised
			return b.y0 > body[0].y0+7 && body[0].y1-body[0].y0 > foot+0.1
		}
	}
	return true
}

// misplaced finds words that overlap or lie beyond the side margins of 20 mm.
func misplaced(boxes []box, width, height float64) (list []string) {
	const textWidth = 170.0
	side := (width - textWidth) / 2
	for i, a := range boxes {
		if a.x0 < side-2.5 || a.x1 > side+textWidth+1 || a.y0 < 8 || a.y1 > height-8 {
			list = append(list, fmt.Sprintf("%q lies outside at %.1f…%.1f, %.1f mm", a.word, a.x0, a.x1, a.y0))
		}
		for _, b := range boxes[i+1:] {
			if min(a.x1, b.x1)-max(a.x0, b.x0) > 0.5 && min(a.y1, b.y1)-max(a.y0, b.y0) > 0.5*(a.y1-a.y0) {
				list = append(
					list, fmt.Sprintf("%q and %q lie on each other at %.1f, %.1f mm", a.word, b.word, a.x0, a.y0),
				)
			}
		}
	}
	return list
}
