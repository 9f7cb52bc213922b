package office

import (
	"slices"
	"strings"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
)

// The kinds of event at a plant that go out to others.
const (
	VisitSigned       = "visit.signed"
	VisitApproved     = "visit.approved"
	VisitReturned     = "visit.returned"
	VisitReopened     = "visit.reopened"
	InstrumentFailed  = "instrument.failed"
	CertificateIssued = "certificate.issued"
	OrderDone         = "order.done"
	DueSoon           = "instrument.due_soon"
	StandardDueSoon   = "standard.due_soon"
)

// HappeningKinds lists the kinds.
var HappeningKinds = []string{
	VisitSigned, VisitApproved, VisitReturned, VisitReopened, InstrumentFailed, CertificateIssued, OrderDone,
	DueSoon, StandardDueSoon,
}

// Happening is an event at the plant.
type Happening struct {
	Seq  uint64 `json:"-"` // the journal's entry that says so, 0 if none does
	Kind string `json:"-"`
	At   string `json:"-"` // RFC 3339
	Site string `json:"-"` // id of the site it happened at, "" where that is none
	Data Notice `json:"data"`
}

// Notice is what other systems learn of it; a field that does not apply to the kind is "".
type Notice struct {
	Visit       string `json:"visit,omitempty"`
	Instrument  string `json:"instrument,omitempty"`
	Standard    string `json:"standard,omitempty"`
	Tag         string `json:"tag,omitempty"`
	Serial      string `json:"serial,omitempty"`
	Area        string `json:"area,omitempty"`
	Place       string `json:"place,omitempty"`
	Method      string `json:"method,omitempty"`
	AsFound     string `json:"as_found,omitempty"`
	AsLeft      string `json:"as_left,omitempty"`
	Safety      bool   `json:"safety,omitempty"` // it is a safety function
	Order       string `json:"order,omitempty"`
	Certificate string `json:"certificate,omitempty"` // id
	Number      string `json:"number,omitempty"`      // of the certificate
	Due         string `json:"due,omitempty"`
}

// Happened lists the events in the journal after an entry, looking at no more than most entries.
//
// Gives: the entry to continue after; that is from if there is nothing more.
func (o *Office) Happened(from uint64, most int) (list []Happening, last uint64, err error) {
	entries, last, err := o.store.Since(from, most, func(c *change.Change) bool {
		return slices.ContainsFunc(c.Set, func(x change.Setting) bool { return kindOf(c, &x) != "" })
	})
	if err != nil {
		return nil, from, err
	}
	for i := range entries {
		c := &entries[i].Change
		for k := range c.Set {
			kind := kindOf(c, &c.Set[k])
			if kind == "" {
				continue
			}
			notice, err := o.notice(c, kind)
			if Unreadable(err) {
				continue // the office sees it as damaged
			}
			if err != nil {
				return nil, from, err
			}
			one := Happening{
				Seq: entries[i].Seq, Kind: kind, At: o.now().UTC().Format(time.RFC3339), Site: c.Site, Data: notice,
			}
			list = append(list, one)
			if kind == VisitSigned && (notice.AsFound == "fail" || notice.AsFound == "conditional-fail") {
				one.Kind = InstrumentFailed
				list = append(list, one)
			}
		}
	}
	return list, last, nil
}

// kindOf returns the kind of event that a setting of a change reports, or "".
func kindOf(c *change.Change, x *change.Setting) string {
	name, _, _ := strings.Cut(x.Field, ".")
	if string(x.Value) == "null" {
		return ""
	}
	switch c.Kind + " " + name {
	case "visit signature":
		return VisitSigned
	case "visit approval":
		return VisitApproved
	case "visit returned":
		return VisitReturned
	case "visit reopened":
		return VisitReopened
	case "certificate number":
		return CertificateIssued
	case "instrument order":
		if plant.ReadOrdered(x.Value).Done != "" {
			return OrderDone
		}
	}
	return ""
}

// notice gathers what other systems learn of a change.
func (o *Office) notice(c *change.Change, kind string) (t Notice, err error) {
	visit := c.Record
	switch kind {
	case CertificateIssued:
		state, err := o.Record(c.Record)
		if err != nil {
			return t, err
		}
		v, err := plant.ReadCertificate(state)
		if err != nil {
			return t, err
		}
		t.Certificate, t.Number, visit = v.ID, v.Number, c.Parent
	case OrderDone:
		i, err := plant.LoadInstrument(o.store, c.Record)
		if err != nil {
			return t, err
		}
		for _, x := range c.Set {
			if kindOf(c, &x) == OrderDone {
				done := plant.ReadOrdered(x.Value)
				t.Order, visit = done.Number, done.Done
			}
		}
		t.Instrument, t.Tag, t.Serial, t.Area, t.Place = i.ID, i.Tag, i.Serial, i.Area, i.Place
	}
	v, err := plant.LoadVisit(o.store, visit)
	if err != nil {
		return t, err
	}
	runs, err := plant.Runs(o.store, v.ID)
	if err != nil {
		return t, err
	}
	sum := v.Summarise(runs)
	t.Visit, t.Instrument, t.Tag, t.Serial = v.ID, v.Instrument, v.Item.Tag, v.Item.Serial
	t.Area, t.Place, t.Method, t.Order = v.Item.Area, v.Item.Place, v.Method.Name, v.Order.Number
	if sum.AsFound != nil {
		t.AsFound = sum.AsFound.Verdict
	}
	if sum.AsLeft != nil {
		t.AsLeft = sum.AsLeft.Verdict
	}
	t.Safety = slices.ContainsFunc(runs, func(r plant.Run) bool { return r.Safety() })
	return t, nil
}

// DueWithin returns an event for each instrument and standard in service that falls due between two
// days.
func (o *Office) DueWithin(from, to string) (list []Happening, err error) {
	t, err := o.Table(Query{Due: to, Only: map[string][]string{"status": {InService}}, Most: -1})
	if err != nil {
		return nil, err
	}
	at := o.now().UTC().Format(time.RFC3339)
	for _, g := range t.Rows {
		if g.Due >= from {
			list = append(list, Happening{Kind: DueSoon, At: at, Site: g.Site, Data: Notice{
				Instrument: g.ID, Tag: g.Tag, Serial: g.Serial, Area: g.Area, Place: g.Place,
				Method: g.Method, Due: g.Due,
			}})
		}
	}
	all, err := o.store.ByKind("standard", "", 0)
	if err != nil {
		return nil, err
	}
	for _, s := range all {
		v, err := plant.ReadStandard(s)
		if err == nil && (v.Status == "" || v.Status == InService) && v.Due >= from && v.Due <= to {
			list = append(list, Happening{Kind: StandardDueSoon, At: at, Site: s.Site, Data: Notice{
				Standard: v.ID, Tag: v.Name, Serial: v.Serial, Due: v.Due,
			}})
		}
	}
	return list, nil
}
