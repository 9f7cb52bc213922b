package demo_test

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// cell is the text in one column of a line: its words joined, and the first and last of them.
type cell struct {
	x0, x1 float64
	words  []box
}

func (c *cell) text() string {
	var list []string
	for _, w := range c.words {
		list = append(list, w.word)
	}
	return strings.Join(list, " ")
}

// apart is the distance in mm between two columns at the least; a blank is narrower.
const apart = 1.7

// linesOf returns the lines of a page from above, each with its cells from the left. Exponents,
// which are raised, are left out.
func linesOf(boxes []box) (lines [][]cell) {
	list := slices.Clone(boxes)
	slices.SortStableFunc(list, func(a, b box) int { return cmp.Compare(a.y1, b.y1) })
	var at float64
	for _, b := range list {
		if n := len(lines); n == 0 || b.y1-at > 1 {
			lines, at = append(lines, []cell{{words: []box{b}}}), b.y1
		} else {
			lines[n-1][0].words = append(lines[n-1][0].words, b)
		}
	}
	for i, line := range lines {
		words := line[0].words
		slices.SortStableFunc(words, func(a, b box) int { return cmp.Compare(a.x0, b.x0) })
		var cells []cell
		for _, w := range words {
			if n := len(cells); n > 0 && w.x0-cells[n-1].x1 < apart {
				cells[n-1].words, cells[n-1].x1 = append(cells[n-1].words, w), w.x1
			} else {
				cells = append(cells, cell{w.x0, w.x1, []box{w}})
			}
		}
		lines[i] = cells
	}
	return lines
}

// printedRow is a line of a table: the column of each cell, by its place among the heads.
type printedRow struct {
	cells   []cell
	columns []int
}

// printedTable is a table of figures on a page.
type printedTable struct {
	heads []cell
	rows  []printedRow
}

// tablesOf finds the tables of figures on a page. One begins with a line of heads, the last of which
// is the verdict's or a correction's, and has all lines whose last cell is below it.
func tablesOf(boxes []box, on sheetOf) (list []printedTable) {
	verdict, correction := on.said("verdict"), strings.TrimSuffix(on.said("correction, {}"), "{}")
	for _, line := range linesOf(boxes) {
		last := line[len(line)-1].text()
		if len(line) > 2 && (last == verdict || strings.HasPrefix(last, correction)) {
			list = append(list, printedTable{heads: line})
			continue
		}
		if len(list) == 0 || len(line) < 3 {
			continue
		}
		t := &list[len(list)-1]
		if row, ok := rowOf(t.heads, line); ok {
			t.rows = append(t.rows, row)
		}
	}
	return list
}

// rowOf puts each cell of a line into the column whose head it overlaps. It is false for a line of
// something else, such as the scale of a chart: a row of results begins where its first head does, and
// one of corrections has a figure in every column.
func rowOf(heads, line []cell) (row printedRow, ok bool) {
	for i, c := range line {
		column := slices.IndexFunc(heads, func(h cell) bool { return c.x0 < h.x1 && c.x1 > h.x0 })
		if column < 0 { // a figure that stands left of a short head, for another in its column has a long tail
			column = slices.IndexFunc(heads, func(h cell) bool { return c.x1 < h.x1 })
		}
		if i == 0 && len(heads) > corrected {
			column = 0 // a name may reach below the next head
		}
		if column < 0 || i > 0 && column <= row.columns[i-1] {
			return row, false
		}
		row.columns = append(row.columns, column)
	}
	row.cells = line
	if len(heads) == corrected {
		return row, len(line) == corrected
	}
	return row, line[0].x0-heads[0].x0 < 1
}

// corrected is how many columns a table of corrections has; those of results have more, the first of
// which has words.
const corrected = 4

// figureOf returns where in a cell its figure begins: of both ends of a limit the last one. It is
// false for words.
func figureOf(text string) (at int, ok bool) {
	for _, between := range []string{"… ", "/"} {
		if i := strings.LastIndex(text, between); i >= 0 {
			if rest := strings.TrimLeft(text[i+len(between):], "+−"); rest != "" && rest[0] >= '0' && rest[0] <= '9' {
				at = i + len(between)
			}
		}
	}
	rest := strings.TrimLeft(text[at:], "+−±≤≥ ")
	return len(text) - len(rest), rest != "" && rest[0] >= '0' && rest[0] <= '9'
}

// markAt returns where in mm the decimal mark of a cell's figure is, or would be behind a whole
// number, by the widths of the typeface; and its decimals.
func markAt(t *testing.T, face font.Face, c *cell) (at float64, decimals int, ok bool) {
	text := c.text()
	begins, ok := figureOf(text)
	if !ok {
		return 0, 0, false
	}
	whole := begins + len(text[begins:]) - len(strings.TrimLeft(text[begins:], "0123456789"))
	if whole < len(text) && (text[whole] == '.' || text[whole] == ',') {
		after := text[whole+1:]
		decimals = len(after) - len(strings.TrimLeft(after, "0123456789"))
	}
	done := 0
	for _, w := range c.words {
		if end := done + len(w.word); whole <= end {
			share := wide(t, face, w.word[:whole-done]) / wide(t, face, w.word)
			return w.x0 + share*(w.x1-w.x0), decimals, true
		}
		done += len(w.word) + 1
	}
	t.Fatalf("%q has no figure", text)
	return 0, 0, false
}

func wide(t *testing.T, face font.Face, text string) (sum float64) {
	for _, r := range text {
		advance, ok := face.GlyphAdvance(r)
		if !ok {
			t.Fatalf("the typeface has no %q", r)
		}
		sum += float64(advance) / float64(fixed.I(1))
	}
	return sum
}

// inLine returns the cells of a page's tables whose decimal marks are not in line with those above,
// and counts the figures, and those beside one with other decimals, by the column's head.
func inLine(t *testing.T, face font.Face, boxes []box, on sheetOf, seen, uneven map[string]int) (list []string) {
	const far = 0.15 // mm, less than half a decimal mark
	for _, table := range tablesOf(boxes, on) {
		type mark struct {
			at       float64
			decimals int
		}
		first := map[int]mark{}
		for _, row := range table.rows {
			for i := range row.cells {
				column := row.columns[i]
				if column == 0 && len(table.heads) > corrected {
					continue // its names have figures in them
				}
				at, decimals, ok := markAt(t, face, &row.cells[i])
				if !ok {
					continue
				}
				head := table.heads[column].text()
				seen[head]++
				above, found := first[column]
				switch {
				case !found:
					first[column] = mark{at, decimals}
				case max(at-above.at, above.at-at) > far:
					list = append(list, fmt.Sprintf("%q of %q has its decimal mark at %.2f mm, another at %.2f mm",
						row.cells[i].text(), head, at, above.at))
				case decimals != above.decimals:
					uneven[head]++
				}
			}
		}
	}
	return list
}

// numbersIn matches the numbers of a cell.
var numbersIn = regexp.MustCompile(`[+−]?\d+(?:[.,]\d+)?`)

// numbersOf returns the numbers of a cell, and the decimals of the last.
func numbersOf(t *testing.T, text string) (list []float64, decimals int) {
	for _, found := range numbersIn.FindAllString(text, -1) {
		x, err := strconv.ParseFloat(strings.NewReplacer("−", "-", ",", ".").Replace(found), 64)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, x)
		decimals = 0
		if at := strings.IndexAny(found, ".,"); at >= 0 {
			decimals = len(found) - at - 1
		}
	}
	if strings.HasPrefix(text, "±") {
		list = append(list, -list[0])
	}
	return list, decimals
}

// misrounded returns the values and errors of a page that have other decimals than their U, the last
// of two significant digits (ILAC-P14:09/2020 5.3), unless they need more to stay on their side of a
// limit; and counts those looked at.
func misrounded(t *testing.T, boxes []box, on sheetOf, looked *int) (list []string) {
	for _, table := range tablesOf(boxes, on) {
		for _, row := range table.rows {
			said := map[string]string{}
			for i := range row.cells {
				head, _, _ := strings.Cut(table.heads[row.columns[i]].text(), ",")
				if _, ok := said[head]; !ok { // a transmitter's signal comes before its pressure
					said[head] = row.cells[i].text()
				}
			}
			value := said[on.said("error")] + said[on.said("value")]
			_, isFigure := figureOf(value)
			us, places := numbersOf(t, said["U"])
			if len(us) != 1 || !isFigure || strings.Contains(value+said["U"], "×") {
				continue
			}
			*looked++
			number, _, _ := strings.Cut(value, " ")
			x, decimals := numbersOf(t, number)
			limits, _ := numbersOf(t, said[on.said("limit")])
			near := slices.ContainsFunc(limits, func(limit float64) bool {
				return math.Abs(x[0]-limit) <= math.Pow(10, -float64(places))
			})
			if decimals < places || decimals > places && !near {
				list = append(list, fmt.Sprintf("%q has other decimals than its U, %s", value, said["U"]))
			}
		}
	}
	return list
}

// pagesOf reads the words of a PDF with their places, page by page.
func pagesOf(t *testing.T, pdf []byte) (pages [][]box) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-bbox", file, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext (Debian's poppler-utils): %v", err)
	}
	for _, page := range strings.Split(string(out), "<page ")[1:] {
		var boxes []box
		for _, m := range wordOf.FindAllStringSubmatch(page, -1) {
			var at [4]float64
			for i := range at {
				x, err := strconv.ParseFloat(m[i+1], 64)
				if err != nil {
					t.Fatal(err)
				}
				at[i] = x * point
			}
			boxes = append(boxes, box{at[0], at[1], at[2], at[3], m[5]})
		}
		pages = append(pages, boxes)
	}
	return pages
}

// TestDecimalMarksInLine prints every paper of the corpus in both languages and reads back where its
// words stand: in every column of figures the decimal marks are in one line, whatever the decimals and
// the units, and values have the decimals of their U.
func TestDecimalMarksInLine(t *testing.T) {
	parsed, err := opentype.Parse(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 1000, DPI: 72})
	if err != nil {
		t.Fatal(err)
	}
	list := corpus(t)
	for _, on := range []sheetOf{{certificates.A4, certificates.English}, {certificates.A4, certificates.German}} {
		seen, uneven, rounded := map[string]int{}, map[string]int{}, 0
		for _, s := range list {
			in := s.in
			in.Office.Paper, in.Office.Language = on.size, on.language
			pdf, err := certificates.PDF(in)
			if err != nil {
				t.Fatal(err)
			}
			before := 0 // figures seen
			for _, n := range seen {
				before += n
			}
			for n, boxes := range pagesOf(t, pdf) {
				wrong := inLine(t, face, boxes, on, seen, uneven)
				for _, wrong := range append(wrong, misrounded(t, boxes, on, &rounded)...) {
					t.Errorf("%s in %s, page %d: %s", s.name, on.language, n+1, wrong)
				}
			}
			after := 0
			for _, n := range seen {
				after += n
			}
			if least := figuresOf(&s); after-before < least {
				t.Errorf("%s in %s: %d figures were found, at least %d are printed", s.name, on.language, after-before, least)
			}
		}
		for _, head := range []string{"value", "error", "limit", "U", "applied", "indicated"} {
			if seen[on.said(head)] == 0 || head != "indicated" && uneven[on.said(head)] == 0 {
				t.Errorf("in %s no figures of %q differ in their decimals: %d were seen", on.language, head, seen[on.said(head)])
			}
		}
		if rounded < 500 {
			t.Errorf("in %s only %d values beside their U were seen", on.language, rounded)
		}
		t.Logf("in %s: %d values beside their U; figures %v, of them beside one with other decimals %v", on.language, rounded, seen, uneven)
	}
}

// figuresOf counts the values and errors that a paper's results must have.
func figuresOf(s *sample) (n int) {
	for _, run := range []*plant.Run{s.in.Found, s.in.Left} {
		if run == nil {
			continue
		}
		for _, r := range run.Finding.Readings {
			if r.Error != nil {
				n++
			}
		}
		for i := range run.Finding.Results {
			if f := &run.Finding.Results[i]; f.Value != nil && f.Condition == "" {
				n++
			}
		}
	}
	return n
}
