package verify

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gaugewright/calc"
	"gaugewright/server/certificates"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// ErrNot is wrapped by every fault that a check finds.
var ErrNot = errors.New("does not hold")

func not(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrNot, fmt.Sprintf(format, args...))
}

// Report is what was checked and found valid.
type Report struct {
	Store        string
	Entries      int // of the journal
	Heads        int
	Keys         map[plant.Mark]int // public keys: good, unconfirmed
	Statements   map[plant.Mark]int // signatures, decisions and certificates by their mark
	Findings     int                // recalculated
	Certificates int
	Notes        []string // remarks
}

// source gives the records and their changes.
type source interface {
	plant.Source
	plant.Journal
	plant.Blobs
}

type walk struct {
	source
	report Report
	then   func(entry uint64) plant.Source // the records as they were at an entry
}

func newWalk(src source, then func(uint64) plant.Source) *walk {
	return &walk{source: src, then: then, report: Report{Keys: map[plant.Mark]int{}, Statements: map[plant.Mark]int{}}}
}

func (w *walk) note(format string, args ...any) {
	w.report.Notes = append(w.report.Notes, fmt.Sprintf(format, args...))
}

// keys checks the records of keys against the office's trusted keys; without a list (nil) it trusts
// the first one on record.
func (w *walk) keys(trusted []string) error {
	states, err := w.ByKind("key", "", 0)
	if err != nil {
		return err
	}
	var people []plant.Key
	known := map[string]bool{}
	for _, kid := range trusted {
		known[kid] = true
	}
	for _, s := range states {
		k, err := plant.ReadKey(s)
		if err != nil {
			return not("%v", err)
		}
		kid := k.Public.Thumbprint()
		switch {
		case k.Of != "office":
			people = append(people, k)
			continue
		case known[kid]:
		case trusted == nil && len(known) == 0:
			known[kid] = true
			w.note("no keys were given: the office's key %s is taken from the record itself", kid)
		default:
			if err := w.follows(&k, known); err != nil {
				return err
			}
			known[kid] = true
		}
		w.report.Keys[plant.MarkGood]++
	}
	for _, k := range people {
		value, _ := stateValue(states, k.ID, "public")
		of, err := statement.Of(k.Person, "key", k.ID, value)
		if err != nil || k.Public.Verify(statement.SignatureIn(value, statement.Proof), of.Bytes()) != nil {
			return not("key %s: it is not signed by itself", k.ID)
		}
		mark, err := k.Mark(w)
		if err != nil {
			return err
		}
		if k.Vouched != "" && mark != plant.MarkGood {
			return not("key %s: the office's word that it is the person's", k.ID)
		}
		w.report.Keys[mark]++
	}
	return nil
}

// follows reports whether one of the office's known keys vouches for a later one.
func (w *walk) follows(k *plant.Key, known map[string]bool) error {
	kid, err := statement.KeyOf(k.Vouched)
	if err != nil || !known[kid] {
		return not("the office's key %s is not among those given, and none of them vouches for it", k.Public.Thumbprint())
	}
	state, _, err := w.Record(statement.RecordOf(kid))
	if err != nil {
		return err
	}
	before, err := plant.ReadKey(state)
	if err != nil {
		return not("%v", err)
	}
	of, err := statement.Of("", "vouched", k.ID, k.Vouch)
	if err != nil || before.Public.Verify(k.Vouched, of.Bytes()) != nil {
		return not("the office's key %s: what the key before says of it", k.Public.Thumbprint())
	}
	return nil
}

func stateValue(states []merge.State, id, field string) ([]byte, bool) {
	i := slices.IndexFunc(states, func(s merge.State) bool { return s.ID == id })
	if i < 0 {
		return nil, false
	}
	return states[i].Value(field)
}

// people checks that the office signed every erasure in people's records.
func (w *walk) people() error {
	people, err := w.ByKind("person", "", 0)
	if err != nil {
		return err
	}
	for _, p := range people {
		entries, err := w.History(p.ID)
		if err != nil {
			return err
		}
		for _, e := range entries {
			for _, set := range e.Change.Set {
				if merge.Erases(set.Field) == "" {
					continue
				}
				if err := w.said("person "+p.ID, &e.Change, set, nil, nil); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// visit checks every statement ever made about a visit, its certificates and its findings.
func (w *walk) visit(id string) error {
	v, err := plant.LoadVisit(w, id)
	if err != nil {
		return not("%v", err)
	}
	kids, err := w.Children(id)
	if err != nil {
		return err
	}
	called := strings.TrimSpace("visit " + id + " " + v.Item.Tag)
	entries, err := w.History(id)
	if err != nil {
		return err
	}
	all := map[string][]store.Entry{id: entries}
	for _, k := range kids {
		if all[k.ID], err = w.History(k.ID); err != nil {
			return err
		}
	}
	for _, e := range entries {
		for _, set := range e.Change.Set {
			if err := w.said(called, &e.Change, set, all, kids); err != nil {
				return err
			}
		}
	}
	for _, k := range kids {
		if k.Kind == "certificate" {
			if err := w.certificate(k, all[k.ID]); err != nil {
				return err
			}
		}
	}
	return w.findings(&v, called)
}

// said checks what a change states about a visit in one field.
func (w *walk) said(
	called string, c *change.Change, set change.Setting, all map[string][]store.Entry, kids []merge.State,
) error {
	word, _, _ := strings.Cut(set.Field, ".")
	if word != "signature" && !plant.OfficeField(set.Field) || string(set.Value) == "null" {
		return nil
	}
	said := plant.Said{By: c.Author, Field: set.Field, Record: c.Record, Value: set.Value, Change: c.ID}
	members := []string{statement.Proof, statement.Office}
	if word == "signature" {
		members = members[:1]
	}
	signed, sealed := false, false
	for _, member := range members {
		said.Without = nil
		if word == "approval" && member == statement.Proof {
			said.Without = []string{"certificate"}
		}
		mark, err := plant.MarkOf(w, w, said, member)
		if err != nil {
			return err
		}
		switch mark {
		case plant.MarkNone:
			continue
		case plant.MarkBad:
			return not("%s: the signature by a key under its %s (change %s)", called, word, c.ID)
		case plant.MarkUnknown:
			return not("%s: the key that signed its %s is not on record (change %s)", called, word, c.ID)
		case plant.MarkEnded:
			w.note("%s: its %s came after the key that signed it had been taken out of use (change %s)", called, word, c.ID)
		}
		signed = true
		sealed = sealed || member == statement.Office && mark == plant.MarkGood
		w.report.Statements[mark]++
	}
	if word == "erased" && !sealed {
		return not("%s: what was erased of it is not signed by the office (change %s)", called, c.ID)
	}
	if !signed {
		w.report.Statements[plant.MarkNone]++
		return nil
	}
	if word != "signature" && word != "approval" {
		return nil
	}
	for _, x := range c.Set {
		if x.Field != set.Field && x.Field != "summary" {
			return not(
				"%s: the change of its %s writes %s besides, which it cannot cover (change %s)", called,
				word, x.Field, c.ID,
			)
		}
	}
	return w.content(called, word, c, set.Value, all, kids)
}

// content checks what a signature or an approval states about the records against the changes it
// covers.
func (w *walk) content(
	called, word string, c *change.Change, value []byte, all map[string][]store.Entry, kids []merge.State,
) error {
	var in struct {
		Covers  []string
		Content string
	}
	if err := json.Unmarshal(value, &in); err != nil {
		return not("%s: its %s cannot be read (change %s)", called, word, c.ID)
	}
	covered := map[string]bool{}
	for _, id := range in.Covers {
		covered[id] = true
	}
	replay := func(id string) (merge.State, error) {
		var list []change.Change
		for _, e := range all[id] {
			if covered[e.Change.ID] {
				list = append(list, e.Change)
				delete(covered, e.Change.ID)
			}
		}
		return merge.Apply(merge.State{}, list...)
	}
	visit, err := replay(c.Record)
	if err != nil {
		return not("%s: %v", called, err)
	}
	var runs []merge.State
	for _, k := range kids {
		if k.Kind != "run" {
			continue
		}
		run, err := replay(k.ID)
		if err != nil {
			return not("%s: %v", called, err)
		}
		runs = append(runs, run)
	}
	if len(covered) > 0 {
		return not("%s: its %s covers changes that are not here (change %s)", called, word, c.ID)
	}
	got, err := plant.ContentOf(visit, runs, in.Covers)
	if err != nil {
		return not("%s: %v", called, err)
	}
	if got != in.Content {
		erased, err := plant.Attests(w, w, c.Record, c.ID, got)
		if err != nil {
			return err
		}
		if erased {
			return nil
		}
		return not("%s: its %s is of something else than what stands there (change %s)", called, word, c.ID)
	}
	return nil
}

// certificate checks a certificate against the office's signature on it and the record it was made
// from.
func (w *walk) certificate(state merge.State, entries []store.Entry) error {
	v, err := plant.ReadCertificate(state)
	if err != nil {
		return not("%v", err)
	}
	w.report.Certificates++
	for _, e := range entries {
		mark, err := office.IssueMark(w, w, &e.Change)
		switch {
		case err != nil:
			return err
		case !mark.Holds():
			return not("certificate %s: the office's signature under it (change %s)", v.Number, e.Change.ID)
		}
		w.report.Statements[mark]++
	}
	if len(entries) == 0 || v.Fingerprint == "" {
		return nil
	}
	then := w.then(entries[0].Seq)
	visit, _, err := then.Record(v.Parent)
	if err != nil {
		return err
	}
	kids, err := then.Children(v.Parent)
	if err != nil {
		return err
	}
	kids = slices.DeleteFunc(kids, func(s merge.State) bool { return s.Kind != "run" })
	if got := certificates.Fingerprint(visit, kids); got != v.Fingerprint {
		erased, err := plant.Attests(w, w, v.Parent, v.ID, got)
		if err != nil {
			return err
		}
		if erased {
			return nil
		}
		return not("certificate %s: the record is not the one that its fingerprint is of", v.Number)
	}
	return nil
}

// findings recalculates the findings of a visit.
func (w *walk) findings(v *plant.Visit, called string) error {
	runs, err := plant.Runs(w, v.ID)
	if err != nil {
		return not("%v", err)
	}
	for i := range runs {
		r := &runs[i]
		if r.Finding == nil {
			continue
		}
		sheet, err := v.Sheet(r, r.Stopped == "")
		if missing := (*plant.TraceError)(nil); errors.As(err, &missing) {
			w.note(
				"%s: the record of a logger, blob %s, is not here, so that a finding was not calculated again",
				called, missing.SHA256,
			)
			continue
		}
		if err != nil {
			return not("%s, run %s: %v", called, r.ID, err)
		}
		differs, err := office.Differs(r.Finding.Raw, calc.Call("evaluate", sheet))
		switch {
		case err != nil:
			return not("%s, run %s: %v", called, r.ID, err)
		case differs != "" && v.Approval != nil:
			return not("%s, run %s: its finding is not what the calculation gives: %s", called, r.ID, differs)
		case differs != "":
			w.note(
				"%s, run %s: its finding is not what the calculation gives, and it is not approved: %s",
				called, r.ID, differs,
			)
		}
		w.report.Findings++
	}
	return nil
}
