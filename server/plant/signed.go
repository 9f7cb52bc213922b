package plant

import (
	"encoding/json"
	"slices"
	"strings"

	"gaugewright/calc/visit"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// OfficeField reports whether only the office's own routes write a field of a visit.
func OfficeField(field string) bool { return visit.OfficeField(field) }

// SignedOf says, in a signature or an approval, which records its list of changes covers.
var SignedOf = []string{"visit", "runs"}

// recordOf converts a state for the rules of calc/visit. It shares the state's bytes.
func recordOf(s *merge.State) visit.Record {
	r := visit.Record{ID: s.ID, Kind: s.Kind, Fields: make([]visit.Field, len(s.Fields))}
	for i := range s.Fields {
		f := &s.Fields[i]
		heads := make([]visit.Head, len(f.Heads))
		for j, h := range f.Heads {
			heads[j] = visit.Head{Change: h.Change, Author: h.Author, Stamp: h.Stamp.String(), Raw: h.Value}
		}
		r.Fields[i] = visit.Field{Name: f.Name, Heads: heads, Replaced: f.Replaced}
	}
	return r
}

// Covered lists every change that a signature or an approval of a visit covers.
func Covered(v *Visit, runs []Run) []string {
	return visit.Covers(v.written, visit.Written{Changes: Covers(runs)})
}

// Covers lists every change of some runs: what a signature of an earlier version covers.
func Covers(runs []Run) []string {
	all := make([]visit.Written, len(runs))
	for i := range runs {
		all[i].Changes = runs[i].Changes
	}
	return visit.Changes(all...)
}

// Journal gives the changes of a record in order of arrival; *store.Store is one.
type Journal interface {
	History(record string) ([]store.Entry, error)
}

// Unsigned names what in a visit its signature does not cover: fields, such as item and remark, and
// "runs"; "away" if the signature covers changes that have not arrived. A visit without a signature
// gets none.
func (v *Visit) Unsigned(src Journal, runs []Run) ([]string, error) {
	if v.Signature == nil {
		return nil, nil
	}
	return v.beyond(src, runs, v.Signature.Covers, v.Signature.Of, v.Signature.Change)
}

// Unapproved names in the same way what a valid approval does not cover.
func (v *Visit) Unapproved(src Journal, runs []Run) ([]string, error) {
	if v.Approval == nil {
		return nil, nil
	}
	return v.beyond(src, runs, v.Approval.Covers, v.Approval.Of, v.Approval.Change)
}

// beyond names what is not among some changes and not in the change that carries their list, which
// cannot name itself.
//
// A list of an earlier version covers runs only. Then it names a field if it was written after the
// list came here, whatever its stamp says.
func (v *Visit) beyond(src Journal, runs []Run, covers, of []string, carrier string) ([]string, error) {
	var names []string
	if !slices.Contains(of, "visit") {
		later, err := v.later(src, carrier)
		if err != nil {
			return nil, err
		}
		names = append(names, later...)
		if !slices.Equal(covers, Covers(runs)) {
			names = append(names, "runs")
		}
		return names, nil
	}
	known := map[string]bool{carrier: true}
	for _, id := range covers {
		known[id] = true
	}
	strange := func(id string) bool { return !known[id] }
	for _, f := range v.written {
		if visit.Signs(f.Name) && slices.ContainsFunc(f.Changes, strange) {
			names = append(names, word(f.Name))
		}
	}
	if slices.ContainsFunc(Covers(runs), strange) {
		names = append(names, "runs")
	}
	here := visit.Changes(append(slices.Clone(v.written), visit.Written{Changes: Covers(runs)})...)
	if slices.ContainsFunc(covers, func(id string) bool { _, ok := slices.BinarySearch(here, id); return !ok }) {
		names = append(names, "away")
	}
	return slices.Compact(names), nil
}

// later names the fields that were written after a change came.
func (v *Visit) later(src Journal, carrier string) ([]string, error) {
	entries, err := src.History(v.ID)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(entries, func(e store.Entry) bool { return e.Change.ID == carrier })
	var names []string
	for _, e := range entries[at+1:] {
		for _, set := range e.Change.Set {
			if visit.Signs(set.Field) {
				names = append(names, word(set.Field))
			}
		}
	}
	slices.Sort(names)
	return slices.Compact(names), nil
}

func word(field string) string {
	name, _, _ := strings.Cut(field, ".")
	return name
}

// Signatures returns the changes that carry a valid signature: several if two phones signed without
// knowing of each other.
func (v *Visit) Signatures() []string { return v.signatures }

// Named reports whether a person works on a visit: it is theirs, or it names them as helping
// (with.ID). If it names nobody, it is its author's.
func Named(s *merge.State, person string) bool {
	if f, ok := s.Field("person"); ok && len(f.Heads) > 0 {
		for _, h := range f.Heads {
			var id string
			if json.Unmarshal(h.Value, &id) == nil && id == person {
				return true
			}
		}
	} else {
		for i := range s.Fields {
			for _, h := range s.Fields[i].Heads {
				if h.Author == person && !OfficeField(s.Fields[i].Name) {
					return true
				}
			}
		}
	}
	b, ok := s.Value("with." + person)
	return ok && string(b) != "null"
}

// Check reads the values in a change as those of its kind of record, and names a field that cannot
// be read. It accepts a kind that has no reader here.
func Check(c *change.Change) error {
	s, err := merge.Apply(merge.State{}, *c)
	if err != nil {
		return err
	}
	switch c.Kind {
	case "site":
		_, err = ReadSite(s)
	case "person":
		_, err = ReadPerson(s)
	case "instrument":
		_, err = ReadInstrument(s)
	case "standard":
		_, err = ReadStandard(s)
	case "method":
		_, err = ReadMethod(s)
	case "round":
		_, err = ReadRound(s)
	case "certificate":
		_, err = ReadCertificate(s)
	case "visit":
		if _, err = ReadVisit(s); err == nil {
			err = checkAfter(c)
		}
	case "run":
		_, err = ReadRun(s)
	case "key":
		_, err = ReadKey(s)
	case "lookback":
		_, err = ReadLookback(s)
	}
	return err
}
