package plant

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/sync/merge"
)

// Source gives access to records; *store.Store is one.
type Source interface {
	Record(id string) (merge.State, bool, error)
	ByKind(kind, after string, limit int) ([]merge.State, error)
	Children(id string) ([]merge.State, error)
	Lookup(kind, field, value string) ([]merge.State, error)
}

var (
	// ErrNotFound is wrapped when a record does not exist here.
	ErrNotFound = errors.New("is not here")
	// ErrKind is wrapped when a record is not of the kind asked for.
	ErrKind = errors.New("is of another kind")
	// ErrValue is wrapped when a field does not have the form that its kind of record requires.
	ErrValue = errors.New("cannot be read")
	// ErrSeveral is wrapped when a text that should name one record names several.
	ErrSeveral = errors.New("names more than one record")
)

// Base is what every record has.
type Base struct {
	ID, Site, Parent string
	Contested        []string // names of the contested fields, sorted
}

// Decimal is a number as typed; in JSON it may be a number or a text.
type Decimal string

// UnmarshalJSON takes a number or a decimal text and keeps its digits.
func (d *Decimal) UnmarshalJSON(b []byte) error {
	text := string(b)
	if len(b) > 0 && b[0] == '"' {
		if err := json.Unmarshal(b, &text); err != nil {
			return err
		}
	}
	if text == "null" || text == "" {
		*d = ""
		return nil
	}
	if !document.IsDecimal(text) {
		return fmt.Errorf("%q is not a decimal number", text)
	}
	*d = Decimal(text)
	return nil
}

// Range is what an instrument or standard measures, and for a standard its specification.
type Range struct {
	Low              Decimal `json:"low"`
	High             Decimal `json:"high"`
	Unit             string  `json:"unit"`
	Mode             string  `json:"mode,omitempty"`
	OfReadingPercent Decimal `json:"of_reading_percent,omitempty"`
	OfSpanPercent    Decimal `json:"of_span_percent,omitempty"`
	Absolute         Decimal `json:"absolute,omitempty"`
	StabilityPPM     Decimal `json:"stability_ppm,omitempty"`
	K                Decimal `json:"k,omitempty"`
}

// Limit is how large an instrument's error may be.
type Limit struct {
	Rule             string  `json:"rule"`
	Class            Decimal `json:"class,omitempty"`
	StopPin          bool    `json:"stop_pin,omitempty"`
	Grade            string  `json:"grade,omitempty"`
	OfSpanPercent    Decimal `json:"of_span_percent,omitempty"`
	OfReadingPercent Decimal `json:"of_reading_percent,omitempty"`
	Absolute         Decimal `json:"absolute,omitempty"`
}

// reader reads fields of a state and keeps the first fault.
type reader struct {
	state *merge.State
	err   error
}

func open(s *merge.State, kind string) (*reader, Base) {
	r := &reader{state: s}
	if s.Damaged != "" {
		r.err = fmt.Errorf("%s %s %w: %s", kind, s.ID, ErrValue, s.Damaged)
	} else if s.Kind != kind {
		r.err = fmt.Errorf("record %s %w: %s, not %s", s.ID, ErrKind, s.Kind, kind)
	}
	base := Base{ID: s.ID, Site: s.Site, Parent: s.Parent}
	for i := range s.Fields {
		if f := &s.Fields[i]; len(f.Heads) > 0 && f.Contested() {
			base.Contested = append(base.Contested, f.Name)
		}
	}
	return r, base
}

// take reads a field's present value, if it was ever written.
func (r *reader) take(name string, to any) bool {
	b, ok := r.state.Value(name)
	if !ok || string(b) == "null" {
		return false
	}
	if err := json.Unmarshal(b, to); err != nil {
		if r.err == nil {
			r.err = fmt.Errorf("%s %s: field %s %w: %w", r.state.Kind, r.state.ID, name, ErrValue, err)
		}
		return false
	}
	return true
}

func (r *reader) text(name string) (s string) {
	r.take(name, &s)
	return s
}

// erasable reads a text that may have been erased; it is "" then.
func (r *reader) erasable(name string) string {
	var left struct{ Erased string }
	if b, ok := r.state.Value(name); ok && json.Unmarshal(b, &left) == nil && left.Erased != "" {
		return ""
	}
	return r.text(name)
}

// lines reads a text of several lines, without blank ones.
func (r *reader) lines(name string) (list []string) {
	for line := range strings.Lines(r.text(name)) {
		if line = strings.TrimSpace(line); line != "" {
			list = append(list, line)
		}
	}
	return list
}

// many returns the fields NAME.ID in the order in which they were first written.
func (r *reader) many(name string, each func(id string, field *merge.Field)) {
	var found []*merge.Field
	for i := range r.state.Fields {
		f := &r.state.Fields[i]
		if strings.HasPrefix(f.Name, name+".") && len(f.Heads) > 0 {
			found = append(found, f)
		}
	}
	slices.SortStableFunc(found, func(a, b *merge.Field) int {
		return strings.Compare(a.Heads[0].Stamp.String(), b.Heads[0].Stamp.String())
	})
	for _, f := range found {
		each(strings.TrimPrefix(f.Name, name+"."), f)
	}
}

// Site is a place of the plant; phones receive records by site.
type Site struct {
	Base
	Code, Name string
	Customer   []string // owner of its instruments: lines of name and address; none for the laboratory's usual one
	Language   string   // of the customer's certificates, in ISO 639-1; "" for the laboratory's usual one
}

// ReadSite reads a site.
func ReadSite(s merge.State) (Site, error) {
	r, b := open(&s, "site")
	v := Site{
		Base: b, Code: r.text("code"), Name: r.text("name"), Customer: r.lines("customer"),
		Language: r.text("language"),
	}
	return v, r.err
}

// Person is a person who works here; the record id is the user id.
type Person struct {
	Base
	Name, Initials, Role string
	Function             string // in the laboratory; "" if that is their role
	Competences          []Competence
}

// ReadPerson reads a person.
func ReadPerson(s merge.State) (Person, error) {
	r, b := open(&s, "person")
	v := Person{
		Base: b, Name: r.erasable("name"), Initials: r.erasable("initials"), Role: r.text("role"),
		Function: r.erasable("function"),
	}
	r.many("competence", func(id string, f *merge.Field) {
		c := Competence{ID: id}
		if r.take(f.Name, &c) {
			v.Competences = append(v.Competences, c)
		}
	})
	return v, r.err
}

// Instrument is the device under test.
type Instrument struct {
	Base
	Tag, Serial, Description, Kind, Manufacturer, Model string
	Range                                               Range
	Resolution, Overload                                Decimal
	Limit                                               Limit
	Method, Medium, Area, Place, Note, Due, Status      string
	Cautions, Aliases                                   []string
	IntervalMonths                                      int
	Customer                                            []string // whose it is; none for that of its site
	Language                                            string   // of its certificates, in ISO 639-1; "" for that of its site's customer
	Label                                               string
	Messages                                            []Message
	Orders                                              []Ordered
}

// Message is a message to the others about an instrument; its change says who wrote it and when.
type Message struct {
	ID   string `json:"-"`
	Text string `json:"text"`
}

// Ordered is work that another system ordered under a number of its own.
type Ordered struct {
	Number   string `json:"number"`
	Text     string `json:"text"`     // what is to be done
	Wanted   string `json:"wanted"`   // the day by which it is wanted, "" if none was given
	Priority string `json:"priority"` // urgent, soon or normal
	From     string `json:"from"`     // the system
	Done     string `json:"done"`     // the approved visit that did it, "" while the order is open
}

// ReadInstrument reads an instrument.
func ReadInstrument(s merge.State) (Instrument, error) {
	r, b := open(&s, "instrument")
	v := Instrument{
		Base: b, Tag: r.text("tag"), Serial: r.text("serial"), Description: r.text("description"), Kind: r.text("kind"),
		Manufacturer: r.text("manufacturer"), Model: r.text("model"), Method: r.text("method"), Medium: r.text("medium"),
		Area: r.text("area"), Place: r.text("place"), Note: r.text("note"), Due: r.text("due"), Status: r.text("status"), Label: r.text("label"),
		Customer: r.lines("customer"), Language: r.text("language"),
	}
	r.take("range", &v.Range)
	r.take("resolution", &v.Resolution)
	r.take("overload", &v.Overload)
	r.take("limit", &v.Limit)
	r.take("cautions", &v.Cautions)
	r.take("aliases", &v.Aliases)
	r.take("interval_months", &v.IntervalMonths)
	r.many("message", func(id string, f *merge.Field) {
		m := Message{ID: id}
		if r.take(f.Name, &m) {
			v.Messages = append(v.Messages, m)
		}
	})
	r.many("order", func(_ string, f *merge.Field) {
		var o Ordered
		if r.take(f.Name, &o) {
			v.Orders = append(v.Orders, o)
		}
	})
	return v, r.err
}

// Stop is one instrument of a round.
type Stop struct {
	Instrument string `json:"instrument"`
	Method     string `json:"method"`
}

// Round is a day's list of stops for a person.
type Round struct {
	Base
	Date, Person, Title string
	Stops               []Stop
}

// ReadRound reads a round.
func ReadRound(s merge.State) (Round, error) {
	r, b := open(&s, "round")
	v := Round{Base: b, Date: r.text("date"), Person: r.text("person"), Title: r.text("title")}
	r.take("stops", &v.Stops)
	return v, r.err
}

// Certificate is the issued document of an approved visit.
type Certificate struct {
	Base
	Number, Issued, By, PDF, Fingerprint string
	Machine                              string      // SHA-256 of its machine-readable form, "" if it has none
	Replaces, Why, Different             string      // of the replaced certificate: number, why, what is different
	Letterhead                           *Letterhead // for one whose document is drawn from the record on demand; PDF is "" then
	Signed                               *SignedRecord
}

// SignedRecord is the signature of the office's key on a certificate.
type SignedRecord struct {
	Record    string `json:"record"`    // SHA-256 of the canonical record, stored as a blob
	Signature string `json:"signature"` // detached JWS over it
	Code      string `json:"code"`      // of the paper
}

// Letterhead is what an office states on its certificates, with the address at which its records
// are found.
type Letterhead struct {
	Name     string   `json:"name"`
	Address  []string `json:"address"`
	Customer []string `json:"customer"`
	Country  string   `json:"country,omitempty"` // two letters of ISO 3166-1
	Base     string   `json:"base,omitempty"`
	Paper    string   `json:"paper,omitempty"`    // A4 or letter
	Language string   `json:"language,omitempty"` // of the certificate in ISO 639-1; "" is English
	// Accreditation is nil for a certificate that states none.
	Accreditation *Accreditation `json:"accreditation,omitempty"`
}

// Accreditation is what a laboratory states of its accreditation on certificates within its scope.
type Accreditation struct {
	Text   string `json:"text"` // of the mark: by whom, to which document
	Number string `json:"number"`
	Scope  string `json:"scope"`
}

// ReadCertificate reads a certificate.
func ReadCertificate(s merge.State) (Certificate, error) {
	r, b := open(&s, "certificate")
	v := Certificate{Base: b, Number: r.text("number"), Issued: r.text("issued"), By: r.text("by"), PDF: r.text("pdf"),
		Fingerprint: r.text("fingerprint"), Machine: r.text("machine"), Replaces: r.text("replaces"), Why: r.text("why"), Different: r.text("different")}
	r.take("letterhead", &v.Letterhead)
	r.take("signed", &v.Signed)
	return v, r.err
}

// load finds a record and reads it.
func load[T any](src Source, id string, read func(merge.State) (T, error)) (T, error) {
	var none T
	s, ok, err := src.Record(id)
	if err != nil {
		return none, err
	}
	if !ok {
		return none, fmt.Errorf("record %q %w", id, ErrNotFound)
	}
	return read(s)
}

// LoadInstrument reads an instrument by its record id.
func LoadInstrument(src Source, id string) (Instrument, error) { return load(src, id, ReadInstrument) }

// LoadSite reads a site by its record id.
func LoadSite(src Source, id string) (Site, error) { return load(src, id, ReadSite) }

// LoadPerson reads a person by the user id.
func LoadPerson(src Source, id string) (Person, error) { return load(src, id, ReadPerson) }

// LoadVisit reads a visit by its record id, with access to loggers' records if the source keeps
// blobs.
func LoadVisit(src Source, id string) (Visit, error) {
	v, err := load(src, id, ReadVisit)
	v.blobs, _ = src.(Blobs)
	return v, err
}

// All reads every record of a kind, such as All(src, "instrument", ReadInstrument), in order of
// arrival.
func All[T any](src Source, kind string, read func(merge.State) (T, error)) ([]T, error) {
	states, err := src.ByKind(kind, "", 0)
	if err != nil {
		return nil, err
	}
	list := make([]T, 0, len(states))
	for _, s := range states {
		v, err := read(s)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	return list, nil
}

// Find returns the instrument for a text: its tag, its label, or its serial number.
//
// Refuses: ErrNotFound; ErrSeveral if more than one instrument has that tag or serial number.
func Find(src Source, text string) (Instrument, error) {
	text = strings.TrimSpace(text)
	for _, field := range []string{"tag", "label", "serial"} {
		key := text
		if field == "label" {
			key = strings.ToLower(text)
		}
		found, err := src.Lookup("instrument", field, key)
		switch {
		case err != nil:
			return Instrument{}, err
		case len(found) == 1:
			return ReadInstrument(found[0])
		case len(found) > 1:
			return Instrument{}, fmt.Errorf("the %s %q %w", field, text, ErrSeveral)
		}
	}
	return Instrument{}, fmt.Errorf("an instrument with the tag, label or serial %q %w", text, ErrNotFound)
}

// History returns the visits to an instrument, earliest first.
func History(src Source, instrument string) ([]Visit, error) {
	kids, err := src.Children(instrument)
	if err != nil {
		return nil, err
	}
	var list []Visit
	for _, s := range kids {
		if s.Kind != "visit" {
			continue
		}
		v, err := ReadVisit(s)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	slices.SortStableFunc(list, func(a, b Visit) int {
		return strings.Compare(a.Started, b.Started)
	})
	return list, nil
}

// clone copies a value's bytes, so that a caller cannot alter them.
func clone(b []byte) json.RawMessage { return bytes.Clone(b) }

// ReadOrdered reads the value of a field order.ID; a null or damaged one is empty.
func ReadOrdered(value []byte) (o Ordered) {
	if json.Unmarshal(value, &o) != nil {
		return Ordered{}
	}
	return o
}
