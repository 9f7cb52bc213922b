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

// cameBack sums up what one person had written on one occasion, and that was brought back after an
// older copy was restored.
type cameBack struct {
	Author  string   `json:"author"`
	Record  string   `json:"record"`
	Kind    string   `json:"kind"`
	Visit   string   `json:"visit"` // the visit that it belongs to, "" for none
	Tag     string   `json:"tag"`   // of the instrument, where it is known
	Count   int      `json:"count"`
	First   string   `json:"first"` // when the first of it was written, and the last: the clocks of the devices
	Last    string   `json:"last"`
	Fields  []string `json:"fields"`  // what was written, each once
	Numbers []string `json:"numbers"` // of certificates
	By      []string `json:"by"`      // who brought it
}

// writer is the name of who wrote a change, "" for the office's program itself.
func writer(name string, c *change.Change) string {
	if c.Author == c.Device {
		return ""
	}
	return name
}

// maxBackFields is how many fields of one occasion are named.
const maxBackFields = 40

// back lists what came back after an older copy was restored, by person and occasion, in the order
// in which it came. restored says whether one ever was.
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
