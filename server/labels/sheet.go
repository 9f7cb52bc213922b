package labels

import (
	"bytes"
	"fmt"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Sheet is the layout of an A4 page of labels.
type Sheet struct {
	Columns, Rows int
	MarginMM      float64 // around the page
	ModuleMM      float64 // 0: ModuleMM
	Guides        bool    // thin lines to cut along
}

// Default is a sheet of three columns and eight rows, to cut along thin lines.
var Default = Sheet{Columns: 3, Rows: 8, MarginMM: 8, Guides: true}

const (
	pageWidth, pageHeight = 210.0, 297.0 // mm, A4
	maxLabels             = 5000         // 209 pages; a plant prints area by area
)

// PDF draws labels on A4 pages: the code at the left of each, its tag in plain letters at the
// right. The same input gives the same bytes.
//
// Refuses: ErrSize for no label or too many, modules below 0.35 mm, or a label that does not fit
// its share of the page.
func PDF(labels []Label, sheet Sheet) ([]byte, error) {
	if sheet.ModuleMM == 0 {
		sheet.ModuleMM = ModuleMM
	}
	switch {
	case len(labels) == 0 || len(labels) > maxLabels:
		return nil, fmt.Errorf("%w: %d labels; 1 to %d", ErrSize, len(labels), maxLabels)
	case sheet.Columns < 1 || sheet.Rows < 1 || sheet.MarginMM < 0 || sheet.MarginMM > 50:
		return nil, fmt.Errorf("%w: %d columns, %d rows, margin %g mm", ErrSize, sheet.Columns, sheet.Rows, sheet.MarginMM)
	case sheet.ModuleMM < MinModuleMM:
		return nil, fmt.Errorf("%w: modules of %g mm; at least %g", ErrSize, sheet.ModuleMM, MinModuleMM)
	}
	p := paper("Labels")
	w := (pageWidth - 2*sheet.MarginMM) / float64(sheet.Columns)
	h := (pageHeight - 2*sheet.MarginMM) / float64(sheet.Rows)
	for i, l := range labels {
		at := i % (sheet.Columns * sheet.Rows)
		if at == 0 {
			p.AddPage()
		}
		x, y := sheet.MarginMM+w*float64(at%sheet.Columns), sheet.MarginMM+h*float64(at/sheet.Columns)
		if err := one(p, l, x, y, w, h, sheet); err != nil {
			return nil, err
		}
	}
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		return nil, fmt.Errorf("write labels: %w", err)
	}
	return b.Bytes(), nil
}

// paper starts a document of A4 pages whose bytes depend only on what is drawn.
func paper(title string) *fpdf.Fpdf {
	p := fpdf.New("P", "mm", "A4", "")
	p.SetCreationDate(time.Unix(0, 0).UTC())
	p.SetModificationDate(time.Unix(0, 0).UTC())
	p.SetCatalogSort(true)
	p.SetProducer("gaugewright", true)
	p.SetTitle(title, true)
	p.SetAutoPageBreak(false, 0)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	return p
}

func one(p *fpdf.Fpdf, l Label, x, y, w, h float64, sheet Sheet) error {
	c, err := Encode(l.Link)
	if err != nil {
		return err
	}
	side := float64(c.Size+2*quiet) * sheet.ModuleMM
	const least = 18 // mm of width for the tag
	if side > h || side+least > w {
		return fmt.Errorf(
			"%w: a label with its code needs %.1f by %.1f mm, the sheet gives %.1f by %.1f; fewer columns or rows",
			ErrSize, side+least, side, w, h,
		)
	}
	if sheet.Guides {
		p.SetDrawColor(170, 170, 170)
		p.SetLineWidth(0.1)
		p.Rect(x, y, w, h, "D")
	}
	Draw(p, c, x, y+(h-side)/2, sheet.ModuleMM)
	room := w - side - 2
	size := 15.0
	for p.SetFont("go", "B", size); p.GetStringWidth(l.Tag) > room && size > 6; p.SetFont("go", "B", size) {
		size -= 0.5
	}
	lines := p.SplitText(l.Tag, room)
	p.SetFont("go", "", 8)
	words := p.SplitText(l.Text, room)
	for _, line := range l.More {
		words = append(words, p.SplitText(line, room)...)
	}
	const wordHeight = 3.6
	tagHeight := size * 0.42
	top := y + (h-float64(len(lines))*tagHeight-float64(len(words))*wordHeight)/2
	write := func(style string, size, height float64, lines []string) {
		p.SetFont("go", style, size)
		for _, s := range lines {
			p.SetXY(x+side, top)
			p.CellFormat(room, height, s, "", 0, "L", false, 0, "")
			top += height
		}
	}
	write("B", size, tagHeight, lines)
	write("", 8, wordHeight, words)
	return nil
}

// Draw fills the modules of a code, with its quiet zone, from a corner of a page in millimetres.
func Draw(p *fpdf.Fpdf, c Code, x, y, module float64) {
	p.SetFillColor(0, 0, 0)
	c.Strips(func(cx, cy, n int) {
		p.Rect(x+float64(cx+quiet)*module, y+float64(cy+quiet)*module, float64(n)*module, module, "F")
	})
}

// Side returns the side of a drawn code with its quiet zone.
func Side(c Code, module float64) float64 { return float64(c.Size+2*quiet) * module }
