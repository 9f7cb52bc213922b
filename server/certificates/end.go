package certificates

import (
	"strings"

	"gaugewright/server/plant"
)

// who gives a person with their function; a role of the program is translated.
func (t tongue) who(w Who) string { return joined(", ", w.Name, t.word(w.Function)) }

// validity states what the results are valid for, and what the laboratory is not responsible for
// (ISO/IEC 17025:2017 7.8.2.1 l, 7.8.2.2, 7.8.4.3).
func (s *sheet) validity() string {
	noun, work := s.word(s.def.noun()), s.word(s.def.work())
	text := s.say("The results relate only to the item named above, at the time of the {}. ", work)
	if s.def.Kind == "burst" {
		text += s.say("The discs were tested as they were received; how they were taken from their lot was not " +
			"for the laboratory to say. ")
	}
	return text + s.say("The item's description, tag and place are stated as the customer gave them, and so is the limit "+
		"that it is judged against where no document is named with it; the laboratory does not answer for them. This "+
		"{} may be reproduced only in full, unless the issuing laboratory has agreed in writing to "+
		"an extract. ", noun) + s.next(work)
}

// next says when the next test is due: by a rule that names months, or as the owner decides.
func (s *sheet) next(work string) string {
	months := 0
	for _, p := range s.in.parts() {
		months = max(months, p.run.Finding.DueMonths)
	}
	if months > 0 {
		return s.say("The next {} is due after {} calendar months by the method, unless the regulation that holds for the item says otherwise.",
			work, count(months))
	}
	return s.say("The date of the next {} is for the owner to decide.", work)
}

// end writes who did, checked and issued the work, what the results are valid for, and the facts about
// the record, on one page: nobody signs on a page without the signed record's fingerprint.
func (s *sheet) end() {
	in := s.in
	people := []Fact{{s.say("Work done by"), s.who(in.Technician) + s.signedAt(in.Visit.Signature)}}
	if in.draft {
		people = append(people, Fact{s.say("Authorised by"), s.say("nobody: this is a draft")})
	} else {
		people = append(people, Fact{s.say("Checked by"), s.who(in.Approver)},
			Fact{s.say("Authorised by"), s.who(in.Approver) + prefixed(", ", s.day(in.Visit.Approval.At))})
	}
	if in.Issuer.Name != "" {
		people = append(people, Fact{s.say("Issued by"), s.who(in.Issuer)})
	}
	about := []Fact{
		{s.say("Calculations"), s.say("version {}", fallback(in.parts()[0].run.Finding.Calc, s.say("not recorded")))},
		{s.say("Record SHA-256"), in.Record},
		{s.say("Record at"), s.recordAt()},
		{s.say("Signed SHA-256"), s.fingerprint()},
		{s.say("Checking"), s.checking()},
	}
	valid := s.validity()
	const between, least = 4.0, 56.0 // mm: above and below what the results are valid for; of a block too long for a page
	needs := between + s.heightOf([]string{valid}) + s.heightOfFacts(people) + s.heightOfFacts(about) + endHeight
	if needs+heading > s.bottom-top {
		needs = least
	}
	s.heading(s.say("Authorisation"), needs)
	for _, f := range people {
		s.fact(f.Name, f.Text)
	}
	s.pdf.SetY(s.pdf.GetY() + between/2)
	s.paragraph(valid)
	s.pdf.SetY(s.pdf.GetY() + between/2)
	s.last(about)
}

// endHeight is what the words at the end of the document need in mm, with what is above them.
const endHeight = 8.0

// heightOfFacts returns the height of facts, without those that are left out.
func (s *sheet) heightOfFacts(list []Fact) (sum float64) {
	s.pdf.SetFont("go", "", body)
	for _, f := range list {
		if f.Text != "" {
			sum += s.factHeight(f.Text)
		}
	}
	return sum
}

// last writes the facts about the record and the end of the document, all on one page.
func (s *sheet) last(list []Fact) {
	s.room(endHeight + s.heightOfFacts(list))
	for _, f := range list {
		s.fact(f.Name, f.Text)
	}
	s.pdf.SetFont("go", "B", body)
	s.pdf.SetXY(s.left, s.pdf.GetY()+3)
	s.cell(textWidth, 5, s.say("— End of {} {} —", s.word(s.def.noun()), s.numbered()), "", 1, "C")
}

// recordAt is the address of the record, "" if the server has none.
func (s *sheet) recordAt() string {
	if s.in.Office.Base == "" {
		return ""
	}
	return Link(s.in.Office.Base, s.in.Visit.ID)
}

// fingerprint is that of the signed record, "" for an unsigned one.
func (s *sheet) fingerprint() string {
	if s.in.Signed == nil {
		return ""
	}
	return s.in.Signed.Fingerprint()
}

// checking says how anyone can check the document, and what that shows; "" for an unsigned one.
func (s *sheet) checking() string {
	if s.in.Signed == nil {
		return ""
	}
	text := s.say("The record in this file, the code on the first page and the whole file are signed with the laboratory's key.")
	if s.in.Office.Base != "" {
		text += s.say(" Anybody checks them at {}.", strings.TrimSuffix(s.in.Office.Base, "/")+VerifyPath)
	}
	return text + s.say(" That shows that nothing was altered; it is no accreditation and no qualified electronic signature.")
}

func (t tongue) signedAt(sig *plant.Signature) string {
	if sig == nil {
		return ""
	}
	return t.say(", signed {}", t.day(sig.At))
}
