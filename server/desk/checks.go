package desk

import (
	"cmp"
	"context"
	"crypto/rand"
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/choose"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// The states of a control chart.
const (
	Out       = "out"        // the latest check does not agree with the certificate, or is out of control
	InControl = "in_control" // the latest check agrees and is within the limits
	Agrees    = "agrees"     // it agrees; there are too few checks for limits
	Unjudged  = "unjudged"   // the standard has no values there
)

// mostBase is how many of the first checks set the limits of a chart.
const mostBase = 10

// CheckChart are the checks of a standard at one pressure of one range, in their order.
type CheckChart struct {
	Of      int          `json:"of"` // index of the range in the standard
	Range   plant.Range  `json:"range"`
	Applied string       `json:"applied"`
	State   string       `json:"state"`
	Base    int          `json:"base"` // how many checks set the limits; 0 if there are too few
	Least   int          `json:"least"`
	Centre  string       `json:"centre"`
	Low     string       `json:"low"`
	High    string       `json:"high"`
	Checks  []CheckPoint `json:"checks"`
}

// CheckPoint is one check on a chart. Deviation is its error minus the error expected by the
// certificate in force on that day.
type CheckPoint struct {
	ID        string `json:"id"`
	Date      string `json:"date"`
	Shown     string `json:"shown"`
	Error     string `json:"error"`
	Expected  string `json:"expected"`
	Deviation string `json:"deviation"`
	Own       string `json:"own"` // expanded uncertainty of the standard there, k = 2
	Expanded  string `json:"expanded"`
	En        string `json:"en"`
	Agrees    bool   `json:"agrees"`
	Beyond    bool   `json:"beyond"` // the limits of the chart
	Run       bool   `json:"run"`    // the last of eight or more on one side of the centre line
	With      string `json:"with"`
	Note      string `json:"note"`
}

func figure2(x float64) string {
	return strconv.FormatFloat(numeric.RoundSignificant(x, 2), 'f', -1, 64)
}

// charts draws the control charts of a standard's checks.
func (d *Desk) charts(s merge.State, v *plant.Standard) ([]CheckChart, error) {
	list := []CheckChart{}
	if len(v.Checks) == 0 {
		return list, nil
	}
	order, err := inOrder(&s, v)
	if err != nil {
		return nil, err
	}
	ranges := rangesOf(&s)
	checks := slices.Clone(v.Checks)
	slices.SortStableFunc(checks, func(a, b plant.StandardCheck) int { return strings.Compare(a.Date, b.Date) })
	deviations := map[int][]float64{}
	for i := range checks {
		c := &checks[i]
		of := slices.IndexFunc(ranges, func(r json.RawMessage) bool { return sameRange(r, c.Range) })
		applied, err := strconv.ParseFloat(string(c.Applied), 64)
		if err != nil || of < 0 {
			continue // of a range that the standard no longer has; its record keeps it
		}
		at := slices.IndexFunc(list, func(x CheckChart) bool {
			was, err := strconv.ParseFloat(x.Applied, 64)
			return x.Of == of && err == nil && was == applied
		})
		if at < 0 {
			one := CheckChart{Of: of, Applied: string(c.Applied), Least: standard.ChartLeast}
			if err := json.Unmarshal(ranges[of], &one.Range); err != nil {
				continue
			}
			at, list = len(list), append(list, one)
		}
		point, deviation, known := judge(c, applied, ranges[of], of, order, v)
		if known {
			deviations[at] = append(deviations[at], deviation)
		}
		list[at].Checks = append(list[at].Checks, point)
	}
	for i := range list {
		list[i].limit(deviations[i])
	}
	slices.SortStableFunc(list, func(a, b CheckChart) int { return cmp.Compare(a.Of, b.Of) })
	return list, nil
}

// judge compares a check with the certificate that was in force on its day.
func judge(
	c *plant.StandardCheck, applied float64, rng json.RawMessage, of int, order []placed, v *plant.Standard,
) (p CheckPoint, deviation float64, known bool) {
	shown, err := strconv.ParseFloat(string(c.Shown), 64)
	found := shown - applied
	p = CheckPoint{
		ID: c.ID, Date: c.Date, Shown: string(c.Shown), Error: figure(found), Expanded: string(c.Expanded),
		With: c.With, Note: c.Note,
	}
	if err != nil {
		return p, 0, false
	}
	s, ok := standardOn(c.Date, rng, of, order, v)
	if !ok {
		return p, 0, false
	}
	expanded, err := strconv.ParseFloat(string(c.Expanded), 64)
	if err != nil {
		expanded = 0
	}
	expected, own, en, ok := s.Agreement(applied, found, expanded)
	if !ok {
		return p, 0, false
	}
	p.Expected, p.Own, p.En, p.Agrees = figure(expected), figure2(own), figure2(en), math.Abs(en) <= 1
	p.Deviation = figure(found - expected)
	return p, found - expected, true
}

// standardOn returns a range of a standard as it was known on a day.
func standardOn(
	day string, rng json.RawMessage, of int, order []placed, v *plant.Standard,
) (s standard.Standard, ok bool) {
	known, calibrated := fields(rng), ""
	delete(known, "points")
	for _, p := range order { // the newest first
		i := slices.IndexFunc(v.Certificates, func(c plant.StandardCertificate) bool { return c.ID == p.ID })
		if p.Of != of || first(v.Certificates[i].Calibrated, 10) > day {
			continue
		}
		if points := v.Certificates[i].Points; len(points) > 0 {
			known["points"] = points
		}
		calibrated = v.Certificates[i].Calibrated
		break
	}
	var kept struct{ Standard map[string]json.RawMessage }
	in := map[string]json.RawMessage{"range": joined(known)}
	if ask("kept", in, &kept) != nil || kept.Standard == nil {
		return s, false
	}
	if _, drifts := kept.Standard["drift_per_year"]; drifts {
		if years := choose.Years(calibrated, day); years != "" {
			kept.Standard["years_since"] = json.RawMessage(strconv.Quote(years))
		}
	}
	doc, err := document.Parse(joined(kept.Standard))
	if err != nil {
		return s, false
	}
	r := document.Open(doc)
	s = standard.Read(r)
	return s, r.Err() == nil
}

func sameRange(a, b json.RawMessage) bool {
	x, err := document.Parse(a)
	y, err2 := document.Parse(b)
	return err == nil && err2 == nil && choose.SameRange(&x, &y)
}

// limit adds the limits of a chart and its state.
func (c *CheckChart) limit(deviations []float64) {
	last := &c.Checks[len(c.Checks)-1]
	c.State = Agrees
	if last.En == "" {
		c.State = Unjudged
	}
	base := min(mostBase, max(standard.ChartLeast, len(deviations)-1))
	if chart, ok := standard.Control(deviations, base); ok {
		c.Base, c.Centre, c.Low, c.High = base, figure(chart.Centre), figure(chart.Low), figure(chart.High)
		n := 0
		for i := range c.Checks {
			if c.Checks[i].En == "" {
				continue
			}
			c.Checks[i].Beyond, c.Checks[i].Run = chart.Out[n], chart.Run[n]
			n++
		}
		if c.State == Agrees {
			c.State = InControl
		}
	}
	if last.En != "" && !last.Agrees || last.Beyond || last.Run {
		c.State = Out
	}
}

// NewCheck is a check of a standard as entered.
type NewCheck struct {
	Date     string `json:"date"`
	Of       int    `json:"of"` // index of the range in the standard
	Applied  string `json:"applied"`
	Shown    string `json:"shown"`
	Expanded string `json:"expanded"`
	With     string `json:"with"`
	Note     string `json:"note"`
}

// maxNote is in characters.
const maxNote = 500

// Check records a check of a standard between its calibrations.
//
// Refuses: document.Fault with the field; plant.ErrNotFound, plant.ErrKind; ErrAbove at a hub.
func (d *Desk) Check(ctx context.Context, user, id string, c NewCheck) error {
	number := func(field, text string) (float64, error) {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil || !document.IsDecimal(text) {
			return 0, document.Refuse(document.CodeNotANumber, field, "a decimal number is needed")
		}
		return x, nil
	}
	return d.edit(ctx, user, id, func(s *merge.State) ([]plant.Set, error) {
		ranges := rangesOf(s)
		if c.Of < 0 || c.Of >= len(ranges) {
			return nil, document.Refuse(document.CodeRange, "of", "the standard has no such range")
		}
		if _, err := time.Parse(time.DateOnly, c.Date); err != nil || c.Date > d.today() {
			return nil, document.Refuse(document.CodeRange, "date", "a day such as 2026-03-04 is needed, not after today")
		}
		applied, err := number("applied", c.Applied)
		if err != nil {
			return nil, err
		}
		if _, err := number("shown", c.Shown); err != nil {
			return nil, err
		}
		if c.Expanded != "" {
			if u, err := number("expanded", c.Expanded); err != nil || u < 0 {
				return nil, document.Refuse(document.CodeRange, "expanded", "a number from 0 on is needed, or nothing")
			}
		}
		var r plant.Range
		if err := json.Unmarshal(ranges[c.Of], &r); err != nil {
			return nil, err
		}
		low, err := strconv.ParseFloat(string(r.Low), 64)
		high, err2 := strconv.ParseFloat(string(r.High), 64)
		if err != nil || err2 != nil || applied < low || applied > high {
			return nil, document.Refuse(document.CodeRange, "applied", "lies outside the range of the standard")
		}
		if len(c.With) > maxNote || len(c.Note) > maxNote {
			return nil, document.Refuse(document.CodeRange, "note", "is too long")
		}
		key, err := change.NewID(rand.Reader)
		if err != nil {
			return nil, err
		}
		said := map[string]any{
			"date": c.Date, "range": map[string]any{"low": r.Low, "high": r.High, "unit": r.Unit, "mode": r.Mode},
			"applied": c.Applied, "shown": c.Shown,
		}
		for name, text := range map[string]string{"expanded": c.Expanded, "with": c.With, "note": c.Note} {
			if text = strings.TrimSpace(text); text != "" {
				said[name] = text
			}
		}
		return []plant.Set{{Field: "check." + key, Value: said}}, nil
	})
}

// TakeBack removes a check that was entered by mistake; it stays in the history.
//
// Refuses: plant.ErrNotFound, plant.ErrKind; ErrAbove at a hub.
func (d *Desk) TakeBack(ctx context.Context, user, id, check string) error {
	return d.edit(ctx, user, id, func(s *merge.State) ([]plant.Set, error) {
		if b, ok := s.Value("check." + check); !ok || string(b) == "null" {
			return nil, plant.ErrNotFound
		}
		return []plant.Set{{Field: "check." + check, Value: nil}}, nil
	})
}

// Put records where a standard is now, who has it, and which kit it belongs to.
//
// Refuses: document.Fault with the field; plant.ErrNotFound, plant.ErrKind; ErrAbove at a hub.
func (d *Desk) Put(ctx context.Context, user, id, kit string, where plant.Whereabouts) error {
	if where.Since != "" {
		if _, err := time.Parse(time.DateOnly, where.Since); err != nil || where.Since > d.today() {
			return document.Refuse(document.CodeRange, "since", "a day such as 2026-03-04 is needed, not after today")
		}
	}
	kit, where.Place = strings.TrimSpace(kit), strings.TrimSpace(where.Place)
	if len(kit) > maxNote || len(where.Place) > maxNote {
		return document.Refuse(document.CodeRange, "place", "is too long")
	}
	if where.Person != "" {
		names, err := d.office.Names()
		if err != nil {
			return err
		}
		if _, known := names[where.Person]; !known {
			return document.Refuse(document.CodeRange, "person", "is nobody known here")
		}
	}
	return d.edit(ctx, user, id, func(s *merge.State) (set []plant.Set, err error) {
		v, err := plant.ReadStandard(*s)
		if err != nil {
			return nil, err
		}
		if v.Where != where {
			set = append(set, plant.Set{Field: "where", Value: where})
		}
		if v.Kit != kit {
			set = append(set, plant.Set{Field: "kit", Value: kit})
		}
		return set, nil
	})
}

// edit writes fields of a standard.
func (d *Desk) edit(ctx context.Context, user, id string, say func(*merge.State) ([]plant.Set, error)) error {
	if d.office.IsHub() {
		return ErrAbove
	}
	_, err := d.office.Edit(ctx, user, func() (merge.State, []plant.Set, error) {
		s, err := d.office.Record(id)
		if err != nil {
			return s, nil, err
		}
		if s.Kind != "standard" {
			return s, nil, plant.ErrKind
		}
		set, err := say(&s)
		return s, set, err
	})
	return err
}
