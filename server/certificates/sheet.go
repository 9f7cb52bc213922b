package certificates

import (
	"fmt"
	"strings"

	"gaugewright/server/labels"
	"gaugewright/server/plant"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

const (
	left, right, top, bottom = 20.0, 190.0, 30.0, 272.0 // mm, what is written on of an A4 page
	labelWidth               = 42.0
	lineHeight               = 4.7
	body, small              = 9.5, 8.0 // points
)

// sheet is a certificate being written.
type sheet struct {
	in    *Input
	pdf   *fpdf.Fpdf
	total int
	def   definition
	err   error
}

func newSheet(in *Input, total int) *sheet {
	p := fpdf.New("P", "mm", "A4", "")
	s := &sheet{in: in, pdf: p, total: total}
	s.def, s.err = in.definition()
	if s.err != nil {
		p.SetError(fmt.Errorf("the method's definition: %w", s.err))
	}
	p.SetCreationDate(in.Issued.UTC())
	p.SetModificationDate(in.Issued.UTC())
	p.SetCatalogSort(true)
	p.SetProducer("gaugewright", true)
	p.SetTitle("Calibration certificate "+in.Number, true)
	p.SetAuthor(in.Office.Name, true)
	p.SetLang("en")
	p.SetMargins(left, top, 210-right)
	p.SetAutoPageBreak(false, 0)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetHeaderFunc(s.header)
	p.SetFooterFunc(s.footer)
	p.AddPage()
	return s
}

func (s *sheet) header() {
	if s.pdf.PageNo() > 1 {
		s.pdf.SetFont("go", "", small)
		s.pdf.SetXY(left, 18)
		s.pdf.CellFormat(right-left, 5, "Calibration certificate "+s.in.Number, "B", 0, "L", false, 0, "")
	}
	s.pdf.SetY(top)
}

func (s *sheet) footer() {
	s.pdf.SetFont("go", "", small)
	s.pdf.SetXY(left, 281)
	s.pdf.CellFormat(110, 4, "Certificate "+s.in.Number+" · "+s.in.Office.Name, "", 0, "L", false, 0, "")
	s.pdf.SetXY(right-50, 281)
	s.pdf.CellFormat(50, 4, fmt.Sprintf("page %d of %d", s.pdf.PageNo(), s.total), "", 0, "R", false, 0, "")
}

// room begins a new page unless some millimetres are left on this one.
func (s *sheet) room(mm float64) bool {
	if s.pdf.GetY()+mm <= bottom {
		return false
	}
	s.pdf.AddPage()
	return true
}

func (s *sheet) heading(text string, needs float64) {
	s.room(9 + needs)
	s.pdf.SetY(s.pdf.GetY() + 3.5)
	s.pdf.SetFont("go", "B", 11)
	s.pdf.SetX(left)
	s.pdf.CellFormat(right-left, 6, text, "", 1, "L", false, 0, "")
	s.pdf.SetFont("go", "", body)
}

func (s *sheet) paragraph(text string) {
	s.pdf.SetFont("go", "", body)
	for _, line := range s.pdf.SplitText(text, right-left-2) {
		s.room(lineHeight)
		s.pdf.SetX(left)
		s.pdf.CellFormat(right-left, lineHeight, line, "", 1, "L", false, 0, "")
	}
}

// fact writes a name at the left and what it is at the right.
func (s *sheet) fact(name, text string) {
	if text == "" {
		return
	}
	s.pdf.SetFont("go", "", body)
	lines := s.pdf.SplitText(text, right-left-labelWidth-2)
	s.room(lineHeight * float64(len(lines)))
	y := s.pdf.GetY()
	s.pdf.SetTextColor(80, 80, 80)
	s.pdf.SetXY(left, y)
	s.pdf.CellFormat(labelWidth, lineHeight, name, "", 0, "L", false, 0, "")
	s.pdf.SetTextColor(0, 0, 0)
	for i, line := range lines {
		s.pdf.SetXY(left+labelWidth, y+float64(i)*lineHeight)
		s.pdf.CellFormat(right-left-labelWidth, lineHeight, line, "", 0, "L", false, 0, "")
	}
	s.pdf.SetY(y + lineHeight*float64(len(lines)) + 0.8)
}

func joined(sep string, parts ...string) string {
	var kept []string
	for _, p := range parts {
		if strings.TrimSpace(p) != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, sep)
}

func (s *sheet) write() {
	s.front()
	s.outcome()
	s.run("Results as found", &s.in.Found)
	if s.in.Left != nil {
		s.run("Results as left, after adjustment", s.in.Left)
	}
	s.notes()
	s.end()
}

func (s *sheet) front() {
	in, v, p := s.in, &s.in.Visit, s.pdf
	p.SetXY(left, 18)
	p.SetFont("go", "B", 11)
	p.CellFormat(110, 5.5, in.Office.Name, "", 2, "L", false, 0, "")
	p.SetFont("go", "", body)
	for _, line := range in.Office.Address {
		p.CellFormat(110, lineHeight, line, "", 2, "L", false, 0, "")
	}
	below := p.GetY()
	if in.Office.Base != "" {
		if code, err := labels.Encode(Link(in.Office.Base, v.ID)); err != nil {
			p.SetError(err)
		} else {
			side := labels.Side(code, labels.ModuleMM)
			labels.Draw(p, code, right-side+4*labels.ModuleMM, 16, labels.ModuleMM)
			below = max(below, 16+side)
		}
	}
	p.SetXY(left, below+2)
	p.SetFont("go", "B", 20)
	p.CellFormat(right-left, 10, "Calibration certificate", "", 1, "L", false, 0, "")
	p.SetFont("go", "B", 12)
	p.SetX(left)
	p.CellFormat(right-left, 6, "No. "+in.Number, "", 1, "L", false, 0, "")
	p.SetLineWidth(0.5)
	p.Line(left, p.GetY()+1.5, right, p.GetY()+1.5)
	p.SetLineWidth(0.2)
	p.SetY(p.GetY() + 4)
	if in.Replaces != "" {
		s.fact("Amendment", "This certificate replaces certificate No. "+in.Replaces+", which is no longer valid.")
		s.fact("Reason", in.Why)
		s.fact("What is different", in.Change)
	}
	s.fact("Customer", strings.Join(in.Office.Customer, ", "))
	s.fact("Item", joined(", ", v.Item.Description, kindText(v.Item.Kind)))
	s.fact("Maker and model", joined(" ", v.Item.Manufacturer, v.Item.Model))
	s.fact("Serial number", v.Item.Serial)
	s.fact("Tag", v.Item.Tag)
	s.fact("Range", rangeText(v.Item.Range))
	if v.Item.Resolution != "" {
		s.fact("Read to", string(v.Item.Resolution)+" "+v.Item.Range.Unit)
	}
	switch { // a specification judges a gauge's readings alone; other kinds of work have limits of their own
	case s.def.Kind == "programme":
		s.fact("Judged against", s.in.itsRules())
	case (s.def.Kind == "" || s.def.Kind == "gauge") && v.Item.Limit.Rule != "":
		s.fact("Specification", limitText(v.Item.Limit))
	}
	if v.Condition != nil {
		s.fact("Condition", condition(*v.Condition))
	}
	s.fact("Place of the work", fallback(in.Place, "not recorded"))
	s.fact("Date of calibration", day(v.Started))
	s.fact("Date of issue", in.Issued.UTC().Format("2 January 2006"))
	s.fact("Method", fmt.Sprintf("%s, version %d", v.Method.Name, v.Method.Version)+prefixed(": ", s.def.text())+".")
	s.fact("Conditions", conditions(v.Surroundings))
	if v.HeadAboveM != "" {
		s.fact("Difference of level", "standard "+minus(v.HeadAboveM)+" m above the item, "+fallback(v.HeadFluid, "fluid not recorded"))
	}
	std := v.Standard.Snapshot
	span := std.Range
	if span.Unit == "" {
		span = v.Standard.Range
	}
	s.fact("Standard", joined(", ", joined(" ", std.Name, std.Manufacturer, std.Model), prefixed("serial ", std.Serial), rangeText(span), prefixed("calibration due ", dayOnly(std.Due))))
	s.fact("Traceability", traceability(v.Standard, v.Started))
	switch {
	case v.Adjusted == nil:
		s.fact("Adjustment", "not recorded")
	case v.Adjusted.Done:
		s.fact("Adjustment", "adjusted"+prefixed(": ", v.Adjusted.Note))
	default:
		s.fact("Adjustment", "none; the item was left as it was found"+prefixed(": ", v.Adjusted.Note))
	}
}

func condition(a plant.Answer) string {
	if a.OK {
		return "sound and fit to be calibrated" + prefixed("; ", a.Note)
	}
	return "not sound" + prefixed(": ", a.Note)
}

func fallback(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func prefixed(before, s string) string {
	if s == "" {
		return ""
	}
	return before + s
}

func (s *sheet) outcome() {
	s.heading("Conformity", 22)
	say := func(when string, f *plant.Finding) {
		s.room(7)
		y := s.pdf.GetY()
		s.mark(f.Verdict, left+2.2, y+3)
		s.pdf.SetFont("go", "B", 11)
		s.pdf.SetXY(left+6, y)
		text := when + ": " + f.Verdict
		s.pdf.CellFormat(right-left-6, 6, text, "", 1, "L", false, 0, "")
		if f.Reason != "" {
			s.paragraph("Reason: " + f.Reason)
		}
	}
	say("As found", s.in.Found.Finding)
	if s.in.Left != nil {
		say("As left", s.in.Left.Finding)
	}
	against := limitText(s.in.Visit.Item.Limit)
	if len(s.in.Found.Finding.Results) > 0 {
		against = "the limit beside each figure"
	}
	together := "The verdict holds for every reading listed below together."
	if s.def.Kind == "programme" {
		against = "the rules of the programme, each beside what it judges"
		together = "The verdict holds for everything below that has a rule together; what has none is recorded and not judged."
	}
	s.paragraph("Against: " + against + ". " + together)
	s.paragraph("Decision rule. " + joined(" ", s.def.rule(), s.in.risk()))
}

// mark draws a verdict's shape, each different without colour: a ring with a tick, a square with a cross, a triangle.
func (s *sheet) mark(verdict string, x, y float64) {
	p := s.pdf
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(0.35)
	switch verdict {
	case "pass":
		p.Circle(x, y, 2, "D")
		p.Line(x-1, y, x-0.2, y+0.9)
		p.Line(x-0.2, y+0.9, x+1.1, y-0.9)
	case "fail":
		p.Rect(x-1.9, y-1.9, 3.8, 3.8, "D")
		p.Line(x-1.1, y-1.1, x+1.1, y+1.1)
		p.Line(x-1.1, y+1.1, x+1.1, y-1.1)
	default:
		p.Polygon([]fpdf.PointType{{X: x, Y: y - 2}, {X: x + 2, Y: y + 1.7}, {X: x - 2, Y: y + 1.7}}, "D")
	}
	p.SetLineWidth(0.2)
}

func (s *sheet) notes() {
	s.heading("Measurement uncertainty", 12)
	s.paragraph(s.uncertainty())
	v := &s.in.Visit
	if len(v.Remarks) > 0 {
		s.heading("Remarks", 8)
		for _, r := range v.Remarks {
			s.paragraph(r.Text)
		}
	}
	if n := warnings(&s.in.Found, s.in.Left); len(n) > 0 {
		s.heading("Notes of the evaluation", 8)
		for _, text := range n {
			s.paragraph(text)
		}
	}
}

func warnings(runs ...*plant.Run) (list []string) {
	for _, r := range runs {
		if r == nil {
			continue
		}
		for _, w := range r.Finding.Warnings {
			if w.Message != "" {
				list = append(list, joined(" ", w.Field+":", w.Message))
			}
		}
	}
	return list
}

func (s *sheet) uncertainty() string {
	stated, k := 0, map[string]bool{}
	points := 0
	for _, r := range []*plant.Run{&s.in.Found, s.in.Left} {
		if r == nil {
			continue
		}
		for _, f := range r.Finding.Results {
			points++
			if f.Expanded != nil && *f.Expanded > 0 {
				stated++
				k["2.00"] = true
			}
		}
		for _, p := range r.Finding.Points {
			points++
			if p.Expanded != nil && *p.Expanded > 0 {
				stated++
				if p.K != nil {
					k[fmt.Sprintf("%.2f", *p.K)] = true
				}
			}
		}
	}
	switch {
	case stated == 0:
		return "No measurement uncertainty was evaluated for these results."
	case stated < points:
		return "The column U gives the expanded uncertainty where one was evaluated; for the points without a figure none was."
	}
	text := "The column U gives the expanded uncertainty of the point, over its readings, in the unit of the table: the standard uncertainty multiplied by the coverage factor k"
	if len(k) == 1 {
		for one := range k {
			text += " = " + one
		}
	} else {
		text += " of the same line"
	}
	return text + ". It holds for the time and conditions of the calibration and says nothing about long-term stability."
}

func (s *sheet) end() {
	in, p := s.in, s.pdf
	s.heading("Authorisation", 56)
	s.fact("Work done by", in.Technician+signedAt(in.Visit.Signature))
	s.fact("Authorised by", in.Approver+prefixed(", ", day(in.Visit.Approval.At)))
	s.pdf.SetY(s.pdf.GetY() + 2)
	s.paragraph("The results relate only to the item named above, at the time of the calibration. This certificate may be reproduced only in full, unless the " +
		"issuing laboratory has agreed in writing to an extract. Dates of the next calibration are for the owner to decide.")
	p.SetY(p.GetY() + 2)
	s.fact("Calculations", "version "+fallback(in.Found.Finding.Calc, "not recorded"))
	p.SetFont("go", "", small)
	s.fact("Record SHA-256", in.Record[:32]+" "+in.Record[32:])
	if in.Office.Base != "" {
		s.fact("Record at", Link(in.Office.Base, in.Visit.ID))
	}
	s.room(9)
	p.SetFont("go", "B", body)
	p.SetXY(left, p.GetY()+3)
	p.CellFormat(right-left, 5, "— End of certificate "+in.Number+" —", "", 1, "C", false, 0, "")
}

func signedAt(sig *plant.Signature) string {
	if sig == nil {
		return ""
	}
	return prefixed(", signed ", day(sig.At))
}
