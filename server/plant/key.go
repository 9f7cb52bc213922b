package plant

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"gaugewright/calc/visit"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// Key is a public key for checking statements. The id of its record is statement.RecordOf of its
// thumbprint.
type Key struct {
	Base
	Public  statement.Key
	Of      string          // "person", or "office": the server's own
	Person  string          // its owner; "" for an office's key
	Made    string          // when, by the clock of its maker
	Value   json.RawMessage // the field that states all this
	Vouched string          // signature of the office, or of the office's key before, that confirms it; ""
	Vouch   json.RawMessage // what that signature covers
	Ended   *KeyEnd         // nil while it is in use
}

// KeyEnd is when and why a key was taken out of use.
type KeyEnd struct {
	At     string `json:"at"`
	Why    string `json:"why"`
	Lost   bool   `json:"lost,omitempty"` // somebody else may have it
	Change string `json:"-"`
}

// ReadKey reads the record of a key.
//
// Refuses: ErrValue if it is not a key, or its id is not the key's.
func ReadKey(s merge.State) (Key, error) {
	r, b := open(&s, "key")
	k := Key{Base: b}
	var said struct {
		Of, Person, Made string
		Public           json.RawMessage
	}
	if r.take("public", &said) {
		k.Of, k.Person, k.Made = said.Of, said.Person, said.Made
		if v, ok := s.Value("public"); ok {
			k.Value = clone(v)
		}
		public, err := statement.ReadKey(said.Public)
		if err == nil && statement.RecordOf(public.Thumbprint()) != s.ID {
			err = errors.New("the record's id is not the key's")
		}
		if err != nil && r.err == nil {
			r.err = fmt.Errorf("key %s: field public %w: %w", s.ID, ErrValue, err)
		}
		k.Public = public
	}
	if v, ok := s.Value("vouched"); ok {
		k.Vouch, k.Vouched = clone(v), statement.SignatureIn(v, statement.Office)
	}
	if r.take("ended", &k.Ended) && k.Ended != nil {
		f, _ := s.Field("ended")
		k.Ended.Change = f.Heads[0].Change
	}
	return k, r.err
}

// Mark is the result of checking a statement against its key.
type Mark string

// The marks. Only Good proves that this person made the statement. Unconfirmed proves that nothing
// was altered since somebody with that key made it.
const (
	MarkNone        Mark = "none"        // not signed with a key
	MarkGood        Mark = "good"        // by a key that the office has confirmed as that person's
	MarkUnconfirmed Mark = "unconfirmed" // by a key that nobody has confirmed yet
	MarkUnknown     Mark = "unknown"     // by a key that is not on record
	MarkEnded       Mark = "ended"       // by a key that had been taken out of use before the statement came
	MarkBad         Mark = "bad"         // the signature does not fit the statement, or its author
)

// Holds reports whether nothing speaks against a statement's signature. A statement without a key
// is not doubted: earlier versions had none.
func (m Mark) Holds() bool { return m == MarkNone || m == MarkGood || m == MarkUnconfirmed }

// Records gives access to the records of keys.
type Records interface {
	Record(id string) (merge.State, bool, error)
}

// Said is a value of a field that a person may have signed.
type Said struct {
	By, Field, Record string
	Value             []byte
	Change            string   // the change that wrote it
	Without           []string // members that the person's signature does not cover
}

// MarkOf checks a statement by the signature in one of its members (statement.Proof or
// statement.Office).
//
// order says what came first; it is nil for a statement that is just arriving.
func MarkOf(src Records, order Journal, said Said, member string) (Mark, error) {
	signature := statement.SignatureIn(said.Value, member)
	if signature == "" {
		return MarkNone, nil
	}
	kid, err := statement.KeyOf(signature)
	if err != nil {
		return MarkBad, nil
	}
	state, there, err := src.Record(statement.RecordOf(kid))
	if err != nil || !there {
		return MarkUnknown, err
	}
	k, err := ReadKey(state)
	if err != nil {
		return MarkUnknown, nil // the key itself is reported as damaged
	}
	if k.Of == "person" && (member != statement.Proof || k.Person != said.By) || k.Of == "office" &&
		member != statement.Office {
		return MarkBad, nil
	}
	of, err := statement.Of(said.By, said.Field, said.Record, said.Value, said.Without...)
	if err != nil {
		return MarkBad, nil
	}
	was, err := before(src, order, &said)
	if err != nil {
		return MarkBad, err
	}
	if was != "" {
		of.Digest = was
	}
	if k.Public.Verify(signature, of.Bytes()) != nil {
		return MarkBad, nil
	}
	if k.Ended != nil {
		after, err := cameAfter(order, said.Record, said.Change, k.ID, k.Ended.Change)
		if err != nil || after {
			return MarkEnded, err
		}
	}
	return k.Mark(src)
}

// Mark judges the statements of a key by what is known of its owner: Good for an office's key and
// for a person's that the office has confirmed, else Unconfirmed.
func (k *Key) Mark(src Records) (Mark, error) {
	if k.Of == "office" {
		return MarkGood, nil
	}
	kid, err := statement.KeyOf(k.Vouched)
	if err != nil {
		return MarkUnconfirmed, nil
	}
	state, there, err := src.Record(statement.RecordOf(kid))
	if err != nil || !there {
		return MarkUnconfirmed, err
	}
	office, err := ReadKey(state)
	if err != nil || office.Of != "office" {
		return MarkUnconfirmed, nil
	}
	of, err := statement.Of(k.Person, "vouched", k.ID, k.Vouch)
	if err != nil || office.Public.Verify(k.Vouched, of.Bytes()) != nil {
		return MarkUnconfirmed, nil
	}
	return MarkGood, nil
}

// cameAfter reports whether a change of a record came here after one of another record; one that
// has not arrived counts as after.
func cameAfter(order Journal, record, change, other, before string) (bool, error) {
	if order == nil {
		return true, nil
	}
	place := func(record, change string) (uint64, error) {
		entries, err := order.History(record)
		i := slices.IndexFunc(entries, func(e store.Entry) bool { return e.Change.ID == change })
		if err != nil || i < 0 {
			return 0, err
		}
		return entries[i].Seq, nil
	}
	said, err := place(record, change)
	ended, err2 := place(other, before)
	return said == 0 || ended != 0 && ended < said, errors.Join(err, err2)
}

// besides reports whether the content of a signature leaves out a field of a visit: those written
// with the signature, and those of the office.
func besides(field string) bool {
	return field == "signature" || field == "summary" || OfficeField(field)
}

// ContentOf returns the content that a signature or an approval of a visit has for the records it
// covers, in these states.
func ContentOf(visit merge.State, runs []merge.State, covers []string) (string, error) {
	return statement.Content(append([]merge.State{visit}, runs...), covers, besides)
}

// Marks are the marks of a visit's valid statements.
type Marks struct {
	Signature Mark `json:"signature"` // the technician's
	Approval  Mark `json:"approval"`  // the reviewer's own
	Office    Mark `json:"office"`    // the office's under the approval
}

// MarksOf checks the valid signature and approval. If whole is true, everything is as it was
// signed, and their content is compared with the records too.
func MarksOf(src Source, order Journal, v *Visit, whole bool) (m Marks, err error) {
	m = Marks{MarkNone, MarkNone, MarkNone}
	state, _, err := src.Record(v.ID)
	if err != nil {
		return m, err
	}
	look := func(field, member, change, by string, covers []string) (Mark, error) {
		value, ok := state.Value(field)
		if !ok {
			return MarkNone, nil
		}
		said := Said{By: by, Field: field, Record: v.ID, Value: value, Change: change}
		if field == "approval" && member == statement.Proof {
			said.Without = []string{"certificate"} // which the office adds
		}
		mark, err := MarkOf(src, order, said, member)
		if err != nil || mark == MarkNone || mark == MarkBad || !whole {
			return mark, err
		}
		if fits, err := v.contentFits(src, order, state, value, change, covers); err != nil || !fits {
			return MarkBad, err
		}
		return mark, nil
	}
	if s := v.Signature; s != nil {
		if m.Signature, err = look("signature", statement.Proof, s.Change, s.By, s.Covers); err != nil {
			return m, err
		}
	}
	if a := v.Approval; a != nil {
		if m.Approval, err = look("approval", statement.Proof, a.Change, a.By, a.Covers); err != nil {
			return m, err
		}
		m.Office, err = look("approval", statement.Office, a.Change, a.By, a.Covers)
	}
	return m, err
}

// contentFits reports whether the content of a signature or an approval matches the records, and whether
// the change that carries it sets nothing else that a certificate would state, since the signature
// could not cover that.
func (v *Visit) contentFits(
	src Source, order Journal, state merge.State, value []byte, carrier string, covers []string,
) (bool, error) {
	for _, f := range v.written {
		if visit.Signs(f.Name) && f.Name != "summary" && slices.Contains(f.Changes, carrier) {
			return false, nil
		}
	}
	kids, err := src.Children(v.ID)
	if err != nil {
		return false, err
	}
	kids = slices.DeleteFunc(kids, func(s merge.State) bool { return s.Kind != "run" })
	content, err := ContentOf(state, kids, covers)
	var said struct{ Content string }
	if err != nil || json.Unmarshal(value, &said) != nil {
		return false, nil
	}
	if said.Content == content {
		return true, nil
	}
	return Attests(src, order, state.ID, carrier, content)
}
