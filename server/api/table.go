package api

import (
	"encoding/csv"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/export"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

const (
	// tablePage is how many rows of the register an answer has by default.
	tablePage = 100
	// maxTable is how many rows an answer may have: a sheet to print. A table for spreadsheets has
	// all.
	maxTable = 2000
)

// query reads which instruments of the register a request asks for.
func query(c echo.Context) (q office.Query, err error) {
	p := c.QueryParams()
	q = office.Query{
		Text: p.Get("q"), Only: map[string][]string{}, Due: p.Get("due"), Unit: p.Get("unit"),
		AtLeast: p.Get("at_least"), AtMost: p.Get("at_most"), Standard: p.Get("standard"),
		Sort: p.Get("sort"), Down: p.Get("down") != "", Most: tablePage,
	}
	for _, name := range office.Filters() {
		if p.Has(name) {
			q.Only[name] = p[name]
		}
	}
	for name, to := range map[string]*int{"from": &q.From, "most": &q.Most} {
		if text := p.Get(name); text != "" {
			if *to, err = strconv.Atoi(text); err != nil || *to < 0 {
				return q, document.Refuse(document.CodeRange, name, "is a number from 0 on")
			}
		}
	}
	q.Most = min(q.Most, maxTable)
	return q, nil
}

// table returns a page of the register.
func (s *server) table(c echo.Context) error {
	q, err := query(c)
	if err != nil {
		return err
	}
	q.IDs = c.QueryParam("ids") != ""
	t, err := s.office.Table(q)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, t)
}

// columns are the columns that a table for spreadsheets can have.
var columns = []struct {
	name string
	of   func(*office.Gauge) string
}{
	{"tag", func(g *office.Gauge) string { return g.Tag }},
	{"serial", func(g *office.Gauge) string { return g.Serial }},
	{"description", func(g *office.Gauge) string { return g.Description }},
	{"kind", func(g *office.Gauge) string { return g.Kind }},
	{"manufacturer", func(g *office.Gauge) string { return g.Manufacturer }},
	{"model", func(g *office.Gauge) string { return g.Model }},
	{"low", func(g *office.Gauge) string { return string(g.Range.Low) }},
	{"high", func(g *office.Gauge) string { return string(g.Range.High) }},
	{"unit", func(g *office.Gauge) string { return g.Range.Unit }},
	{"mode", func(g *office.Gauge) string { return g.Range.Mode }},
	{"area", func(g *office.Gauge) string { return g.Area }},
	{"place", func(g *office.Gauge) string { return g.Place }},
	{"method", func(g *office.Gauge) string { return g.Method }},
	{"interval_months", func(g *office.Gauge) string {
		if g.IntervalMonths == 0 {
			return ""
		}
		return strconv.Itoa(g.IntervalMonths)
	}},
	{"due", func(g *office.Gauge) string { return g.Due }},
	{"status", func(g *office.Gauge) string { return g.Status }},
	{"tested", func(g *office.Gauge) string { return g.Tested }},
	{"verdict", func(g *office.Gauge) string { return g.Verdict }},
}

// rangeColumns are the columns that stand for the page's column range in a table for spreadsheets.
const rangeColumns = "low,high,unit,mode"

// tableCSV returns everything a query finds as a table for spreadsheets, with the named columns, or
// all.
func (s *server) tableCSV(c echo.Context) error {
	q, err := query(c)
	if err != nil {
		return err
	}
	var chosen []int
	wanted := strings.Split(strings.Replace(c.QueryParam("columns"), "range", rangeColumns, 1), ",")
	for _, name := range wanted {
		for i := range columns {
			if columns[i].name == name || wanted[0] == "" {
				chosen = append(chosen, i)
			}
		}
	}
	if len(chosen) == 0 {
		return document.Refuse(document.CodeRange, "columns", fmt.Sprintf("%q names no column", wanted))
	}
	q.From, q.Most = 0, -1
	t, err := s.office.Table(q)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "text/csv; charset=utf-8")
	h.Set(echo.HeaderContentDisposition, `attachment; filename="register.csv"`)
	w := csv.NewWriter(c.Response())
	row := make([]string, len(chosen))
	for k, i := range chosen {
		row[k] = columns[i].name
	}
	if err := w.Write(row); err != nil {
		return err
	}
	for n := range t.Rows {
		for k, i := range chosen {
			row[k] = export.Cell(columns[i].of(&t.Rows[n]))
			if name := columns[i].name; name == "low" || name == "high" {
				row[k] = columns[i].of(&t.Rows[n]) // a checked decimal number; -1 is no formula
			}
		}
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// views lists the user's saved views of the register.
func (s *server) views(c echo.Context) error {
	list, err := s.office.Views(c.Get("user").(auth.User).ID)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"views": list})
}

// setViews stores the user's saved views.
func (s *server) setViews(c echo.Context) error {
	var in struct {
		Views []office.SavedView `json:"views"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	if err := s.office.SetViews(c.Get("user").(auth.User).ID, in.Views); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
