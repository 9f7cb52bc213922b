package report

import (
	"bytes"
	"fmt"
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
	gap                 = 2.0 // between columns
)

// page is a report being drawn.
type page struct {
	pdf        *fpdf.Fpdf
	of         *Report
	wide, tall float64
}

// PDF draws a report; files are attached to it.
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
	p.SetLang("en")
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
		p.CellFormat(d.width(), 5, strings.Trim(r.Of+" · "+r.Made.Format("2 January 2006, 15:04"), " ·"), "B", 1, "L", false, 0, "")
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
	p.CellFormat(30, 4, fmt.Sprintf("page %d of {pages}", p.PageNo()), "", 0, "R", false, 0, "")
}

// room begins a new page unless some millimetres are left on this one.
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
	if x.Heading != "" {
		d.room(22)
		p.SetY(p.GetY() + 4)
		p.SetFont("go", "B", 11)
		p.SetX(margin)
		p.MultiCell(d.width(), 5.5, x.Heading, "", "L", false)
		p.SetY(p.GetY() + 1)
	}
	for _, text := range x.Text {
		d.text(text)
	}
	for _, f := range x.Facts {
		if f[1] != "" {
			d.fact(f[0], f[1])
		}
	}
	if x.Table != nil {
		d.table(x.Table)
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

// table draws a table; its head stands on every page.
func (d *page) table(t *Table) {
	p := d.pdf
	if len(t.Rows) == 0 {
		if t.None != "" {
			d.text(t.None)
		}
		return
	}
	sum := 0.0
	wide := make([]float64, len(t.Columns))
	for i, c := range t.Columns {
		wide[i] = max(c.Wide, 0)
		if c.Wide == 0 {
			wide[i] = 1
		}
		sum += wide[i]
	}
	for i := range wide {
		wide[i] *= d.width() / sum
	}
	d.room(20)
	head := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		head[i] = c.Name
	}
	d.row(t, wide, head, "B")
	for _, row := range t.Rows {
		p.SetFont("go", "", small)
		if d.room(d.height(wide, row)) {
			d.row(t, wide, head, "B")
		}
		d.row(t, wide, row, "")
	}
	p.SetY(p.GetY() + 2)
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

// tallest is how tall a photo is at most: two fit a page.
const tallest = 105.0

// picture draws a photo; one that cannot be drawn leaves its caption.
func (d *page) picture(x *Picture, name string) {
	p := d.pdf
	info := p.RegisterImageOptionsReader(name, fpdf.ImageOptions{ImageType: x.Type}, bytes.NewReader(x.Bytes))
	if p.Err() || info == nil || info.Height() == 0 {
		p.ClearError()
		d.text(x.Caption + " (the picture cannot be drawn; it is attached)")
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
