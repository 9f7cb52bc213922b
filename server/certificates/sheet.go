package certificates

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/calc/visit"
	"gaugewright/server/labels"
	"gaugewright/server/plant"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

const (
	textWidth, top = 170.0, 30.0 // mm, of what is written on each page; the rest is margin
	labelWidth     = 42.0
	lineHeight     = 4.7
	body, small    = 9.5, 8.0 // points
	paperModule    = 0.45     // mm, of the code on a clean sheet; a label's is larger
)

// The sizes of paper that an office prints on, as its letterhead names them.
const (
	A4     = "A4"
	Letter = "letter" // US Letter, ANSI/ASME Y14.1 size A
)

// page is a size of paper in mm, with what is written on between its margins.
type page struct{ wide, tall, left, right, bottom, foot float64 }

// pageOf returns the page of a size of paper; "" is A4. The text is as wide on each, so that a
// line breaks at the same word; the shorter page has fewer lines.
func pageOf(size string) page {
	p := page{wide: 210, tall: 297} // ISO 216
	if size == Letter {
		p.wide, p.tall = 8.5*25.4, 11*25.4
	}
	p.left = (p.wide - textWidth) / 2
	p.right, p.bottom, p.foot = p.left+textWidth, p.tall-25, p.tall-16
	return p
}

// sheet is a certificate being written.
type sheet struct {
	page
	in    *Input
	code  labels.Code // of size 0 where there is none
	pdf   *fpdf.Fpdf
	total int
	def   definition
	err   error
}

func newSheet(in *Input, code labels.Code, total int) *sheet {
	size := pageOf(in.Office.Paper)
	p := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: size.wide, Ht: size.tall}})
	s := &sheet{page: size, in: in, code: code, pdf: p, total: total}
	s.def, s.err = in.definition()
	if s.err != nil {
		p.SetError(fmt.Errorf("the method's definition: %w", s.err))
	}
	p.SetCreationDate(in.Issued.UTC())
	p.SetModificationDate(in.Issued.UTC())
	p.SetCatalogSort(true)
	p.SetProducer("gaugewright", true)
	p.SetTitle(s.def.title()+" "+in.Number, true)
	p.SetAuthor(in.Office.Name, true)
	p.SetLang("en")
	p.SetMargins(s.left, top, s.wide-s.right)
	p.SetAutoPageBreak(false, 0)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetHeaderFunc(s.header)
	p.SetFooterFunc(s.footer)
	p.AddPage()
	return s
}

func (s *sheet) header() {
	if s.in.draft {
		s.watermark()
	}
	if s.pdf.PageNo() > 1 {
		s.pdf.SetFont("go", "", small)
		s.pdf.SetXY(s.left, 18)
		s.cell(textWidth, 5, s.def.title()+" "+s.in.Number, "B", 0, "L")
	}
	s.pdf.SetY(top)
}

// watermark says on a page that it is a draft: in grey behind the text, and in words above it.
func (s *sheet) watermark() {
	p, x, y := s.pdf, s.wide/2, s.tall/2
	p.TransformBegin()
	p.TransformRotate(55, x, y)
	p.SetFont("go", "B", 130)
	p.SetTextColor(225, 225, 225)
	p.SetXY(x-110, y-25)
	s.cell(220, 50, draftNumber, "", 0, "C")
	p.TransformEnd()
	p.SetTextColor(0, 0, 0)
	p.SetFont("go", "B", small)
	p.SetXY(s.left, 9)
	s.cell(textWidth, 5, "DRAFT of "+s.in.Issued.UTC().Format("2 January 2006")+
		": not approved, not issued, and no proof of anything", "1", 0, "C")
}

func (s *sheet) footer() {
	s.pdf.SetFont("go", "", small)
	s.pdf.SetXY(s.left, s.foot)
	whose := s.lines(capital(s.def.noun())+" "+s.in.Number+" · "+s.in.Office.Name, textWidth-50)
	if len(whose) > 1 {
		whose[0] += " …"
	}
	s.cell(textWidth-45, 4, whose[0], "", 0, "L")
	s.pdf.SetXY(s.right-50, s.foot)
	s.cell(50, 4, fmt.Sprintf("page %d of %d", s.pdf.PageNo(), s.total), "", 0, "R")
}

// room begins a new page unless some millimetres are left on this one.
func (s *sheet) room(mm float64) bool {
	if s.pdf.GetY()+mm <= s.bottom {
		return false
	}
	s.pdf.AddPage()
	return true
}

func (s *sheet) heading(text string, needs float64) {
	s.room(9 + needs)
	s.pdf.SetY(s.pdf.GetY() + 3.5)
	s.pdf.SetFont("go", "B", 11)
	s.pdf.SetX(s.left)
	s.cell(textWidth, 6, text, "", 1, "L")
	s.pdf.SetFont("go", "", body)
}

func (s *sheet) paragraph(text string) {
	s.pdf.SetFont("go", "", body)
	for _, line := range s.lines(marked(text), textWidth-2) {
		s.room(lineHeight)
		y := s.pdf.GetY()
		s.powers(s.left+s.pdf.GetCellMargin(), y, lineHeight, line)
		s.pdf.SetXY(s.left, y+lineHeight)
	}
}

// fact writes a name at the left and what it is at the right.
func (s *sheet) fact(name, text string) {
	if text == "" {
		return
	}
	s.pdf.SetFont("go", "", body)
	lines := s.lines(marked(text), textWidth-labelWidth-2)
	s.room(lineHeight * float64(len(lines)))
	y := s.pdf.GetY()
	s.pdf.SetTextColor(80, 80, 80)
	s.pdf.SetXY(s.left, y)
	s.cell(labelWidth, lineHeight, name, "", 0, "L")
	s.pdf.SetTextColor(0, 0, 0)
	for i, line := range lines {
		s.powers(s.left+labelWidth+s.pdf.GetCellMargin(), y+float64(i)*lineHeight, lineHeight, line)
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
	if s.in.Found != nil {
		s.run("Results as found", s.in.Found)
	}
	if s.in.Left != nil {
		s.run("Results as left, after adjustment", s.in.Left)
	}
	s.course("Course of the programme as found", s.in.foundCourse)
	s.course("Course of the programme as left", s.in.leftCourse)
	s.notes()
	s.end()
}

// code encodes what leads from the paper to its record: the signed code, or of one that is not
// signed the record's address; an empty one where the server has none.
func (in *Input) code() (labels.Code, error) {
	switch {
	case in.Office.Base == "":
		return labels.Code{}, nil
	case in.Signed != nil:
		return labels.EncodePaper(CodeLink(in.Office.Base, in.Signed.Code))
	}
	return labels.Encode(Link(in.Office.Base, in.Visit.ID))
}

// module is how large the code's modules are.
func (s *sheet) module() float64 {
	if s.in.Signed != nil {
		return paperModule
	}
	return labels.ModuleMM
}

// letterhead writes the laboratory's name and address beside the code, and returns where it ends.
func (s *sheet) letterhead() float64 {
	const at, room = 16.0, 45.0 // mm: where a code is, and how wide it is with its quiet zone
	in, p, below := s.in, s.pdf, at
	if s.code.Size > 0 {
		side := labels.Side(s.code, s.module())
		labels.Draw(p, s.code, s.right-side+4*s.module(), at, s.module())
		below += side
	}
	p.SetXY(s.left, 18)
	p.SetFont("go", "B", 11)
	for _, line := range s.lines(in.Office.Name, textWidth-room) {
		s.cell(textWidth-room, 5.5, line, "", 2, "L")
	}
	p.SetFont("go", "", body)
	for _, address := range in.Office.Address {
		for _, line := range s.lines(address, textWidth-room) {
			s.cell(textWidth-room, lineHeight, line, "", 2, "L")
		}
	}
	return max(below, p.GetY())
}

func (s *sheet) front() {
	in, v, p := s.in, &s.in.Visit, s.pdf
	below := s.letterhead()
	p.SetXY(s.left, below+2)
	p.SetFont("go", "B", 20)
	s.cell(textWidth, 10, s.def.title(), "", 1, "L")
	p.SetFont("go", "B", 12)
	p.SetX(s.left)
	s.cell(textWidth, 6, "No. "+in.Number, "", 1, "L")
	p.SetLineWidth(0.5)
	p.Line(s.left, p.GetY()+1.5, s.right, p.GetY()+1.5)
	p.SetLineWidth(0.2)
	p.SetY(p.GetY() + 4)
	if in.Replaces != "" {
		s.fact("Amendment", "This "+s.def.noun()+" replaces No. "+in.Replaces+", which is no longer valid.")
		s.fact("Reason", in.Why)
		s.fact("What is different", in.Change)
	}
	s.fact("Accreditation", accreditationText(in.Office.Accreditation))
	s.fact("Customer", strings.Join(in.Office.Customer, ", "))
	s.fact("Order", v.Order.Number)
	s.fact("Received", dayOnly(v.Order.Received))
	s.fact("Item", itemText(&v.Item))
	s.fact("Maker and model", joined(" ", v.Item.Manufacturer, v.Item.Model))
	s.fact("Serial number", v.Item.Serial)
	s.fact("Tag", v.Item.Tag)
	s.fact("Range", rangeText(v.Item.Range))
	if o := v.Item.Output; o != nil {
		s.fact("Output", outputText(o))
	}
	if v.Item.Resolution != "" {
		unit := v.Item.Range.Unit
		if v.Item.Output != nil { // what is read is the signal
			unit = v.Item.Output.Unit
		}
		s.fact("Read to", string(v.Item.Resolution)+" "+unit)
	}
	switch { // a specification judges a gauge's readings alone; other kinds of work have limits of their own
	case s.def.Kind == "programme":
		s.fact("Judged against", s.in.itsRules())
	case (s.def.Kind == "" || s.def.Kind == "gauge") && v.Item.Limit.Rule != "":
		s.fact("Specification", limitText(v.Item.Limit))
	}
	if v.Condition != nil {
		s.fact("Condition", s.condition(*v.Condition))
	}
	s.fact("Place of the work", fallback(in.Place, "not recorded"))
	s.fact("Date of "+s.def.work(), day(v.Started))
	if !in.draft {
		s.fact("Date of issue", in.Issued.UTC().Format("2 January 2006"))
	}
	s.fact("Method", fmt.Sprintf("%s, version %d", v.Method.Name, v.Method.Version)+prefixed(": ", s.def.text())+".")
	s.fact("Conditions", conditions(v.Surroundings))
	if v.HeadAboveM != "" {
		s.fact(
			"Difference of level",
			"standard "+minus(v.HeadAboveM)+" m above the item, "+fallback(v.HeadFluid, "fluid not recorded"),
		)
	}
	std := v.Standard.Snapshot
	span := std.Range
	if span.Unit == "" {
		span = v.Standard.Range
	}
	s.fact(
		"Standard",
		joined(
			", ", joined(" ", std.Name, std.Manufacturer, std.Model), prefixed("serial ", std.Serial),
			rangeText(span), prefixed("calibration due ", dayOnly(std.Due)),
		),
	)
	s.fact("Traceability", traceability(v.Standard, in.Calibrator, v.Started))
	if m := v.Barometer; m != nil {
		s.fact("Air pressure measured with", usedText(m))
		s.fact("Traceability, barometer", traceability(m, in.BarometerBy, v.Started))
		s.fact("Absolute pressure", "the gauge standard's reading and the barometer's, each corrected, added")
	}
	if m := v.Meter; m != nil {
		s.fact("Signal read with", usedText(m))
		s.fact("Traceability, meter", traceability(m, in.MeterBy, v.Started))
	} else if v.Item.Output != nil {
		s.fact("Signal read with", "a meter that is not recorded; its uncertainty is not in U")
	}
	switch {
	case !visit.Adjustable(s.def.Kind) && (v.Adjusted == nil || !v.Adjusted.Done):
	case v.Adjusted == nil:
		s.fact("Adjustment", "not recorded")
	case v.Adjusted.Done:
		s.fact("Adjustment", "adjusted"+prefixed(": ", v.Adjusted.Note))
	default:
		s.fact("Adjustment", "none; the item was left as it was found"+prefixed(": ", v.Adjusted.Note))
	}
	s.fact("After the failure", dispositionText(v.Disposition))
	s.fact("Bypasses", bypassText(v.Bypasses))
}

func (s *sheet) condition(a plant.Answer) string {
	fit := "tested"
	if s.def.work() == "calibration" {
		fit = "calibrated"
	}
	switch {
	case a.OK:
		return "good, fit to be " + fit + prefixed("; ", a.Note)
	case a.State == "dirty":
		return "dirty, but fit to be " + fit + prefixed(": ", a.Note)
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

// bracketed puts a text in brackets behind another one.
func bracketed(before, s string) string {
	if s == "" {
		return ""
	}
	return " (" + before + s + ")"
}

// accreditationText states a laboratory's accreditation, "" where it states none.
func accreditationText(a *plant.Accreditation) string {
	if a == nil {
		return ""
	}
	return joined("; ", joined(", ", a.Text, prefixed("No. ", a.Number)), prefixed("scope: ", a.Scope))
}

func (s *sheet) outcome() {
	s.heading("Conformity", 22)
	say := func(when string, f *plant.Finding) {
		s.room(7)
		y := s.pdf.GetY()
		s.mark(f.Verdict, s.left+2.2, y+3)
		s.pdf.SetFont("go", "B", 11)
		s.pdf.SetXY(s.left+6, y)
		text := when + ": " + f.Verdict
		s.cell(textWidth-6, 6, text, "", 1, "L")
		if f.Reason != "" {
			s.paragraph("Reason: " + f.Reason)
		}
	}
	for _, p := range s.in.parts() {
		say(p.when, p.run.Finding)
	}
	if s.in.Found == nil {
		s.paragraph("As found: it failed in an earlier visit" + prefixed(" of ", s.in.FoundOn) +
			", which has its own record. This is the test after that.")
	}
	against := limitText(s.in.Visit.Item.Limit)
	if len(s.in.parts()[0].run.Finding.Results) > 0 {
		against = "the limit beside each figure"
	}
	together := "The verdict holds for every reading listed below together."
	if s.def.Kind == "programme" {
		against = "the rules of the programme, each beside what it judges"
		together = "The verdict holds for everything below that has a rule together; what has none is recorded and not judged."
	}
	s.paragraph("Against: " + against + ". " + together)
	s.paragraph("Decision rule. " + joined(" ", s.rule(), s.in.risk()))
}

// mark draws a verdict's shape, each different without colour: a ring with a tick, a square with a
// cross, a triangle.
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
	if d := departures(s.in.parts()); len(d) > 0 {
		s.heading("Departures from the method, as recorded", 8)
		for _, text := range d {
			s.paragraph(text)
		}
	}
	if n := warnings(s.in.Found, s.in.Left); len(n) > 0 {
		s.heading("Notes of the evaluation", 8)
		for _, text := range n {
			s.paragraph(text)
		}
	}
}

// departures lists the reasons with which readings were kept though something spoke against them
// (ISO/IEC 17025:2017 7.8.2.1 n), each once for a run, with how many readings carry it.
func departures(parts []part) (list []string) {
	for _, r := range parts {
		var reasons []string
		count := map[string]int{}
		for _, c := range r.run.Departures() {
			if count[c.Reason]++; count[c.Reason] == 1 {
				reasons = append(reasons, c.Reason)
			}
		}
		for _, reason := range reasons {
			readings := "1 reading"
			if n := count[reason]; n > 1 {
				readings = fmt.Sprintf("%d readings", n)
			}
			list = append(list, r.when+": "+readings+" kept with the reason “"+reason+"”.")
		}
	}
	return list
}

// warnings lists what the findings warn of, each text once; where there are two runs, what one of
// them alone has names it.
func warnings(found, left *plant.Run) (list []string) {
	of := func(r *plant.Run) (texts []string) {
		if r == nil {
			return nil
		}
		for _, w := range r.Finding.Warnings {
			if w.Message != "" && !slices.Contains(texts, w.Message) {
				texts = append(texts, w.Message)
			}
		}
		return texts
	}
	first, second := of(found), of(left)
	for _, text := range first {
		if left == nil || slices.Contains(second, text) {
			list = append(list, capital(text))
		} else {
			list = append(list, "As found: "+text)
		}
	}
	for _, text := range second {
		if !slices.Contains(first, text) {
			list = append(list, "As left: "+text)
		}
	}
	return list
}
