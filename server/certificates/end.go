package certificates

import (
	"strings"

	"gaugewright/server/plant"
)

// who names a person with what they are; a role of the program stands in the paper's language.
func (t tongue) who(w Who) string { return joined(", ", w.Name, t.word(w.Function)) }

// validity states what the results hold for, and for what the laboratory does not answer (ISO/IEC
// 17025:2017 7.8.2.1 l, 7.8.2.2, 7.8.4.3).
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
		"an extract. The date of the next {} is for the owner to decide.", noun, work)
}

func (s *sheet) end() {
	in, p := s.in, s.pdf
	s.heading(s.say("Authorisation"), 56)
	s.fact(s.say("Work done by"), s.who(in.Technician)+s.signedAt(in.Visit.Signature))
	if in.draft {
		s.fact(s.say("Authorised by"), s.say("nobody: this is a draft"))
	} else {
		s.fact(s.say("Checked by"), s.who(in.Approver))
		s.fact(s.say("Authorised by"), s.who(in.Approver)+prefixed(", ", s.day(in.Visit.Approval.At)))
	}
	if in.Issuer.Name != "" {
		s.fact(s.say("Issued by"), s.who(in.Issuer))
	}
	s.pdf.SetY(s.pdf.GetY() + 2)
	s.paragraph(s.validity())
	p.SetY(p.GetY() + 2)
	s.fact(s.say("Calculations"), s.say("version {}", fallback(in.parts()[0].run.Finding.Calc, s.say("not recorded"))))
	p.SetFont("go", "", small)
	s.fact(s.say("Record SHA-256"), in.Record)
	if in.Office.Base != "" {
		s.fact(s.say("Record at"), Link(in.Office.Base, in.Visit.ID))
	}
	if in.Signed != nil {
		s.fact(s.say("Signed SHA-256"), in.Signed.Fingerprint())
		s.fact(s.say("Checking"), s.checking())
	}
	s.room(9)
	p.SetFont("go", "B", body)
	p.SetXY(s.left, p.GetY()+3)
	s.cell(textWidth, 5, s.say("— End of {} {} —", s.word(s.def.noun()), s.numbered()), "", 1, "C")
}

// checking says how anybody checks the paper, and what that shows.
func (s *sheet) checking() string {
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
