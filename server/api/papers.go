package api

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/certificates"
	"gaugewright/server/labels"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"

	"github.com/labstack/echo/v4"
)

var (
	errIssued     = errors.New("the visit has its certificate already")
	errNotYet     = errors.New("the visit is not approved")
	errLetterhead = errors.New("a certificate states the laboratory's name and address and the customer")
	errLabels     = errors.New("name the instruments, none twice")
)

// letterhead is what the office states on its certificates.
type letterhead struct {
	Name     string   `json:"name"`
	Address  []string `json:"address"`
	Customer []string `json:"customer"`
}

// maxLetterhead caps the lines of an address and the letters of a line: what fits a certificate's head.
const maxLetterhead, maxLine = 8, 80

func (s *server) readLetterhead() (l letterhead, err error) {
	b, err := s.Store.Private("office").Get("letterhead")
	if err != nil || b == nil {
		return letterhead{Address: []string{}, Customer: []string{}}, err
	}
	err = json.Unmarshal(b, &l)
	return l, err
}

func (s *server) letterhead(c echo.Context) error {
	l, err := s.readLetterhead()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, l)
}

func (s *server) setLetterhead(c echo.Context) error {
	var l letterhead
	if err := decode(c, &l); err != nil {
		return err
	}
	l.Name = strings.TrimSpace(l.Name)
	for _, lines := range [][]string{{l.Name}, l.Address, l.Customer} {
		if len(lines) == 0 || len(lines) > maxLetterhead || slices.ContainsFunc(lines, func(x string) bool { return strings.TrimSpace(x) == "" || len(x) > maxLine }) {
			return fmt.Errorf("%w: from 1 to %d lines each, of 1 to %d letters", errLetterhead, maxLetterhead, maxLine)
		}
	}
	b, err := json.Marshal(l)
	if err != nil {
		return err
	}
	if err := s.Store.Private("office").Put("letterhead", b); err != nil {
		return err
	}
	return c.JSON(http.StatusOK, l)
}

// base is the address by which the sender reached the server, which is the one that phones use.
func (s *server) base(c echo.Context) string {
	scheme := "http"
	if s.Secure {
		scheme = "https"
	}
	return scheme + "://" + c.Request().Host
}

// over is a source in which some records are as they will be.
type over struct {
	plant.Source
	states map[string]merge.State
}

func (o over) Record(id string) (merge.State, bool, error) {
	if s, ok := o.states[id]; ok {
		return s, true, nil
	}
	return o.Source.Record(id)
}

// people drafts the records of accounts that have none yet: a certificate names people by their records, since an account can be ended.
func (s *server) people(p *plant.Pen, o over, ids ...string) (list []change.Change, err error) {
	users, err := s.Keeper.Users()
	if err != nil {
		return nil, err
	}
	for _, u := range users {
		_, there, err := o.Record(u.ID)
		if err != nil {
			return nil, err
		}
		if there || !slices.Contains(ids, u.ID) {
			continue
		}
		one, state, err := p.Edit(merge.State{ID: u.ID, Kind: "person"}, s.Now(), plant.Set{Field: "name", Value: u.Name}, plant.Set{Field: "role", Value: u.Role})
		if err != nil {
			return nil, err
		}
		list, o.states[u.ID] = append(list, one), state
	}
	return list, nil
}

// issued is what became of a certificate: its record and number, or why there is none.
type issued struct {
	ID      string `json:"id"`
	Number  string `json:"number"`
	Without string `json:"without"`
}

// issue drafts the certificate of an approved visit, with the PDF kept beside the records; mu of the desk is held. What stands in the way is no error: the approval
// stands, and the certificate can be issued later.
func (s *server) issue(p *plant.Pen, o over, visit, base string) (issued, []change.Change, error) {
	head, err := s.readLetterhead()
	if err != nil {
		return issued{}, nil, err
	}
	if head.Name == "" {
		return issued{Without: errLetterhead.Error()}, nil, nil
	}
	state, _, err := o.Record(visit)
	if err != nil {
		return issued{}, nil, err
	}
	v, err := plant.ReadVisit(state)
	if err != nil {
		return issued{}, nil, err
	}
	list, err := s.people(p, o, v.Person, v.Approval.By)
	if err != nil {
		return issued{}, nil, err
	}
	year, n := s.Now().Year(), 1
	if s.desk.pen.Year >= year {
		year, n = s.desk.pen.Year, s.desk.pen.Number+1
	}
	number := fmt.Sprintf("%d-%05d", year, n)
	earlier, err := s.replaced(o, visit)
	if err != nil {
		return issued{}, nil, err
	}
	in, err := certificates.Gather(o, visit, certificates.Office{Name: head.Name, Address: head.Address, Customer: head.Customer, Base: base}, number, s.Now())
	if err == nil {
		in.Replaces, in.Why, in.Change = earlier.number, earlier.why, earlier.different
		var pdf []byte
		if pdf, err = certificates.PDF(in); err == nil {
			sum := sha256.Sum256(pdf)
			name := hex.EncodeToString(sum[:])
			if err := s.Store.PutBlob(name, pdf); err != nil {
				return issued{}, nil, err
			}
			fields := []plant.Set{{Field: "number", Value: number}, {Field: "issued", Value: plant.Stamp(s.Now())}, {Field: "by", Value: p.Author},
				{Field: "pdf", Value: name}, {Field: "fingerprint", Value: in.Record}}
			if in.Replaces != "" {
				fields = append(fields, plant.Set{Field: "replaces", Value: in.Replaces}, plant.Set{Field: "why", Value: in.Why}, plant.Set{Field: "different", Value: in.Change})
			}
			one, certificate, err := p.New("certificate", state.Site, visit, s.Now(), fields...)
			return issued{ID: certificate.ID, Number: number}, append(list, one), err
		}
	}
	if errors.Is(err, certificates.ErrNotReady) || errors.Is(err, certificates.ErrIncomplete) {
		return issued{Without: err.Error()}, nil, nil
	}
	return issued{}, nil, err
}

// certify issues the certificate of a visit that was approved without one.
func (s *server) certify(c echo.Context) error {
	user := c.Get("user").(auth.User)
	var out issued
	err := s.desk.write(c.Request().Context(), user.ID, func(p *plant.Pen) ([]change.Change, error) {
		_, v, err := s.approvedVisit(c.Param("id"))
		if err != nil {
			return nil, err
		}
		have, err := s.certificatesOf(v.ID)
		switch {
		case err != nil:
			return nil, err
		case slices.ContainsFunc(have, func(c paper) bool { return c.InForce }):
			return nil, errIssued
		}
		var list []change.Change
		out, list, err = s.issue(p, over{s.Store, map[string]merge.State{}}, v.ID, s.base(c))
		return list, err
	})
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"certificate": out})
}

// paper is a certificate of a visit, in a list.
type paper struct {
	ID         string `json:"id"`
	Number     string `json:"number"`
	Issued     string `json:"issued"`
	Replaces   string `json:"replaces"` // number of the certificate whose place it takes, or ""
	Why        string `json:"why"`
	Different  string `json:"different"`
	ReplacedBy string `json:"replaced_by"` // number of the certificate that took its place, or ""
	InForce    bool   `json:"in_force"`    // it stands for the visit as it is approved now
}

// certificatesOf lists the certificates of a visit by their numbers, replaced ones too.
func (s *server) certificatesOf(visit string) ([]paper, error) {
	kids, err := s.Store.Children(visit)
	if err != nil {
		return nil, err
	}
	list := []paper{}
	state, ok, err := s.Store.Record(visit)
	if err != nil || !ok {
		return list, err
	}
	of, err := plant.ReadVisit(state)
	if err != nil {
		return nil, err
	}
	approval, _ := state.Field("approval")
	for _, k := range kids {
		if k.Kind != "certificate" {
			continue
		}
		v, err := plant.ReadCertificate(k)
		if err != nil {
			return nil, err
		}
		one := paper{ID: v.ID, Number: v.Number, Issued: v.Issued, Replaces: v.Replaces, Why: v.Why, Different: v.Different}
		// written with the approval that names it, or later for one that was given without
		if number, ok := k.Field("number"); ok && of.Approval != nil {
			one.InForce = of.Approval.Certificate == v.ID || number.Heads[0].Stamp.String() > approval.Heads[0].Stamp.String()
		}
		list = append(list, one)
	}
	slices.SortFunc(list, func(a, b paper) int { return strings.Compare(a.Number, b.Number) })
	for _, later := range list {
		for i := range list {
			if later.Replaces != "" && list[i].Number == later.Replaces {
				list[i].ReplacedBy = later.Number
			}
		}
	}
	return list, nil
}

func (s *server) certificate(c echo.Context) error {
	id, isPDF := strings.CutSuffix(c.Param("file"), ".pdf")
	if !isPDF {
		return echo.ErrNotFound
	}
	state, err := s.record(id)
	if err != nil {
		return err
	}
	v, err := plant.ReadCertificate(state)
	if err != nil {
		return err
	}
	b, err := s.document(&v)
	if err != nil {
		return err
	}
	return file(c, "application/pdf", "certificate-"+v.Number+".pdf", b)
}

// document gives a certificate's bytes: those that were kept, or drawn from the record as it stood when the certificate was written. The same
// record gives the same bytes each time; one that is not what the fingerprint says gives none.
func (s *server) document(v *plant.Certificate) ([]byte, error) {
	if v.PDF != "" || v.Letterhead == nil {
		return s.Store.Blob(v.PDF)
	}
	born, err := s.Store.History(v.ID)
	if err != nil {
		return nil, err
	}
	at, err := time.Parse(time.RFC3339, v.Issued)
	if err != nil || len(born) == 0 {
		return nil, fmt.Errorf("certificate %s: field issued %w", v.ID, plant.ErrValue)
	}
	h := v.Letterhead
	in, err := certificates.Gather(plant.AsOf(s.Store, born[0].Seq), v.Parent, certificates.Office{Name: h.Name, Address: h.Address, Customer: h.Customer, Base: h.Base}, v.Number, at)
	if err != nil {
		return nil, err
	}
	if in.Record != v.Fingerprint {
		return nil, fmt.Errorf("certificate %s: field fingerprint %w: the record is another one", v.ID, plant.ErrValue)
	}
	in.Replaces, in.Why, in.Change = v.Replaces, v.Why, v.Different
	return certificates.PDF(in)
}

// file hands bytes over to be kept, not to be shown as a page of this server.
func file(c echo.Context, kind, name string, b []byte) error {
	c.Response().Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	return c.Blob(http.StatusOK, kind, b)
}

// labelled returns the labels of instruments; one that has none yet is given one.
func (s *server) labelled(ctx context.Context, author, base string, ids []string) ([]labels.Label, error) {
	var list []labels.Label
	err := s.desk.write(ctx, author, func(p *plant.Pen) ([]change.Change, error) {
		var fresh []change.Change
		for _, id := range ids {
			state, err := s.record(id)
			if err != nil {
				return nil, err
			}
			v, err := plant.ReadInstrument(state)
			if err != nil {
				return nil, err
			}
			if v.Label == "" {
				if v.Label, err = newID(); err != nil {
					return nil, err
				}
				v.Label = v.Label[:labelLength]
				one, _, err := p.Edit(state, s.Now(), plant.Set{Field: "label", Value: v.Label})
				if err != nil {
					return nil, err
				}
				fresh = append(fresh, one)
			}
			link, err := labels.Link(base, v.Label)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", v.Tag, err)
			}
			list = append(list, labels.Label{Link: link, Tag: v.Tag, Text: fmt.Sprintf("%s … %s %s", v.Range.Low, v.Range.High, v.Range.Unit)})
		}
		return fresh, nil
	})
	return list, err
}

// labelLength makes 50 random bits: two of 100,000 instruments are alike with a chance of some 5 in a million.
const labelLength = 10

// maxSheet caps the labels of one request, which holds the desk while missing labels are given.
const maxSheet = 1000

func (s *server) labelSheet(c echo.Context) error {
	var in struct {
		Instruments []string `json:"instruments"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, id := range in.Instruments {
		seen[id] = true
	}
	if len(seen) == 0 || len(seen) != len(in.Instruments) || len(seen) > maxSheet {
		return fmt.Errorf("%w: 1 to %d", errLabels, maxSheet)
	}
	list, err := s.labelled(c.Request().Context(), c.Get("user").(auth.User).ID, s.base(c), in.Instruments)
	if err != nil {
		return err
	}
	b, err := labels.PDF(list, labels.Default)
	if err != nil {
		return err
	}
	return file(c, "application/pdf", "labels.pdf", b)
}

func (s *server) label(c echo.Context) error {
	id, kind, _ := strings.Cut(c.Param("file"), ".")
	if kind != "svg" && kind != "png" {
		return echo.ErrNotFound
	}
	state, err := s.record(id)
	if err != nil {
		return err
	}
	v, err := plant.ReadInstrument(state)
	if err != nil {
		return err
	}
	link, err := labels.Link(s.base(c), v.Label)
	if err != nil {
		return fmt.Errorf("%s: %w", v.Tag, err)
	}
	const dots = 8
	b, mime := []byte(nil), "image/png"
	if kind == "png" {
		b, err = labels.PNG(link, dots)
	} else {
		mime = "image/svg+xml"
		b, err = labels.SVG(labels.Label{Link: link, Tag: v.Tag, Text: fmt.Sprintf("%s … %s %s", v.Range.Low, v.Range.High, v.Range.Unit)})
	}
	if err != nil {
		return err
	}
	return file(c, mime, "label."+kind, b)
}
