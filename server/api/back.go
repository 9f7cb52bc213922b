package api

import (
	"encoding/json"
	"net/http"
	"slices"

	"gaugewright/server/office"
	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// cameBack sums up what one person wrote on one occasion and phones brought back after a restore of
// an older copy.
type cameBack struct {
	Author  string   `json:"author"`
	Record  string   `json:"record"`
	Kind    string   `json:"kind"`
	Visit   string   `json:"visit"` // the visit that it belongs to, "" for none
	Tag     string   `json:"tag"`   // of the instrument, if it is known
	Count   int      `json:"count"`
	First   string   `json:"first"` // when the first and the last of it were written, by the clocks of the devices
	Last    string   `json:"last"`
	Fields  []string `json:"fields"`  // what was written, each once
	Numbers []string `json:"numbers"` // of certificates
	By      []string `json:"by"`      // who brought it back
}

// writer is the name of a change's author, "" for the office's program.
func writer(name string, c *change.Change) string {
	if c.Author == c.Device {
		return ""
	}
	return name
}

// maxBackFields is how many fields of one occasion are listed.
const maxBackFields = 40

// back lists what came back after a restore, by person and occasion, in the order in which it came.
// restored says whether there ever was a restore.
func (s *server) back(c echo.Context) error {
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	list, places := []*cameBack{}, map[[2]string]*cameBack{}
	items := map[string]string{}
	err = s.Store.CameBack(func(b store.Back, one *change.Change) error {
		var a aside
		a.read(one, names, items)
		if one.Kind == "certificate" {
			a.Visit = one.Parent
		}
		of := a.Visit
		if of == "" {
			of = one.Record
		}
		g := places[[2]string{one.Author, of}]
		if g == nil {
			g = &cameBack{
				Author: writer(a.Author, one), Record: one.Record, Kind: one.Kind, Visit: a.Visit, First: one.Wall, Last: one.Wall,
				Fields: []string{}, Numbers: []string{}, By: []string{},
			}
			places[[2]string{one.Author, of}] = g
			list = append(list, g)
		}
		g.Count, g.First, g.Last = g.Count+1, min(g.First, one.Wall), max(g.Last, one.Wall)
		if by := office.Called(names, b.From); b.From != "" && !slices.Contains(g.By, by) {
			g.By = append(g.By, by)
		}
		for _, x := range one.Set {
			if one.Kind == "certificate" && x.Field == "number" {
				var number string
				if err := json.Unmarshal(x.Value, &number); err != nil {
					return err
				}
				g.Numbers = append(g.Numbers, number)
			}
			if len(g.Fields) < maxBackFields && !slices.Contains(g.Fields, x.Field) {
				g.Fields = append(g.Fields, x.Field)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, g := range list {
		one := aside{Record: g.Record, Kind: g.Kind, Visit: g.Visit}
		if g.Tag, err = s.tagOf(&one, items); err != nil {
			return err
		}
	}
	return c.JSON(http.StatusOK, map[string]any{"restored": s.Store.Restored() != "", "back": list})
}
