package labels

import (
	"bytes"
	"fmt"

	"gaugewright/server/german"

	"codeberg.org/go-pdf/fpdf"
)

// Defect is the content of the tag on an instrument out of service. Unknown values become lines to
// write on.
type Defect struct {
	Link, Tag, Serial string
	Text              string // a second line, such as the description
	Reason, Code      string
	By, Date          string
	Language          string // of the tag, in ISO 639-1; "" is English
}

const (
	defectColumns, defectRows = 2, 4
	defectMargin              = 8.0 // mm, around the page
	bandHeight                = 12.0
	longestReason             = 3 // lines
)

// Defects draws tags for instruments out of service on A4 pages, to cut along thin lines. Their
// band is hatched, so that it is recognised without colour. The same input gives the same bytes.
//
// Refuses: ErrSize for no tag or too many.
func Defects(list []Defect) ([]byte, error) {
	if len(list) == 0 || len(list) > maxLabels {
		return nil, fmt.Errorf("%w: %d tags; 1 to %d", ErrSize, len(list), maxLabels)
	}
	p := paper(german.In(list[0].Language, "Defect tags"))
	w := (pageWidth - 2*defectMargin) / defectColumns
	h := (pageHeight - 2*defectMargin) / defectRows
	for i := range list {
		at := i % (defectColumns * defectRows)
		if at == 0 {
			p.AddPage()
		}
		x := defectMargin + w*float64(at%defectColumns)
		y := defectMargin + h*float64(at/defectColumns)
		if err := defect(p, &list[i], x, y, w, h); err != nil {
			return nil, err
		}
	}
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		return nil, fmt.Errorf("write defect tags: %w", err)
	}
	return b.Bytes(), nil
}

func defect(p *fpdf.Fpdf, d *Defect, x, y, w, h float64) error {
	c, err := Encode(d.Link)
	if err != nil {
		return err
	}
	p.SetDrawColor(170, 170, 170)
	p.SetLineWidth(0.1)
	p.Rect(x, y, w, h, "D")
	say := func(phrase string, values ...string) string { return german.In(d.Language, phrase, values...) }
	band(p, x+2, y+2, w-4, say("OUT OF SERVICE"))
	side := Side(c, ModuleMM)
	Draw(p, c, x+w-side, y+bandHeight+3, ModuleMM)
	const pad = 4.0
	left, room := x+pad, w-side-pad
	top := y + bandHeight + 5
	fit := func(style string, size, least float64, text string) {
		for p.SetFont("go", style, size); p.GetStringWidth(text) > room && size > least; {
			size -= 0.5
			p.SetFont("go", style, size)
		}
		for _, line := range p.SplitText(text, room) {
			p.SetXY(left, top)
			p.CellFormat(room, size*0.45, line, "", 0, "L", false, 0, "")
			top += size * 0.45
		}
	}
	fit("B", 18, 9, d.Tag)
	if d.Serial != "" {
		fit("", 9, 7, say("Serial {}", d.Serial))
	}
	if d.Text != "" {
		fit("", 9, 7, d.Text)
	}
	top = max(top+2, y+bandHeight+3+side)
	const labelled, line, written = 20.0, 4.4, 5.6 // mm; for handwriting
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(0.2)
	for _, f := range []struct{ name, text string }{
		{say("Reason"), d.Reason}, {say("Code"), d.Code}, {say("Taken out by"), d.By}, {say("Date"), d.Date},
	} {
		height := line
		if f.text == "" {
			height = written
			p.Line(left+labelled, top+height, x+w-pad, top+height)
		}
		p.SetFont("go", "", 7)
		p.SetXY(left, top+height-line)
		p.CellFormat(labelled, line, f.name, "", 0, "L", false, 0, "")
		p.SetFont("go", "B", 9)
		lines := p.SplitText(f.text, w-labelled-2*pad)
		if len(lines) > longestReason {
			lines = lines[:longestReason]
			lines[longestReason-1] += " …"
		}
		for _, text := range lines {
			p.SetXY(left+labelled, top)
			p.CellFormat(w-labelled-2*pad, line, text, "", 0, "L", false, 0, "")
			top += line
		}
		if f.text == "" {
			top += height
		}
	}
	return nil
}

// band draws the hatched heading of a tag: hatching at both sides of the words.
func band(p *fpdf.Fpdf, x, y, w float64, words string) {
	const hatch = 3.0
	p.SetDrawColor(0, 0, 0)
	p.SetFont("go", "B", 20)
	middle := p.GetStringWidth(words) + 6
	p.ClipRect(x, y, w, bandHeight, false)
	p.SetLineWidth(1.2)
	for at := x - bandHeight; at < x+w; at += hatch {
		p.Line(at, y+bandHeight, at+bandHeight, y)
	}
	p.ClipEnd()
	p.SetFillColor(255, 255, 255)
	p.Rect(x+(w-middle)/2, y, middle, bandHeight, "F")
	p.SetLineWidth(0.8)
	p.Rect(x, y, w, bandHeight, "D")
	p.SetXY(x, y)
	p.CellFormat(w, bandHeight, words, "", 0, "CM", false, 0, "")
}
