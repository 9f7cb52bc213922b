package api

import (
	"bytes"
	"context"
	"encoding/csv"
	"net/http"
	"slices"
	"strings"

	"gaugewright/server/auth"
	"gaugewright/server/desk"
	"gaugewright/server/export"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/report"

	"github.com/labstack/echo/v4"
)

// spreadsheet is the type of an .xlsx (ISO/IEC 29500).
const spreadsheet = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

func userOf(c echo.Context) string { return c.Get("user").(auth.User).ID }

// deskStandards lists the standards, those that need attention first.
func (s *server) deskStandards(c echo.Context) error {
	list, err := s.desk.Standards()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"standards": list})
}

func (s *server) deskStandard(c echo.Context) error {
	v, err := s.desk.Standard(c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{
		"row": v.Row, "certificates": v.Certificates, "charts": v.Charts, "kit": v.Kit, "people": v.People,
	})
}

func (s *server) checkStandard(c echo.Context) error {
	var in desk.NewCheck
	if err := decode(c, &in); err != nil {
		return err
	}
	return s.answered(c, s.desk.Check(c.Request().Context(), userOf(c), c.Param("id"), in))
}

func (s *server) takeCheckBack(c echo.Context) error {
	return s.answered(c, s.desk.TakeBack(c.Request().Context(), userOf(c), c.Param("id"), c.Param("check")))
}

func (s *server) putStandard(c echo.Context) error {
	var in struct {
		Place  string `json:"place"`
		Person string `json:"person"`
		Since  string `json:"since"`
		Kit    string `json:"kit"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	where := plant.Whereabouts{Place: in.Place, Person: in.Person, Since: in.Since}
	return s.answered(c, s.desk.Put(c.Request().Context(), userOf(c), c.Param("id"), in.Kit, where))
}

// openLookback begins a look-back on a standard, which continues in the background.
func (s *server) openLookback(c echo.Context) error {
	var in plant.LookbackQuestion
	if err := decode(c, &in); err != nil {
		return err
	}
	id, err := s.desk.Open(c.Request().Context(), userOf(c), c.Param("id"), in)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"id": id})
}

func (s *server) lookbacks(c echo.Context) error {
	list, err := s.desk.Lookbacks()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"lookbacks": list})
}

func (s *server) lookback(c echo.Context) error {
	v, err := s.desk.Lookback(c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{
		"row": v.Row, "question": v.Question, "instruments": v.Instruments, "unread": v.Unread, "people": v.People,
	})
}

func (s *server) beginLookback(c echo.Context) error {
	return s.answered(c, s.desk.Begin(userOf(c), c.Param("id")))
}

func (s *server) decideLookback(c echo.Context) error {
	var in struct {
		Instruments []string `json:"instruments"`
		plant.LookbackDecision
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	return s.answered(
		c, s.desk.Decide(c.Request().Context(), userOf(c), c.Param("id"), in.Instruments, in.LookbackDecision),
	)
}

func (s *server) closeLookback(c echo.Context) error {
	var in struct {
		Instruments []string `json:"instruments"`
		Note        string   `json:"note"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	return s.answered(c, s.desk.Close(c.Request().Context(), userOf(c), c.Param("id"), in.Instruments, in.Note))
}

// lookbackFile returns the report on a look-back, or the letters to those concerned.
func (s *server) lookbackFile(c echo.Context) error {
	v, err := s.desk.Lookback(c.Param("id"))
	if err != nil {
		return err
	}
	switch name := c.Param("file"); name {
	case "report.csv":
		return table(c, "standard-was-out.csv", s.desk.LookbackTable(&v))
	case "report.xlsx":
		return workbook(
			c, "standard-was-out.xlsx", s.desk.DecisionTable(&v), s.desk.LookbackTable(&v), s.desk.UnreadTable(&v),
		)
	case "report.pdf", "letters.pdf":
		var r report.Report
		if name == "letters.pdf" {
			r, err = s.desk.Letters(&v)
		} else {
			r, err = s.desk.LookbackReport(&v, c.QueryParam("language"))
		}
		if err != nil {
			return err
		}
		return drawn(c, "standard-was-out-"+name, &r)
	}
	return echo.ErrNotFound
}

// plantState returns the state of the plant today.
func (s *server) plantState(c echo.Context) error {
	v, err := s.desk.State()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, v)
}

// reports returns the state of the plant or a month, by the name of the file.
func (s *server) reports(c echo.Context) error {
	name := c.Param("file")
	if name == "state.pdf" {
		r, err := s.desk.StateReport(c.QueryParam("language"))
		if err != nil {
			return err
		}
		return drawn(c, name, &r)
	}
	of, kind, _ := strings.Cut(name, ".")
	month, ok := strings.CutPrefix(of, "month-")
	if !ok {
		return echo.ErrNotFound
	}
	m, err := s.desk.Month(month, c.QueryParam("language"))
	if err != nil {
		return err
	}
	switch kind {
	case "pdf":
		return drawn(c, name, &m.Report)
	case "csv":
		return table(c, name, m.Visits)
	case "xlsx":
		return workbook(c, name, m.Tables()...)
	}
	return echo.ErrNotFound
}

// dossier returns everything about an instrument as one PDF with attachments.
func (s *server) dossier(c echo.Context) error {
	r, files, err := s.desk.Dossier(c.Param("id"), c.QueryParam("language"))
	if err != nil {
		return err
	}
	if err := s.note(c, "dossier", c.Param("id"), r.Title); err != nil {
		return err
	}
	return drawn(c, "dossier.pdf", &r, files...)
}

func drawn(c echo.Context, name string, r *report.Report, files ...report.File) error {
	b, err := r.PDF(files...)
	if err != nil {
		return err
	}
	return file(c, "application/pdf", name, b)
}

func table(c echo.Context, name string, t *report.Table) error {
	var b bytes.Buffer
	if err := report.CSV(&b, t); err != nil {
		return err
	}
	return file(c, "text/csv; charset=utf-8", name, b.Bytes())
}

func workbook(c echo.Context, name string, tables ...*report.Table) error {
	var b bytes.Buffer
	if err := report.XLSX(&b, tables...); err != nil {
		return err
	}
	return file(c, spreadsheet, name, b.Bytes())
}

func (s *server) tableXLSX(c echo.Context) error {
	return asWorkbook(c, "register", s.tableCSV, "low", "high", "interval_months")
}

func (s *server) eventsXLSX(c echo.Context) error {
	return asWorkbook(c, "events", s.eventsTable, "number")
}

// asWorkbook converts the CSV that a handler writes to a spreadsheet. The named columns hold
// numbers.
func asWorkbook(c echo.Context, name string, csvOf func(echo.Context) error, numbers ...string) error {
	to := &caught{header: http.Header{}}
	within := c.Echo().NewContext(c.Request(), to)
	within.Set("user", c.Get("user"))
	if err := csvOf(within); err != nil {
		return err
	}
	rows, err := csv.NewReader(&to.body).ReadAll()
	if err != nil {
		return err
	}
	t := &report.Table{Name: name}
	for i, row := range rows {
		for n, cell := range row {
			if i == 0 {
				t.Columns = append(t.Columns, report.Column{Name: cell, Number: slices.Contains(numbers, cell)})
			} else if text, ok := strings.CutPrefix(cell, "'"); ok && export.Cell(text) == cell {
				row[n] = text // a text in a spreadsheet cannot be a formula
			}
		}
		if i > 0 {
			t.Rows = append(t.Rows, row)
		}
	}
	return workbook(c, name+".xlsx", t)
}

// caught keeps what a handler writes.
type caught struct {
	header http.Header
	body   bytes.Buffer
}

func (w *caught) Header() http.Header         { return w.header }
func (w *caught) WriteHeader(int)             {}
func (w *caught) Write(b []byte) (int, error) { return w.body.Write(b) }

func (s *server) competences(c echo.Context) error {
	list, err := s.office.Competences()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"people": list})
}

// authorise stores an authorisation; id is that of the entry, "" for a new one.
func (s *server) authorise(c echo.Context) error {
	var in office.Authorisation
	if err := decode(c, &in); err != nil {
		return err
	}
	return s.answered(c, s.office.Authorise(c.Request().Context(), userOf(c), c.Param("id"), in.ID, in))
}

func (s *server) withdrawAuthorisation(c echo.Context) error {
	return s.answered(
		c, s.office.Withdraw(c.Request().Context(), userOf(c), c.Param("id"), c.Param("entry")),
	)
}

// life is a context that ends when the server is to end; if stopping is nil it never does.
type life struct {
	context.Context
	stopping <-chan struct{}
}

// Done is closed when the server is to end.
func (l life) Done() <-chan struct{} { return l.stopping }

// Err returns an error once the server is to end.
func (l life) Err() error {
	select {
	case <-l.stopping:
		return context.Canceled
	default:
		return nil
	}
}
