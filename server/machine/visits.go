package machine

import (
	"fmt"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

func visitOf(v *plant.Visit, names map[string]string) Visit {
	out := Visit{
		ID: v.ID, Instrument: v.Instrument, Tag: v.Item.Tag, Serial: v.Item.Serial, Started: v.Started,
		Status: string(v.Status), Person: called(names, v.Person), Method: v.Method.Name,
		Order: v.Order.Number, Adjusted: v.Adjusted != nil && v.Adjusted.Done,
	}
	if v.Summary.AsFound != nil {
		out.AsFound = v.Summary.AsFound.Verdict
	}
	if v.Summary.AsLeft != nil {
		out.AsLeft = v.Summary.AsLeft.Verdict
	}
	if v.NotTested != nil {
		out.NotTested = v.NotTested.Reason
	}
	if v.Signature != nil {
		out.SignedBy, out.SignedAt = called(names, v.Signature.By), v.Signature.At
	}
	if v.Approval != nil {
		out.ApprovedBy, out.ApprovedAt = called(names, v.Approval.By), v.Approval.At
	}
	return out
}

func called(names map[string]string, id string) string {
	if id == "" {
		return ""
	}
	return office.Called(names, id)
}

func (a *API) visits(c *call) error {
	names, err := a.Office.Names()
	if err != nil {
		return err
	}
	if since := c.QueryParam("since"); since != "" {
		if err := isDay("since", since); err != nil {
			return err
		}
	}
	asked := func(name, value string) bool {
		return !c.QueryParams().Has(name) || c.QueryParam(name) == value
	}
	out := VisitPage{Items: []Visit{}}
	out.Next, err = a.kept(c, "visit", func(s merge.State) (bool, error) {
		v, err := plant.ReadVisit(s)
		if err != nil && !office.Unreadable(err) {
			return false, err
		}
		one := visitOf(&v, names)
		if !asked("status", one.Status) || !asked("instrument", one.Instrument) ||
			!asked("order", one.Order) || !asked("verdict", one.AsFound) || one.Started < c.QueryParam("since") {
			return false, nil
		}
		out.Items = append(out.Items, one)
		return true, nil
	})
	if err != nil {
		return err
	}
	return c.give(out)
}

func (a *API) visit(c *call) error {
	state, err := a.record(c)
	if err != nil {
		return err
	}
	v, err := plant.ReadVisit(state)
	if err != nil {
		return err
	}
	names, err := a.Office.Names()
	if err != nil {
		return err
	}
	runs, err := plant.Runs(a.Store, v.ID)
	if err != nil {
		return err
	}
	out := VisitDetail{
		Visit: visitOf(&v, names), Range: spanOf(&v.Item.Range), Remarks: []string{}, Runs: []Run{},
		Certificates: []Certificate{},
	}
	if v.Standard != nil {
		out.Standard, out.StandardName = v.Standard.ID, v.Standard.Snapshot.Name
	}
	if air := v.Surroundings; air != nil {
		out.TemperatureC, out.PressureHPa = string(air.TemperatureC), string(air.PressureHPa)
		out.Humidity = string(air.HumidityPercent)
	}
	for _, r := range v.Remarks {
		out.Remarks = append(out.Remarks, r.Text)
	}
	for i := range runs {
		out.Runs = append(out.Runs, runOf(&runs[i], names, c.QueryParam("whole") != ""))
	}
	papers, err := a.Office.Papers(v.ID)
	if err != nil {
		return err
	}
	for i := range papers {
		out.Certificates = append(out.Certificates, paperOf(v.ID, &papers[i]))
	}
	return c.give(out)
}

func runOf(r *plant.Run, names map[string]string, whole bool) Run {
	out := Run{ID: r.ID, Label: r.Label, Closed: r.ClosedAt, Stopped: r.Stopped, Readings: []Reading{}}
	stands := map[string]bool{}
	for _, c := range r.Effective() {
		stands[c.ID] = true
	}
	for i := range r.Captures {
		x := &r.Captures[i]
		out.Readings = append(out.Readings, Reading{
			ID: x.ID, Step: x.Step, Of: x.Of, Value: string(x.Value), Unit: x.Unit, At: x.At,
			By: called(names, x.Author), Stands: stands[x.ID], Supersedes: x.Supersedes, Reason: x.Reason,
		})
	}
	if f := r.Finding; f != nil {
		out.Finding = findingOf(f, whole)
	}
	return out
}

func findingOf(f *plant.Finding, whole bool) *Finding {
	out := &Finding{
		Verdict: f.Verdict, Reason: f.Reason, Complete: f.Complete, Calc: f.Calc,
		Readings: []FoundReading{}, Results: []FoundResult{}, Warnings: []string{},
	}
	for i := range f.Readings {
		x := &f.Readings[i]
		out.Readings = append(out.Readings, FoundReading{
			Step: x.Step, Series: x.Series, Direction: x.Direction, Applied: x.Applied, Indicated: x.Indicated,
			Error: x.Error, LimitLow: x.LimitLow, LimitHigh: x.LimitHigh, Verdict: x.Verdict,
		})
	}
	for i := range f.Results {
		x := &f.Results[i]
		out.Results = append(out.Results, FoundResult{
			Name: x.Name, Unit: x.Unit, Value: x.Value, LimitLow: x.LimitLow, LimitHigh: x.LimitHigh,
			Expanded: x.Expanded, Verdict: x.Verdict, Reason: x.Reason,
		})
	}
	for _, w := range f.Warnings {
		out.Warnings = append(out.Warnings, w.Message)
	}
	if whole {
		out.Whole = f.Raw
	}
	return out
}

func paperOf(visit string, p *office.Paper) Certificate {
	out := Certificate{
		ID: p.ID, Number: p.Number, Issued: p.Issued, Visit: visit, Replaces: p.Replaces,
		ReplacedBy: p.ReplacedBy, Why: p.Why, Different: p.Different, InForce: p.InForce,
		PDF: "/api/v1/certificates/" + p.ID + "/pdf",
	}
	if p.Machine {
		out.XML = "/api/v1/certificates/" + p.ID + "/xml"
	}
	return out
}

// paper finds a certificate among those of its visit, which says whether it is in force.
func (a *API) paper(s *merge.State) (Certificate, error) {
	papers, err := a.Office.Papers(s.Parent)
	if err != nil {
		return Certificate{}, err
	}
	for i := range papers {
		if papers[i].ID == s.ID {
			return paperOf(s.Parent, &papers[i]), nil
		}
	}
	return Certificate{}, fmt.Errorf("the certificate %q %w", s.ID, plant.ErrNotFound)
}

func (a *API) certificates(c *call) (err error) {
	out := CertificatePage{Items: []Certificate{}}
	out.Next, err = a.kept(c, "certificate", func(s merge.State) (bool, error) {
		one, err := a.paper(&s)
		if err != nil || c.QueryParams().Has("number") && one.Number != c.QueryParam("number") {
			return false, err
		}
		out.Items = append(out.Items, one)
		return true, nil
	})
	if err != nil {
		return err
	}
	return c.give(out)
}

func (a *API) certificateState(c *call) (s merge.State, v plant.Certificate, err error) {
	if s, err = a.record(c); err == nil {
		v, err = plant.ReadCertificate(s)
	}
	return s, v, err
}

func (a *API) certificate(c *call) error {
	s, _, err := a.certificateState(c)
	if err != nil {
		return err
	}
	out, err := a.paper(&s)
	if err != nil {
		return err
	}
	return c.give(out)
}

func (a *API) certificatePDF(c *call) error {
	_, v, err := a.certificateState(c)
	if err != nil {
		return err
	}
	b, err := a.Office.Document(&v)
	if err != nil {
		return err
	}
	return c.giveBytes("application/pdf", b)
}

func (a *API) certificateXML(c *call) error {
	_, v, err := a.certificateState(c)
	if err != nil {
		return err
	}
	b, err := a.Office.Machine(&v)
	if err != nil {
		return err
	}
	return c.giveBytes("application/xml", b)
}
