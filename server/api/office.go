package api

import (
	"net/http"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"

	"github.com/labstack/echo/v4"
)

func (s *server) day(c echo.Context) error {
	date := c.QueryParam("date")
	if date == "" {
		date = s.Now().Format(time.DateOnly)
	}
	d, err := s.office.Day(date)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"date": date, "visits": d.Visits, "waiting": d.Waiting,
		"more": d.More, "quarantined": d.Quarantined})
}

// queue lists what waits for the office.
func (s *server) queue(c echo.Context) error {
	q, err := s.office.Queue(office.Ask{
		State: c.QueryParam("state"), Person: c.QueryParam("person"), Area: c.QueryParam("area"),
		Found: c.QueryParam("found"), Sort: c.QueryParam("sort"),
	})
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, q)
}

func (s *server) officeVisit(c echo.Context) error {
	user := c.Get("user").(auth.User)
	v, err := s.office.View(c.Request().Context(), user.ID, c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"visit": v.Visit, "runs": v.Runs, "status": v.Status,
		"attention": v.Attention, "covers": v.Covers, "changed": v.Changed, "keys": v.Keys, "people": v.People,
		"history": v.History, "certificates": v.Certificates, "together": v.Together,
		"pair": v.Pair, "effect_asked": v.EffectAsked, "effect": v.Effect})
}

func (s *server) history(c echo.Context) error {
	list, err := s.office.History(c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"history": list})
}

func (s *server) approve(c echo.Context) error {
	var in struct {
		Covers []string `json:"covers"`
		Proof  string   `json:"proof"`
		Effect string   `json:"effect"`

		Accredited bool   `json:"accredited"`
		Language   string `json:"language"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user, sheet := c.Get("user").(auth.User), office.Sheet{
		Base: s.base(c), Accredited: in.Accredited, Language: in.Language,
	}
	out, err := s.office.Approve(c.Request().Context(), user.ID, c.Param("id"), in.Covers, in.Proof, in.Effect, sheet)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"status": plant.Approved, "certificate": out})
}

func (s *server) sendBack(c echo.Context) error {
	var in struct {
		Remark string `json:"remark"`
		Proof  string `json:"proof"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	if err := s.office.SendBack(c.Request().Context(), user.ID, c.Param("id"), in.Remark, in.Proof); err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"status": plant.Returned})
}

// seen notes that office staff have opened a visit in its present signed state.
func (s *server) seen(c echo.Context) error {
	user := c.Get("user").(auth.User)
	if err := s.office.Seen(c.Request().Context(), user.ID, c.Param("id")); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

func (s *server) reopen(c echo.Context) error {
	var in struct {
		Reason string `json:"reason"`
		Proof  string `json:"proof"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	if err := s.office.Reopen(c.Request().Context(), user.ID, c.Param("id"), in.Reason, in.Proof); err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"status": plant.Reopened})
}

// colleagues lists all people with access, for planning their work.
func (s *server) colleagues(c echo.Context) error {
	list, err := s.office.Colleagues()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"people": list})
}

// register lists instruments by tag, a page at a time; `after` is where the next page starts, "" at
// the end.
func (s *server) register(c echo.Context) error {
	list, after, err := s.office.Register(office.Search{Name: c.QueryParam("name"),
		Text: c.QueryParam("q"), After: c.QueryParam("after"), Due: c.QueryParam("due")})
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"instruments": list, "after": after})
}

// uses lists the runs that depend on a standard, a page at a time; `after` is where the next page
// starts, "" at the end.
func (s *server) uses(c echo.Context) error {
	list, after, err := s.office.Uses(c.Param("id"), c.QueryParam("since"), c.QueryParam("after"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"uses": list, "after": after})
}

func (s *server) contestedList(c echo.Context) error {
	rows, more, err := s.office.Contested()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"records": rows, "more": more})
}

func (s *server) contestedRecord(c echo.Context) error {
	user := c.Get("user").(auth.User)
	r, err := s.office.ContestedFields(user, c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"id": r.ID, "kind": r.Kind, "title": r.Title,
		"parent": r.Parent, "fields": r.Fields})
}

func (s *server) choose(c echo.Context) error {
	var in struct {
		Field  string   `json:"field"`
		Heads  []string `json:"heads"`
		Choose string   `json:"choose"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	err := s.office.Settle(c.Request().Context(), user, c.Param("id"), in.Field, in.Heads, in.Choose)
	if err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
