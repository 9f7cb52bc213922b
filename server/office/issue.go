package office

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

var (
	// ErrIssued is wrapped if a visit already has its certificate.
	ErrIssued = errors.New("the visit has its certificate already")
	// ErrAccreditation is returned if a certificate should state an accreditation and the
	// letterhead has none.
	ErrAccreditation = errors.New("the letterhead states no accreditation that a certificate could have")
	// ErrNotApproved is wrapped if a visit has to be approved and is not.
	ErrNotApproved = errors.New("the visit is not approved")
)

// over is a source in which some records are as they will be after a write.
type over struct {
	plant.Source
	states map[string]merge.State
}

func (src over) Record(id string) (merge.State, bool, error) {
	if s, ok := src.states[id]; ok {
		return s, true, nil
	}
	return src.Source.Record(id)
}

// people drafts the missing records of accounts: a certificate names people by their records, since
// an account can end.
func (o *Office) people(p *plant.Drafter, src over, ids ...string) (list []change.Change, err error) {
	users, err := o.keeper.Users()
	if err != nil {
		return nil, err
	}
	for _, u := range users {
		_, there, err := src.Record(u.ID)
		if err != nil {
			return nil, err
		}
		if there || !slices.Contains(ids, u.ID) {
			continue
		}
		one, state, err := p.Edit(
			merge.State{ID: u.ID, Kind: "person"}, o.now(), plant.Set{Field: "name", Value: u.Name},
			plant.Set{Field: "role", Value: u.Role},
		)
		if err != nil {
			return nil, err
		}
		list, src.states[u.ID] = append(list, one), state
	}
	return list, nil
}

// Issued is the result of issuing a certificate: its record and number, or why there is none.
type Issued struct {
	ID      string `json:"id"`
	Number  string `json:"number"`
	Without string `json:"without"`
}

// issue drafts the certificate of an approved visit and keeps its PDF beside the records. If it
// cannot, that is no error: the approval stays, and the certificate can be issued later.
func (o *Office) issue(p *plant.Drafter, src over, visit string, sheet Sheet) (Issued, []change.Change, error) {
	head, err := o.Letterhead()
	if err != nil {
		return Issued{}, nil, err
	}
	if head.Name == "" {
		return Issued{Without: ErrLetterhead.Error()}, nil, nil
	}
	if sheet.Accredited && head.Accreditation == nil {
		return Issued{}, nil, ErrAccreditation
	}
	state, _, err := src.Record(visit)
	if err != nil {
		return Issued{}, nil, err
	}
	v, err := plant.ReadVisit(state)
	if err != nil {
		return Issued{}, nil, err
	}
	list, err := o.people(p, src, v.Person, v.Approval.By, p.Author)
	if err != nil {
		return Issued{}, nil, err
	}
	language, err := head.language(src, &state, sheet)
	if err != nil {
		return Issued{}, nil, err
	}
	number := o.writer.nextNumber(o.now().Year())
	in, err := certificates.Gather(
		src, visit,
		head.states(sheet, language), number, o.now(),
	)
	if err == nil {
		err = in.IssuedBy(src, p.Author)
	}
	var earlier earlier
	if err == nil {
		if earlier, err = o.replaced(src, visit, &in); err != nil {
			return Issued{}, nil, err
		}
		in.Replaces, in.ReplacesRecord, in.Why, in.Change = earlier.number, earlier.record, earlier.why, earlier.different
		in.ReplacesSigned = earlier.signed
		var pdf []byte
		if pdf, err = o.writer.paperOf(&in); err == nil {
			kept, err := o.keepPaper(in.Signed, pdf)
			if err != nil {
				return Issued{}, nil, err
			}
			fields := append([]plant.Set{
				{Field: "number", Value: number}, {Field: "issued", Value: plant.Stamp(o.now())},
				{Field: "by", Value: p.Author}, {Field: "fingerprint", Value: in.Record},
			}, kept...)
			if in.Replaces != "" {
				fields = append(
					fields, plant.Set{Field: "replaces", Value: in.Replaces},
					plant.Set{Field: "why", Value: in.Why},
					plant.Set{Field: "different", Value: in.Change},
				)
			}
			one, certificate, err := p.New("certificate", state.Site, visit, o.now(), fields...)
			return Issued{ID: certificate.ID, Number: number}, append(list, one), err
		}
	}
	if errors.Is(err, certificates.ErrNotReady) || errors.Is(err, certificates.ErrIncomplete) {
		return Issued{Without: err.Error()}, nil, nil
	}
	return Issued{}, nil, err
}

// Issue issues the certificate of a visit that was approved without one; sheet says how.
//
// Refuses: plant.ErrNotFound, ErrNotApproved, ErrIssued.
func (o *Office) Issue(ctx context.Context, user, visit string, sheet Sheet) (out Issued, err error) {
	err = o.writer.Write(ctx, user, func(p *plant.Drafter) ([]change.Change, error) {
		_, v, err := o.approvedVisit(visit)
		if err != nil {
			return nil, err
		}
		have, err := o.certificatesOf(v.ID)
		switch {
		case err != nil:
			return nil, err
		case slices.ContainsFunc(have, func(c Paper) bool { return c.InForce }):
			return nil, ErrIssued
		}
		var list []change.Change
		out, list, err = o.issue(p, over{o.store, map[string]merge.State{}}, v.ID, sheet)
		return list, err
	})
	return out, err
}

// Paper is a certificate of a visit, in a list.
type Paper struct {
	ID         string `json:"id"`
	Number     string `json:"number"`
	Issued     string `json:"issued"`
	Replaces   string `json:"replaces"` // number of the certificate it replaces, or ""
	Why        string `json:"why"`
	Different  string `json:"different"`
	ReplacedBy string `json:"replaced_by"` // number of the certificate that replaced it, or ""
	InForce    bool   `json:"in_force"`    // it belongs to the visit as approved now
	Machine    bool   `json:"machine"`     // it has a machine-readable form

	record string // the fingerprint of its visit's record
	signed string // SHA-256 of its signed record, "" if there is none
}

// certificatesOf lists the certificates of a visit in order of issue, replaced ones too.
func (o *Office) certificatesOf(visit string) ([]Paper, error) {
	list := []Paper{}
	state, ok, err := o.store.Record(visit)
	if err != nil || !ok {
		return list, err
	}
	inForce, err := plant.ReadApproval(state)
	if err != nil {
		return nil, err
	}
	kids, err := o.store.ChildrenOf(visit, "certificate")
	if err != nil {
		return nil, err
	}
	approval, _ := state.Field("approval")
	for _, k := range kids {
		if k.Damaged != "" {
			continue
		}
		v, err := plant.ReadCertificate(k)
		if err != nil {
			return nil, err
		}
		one := Paper{ID: v.ID, Number: v.Number, Issued: v.Issued, Replaces: v.Replaces, Why: v.Why, Different: v.Different,
			Machine: v.Machine != "" || v.Letterhead != nil && v.Letterhead.Country != "", record: v.Fingerprint}
		if v.Signed != nil {
			one.signed = v.Signed.Record
		}
		// written with the approval that names it, or later for one that was given without
		if number, ok := k.Field("number"); ok && inForce != nil {
			one.InForce = inForce.Certificate == v.ID || number.Heads[0].Stamp.String() > approval.Heads[0].Stamp.String()
		}
		list = append(list, one)
	}
	slices.SortFunc(list, func(a, b Paper) int {
		return cmp.Or(strings.Compare(a.Issued, b.Issued), strings.Compare(a.Number, b.Number))
	})
	for _, later := range list {
		for i := range list {
			if later.Replaces != "" && list[i].Number == later.Replaces {
				list[i].ReplacedBy = later.Number
			}
		}
	}
	return list, nil
}

// Document returns a certificate's bytes: those that were kept, or else drawn from the record as it
// was when the certificate was written. The same record gives the same bytes each time. A record
// that does not match the fingerprint gives none.
func (o *Office) Document(v *plant.Certificate) ([]byte, error) {
	if v.PDF != "" || v.Letterhead == nil {
		return o.store.Blob(v.PDF)
	}
	b, came, err := o.brought(v.ID, func(b Brought) string { return b.PDF })
	if came || err != nil {
		return b, err
	}
	_, pdf, err := o.redrawn(v)
	return pdf, err
}

// drawn gathers the input for drawing a certificate whose bytes were not kept.
func (o *Office) drawn(v *plant.Certificate) (in certificates.Input, err error) {
	born, err := o.store.History(v.ID)
	if err != nil {
		return in, err
	}
	at, err := time.Parse(time.RFC3339, v.Issued)
	if err != nil || len(born) == 0 {
		return in, fmt.Errorf("certificate %s: field issued %w", v.ID, plant.ErrValue)
	}
	src := plant.AsOf(o.store, born[0].Seq)
	in, err = certificates.Gather(src, v.Parent, certificates.OfficeOf(v.Letterhead), v.Number, at)
	if err != nil {
		return in, err
	}
	if err := in.IssuedBy(src, v.By); err != nil {
		return in, err
	}
	same := in.Record == v.Fingerprint
	if !same { // unless values of the record were erased since
		if same, err = plant.Attests(o.store, o.store, v.Parent, v.ID, in.Record); err != nil {
			return in, err
		}
	}
	if !same {
		return in, fmt.Errorf("certificate %s: field fingerprint %w: the record is another one", v.ID, plant.ErrValue)
	}
	in.Replaces, in.Why, in.Change = v.Replaces, v.Why, v.Different
	return in, nil
}
