package desk

import (
	"encoding/json"
	"fmt"
	"math"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/calc/standard"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// CertificateView is a certificate of a standard, compared with the previous one of its range.
type CertificateView struct {
	ID            string        `json:"id"`
	Number        string        `json:"number"`
	Calibrated    string        `json:"calibrated"`
	Due           string        `json:"due"`
	By            string        `json:"by"`
	Accreditation string        `json:"accreditation"`
	Of            int           `json:"of"` // index of its range in the standard; -1 for none
	InForce       bool          `json:"in_force"`
	Before        string        `json:"before"` // number of the certificate it is compared with
	WorstEn       string        `json:"worst_en"`
	Agrees        bool          `json:"agrees"` // every |En| is at most 1
	Drift         string        `json:"drift"`  // the largest, in the unit of the range
	PerYear       string        `json:"per_year"`
	Unit          string        `json:"unit"`
	Points        []ChangedView `json:"points"`
}

// ChangedView is a point of a certificate beside that of the previous one.
type ChangedView struct {
	Applied string `json:"applied"`
	Before  string `json:"before"`
	After   string `json:"after"`
	Drift   string `json:"drift"`
	En      string `json:"en"`
	Agrees  bool   `json:"agrees"`
}

// placed is the output of the calculation certificates.
type placed struct {
	ID string
	Of int
}

// inOrder returns the certificates of a standard, the newest first, each with its range.
func inOrder(s *merge.State, v *plant.Standard) ([]placed, error) {
	type asked struct {
		ID         string          `json:"id"`
		Calibrated string          `json:"calibrated"`
		Wall       string          `json:"wall"`
		Range      json.RawMessage `json:"range"`
		Points     json.RawMessage `json:"points,omitempty"`
	}
	in := struct {
		Ranges       []json.RawMessage `json:"ranges"`
		Certificates []asked           `json:"certificates"`
	}{rangesOf(s), []asked{}}
	if in.Ranges == nil {
		in.Ranges = []json.RawMessage{}
	}
	for _, c := range v.Certificates {
		if len(c.Range) > 0 {
			in.Certificates = append(in.Certificates, asked{c.ID, c.Calibrated, c.Wall, c.Range, c.Points})
		}
	}
	var out struct{ Certificates []placed }
	return out.Certificates, ask("certificates", in, &out)
}

// ask calls a calculation.
func ask(name string, in, out any) error {
	b, err := json.Marshal(in)
	if err != nil {
		return err
	}
	reply := calc.Call(name, b)
	var said struct {
		Error *struct{ Code, Field, Message string }
	}
	if err := json.Unmarshal(reply, &said); err != nil {
		return err
	}
	if said.Error != nil {
		return document.Refuse(said.Error.Code, said.Error.Field, said.Error.Message)
	}
	if err := json.Unmarshal(reply, out); err != nil {
		return fmt.Errorf("the calculation %s: %w", name, err)
	}
	return nil
}

// pointsOf reads the points of a certificate; none if they cannot be read.
func pointsOf(points json.RawMessage) []standard.Point {
	v, err := document.Parse(joined(map[string]json.RawMessage{"points": points}))
	if len(points) == 0 || err != nil {
		return nil
	}
	in := document.Open(v)
	list := standard.ReadPoints(in)
	if in.Err() != nil {
		return nil
	}
	return list
}

func unitOf(rng json.RawMessage) string {
	var r struct{ Unit string }
	if json.Unmarshal(rng, &r) != nil {
		return ""
	}
	return r.Unit
}

// certificates lists the certificates of a standard, the newest first, each compared with the
// previous one of the same range.
func (d *Desk) certificates(s merge.State, v *plant.Standard) ([]CertificateView, error) {
	order, err := inOrder(&s, v)
	if err != nil {
		return nil, err
	}
	byID := map[string]*plant.StandardCertificate{}
	for i := range v.Certificates {
		byID[v.Certificates[i].ID] = &v.Certificates[i]
	}
	list, seen := []CertificateView{}, map[int]bool{}
	for i, p := range order {
		c := byID[p.ID]
		one := CertificateView{
			ID: c.ID, Number: c.Number, Calibrated: c.Calibrated, Due: c.Due, By: c.By, Accreditation: c.Accreditation,
			Of: p.Of, InForce: p.Of >= 0 && !seen[p.Of], Agrees: true, Unit: unitOf(c.Range), Points: []ChangedView{},
		}
		seen[p.Of] = true
		for _, earlier := range order[i+1:] {
			if earlier.Of == p.Of && p.Of >= 0 {
				one.compare(byID[earlier.ID], c)
				break
			}
		}
		list = append(list, one)
	}
	return list, nil
}

// compare adds what changed since the previous certificate of the range.
func (c *CertificateView) compare(before, now *plant.StandardCertificate) {
	changes := standard.Changes(pointsOf(before.Points), pointsOf(now.Points))
	if len(changes) == 0 {
		return
	}
	c.Before = before.Number
	worst, drift := 0.0, 0.0
	for _, x := range changes {
		agrees := math.Abs(x.En) <= 1
		c.Agrees = c.Agrees && agrees
		if math.Abs(x.En) >= math.Abs(worst) {
			worst = x.En
		}
		if math.Abs(x.Drift) >= math.Abs(drift) {
			drift = x.Drift
		}
		c.Points = append(c.Points, ChangedView{
			figure(x.Applied), figure(x.Before), figure(x.After), figure(x.Drift), figure2(x.En), agrees,
		})
	}
	c.WorstEn, c.Drift = figure2(worst), figure(drift)
	from, ok := document.ParseDate(first(before.Calibrated, 10))
	to, ok2 := document.ParseDate(first(now.Calibrated, 10))
	if ok && ok2 && to > from {
		c.PerYear = figure(drift / (float64(to-from) / daysOfYear))
	}
}

const daysOfYear = 365.25
