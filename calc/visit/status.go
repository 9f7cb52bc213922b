package visit

import "slices"

// Status is the state of a visit between the technician and the office.
type Status string

// The states of a visit, in the order in which they are reached.
const (
	Open     Status = "open"     // begun, not signed
	Signed   Status = "signed"   // waits for the office
	Returned Status = "returned" // sent back by the office after it was signed
	Approved Status = "approved" // frozen
	Reopened Status = "reopened" // reopened by the office after approval, and not signed since
)

// Standing is a visit's Status with its grounds.
type Standing struct {
	Status   Status
	Returned bool     // the office has returned it at least once
	Reopened string   // stamp of the last time that the office reopened it, "" if never
	SentBack []string // the office's reasons for sending back the visit as signed now
}

// ReadStanding reads the status of a visit.
//
// Two phones may have signed without knowing of each other; the later signature counts. A return
// names the signature that it refers to, and a reopening the approval. Decisions of earlier
// versions name nothing and refer to whatever came before them by the stamps.
func ReadStanding(visit *Record) Standing {
	s := Standing{Status: Open}
	signed := head(visit, "signature")
	if signed != nil {
		s.Status = Signed
	}
	for _, f := range visit.many("returned") {
		s.Returned = true
		if signed != nil && about(f, signed) {
			s.Status = Returned
			s.SentBack = append(s.SentBack, said(f))
		}
	}
	approval := head(visit, "approval")
	open, again := false, true
	for _, f := range visit.many("reopened") {
		s.Reopened = f.Heads[0].Stamp
		since := signedSince(f, signed)
		if signed != nil && !since {
			s.SentBack = append(s.SentBack, said(f))
		}
		if approval != nil && about(f, approval) {
			open, again = true, since
		}
	}
	switch {
	case approval == nil:
	case !open:
		s.Status = Approved
	case !again:
		s.Status = Reopened
	}
	return s
}

// head returns the latest value of a field with its change; nil if there is none.
func head(r *Record, name string) *Head {
	if r.has(name) {
		return &r.field(name).Heads[0]
	}
	return nil
}

// about reports whether a decision of the office refers to a signature or an approval.
func about(decision *Field, of *Head) bool {
	if named := part(decision.Heads[0].value(), "of"); named != nil {
		return slices.Contains(texts(named), of.Change)
	}
	return decision.Heads[0].Stamp > of.Stamp
}

// signedSince reports whether a reopened visit has been signed again.
func signedSince(reopened *Field, signed *Head) bool {
	if signed == nil {
		return false
	}
	if seen := part(reopened.Heads[0].value(), "signed"); seen != nil {
		return !slices.Contains(texts(seen), signed.Change)
	}
	return signed.Stamp > reopened.Heads[0].Stamp
}

// said returns the words of a decision: a text, or an object with them.
func said(f *Field) string {
	v := f.Heads[0].value()
	for _, name := range []string{"remark", "reason", "text"} {
		if t := text(part(v, name)); t != "" {
			return t
		}
	}
	return text(v)
}
