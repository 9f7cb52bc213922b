package machine

import (
	"cmp"
	"fmt"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

func (a *API) about(c *call) error {
	out := About{
		Version: a.Version, Token: c.token.Name, Scopes: []string{}, Sites: []Site{},
		Until: c.token.Until.Format(time.RFC3339),
	}
	for _, s := range c.token.Scopes {
		out.Scopes = append(out.Scopes, string(s))
	}
	for _, id := range c.token.Sites {
		site, err := plant.LoadSite(a.Store, id)
		if err != nil && !office.Unreadable(err) {
			return err
		}
		out.Sites = append(out.Sites, Site{ID: id, Code: site.Code, Name: site.Name})
	}
	return c.give(out)
}

// record reads the record that an address names. What a token is not given is not there.
//
// Refuses: plant.ErrNotFound.
func (a *API) record(c *call) (merge.State, error) {
	id := c.Param("id")
	s, err := a.Office.Record(id)
	if err == nil && !c.token.Sees(&s) {
		return merge.State{}, fmt.Errorf("the record %q %w", id, plant.ErrNotFound)
	}
	return s, err
}

func spanOf(r *plant.Range) Span {
	return Span{Low: string(r.Low), High: string(r.High), Unit: r.Unit, Mode: cmp.Or(r.Mode, "gauge")}
}

func instrumentOf(g *office.Gauge) Instrument {
	return Instrument{
		ID: g.ID, Tag: g.Tag, Serial: g.Serial, Description: g.Description, Kind: g.Kind,
		Manufacturer: g.Manufacturer, Model: g.Model, Range: spanOf(g.Range), Area: g.Area, Place: g.Place,
		Method: g.Method, IntervalMonths: g.IntervalMonths, Due: g.Due, Status: g.Status,
		Tested: g.Tested, Verdict: g.Verdict,
	}
}

// register reads a page of the register.
func (a *API) register(c *call, q office.Query) (office.Table, error) {
	after, n, err := c.piece()
	if err != nil {
		return office.Table{}, err
	}
	q.After, q.Most, q.Sites = after, n, c.token.Sites
	return a.Office.Table(q)
}

func (a *API) instruments(c *call) error {
	q := office.Query{Text: c.QueryParam("q"), Due: c.QueryParam("due"), Only: map[string][]string{}}
	if due := q.Due; due != "" && due != "overdue" && due != "none" {
		if err := isDay("due", due); err != nil {
			return err
		}
	}
	for _, name := range []string{"area", "kind", "status", "verdict"} {
		if c.QueryParams().Has(name) {
			q.Only[name] = c.QueryParams()[name]
		}
	}
	t, err := a.register(c, q)
	if err != nil {
		return err
	}
	out := InstrumentPage{Items: []Instrument{}, Next: cursorOf(t.Next)}
	for i := range t.Rows {
		out.Items = append(out.Items, instrumentOf(&t.Rows[i]))
	}
	return c.give(out)
}

func (a *API) due(c *call) error {
	today := a.Now().Format(time.DateOnly)
	by := cmp.Or(c.QueryParam("by"), today)
	if err := isDay("by", by); err != nil {
		return err
	}
	q := office.Query{Due: by, Only: map[string][]string{"status": {office.InService}}}
	if c.QueryParams().Has("area") {
		q.Only["area"] = c.QueryParams()["area"]
	}
	t, err := a.register(c, q)
	if err != nil {
		return err
	}
	out := DuePage{Items: []Due{}, Next: cursorOf(t.Next)}
	for i := range t.Rows {
		g := &t.Rows[i]
		out.Items = append(out.Items, Due{
			Instrument: g.ID, Tag: g.Tag, Serial: g.Serial, Kind: g.Kind, Area: g.Area, Place: g.Place,
			Method: g.Method, Due: g.Due, Overdue: g.Due < today,
		})
	}
	return c.give(out)
}

func isDay(field, text string) error {
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		return document.Refuse(document.CodeRange, field, "is a day such as 2026-01-31")
	}
	return nil
}

func (a *API) instrument(c *call) error {
	state, err := a.record(c)
	if err != nil {
		return err
	}
	v, err := plant.ReadInstrument(state)
	if err != nil {
		return err
	}
	g, err := a.Office.Listed(v.ID)
	if err != nil {
		return err
	}
	out := InstrumentDetail{
		Instrument: instrumentOf(&g), Resolution: string(v.Resolution), Medium: v.Medium, Note: v.Note,
		Customer: append([]string{}, v.Customer...), Language: v.Language,
		Cautions: append([]string{}, v.Cautions...), Aliases: append([]string{}, v.Aliases...),
		Orders: []OpenOrder{},
	}
	for _, o := range v.Orders {
		out.Orders = append(out.Orders, OpenOrder{o.Number, o.Wanted, o.Priority, o.Done != ""})
	}
	return c.give(out)
}

// mostLooked is how many records are read for one page: a filter that finds little ends the page
// early.
const mostLooked = 500

// kept reads records of a kind in order of arrival, and calls take for each until a page is full.
//
// Gives: the cursor of the next page, "" at the end.
func (a *API) kept(c *call, kind string, take func(merge.State) (bool, error)) (next string, err error) {
	after, n, err := c.piece()
	if err != nil {
		return "", err
	}
	if after != "" {
		if s, ok, err := a.Store.Record(after); err != nil || !ok || s.Kind != kind {
			return "", cmp.Or(err, document.Refuse(
				document.CodeRange, "cursor", "is not next of an earlier piece",
			))
		}
	}
	looked, taken := 0, 0
	for {
		list, err := a.Store.ByKind(kind, after, n+1)
		if err != nil {
			return "", err
		}
		for i := range list {
			if taken == n || looked == mostLooked {
				return cursorOf(after), nil
			}
			if c.token.Sees(&list[i]) {
				took, err := take(list[i])
				if err != nil {
					return "", err
				}
				if took {
					taken++
				}
			}
			looked++
			after = list[i].ID
		}
		if len(list) <= n {
			return "", nil
		}
	}
}

func standardOf(v *plant.Standard) Standard {
	out := Standard{
		ID: v.ID, Name: v.Name, Serial: v.Serial, Manufacturer: v.Manufacturer, Model: v.Model,
		Ranges: []Span{}, CertificateNo: v.CertificateNo, Calibrated: v.Calibrated, Due: v.Due,
		Status: cmp.Or(v.Status, office.InService),
	}
	for i := range v.Ranges {
		out.Ranges = append(out.Ranges, spanOf(&v.Ranges[i]))
	}
	return out
}

func (a *API) standards(c *call) error {
	out := StandardPage{Items: []Standard{}}
	next, err := a.kept(c, "standard", func(s merge.State) (bool, error) {
		v, err := plant.ReadStandard(s)
		if office.Unreadable(err) {
			err = nil // with the readable part of it
		}
		out.Items = append(out.Items, standardOf(&v))
		return true, err
	})
	if err != nil {
		return err
	}
	out.Next = next
	return c.give(out)
}

func (a *API) standard(c *call) error {
	state, err := a.record(c)
	if err != nil {
		return err
	}
	v, err := plant.ReadStandard(state)
	if err != nil {
		return err
	}
	return c.give(standardOf(&v))
}
