package certificates

import (
	"strings"

	"gaugewright/server/plant"
)

func (w Who) String() string { return joined(", ", w.Name, w.Function) }

// validity states what the results hold for, and for what the laboratory does not answer (ISO/IEC
// 17025:2017 7.8.2.1 l, 7.8.2.2, 7.8.4.3).
func (s *sheet) validity() string {
	text := "The results relate only to the item named above, at the time of the " + s.def.work() + ". "
	if s.def.Kind == "burst" {
		text += "The discs were tested as they were received; how they were taken from their lot was not " +
			"for the laboratory to say. "
	}
	return text + "The item's description, tag and place are stated as the customer gave them, and so is the limit " +
		"that it is judged against where no document is named with it; the laboratory does not answer for them. This " +
		s.def.noun() + " may be reproduced only in full, unless the issuing laboratory has agreed in writing to " +
		"an extract. The date of the next " + s.def.work() + " is for the owner to decide."
}

func (s *sheet) end() {
	in, p := s.in, s.pdf
	s.heading("Authorisation", 56)
	s.fact("Work done by", in.Technician.String()+signedAt(in.Visit.Signature))
	if in.draft {
		s.fact("Authorised by", "nobody: this is a draft")
	} else {
		s.fact("Checked by", in.Approver.String())
		s.fact("Authorised by", in.Approver.String()+prefixed(", ", day(in.Visit.Approval.At)))
	}
	if in.Issuer.Name != "" {
		s.fact("Issued by", in.Issuer.String())
	}
	s.pdf.SetY(s.pdf.GetY() + 2)
	s.paragraph(s.validity())
	p.SetY(p.GetY() + 2)
	s.fact("Calculations", "version "+fallback(in.parts()[0].run.Finding.Calc, "not recorded"))
	p.SetFont("go", "", small)
	s.fact("Record SHA-256", in.Record)
	if in.Office.Base != "" {
		s.fact("Record at", Link(in.Office.Base, in.Visit.ID))
	}
	if in.Signed != nil {
		s.fact("Signed SHA-256", in.Signed.Fingerprint())
		s.fact("Checking", s.checking())
	}
	s.room(9)
	p.SetFont("go", "B", body)
	p.SetXY(s.left, p.GetY()+3)
	s.cell(textWidth, 5, "— End of "+s.def.noun()+" "+in.Number+" —", "", 1, "C")
}

// checking says how anybody checks the paper, and what that shows.
func (s *sheet) checking() string {
	text := "The record in this file, the code on the first page and the whole file are signed with the laboratory's key."
	if s.in.Office.Base != "" {
		text += " Anybody checks them at " + strings.TrimSuffix(s.in.Office.Base, "/") + VerifyPath + "."
	}
	return text + " That shows that nothing was altered; it is no accreditation and no qualified electronic signature."
}

func signedAt(sig *plant.Signature) string {
	if sig == nil {
		return ""
	}
	return prefixed(", signed ", day(sig.At))
}
