package certificates

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/paper"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"

	"codeberg.org/go-pdf/fpdf"
)

var (
	// ErrNotReady is wrapped, with the reason, when no certificate can be written for a visit.
	ErrNotReady = errors.New("no certificate can be written")
	// ErrIncomplete is wrapped when something is missing that the office has to state.
	ErrIncomplete = errors.New("a certificate has to state this")
)

// Office is what the office states on its certificates.
type Office struct {
	Name     string   // of the laboratory or workshop
	Address  []string // lines
	Customer []string // the owner of the instrument: lines of name and address
	Country  string   // of the laboratory, two letters of ISO 3166-1; "" for a certificate that only people read
	Base     string   // the address where the record is found, such as https://gauges.example; "" for no code
	Paper    string   // paper size, A4 or Letter; "" is A4
	Language string   // of the paper, one of Languages; "" is English
	// Accreditation is stated if it is not nil.
	Accreditation *plant.Accreditation
}

// OfficeOf is what a certificate drawn from its record states: its letterhead at that time.
func OfficeOf(h *plant.Letterhead) Office {
	return Office{
		Name: h.Name, Address: h.Address, Customer: h.Customer, Country: h.Country, Base: h.Base, Paper: h.Paper,
		Language:      h.Language,
		Accreditation: h.Accreditation,
	}
}

// Input is everything a certificate states.
type Input struct {
	Office         Office
	Number         string
	Issued         time.Time
	Visit          plant.Visit
	Found          *plant.Run // nil for a test after a failure that an earlier visit found
	Left           *plant.Run // nil if nothing was adjusted
	FoundOn        string     // when that earlier visit was
	Technician     Who
	Approver       Who
	Issuer         Who    // without a name if it is not recorded who issued it
	Place          string // where the work was done
	BarometerBy    string // the laboratory that calibrated the barometer beside a gauge standard
	MeterBy        string // the laboratory that calibrated the meter at a transmitter's output
	Rests          string // SHA-256 of the file of the standard's certificate, "" if none is kept
	Calibrator     string // the laboratory that calibrated the standard, "" if not recorded
	Record         string // the fingerprint of the visit's record
	Replaces       string // number of the certificate that this one replaces, or ""
	Why            string // why it does
	ReplacesRecord string // the fingerprint of the record of the certificate that this one replaces, or ""
	ReplacesSigned string // the SHA-256 of that certificate's signed record, or ""
	Change         string // what differs from it
	// Signed is the record signed with the laboratory's key, which the PDF contains and its code
	// names; nil if it is not signed.
	Signed *paper.Signed

	draft bool // set by Draft
	// How the runs of a programme went; nil for another kind of work.
	foundCourse, leftCourse *plant.Course
}

// Who is a person with their function in the laboratory, "" if that is not recorded.
type Who struct{ Name, Function string }

// Gather reads what a certificate of an approved visit needs.
//
// Refuses: ErrNotReady for a visit that is not approved, has contested fields, failed the office's
// recalculation, or lacks a complete as-found run (or, if adjusted, an as-left run) with its
// finding.
func Gather(src plant.Source, visit string, office Office, number string, issued time.Time) (Input, error) {
	return read(src, visit, Input{Office: office, Number: number, Issued: issued})
}

// Draft reads what the certificate of a visit would state as it is now, before approval. Each page
// is marked as a draft; there is no number, no code and no signature.
//
// Refuses: ErrNotReady for a visit in which nothing has been judged yet.
func Draft(src plant.Source, visit string, office Office, at time.Time) (Input, error) {
	office.Base, office.Country = "", "" // what a machine could take for a certificate
	return read(src, visit, Input{Office: office, Number: draftNumber, Issued: at, draft: true})
}

// follow determines how the runs of a programme went.
func (in *Input) follow(src plant.Source) (err error) {
	if in.Found != nil {
		if in.foundCourse, err = in.Visit.Course(src, in.Found); err != nil {
			return err
		}
	}
	if in.Left != nil {
		in.leftCourse, err = in.Visit.Course(src, in.Left)
	}
	return err
}

// draftNumber is shown in place of a draft's missing number.
const draftNumber = "DRAFT"

func read(src plant.Source, visit string, in Input) (Input, error) {
	state, ok, err := src.Record(visit)
	if err != nil {
		return Input{}, err
	}
	if !ok {
		return Input{}, fmt.Errorf("visit %q %w", visit, plant.ErrNotFound)
	}
	v, err := plant.ReadVisit(state)
	if err != nil {
		return Input{}, err
	}
	kids, err := src.Children(visit)
	if err != nil {
		return Input{}, err
	}
	kids = slices.DeleteFunc(kids, func(s merge.State) bool { return s.Kind != "run" })
	runs, err := plant.Runs(src, visit)
	if err != nil {
		return Input{}, err
	}
	found, left := v.Speaking(runs)
	stands := ready
	if in.draft {
		stands = judged
	}
	if err := stands(&v, runs, found, left); err != nil {
		return Input{}, err
	}
	in.Visit, in.Found, in.Left, in.Record = v, found, left, Fingerprint(state, kids)
	if found == nil && v.Since.Visit != "" {
		if in.FoundOn, err = foundOn(src, &v); err != nil {
			return Input{}, err
		}
	}
	if err := in.follow(src); err != nil {
		return Input{}, err
	}
	in.Technician, err = who(src, v.Person)
	if err != nil && !(in.draft && errors.Is(err, ErrIncomplete)) { // the office knows them by their account
		return Input{}, err
	}
	if v.Approval != nil {
		if in.Approver, err = who(src, v.Approval.By); err != nil {
			return Input{}, err
		}
	}
	if in.Office.Customer, err = customer(src, &v, in.Office.Customer); err != nil {
		return Input{}, err
	}
	t := in.tongue()
	if in.Calibrator, in.Rests, err = t.calibrator(src, v.Standard); err != nil {
		return Input{}, err
	}
	if v.Barometer != nil {
		if in.BarometerBy, _, err = t.calibrator(src, v.Barometer); err != nil {
			return Input{}, err
		}
	}
	if v.Meter != nil {
		if in.MeterBy, _, err = t.calibrator(src, v.Meter); err != nil {
			return Input{}, err
		}
	}
	in.Place = joined(", ", v.Item.Area, v.Item.Place)
	if v.Site != "" {
		site, err := plant.LoadSite(src, v.Site)
		if err != nil && !errors.Is(err, plant.ErrNotFound) {
			return Input{}, err
		}
		in.Place = joined(", ", site.Name, in.Place)
	}
	return in, nil
}

// judged returns why a visit has nothing yet that a draft could state, or nil.
func judged(v *plant.Visit, _ []plant.Run, found, left *plant.Run) error {
	switch {
	case v.Standard == nil:
		return notReady(v, "no standard is recorded")
	case found == nil && left == nil:
		return notReady(v, "it has no closed run")
	case found != nil && found.Finding == nil || left != nil && left.Finding == nil:
		return notReady(v, "a run has no finding")
	}
	return nil
}

func notReady(v *plant.Visit, format string, args ...any) error {
	return fmt.Errorf("%w of visit %s: %s", ErrNotReady, v.ID, fmt.Sprintf(format, args...))
}

func ready(v *plant.Visit, runs []plant.Run, found, left *plant.Run) error {
	no := func(format string, args ...any) error { return notReady(v, format, args...) }
	contested := slices.Clone(v.Contested)
	for _, r := range runs {
		contested = append(contested, r.Contested...)
	}
	switch {
	case v.Status != plant.Approved:
		return no("it is %s, not approved", v.Status)
	case len(contested) > 0:
		return no("there are conflicts: choose between the values of %s", strings.Join(contested, ", "))
	case len(v.Checks) > 0:
		return no("the office's recalculation differs: %s", v.Checks[0].Text)
	case v.NotTested != nil:
		return no("it was not tested: %s", v.NotTested.Reason)
	case v.Method.Version < 1 && v.Method.Name != "":
		return no("its method is a draft (version %d): keep it as a version, and do the work by that", v.Method.Version)
	case v.Standard == nil:
		return no("no standard is recorded")
	case found == nil && (v.Since.Visit == "" || left == nil):
		return no("it has no closed as-found run")
	case found != nil && found.Finding == nil:
		return no("the as-found run has no finding")
	case found != nil && !found.Finding.Complete:
		return no("the as-found run is not whole")
	case v.Adjusted != nil && v.Adjusted.Done && left == nil:
		return no("it was adjusted and has no as-left run")
	case left != nil && (left.Finding == nil || !left.Finding.Complete):
		return no("the as-left run is not whole")
	}
	return nil
}

// foundOn returns when the visit took place that found the failure after which v tests.
//
// Refuses: ErrNotReady if that visit is not on record, is of another instrument, or found no
// failure.
func foundOn(src plant.Source, v *plant.Visit) (string, error) {
	no := fmt.Errorf("%w of visit %s: the visit that it follows found no failure of this instrument", ErrNotReady, v.ID)
	state, ok, err := src.Record(v.Since.Visit)
	if err != nil {
		return "", err
	}
	if !ok {
		return "", no
	}
	earlier, err := plant.ReadVisit(state)
	if err != nil {
		return "", err
	}
	runs, err := plant.Runs(src, earlier.ID)
	if err != nil {
		return "", err
	}
	if earlier.Instrument != v.Instrument || !earlier.Outcome(runs).Failed {
		return "", no
	}
	return earlier.Started, nil
}

// part is a run with its name on paper.
type part struct {
	when string
	run  *plant.Run
}

// parts are the runs that a certificate reports: as found, as left, or both.
func (in *Input) parts() (list []part) {
	for _, p := range []part{{"As found", in.Found}, {"As left", in.Left}} {
		if p.run != nil {
			list = append(list, p)
		}
	}
	return list
}

// customer returns the owner of a visit's item: from the instrument's record, else from its site's,
// else the laboratory's usual one.
func customer(src plant.Source, v *plant.Visit, usual []string) ([]string, error) {
	i, err := plant.LoadInstrument(src, v.Instrument)
	switch {
	case errors.Is(err, plant.ErrNotFound), errors.Is(err, plant.ErrKind): // a standard does not belong to a customer
	case err != nil:
		return nil, err
	case len(i.Customer) > 0:
		return i.Customer, nil
	}
	if v.Site == "" {
		return usual, nil
	}
	site, err := plant.LoadSite(src, v.Site)
	if err != nil && !errors.Is(err, plant.ErrNotFound) {
		return nil, err
	}
	if len(site.Customer) > 0 {
		return site.Customer, nil
	}
	return usual, nil
}

// calibrator returns the laboratory named on the certificate of a standard that a visit used, and
// the SHA-256 of that certificate's file if it is kept. Both are "" if the standard's record has no
// certificate with that number.
func (t tongue) calibrator(src plant.Source, used *plant.StandardUsed) (by, file string, err error) {
	if used.ID == "" || used.Snapshot.CertificateNo == "" {
		return "", "", nil
	}
	s, ok, err := src.Record(used.ID)
	if err != nil || !ok {
		return "", "", err
	}
	for _, f := range s.Fields {
		if !strings.HasPrefix(f.Name, "certificate.") || len(f.Heads) == 0 {
			continue
		}
		var c struct{ Number, By, Accreditation, File string }
		if json.Unmarshal(f.Heads[0].Value, &c) == nil && c.Number == used.Snapshot.CertificateNo &&
			(c.By != "" || c.File != "") {
			if c.By != "" {
				by = c.By + t.accredited(c.Accreditation)
			}
			return by, c.File, nil
		}
	}
	return "", "", nil
}

func who(src plant.Source, id string) (Who, error) {
	p, err := plant.LoadPerson(src, id)
	switch {
	case errors.Is(err, plant.ErrNotFound):
		return Who{}, fmt.Errorf("%w: the name of the person %q", ErrIncomplete, id)
	case err != nil:
		return Who{}, err
	}
	return Who{p.Name, cmp.Or(p.Function, p.Role)}, nil
}

// IssuedBy notes who issues the certificate. Refuses: ErrIncomplete for a person without a record.
func (in *Input) IssuedBy(src plant.Source, id string) (err error) {
	in.Issuer, err = who(src, id)
	return err
}

// Fingerprint returns the SHA-256, in hexadecimal digits, of a visit's record as it was signed: the
// canonical bytes of {"visit":STATE,"runs":[STATE…]} with the runs in the order of their ids,
// without what the office adds (approval, check, returned, reopened, late, seen).
func Fingerprint(visit merge.State, runs []merge.State) string {
	signed := visit
	signed.Fields = slices.DeleteFunc(slices.Clone(visit.Fields), func(f merge.Field) bool {
		return plant.OfficeField(f.Name)
	})
	runs = slices.Clone(runs)
	slices.SortFunc(runs, func(a, b merge.State) int { return strings.Compare(a.ID, b.ID) })
	w := document.NewWriter(nil)
	w.Begin()
	w.Raw("visit", signed.Bytes())
	w.BeginList("runs")
	for i := range runs {
		w.RawItem(runs[i].Bytes())
	}
	w.EndList()
	w.End()
	sum := sha256.Sum256(w.Bytes())
	return hex.EncodeToString(sum[:])
}

// Link returns the address of a visit's record on the server at base.
func Link(base, visit string) string { return strings.TrimSuffix(base, "/") + "/visit/" + visit }

// complete refuses an input that would leave a blank on the certificate.
func (in *Input) complete() error {
	for _, x := range []struct {
		is   bool
		what string
	}{
		{in.Number != "", "a number"}, {!in.Issued.IsZero(), "the date of issue"}, {
			in.Office.Name != "", "the laboratory's name",
		},
		{len(in.Office.Address) > 0, "the laboratory's address"}, {len(in.Office.Customer) > 0, "the customer"}, {
			in.Visit.Item.Tag+in.Visit.Item.Serial != "", "the item's tag or serial",
		},
		{in.Visit.Method.Name != "", "the method"}, {
			in.Visit.Started != "", "the date of the work",
		}, {in.Visit.Standard != nil, "the standard"},
		{in.Technician.Name != "", "who did the work"}, {in.draft || in.Approver.Name != "", "who authorises it"}, {
			len(in.parts()) > 0 && in.parts()[0].run.Finding != nil, "the results",
		},
		{in.Replaces == "" || in.Change != "", "what is different from the certificate it replaces"},
		{
			in.Replaces == "" || in.Why != "", "why it replaces another certificate",
		}, {len(in.Record) == 64, "the record's fingerprint"},
	} {
		if !x.is {
			return fmt.Errorf("%w: %s", ErrIncomplete, x.what)
		}
	}
	if in.Office.Base != "" {
		if u, err := url.Parse(in.Office.Base); err != nil || u.Scheme == "" || u.Host == "" {
			return fmt.Errorf("%w: the server's address; %q is none", ErrIncomplete, in.Office.Base)
		}
	}
	return nil
}

// usual is how many pages most certificates have: those are written only once.
const usual = 2

// PDF draws the certificate; the same input gives the same bytes.
func PDF(in Input) ([]byte, error) {
	if err := in.complete(); err != nil {
		return nil, err
	}
	files, err := in.files()
	if err != nil {
		return nil, err
	}
	code, err := in.code()
	if err != nil {
		return nil, err
	}
	total := usual
	for range 3 { // until the stated number of pages is the actual one
		s := newSheet(&in, code, total)
		s.write()
		if n := s.pdf.PageCount(); n != total && s.pdf.Ok() {
			total = n
			continue
		}
		s.pdf.SetAttachments(files)
		var b bytes.Buffer
		if err := s.pdf.Output(&b); err != nil {
			return nil, fmt.Errorf("write certificate %s: %w", in.Number, err)
		}
		return b.Bytes(), nil
	}
	return nil, fmt.Errorf("certificate %s: the number of pages does not settle", in.Number)
}

// files are the attachments of the PDF: the machine-readable form and the signed record.
func (in *Input) files() (list []fpdf.Attachment, err error) {
	var machine []byte
	switch {
	case in.Signed != nil:
		machine = in.Signed.XML
	case in.Office.Country != "":
		if machine, err = Machine(*in); err != nil {
			return nil, err
		}
	}
	if machine != nil {
		list = append(list, fpdf.Attachment{
			Content: machine, Filename: MachineName, Description: "digital calibration certificate, DCC 3.3.0",
		})
	}
	if in.Signed != nil {
		list = append(list, fpdf.Attachment{
			Content: in.Signed.Record, Filename: paper.RecordName, Description: "the record, canonical JSON (RFC 8785)",
		}, fpdf.Attachment{
			Content: []byte(in.Signed.Signature), Filename: paper.SignatureName,
			Description: "the laboratory's signature over the record (RFC 7515, detached)",
		})
	}
	return list, nil
}

// definition is what a certificate says about a method.
type definition struct {
	Kind   string
	Points struct {
		Count            int
		Values, Percents []plant.Decimal
	}
	Directions string
	Cycles     int
	Exercise   int
	Tap        bool
	HoldS      float64 `json:"hold_s"`
	HoldTopS   float64 `json:"hold_top_s"`
	Way        string
	Decision   struct {
		Rule           string
		GuardFactor    plant.Decimal `json:"guard_factor"`
		MinProbability plant.Decimal `json:"min_probability"`
		Coverage       float64
	}
}

func (in *Input) definition() (d definition, err error) {
	if len(in.Visit.Method.Definition) == 0 {
		return d, nil
	}
	var kind struct{ Kind string }
	if err = json.Unmarshal(in.Visit.Method.Definition, &kind); err != nil {
		return d, err
	}
	if kind.Kind != "" && kind.Kind != "gauge" { // whose points have a form of their own
		d.Kind = kind.Kind
		return d, nil
	}
	err = json.Unmarshal(in.Visit.Method.Definition, &d)
	return d, err
}
