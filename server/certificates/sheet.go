package certificates

import (
	"fmt"
	"strings"

	"gaugewright/calc/visit"
	"gaugewright/server/labels"
	"gaugewright/server/plant"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

const (
	textWidth, top = 170.0, 30.0 // mm, of the printed area of each page; the rest is margin
	labelWidth     = 42.0
	lineHeight     = 4.7
	body, small    = 9.5, 8.0 // points
	paperModule    = 0.45     // mm, for the code on a clean sheet; a label's is larger
)

// The paper sizes, as a letterhead names them.
const (
	A4     = "A4"
	Letter = "letter" // US Letter, ANSI/ASME Y14.1 size A
)

// page is a paper size in mm, with the printed area between its margins.
type page struct{ wide, tall, left, right, bottom, foot float64 }

// pageOf returns the page of a paper size; "" is A4. The text has the same width on each, so that
// lines break at the same words; the shorter page has fewer lines.
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
	tongue
	in    *Input
	code  labels.Code // of size 0 if there is none
	pdf   *fpdf.Fpdf
	total int
	def   definition
	noted *[]Fact // unless nil, fact also notes here what it writes
	err   error
}

func newSheet(in *Input, code labels.Code, total int) *sheet {
	size := pageOf(in.Office.Paper)
	p := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: size.wide, Ht: size.tall}})
	s := &sheet{page: size, tongue: in.tongue(), in: in, code: code, pdf: p, total: total}
	s.def, s.err = in.definition()
	if s.err != nil {
		p.SetError(fmt.Errorf("the method's definition: %w", s.err))
	}
	p.SetCreationDate(in.Issued.UTC())
	p.SetModificationDate(in.Issued.UTC())
	p.SetCatalogSort(true)
	p.SetProducer("gaugewright", true)
	p.SetTitle(s.word(s.def.title())+" "+s.numbered(), true)
	p.SetAuthor(in.Office.Name, true)
	p.SetLang(in.language())
	p.SetMargins(s.left, top, s.wide-s.right)
	p.SetAutoPageBreak(false, 0)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetHeaderFunc(s.header)
	p.SetFooterFunc(s.footer)
	p.AddPage()
	return s
}

// numbered is the certificate's number, or the word for a draft.
func (s *sheet) numbered() string {
	if s.in.draft {
		return s.say(draftNumber)
	}
	return s.in.Number
}

func (s *sheet) header() {
	if s.in.draft {
		s.watermark()
	}
	if s.pdf.PageNo() > 1 {
		s.pdf.SetFont("go", "", small)
		s.pdf.SetXY(s.left, 18)
		s.cell(textWidth, 5, s.word(s.def.title())+" "+s.numbered(), "B", 0, "L")
	}
	s.pdf.SetY(top)
}

// watermark marks a page as a draft: in grey behind the text, and in words above it.
func (s *sheet) watermark() {
	p, x, y := s.pdf, s.wide/2, s.tall/2
	p.TransformBegin()
	p.TransformRotate(55, x, y)
	p.SetFont("go", "B", s.watermarkSize())
	p.SetTextColor(225, 225, 225)
	p.SetXY(0, y-25) // not further left: a negative place counts from the right
	s.cell(s.wide, 50, s.say(draftNumber), "", 0, "C")
	p.TransformEnd()
	p.SetTextColor(0, 0, 0)
	p.SetFont("go", "B", small)
	p.SetXY(s.left, 9)
	s.cell(textWidth, 5, s.say("DRAFT of {}: not approved, not issued, and no proof of anything",
		s.date(s.in.Issued.UTC())), "1", 0, "C")
}

func (s *sheet) footer() {
	s.pdf.SetFont("go", "", small)
	s.pdf.SetXY(s.left, s.foot)
	whose := s.cut(capital(s.word(s.def.noun()))+" "+s.numbered()+" · "+s.in.Office.Name, textWidth-50)
	s.cell(textWidth-45, 4, whose, "", 0, "L")
	s.pdf.SetXY(s.right-50, s.foot)
	s.cell(50, 4, s.say("page {} of {}", count(s.pdf.PageNo()), count(s.total)), "", 0, "R")
}

// watermarkSize is the font size at which the word fits the page.
func (s *sheet) watermarkSize() float64 {
	const size, widest = 130.0, 190.0 // points, mm
	s.pdf.SetFont("go", "B", size)
	return min(size, size*widest/s.pdf.GetStringWidth(s.say(draftNumber)))
}

// room begins a new page unless this one has some millimetres left.
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
	lines := s.lines(marked(text), textWidth-2)
	for i, line := range lines {
		s.room(lineHeight * float64(together(i, len(lines))))
		y := s.pdf.GetY()
		s.powers(s.left+s.pdf.GetCellMargin(), y, lineHeight, line)
		s.pdf.SetXY(s.left, y+lineHeight)
	}
}

// heightOf returns the height of paragraphs.
func (s *sheet) heightOf(paragraphs []string) float64 {
	s.pdf.SetFont("go", "", body)
	n := 0
	for _, text := range paragraphs {
		n += len(s.lines(marked(text), textWidth-2))
	}
	return lineHeight * float64(n)
}

// Fact is a name and its text, printed at the left and the right.
type Fact struct{ Name, Text string }

// Facts returns what the front of a certificate states, in order.
func Facts(in *Input) (list []Fact, err error) {
	s := newSheet(in, labels.Code{}, usual)
	s.noted = &list
	s.front()
	return list, s.pdf.Error()
}

// factHeight is the height of a fact in the current font.
func (s *sheet) factHeight(text string) float64 {
	return lineHeight*float64(len(s.lines(marked(text), textWidth-labelWidth-2))) + 0.8
}

// fact writes a name at the left and its text at the right.
func (s *sheet) fact(name, text string) {
	if text == "" {
		return
	}
	if s.noted != nil {
		*s.noted = append(*s.noted, Fact{name, text})
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
		s.run(s.say("Results as found"), s.in.Found)
	}
	if s.in.Left != nil {
		s.run(s.say("Results as left, after adjustment"), s.in.Left)
	}
	s.course(s.say("Course of the programme as found"), s.in.foundCourse)
	s.course(s.say("Course of the programme as left"), s.in.leftCourse)
	s.notes()
	s.end()
}

// code encodes the link from the document to its record: the signed code or, for an unsigned one,
// the record's address. It is empty if the server has no address.
func (in *Input) code() (labels.Code, error) {
	switch {
	case in.Office.Base == "":
		return labels.Code{}, nil
	case in.Signed != nil:
		return labels.EncodePaper(CodeLink(in.Office.Base, in.Signed.Code))
	}
	return labels.Encode(Link(in.Office.Base, in.Visit.ID))
}

// module is the size of the code's modules.
func (s *sheet) module() float64 {
	if s.in.Signed != nil {
		return paperModule
	}
	return labels.ModuleMM
}

// letterhead writes the laboratory's name and address beside the code, and returns where it ends.
func (s *sheet) letterhead() float64 {
	const at, room = 16.0, 45.0 // mm: where a code is, and its width with its quiet zone
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
	title, size := s.word(s.def.title()), 20.0
	for p.SetFont("go", "B", size); p.GetStringWidth(title) > textWidth-2; p.SetFont("go", "B", size) {
		size -= 0.5
	}
	s.cell(textWidth, 10, title, "", 1, "L")
	p.SetFont("go", "B", 12)
	p.SetX(s.left)
	s.cell(textWidth, 6, s.say("No. {}", s.numbered()), "", 1, "L")
	p.SetLineWidth(0.5)
	p.Line(s.left, p.GetY()+1.5, s.right, p.GetY()+1.5)
	p.SetLineWidth(0.2)
	p.SetY(p.GetY() + 4)
	if in.Replaces != "" {
		s.fact(s.say("Amendment"), s.say("This {} replaces No. {}, which is no longer valid.", s.word(s.def.noun()), in.Replaces))
		s.fact(s.say("Reason"), in.Why)
		s.fact(s.say("What is different"), in.Change)
	}
	s.fact(s.say("Accreditation"), s.accreditationText(in.Office.Accreditation))
	s.fact(s.say("Customer"), strings.Join(in.Office.Customer, ", "))
	s.fact(s.say("Order"), v.Order.Number)
	s.fact(s.say("Received"), s.dayOnly(v.Order.Received))
	s.fact(s.say("Item"), s.itemText(&v.Item))
	s.fact(s.say("Maker and model"), joined(" ", v.Item.Manufacturer, v.Item.Model))
	s.fact(s.say("Serial number"), v.Item.Serial)
	s.fact(s.say("Tag"), v.Item.Tag)
	spanName, readName := s.ranged()
	s.fact(spanName, s.rangeText(v.Item.Range))
	if o := v.Item.Output; o != nil {
		s.fact(s.say("Output"), s.outputText(o))
	}
	if v.Item.Resolution != "" {
		unit := v.Item.Range.Unit
		if v.Item.Output != nil { // the item is read by its signal
			unit = v.Item.Output.Unit
		}
		s.fact(readName, s.number(string(v.Item.Resolution))+" "+unit)
	}
	switch { // a specification judges a gauge's readings only; other kinds of work have their own limits
	case s.def.Kind == "programme":
		s.fact(s.say("Judged against"), s.in.itsRules())
	case (s.def.Kind == "" || s.def.Kind == "gauge") && v.Item.Limit.Rule != "":
		s.fact(s.say("Specification"), s.limitText(v.Item.Limit))
	}
	if v.Condition != nil {
		s.fact(s.say("Condition"), s.condition(*v.Condition))
	}
	s.fact(s.say("Place of the work"), fallback(in.Place, s.say("not recorded")))
	s.fact(s.say("Date of {}", s.word(s.def.work())), s.day(v.Started))
	if !in.draft {
		s.fact(s.say("Date of issue"), s.date(in.Issued.UTC()))
	}
	s.fact(s.say("Permit to work"), v.Permit)
	s.fact(s.say("Method"), s.method()+prefixed(": ", s.def.text(s.tongue))+".")
	s.fact(s.say("Reason for this method"), v.Method.Reason)
	s.fact(s.say("Conditions"), s.conditions(v.Surroundings))
	if v.HeadAboveM != "" {
		s.fact(
			s.say("Difference of level"),
			s.say("standard {} m above the item, {}", s.typed(v.HeadAboveM),
				fallback(s.word(v.HeadFluid), s.say("fluid not recorded"))),
		)
	}
	std := v.Standard.Snapshot
	span := std.Range
	if span.Unit == "" {
		span = v.Standard.Range
	}
	s.fact(
		s.say("Standard"),
		joined(
			", ", joined(" ", std.Name, std.Manufacturer, std.Model), s.serial(std.Serial),
			s.rangeText(span), s.due(std.Due),
		),
	)
	s.fact(s.say("Traceability"), s.traceability("The standard was calibrated", v.Standard, in.Calibrator, v.Started))
	if m := v.Barometer; m != nil {
		s.fact(s.say("Air pressure measured with"), s.usedText(m))
		s.fact(s.say("Traceability, barometer"), s.traceability("The barometer was calibrated", m, in.BarometerBy, v.Started))
		s.fact(s.say("Absolute pressure"), s.say("the gauge standard's reading and the barometer's, each corrected, added"))
	}
	if m := v.Meter; m != nil {
		s.fact(s.say("Signal read with"), s.usedText(m))
		s.fact(s.say("Traceability, meter"), s.traceability("The meter was calibrated", m, in.MeterBy, v.Started))
	} else if v.Item.Output != nil {
		s.fact(s.say("Signal read with"), s.say("a meter that is not recorded; its uncertainty is not in U"))
	}
	switch {
	case !visit.Adjustable(s.def.Kind) && (v.Adjusted == nil || !v.Adjusted.Done):
	case v.Adjusted == nil:
		s.fact(s.say("Adjustment"), s.say("not recorded"))
	case v.Adjusted.Done:
		s.fact(s.say("Adjustment"), s.say("adjusted")+prefixed(": ", v.Adjusted.Note))
	default:
		s.fact(s.say("Adjustment"), s.say("none; the item was left as it was found")+prefixed(": ", v.Adjusted.Note))
	}
	s.fact(s.say("After the failure"), s.dispositionText(v.Disposition))
	s.fact(s.say("Bypasses"), s.bypassText(v.Bypasses))
}

// ranged names the facts of the range and of how finely the pressure is read. What is tested for leaks
// or burst has no indication of its own.
func (s *sheet) ranged() (span, read string) {
	switch s.def.Kind {
	case "leak", "burst", "pitot-static-leak":
		return s.say("Range of the test"), s.say("Pressure read to")
	}
	return s.say("Range"), s.say("Read to")
}

func (s *sheet) condition(a plant.Answer) string {
	fit := s.say("tested")
	if s.def.work() == "calibration" {
		fit = s.say("calibrated")
	}
	switch {
	case a.OK:
		return s.say("good, fit to be {}", fit) + prefixed("; ", a.Note)
	case a.State == "dirty":
		return s.say("dirty, but fit to be {}", fit) + prefixed(": ", a.Note)
	}
	return s.say("not sound") + prefixed(": ", a.Note)
}

// method names the method of the visit with its version.
func (s *sheet) method() string {
	m := &s.in.Visit.Method
	return s.say("{}, version {}", m.Name, count(m.Version))
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

// accredited states the accreditation of another laboratory after its name.
func (t tongue) accredited(number string) string {
	return t.labelled(" (accreditation {})", number)
}

// accreditationText states a laboratory's accreditation, "" if it has none.
func (t tongue) accreditationText(a *plant.Accreditation) string {
	if a == nil {
		return ""
	}
	return joined("; ", joined(", ", a.Text, t.labelled("No. {}", a.Number)), t.labelled("scope: {}", a.Scope))
}

// labelled puts a value into a phrase, or returns "" without a value.
func (t tongue) labelled(phrase, value string) string {
	if value == "" {
		return ""
	}
	return t.say(phrase, value)
}

func (s *sheet) outcome() {
	s.heading(s.say("Conformity"), 22)
	say := func(when string, f *plant.Finding) {
		s.room(7)
		y := s.pdf.GetY()
		s.mark(f.Verdict, s.left+2.2, y+3)
		s.pdf.SetFont("go", "B", 11)
		s.pdf.SetXY(s.left+6, y)
		text := s.word(when) + ": " + s.verdict(f.Verdict)
		s.cell(textWidth-6, 6, text, "", 1, "L")
		if f.Reason != "" {
			s.paragraph(s.say("Reason: {}", s.reason(f.Reason)))
		}
	}
	for _, p := range s.in.parts() {
		say(p.when, p.run.Finding)
	}
	if s.in.Found == nil {
		if s.in.FoundOn != "" {
			s.paragraph(s.say("As found: it failed in an earlier visit of {}, which has its own record. This is the test after that.", s.day(s.in.FoundOn)))
		} else {
			s.paragraph(s.say("As found: it failed in an earlier visit, which has its own record. This is the test after that."))
		}
	}
	against := s.limitText(s.in.Visit.Item.Limit)
	if len(s.in.parts()[0].run.Finding.Results) > 0 {
		against = s.say("the limit beside each figure")
	}
	together := s.say("The verdict holds for every reading listed below together.")
	if s.def.Kind == "programme" {
		against = s.say("the rules of the programme, each beside what it judges")
		together = s.say("The verdict holds for everything below that has a rule together; what has none is recorded and not judged.")
	}
	s.paragraph(s.say("Against: {}. ", against) + together)
	s.paragraph(s.say("Decision rule. {}", joined(" ", s.rule(), s.in.risk())))
}

// mark draws a verdict's symbol, distinct without colour: a ring with a tick, a square with a
// cross, a diamond for what is undecided, a triangle for the conditional ones.
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
	case "undecided":
		p.Polygon([]fpdf.PointType{{X: x, Y: y - 2.2}, {X: x + 2.2, Y: y}, {X: x, Y: y + 2.2}, {X: x - 2.2, Y: y}}, "D")
	default:
		p.Polygon([]fpdf.PointType{{X: x, Y: y - 2}, {X: x + 2, Y: y + 1.7}, {X: x - 2, Y: y + 1.7}}, "D")
	}
	p.SetLineWidth(0.2)
}
