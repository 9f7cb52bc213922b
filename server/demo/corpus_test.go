package demo_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/server/certificates"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
)

// sample is a paper of the corpus, with what has to be read on it.
type sample struct {
	name string
	in   certificates.Input
	says []string
}

// corpus are papers of every kind of work: as they come, and with what is hard to print.
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
		if count[name]++; count[name] <= 2 { // two that came to the same are enough
			list = append(list, sample{fmt.Sprintf("%s %d", name, count[name]), in, nil})
		}
	}
	any := func(*certificates.Input) bool { return true }
	for _, kind := range []string{
		"gauge", "transmitter", "programme", "switch", "leak", "burst", "altimeter", "airspeed", "vertical-speed",
		"reporting-altitude", "pitot-static-leak",
	} {
		in, ok := pick(kind, any)
		if !ok {
			t.Fatal("no paper of", kind)
		}
		long := in
		long.Visit.Item.Description = strings.Repeat("Feedwaterpumpdischargeheader", 6)
		long.Visit.Item.Tag = "PI-" + strings.Repeat("8", 60)
		long.Visit.Remarks = []plant.Remark{{Text: strings.Repeat("The isolation valve is stiff. ", 40)}}
		long.Office.Name, long.Office.Address = strings.Repeat("W", 80), slices.Repeat([]string{strings.Repeat("M", 80)}, 8)
		long.Office.Customer = []string{strings.Repeat("W", 80), "Works"}
		long.Why, long.Change, long.Replaces = strings.Repeat("tag ", 60), strings.Repeat("was7 ", 60), "1999-00001"
		list = append(list, sample{kind + " long words", long, []string{"1999-00001", "isolation valve"}})
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
	changed("gauge undecided", func(f *plant.Finding) {
		f.Verdict, f.Reason = "undecided", "the standard's uncertainty is larger than a third of the limit"
	}, "As found: undecided", "a third of the limit")
	changed("gauge below a stop pin", func(f *plant.Finding) {
		r := &f.Readings[0]
		r.LimitLow, r.LimitHigh, r.Indicated, r.Error, r.Verdict = nil, nil, nil, nil, "not judged"
	}, "not judged")
	changed("gauge long table", func(f *plant.Finding) {
		var all []plant.Reading
		for range 24 {
			all = append(all, f.Readings...)
		}
		f.Readings = all
	}, "page 4 of")
	return list
}

// TestCorpus prints the corpus on both sizes of paper and reads it back: what has to be there is
// there, every page has its number, and no word overlaps another one or outside the margins.
func TestCorpus(t *testing.T) {
	list := corpus(t)
	if len(list) < 30 {
		t.Errorf("the corpus has %d papers", len(list))
	}
	keep := os.Getenv("PAPERS") // a folder to look at them in
	for i, s := range list {
		for _, size := range []string{certificates.A4, certificates.Letter} {
			s.in.Office.Paper = size
			pdf, err := certificates.PDF(s.in)
			if err != nil {
				t.Errorf("%s: %v", s.name, err)
				continue
			}
			file := filepath.Join(t.TempDir(), "paper.pdf")
			if keep != "" {
				file = filepath.Join(keep, fmt.Sprintf("%02d %s %s.pdf", i, s.name, size))
			}
			if err := os.WriteFile(file, pdf, 0o600); err != nil {
				t.Fatal(err)
			}
			for _, fault := range faults(t, file, size, &s) {
				t.Errorf("%s on %s: %s", s.name, size, fault)
			}
		}
	}
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

func faults(t *testing.T, file, size string, s *sample) (list []string) {
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
	want := map[string][2]float64{certificates.A4: {210, 297}, certificates.Letter: {215.9, 279.4}}[size]
	pages := pageOf.FindAllStringSubmatchIndex(string(out), -1)
	var all strings.Builder
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
		if foot := fmt.Sprintf("page %d of %d", n+1, len(pages)); !strings.Contains(text.String(), foot) ||
			!strings.Contains(text.String(), s.in.Number) {
			list = append(list, "lacks "+foot+" or its number")
		}
		list = append(list, misplaced(boxes, width, height)...)
	}
	for _, want := range s.says {
		if !strings.Contains(all.String(), want) {
			list = append(list, "lacks "+want)
		}
	}
	return list
}

// misplaced finds words that lie on each other or beyond the margins of 20 mm at the sides.
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
