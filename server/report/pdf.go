package report

import (
	"bytes"
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

const (
	margin, top, bottom = 20.0, 25.0, 22.0 // mm
	labelled            = 48.0
	body, small         = 9.5, 8.0 // points
	line, rowLine       = 4.7, 4.0
	gap                 = 0.5  // between columns, beside the margin of each cell
	least               = 20.0 // what a table needs to begin on a page
)

// page is a report being drawn.
type page struct {
	pdf        *fpdf.Fpdf
	of         *Report
	wide, tall float64
}

// PDF draws a report with attached files.
func (r *Report) PDF(files ...File) ([]byte, error) {
	d := &page{of: r, wide: 210, tall: 297} // ISO 216
	if r.Paper == "letter" {
		d.wide, d.tall = 8.5*25.4, 11*25.4 // ANSI/ASME Y14.1 size A
	}
	if r.Wide {
		d.wide, d.tall = d.tall, d.wide
	}
	p := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: d.wide, Ht: d.tall}})
	d.pdf = p
	p.SetCreationDate(r.Made.UTC())
	p.SetModificationDate(r.Made.UTC())
	p.SetCatalogSort(true)
	p.SetProducer("gaugewright", true)
	p.SetTitle(r.Title, true)
	p.SetAuthor(r.Of, true)
	p.SetLang(cmp.Or(r.Language, "en"))
	p.SetMargins(margin, top, margin)
	p.SetAutoPageBreak(false, 0)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.AliasNbPages("{pages}")
	p.SetFooterFunc(d.foot)
	if len(files) > 0 {
		list := make([]fpdf.Attachment, 0, len(files))
		for _, f := range files {
			list = append(list, fpdf.Attachment{Content: f.Bytes, Filename: f.Name, Description: f.Means})
		}
		p.SetAttachments(list)
	}
	p.AddPage()
	if !r.Plain {
		p.SetFont("go", "B", 16)
		p.SetXY(margin, top-5)
		p.MultiCell(d.width(), 7, r.Title, "", "L", false)
		p.SetFont("go", "", small)
		p.SetX(margin)
		p.CellFormat(d.width(), 5, strings.Trim(r.Of+" · "+r.day(r.Made), " ·"), "B", 1, "L", false, 0, "")
		p.SetY(p.GetY() + 2)
	}
	for i := range r.Parts {
		d.part(&r.Parts[i], i)
	}
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		return nil, fmt.Errorf("draw %s: %w", r.Title, err)
	}
	return b.Bytes(), nil
}

func (d *page) width() float64 { return d.wide - 2*margin }

func (d *page) foot() {
	p := d.pdf
	p.SetFont("go", "", small)
	p.SetXY(margin, d.tall-14)
	title := d.of.Title
	for p.GetStringWidth(title) > d.width()-35 && title != "" {
		title = string([]rune(title)[:len([]rune(title))-1])
	}
	p.CellFormat(d.width()-30, 4, title, "", 0, "L", false, 0, "")
	p.CellFormat(30, 4, d.of.say("page {} of {}", strconv.Itoa(p.PageNo()), "{pages}"), "", 0, "R", false, 0, "")
}

// room begins a new page unless this one has some millimetres left.
func (d *page) room(mm float64) bool {
	if d.pdf.GetY()+mm <= d.tall-bottom {
		return false
	}
	d.pdf.AddPage()
	d.pdf.SetY(top)
	return true
}

func (d *page) part(x *Part, n int) {
	p := d.pdf
	if x.NewPage && n > 0 {
		p.AddPage()
		p.SetY(top)
	}
	set := d.set(x.Table)
	if x.Heading != "" {
		need := 22.0
		if len(x.Text)+len(x.Facts) == 0 { // a heading stays with the table below it
			need = max(need, 12+max(least, set.tall))
		}
		d.room(need)
		p.SetY(p.GetY() + 4)
		p.SetFont("go", "B", 11)
		p.SetX(margin)
		p.MultiCell(d.width(), 5.5, d.of.word(x.Heading), "", "L", false)
		p.SetY(p.GetY() + 1)
	}
	for _, text := range x.Text {
		d.text(text)
	}
	for _, f := range x.Facts {
		if f[1] != "" {
			d.fact(d.of.word(f[0]), f[1])
		}
	}
	if x.Table != nil {
		d.table(x.Table, &set)
	}
	for i := range x.Pictures {
		d.picture(&x.Pictures[i], fmt.Sprintf("p%d-%d", n, i))
	}
}

func (d *page) text(text string) {
	p := d.pdf
	p.SetFont("go", "", body)
	for _, l := range p.SplitText(text, d.width()) {
		d.room(line)
		p.SetFont("go", "", body)
		p.SetX(margin)
		p.CellFormat(d.width(), line, l, "", 1, "L", false, 0, "")
	}
	p.SetY(p.GetY() + 1.5)
}

func (d *page) fact(name, value string) {
	p := d.pdf
	p.SetFont("go", "", body)
	for i, l := range p.SplitText(value, d.width()-labelled) {
		d.room(line)
		p.SetX(margin)
		p.SetFont("go", "", small)
		if i > 0 {
			name = ""
		}
		p.CellFormat(labelled, line, name, "", 0, "L", false, 0, "")
		p.SetFont("go", "", body)
		p.CellFormat(d.width()-labelled, line, l, "", 1, "L", false, 0, "")
	}
}

// setting is a table as it is drawn: its cells in the language of the report, how wide its columns
// are, and how tall its head is with the first row.
type setting struct {
	head []string
	rows [][]string
	wide []float64
	tall float64
}

// set says how a table is drawn; one without rows, and none, takes a line.
func (d *page) set(t *Table) (s setting) {
	if t == nil || len(t.Rows) == 0 {
		return s
	}
	for _, c := range t.Columns {
		s.head = append(s.head, d.of.word(c.Name))
	}
	for _, plain := range t.Rows {
		row := make([]string, len(plain))
		for i, text := range plain {
			row[i] = d.of.cell(t, i, text)
		}
		s.rows = append(s.rows, row)
	}
	s.wide = d.widths(t, s.head, s.rows)
	d.pdf.SetFont("go", "B", small)
	s.tall = d.height(s.wide, s.head)
	d.pdf.SetFont("go", "", small)
	s.tall += d.height(s.wide, s.rows[0])
	return s
}

// table draws a table, with its head again on every page.
func (d *page) table(t *Table, s *setting) {
	p := d.pdf
	if len(s.rows) == 0 {
		if t.None != "" {
			d.text(d.of.word(t.None))
		}
		return
	}
	d.room(max(least, s.tall))
	d.row(t, s.wide, s.head, "B")
	for _, row := range s.rows {
		p.SetFont("go", "", small)
		if d.room(d.height(s.wide, row)) {
			d.row(t, s.wide, s.head, "B")
		}
		d.row(t, s.wide, row, "")
	}
	p.SetY(p.GetY() + 2)
}

// widths shares the width of the page among the columns. Each takes its share, and no less than its
// longest word, which the others make way for; a word longer than a third of the page is broken.
func (d *page) widths(t *Table, head []string, rows [][]string) []float64 {
	p := d.pdf
	narrowest := make([]float64, len(head))
	longest := func(i int, text string) {
		for _, word := range strings.Fields(text) {
			narrowest[i] = max(narrowest[i], min(p.GetStringWidth(word)+gap+2*p.GetCellMargin()+0.2, d.width()/3))
		}
	}
	p.SetFont("go", "B", small)
	for i, text := range head {
		longest(i, text)
	}
	p.SetFont("go", "", small)
	for _, row := range rows {
		for i, text := range row {
			longest(i, text)
		}
	}
	sum := 0.0
	for _, x := range narrowest {
		sum += x
	}
	if sum > d.width() { // not every word fits: the shares alone
		clear(narrowest)
	}
	wide, kept := make([]float64, len(head)), make([]bool, len(head))
	for again := true; again; {
		again = false
		left, shares := d.width(), 0.0
		for i, c := range t.Columns {
			if kept[i] {
				left -= wide[i]
			} else {
				shares += share(c)
			}
		}
		for i, c := range t.Columns {
			if kept[i] {
				continue
			}
			if wide[i] = left * share(c) / shares; wide[i] < narrowest[i] {
				wide[i], kept[i], again = narrowest[i], true, true
			}
		}
	}
	return wide
}

// share is how much of the width a column asks for.
func share(c Column) float64 {
	if c.Wide > 0 {
		return c.Wide
	}
	return 1
}

func (d *page) height(wide []float64, row []string) float64 {
	most := 1
	for i, text := range row {
		most = max(most, len(d.pdf.SplitText(text, wide[i]-gap)))
	}
	return float64(most)*rowLine + 1
}

func (d *page) row(t *Table, wide []float64, row []string, style string) {
	p := d.pdf
	p.SetFont("go", style, small)
	y, x, tall := p.GetY(), margin, d.height(wide, row)
	for i, text := range row {
		align := "L"
		if t.Columns[i].Number {
			align = "R"
		}
		for k, l := range p.SplitText(text, wide[i]-gap) {
			p.SetXY(x, y+0.5+float64(k)*rowLine)
			p.CellFormat(wide[i]-gap, rowLine, l, "", 0, align, false, 0, "")
		}
		x += wide[i]
	}
	p.SetLineWidth(0.1)
	if style == "B" {
		p.SetLineWidth(0.4)
	}
	p.SetDrawColor(120, 120, 120)
	p.Line(margin, y+tall, margin+d.width(), y+tall)
	p.SetXY(margin, y+tall)
}

// tallest is the maximum height of a photo: two fit on a page.
const tallest = 105.0

// picture draws a photo; if that fails, only its caption.
func (d *page) picture(x *Picture, name string) {
	p := d.pdf
	info := p.RegisterImageOptionsReader(name, fpdf.ImageOptions{ImageType: x.Type}, bytes.NewReader(x.Bytes))
	if p.Err() || info == nil || info.Height() == 0 {
		p.ClearError()
		d.text(d.of.say("{} (the picture cannot be drawn; it is attached)", x.Caption))
		return
	}
	w := d.width() * 0.7
	h := w * info.Height() / info.Width()
	if h > tallest {
		w, h = w*tallest/h, tallest
	}
	d.room(h + line + 2)
	p.ImageOptions(name, margin, p.GetY()+1, w, h, false, fpdf.ImageOptions{ImageType: x.Type}, 0, "")
	p.SetY(p.GetY() + h + 2)
	d.text(x.Caption)
}
