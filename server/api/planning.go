package api

import (
	"net/http"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// planning returns the work of the next year.
func (s *server) planning(c echo.Context) error {
	w, err := s.office.Workload()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, w)
}

// setPlanning stores the office's settings for planning.
func (s *server) setPlanning(c echo.Context) error {
	var in office.PlanSettings
	if err := decode(c, &in); err != nil {
		return err
	}
	return s.answered(c, s.office.SetPlanSettings(in))
}

// board returns a week of rounds.
func (s *server) board(c echo.Context) error {
	date := c.QueryParam("date")
	if date == "" {
		date = s.Now().Format(time.DateOnly)
	}
	b, err := s.office.Board(date)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, b)
}

// makeRounds makes rounds from proposals.
func (s *server) makeRounds(c echo.Context) error {
	var in struct {
		Rounds []office.NewRound `json:"rounds"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	return s.answered(c, s.office.MakeRounds(c.Request().Context(), user.ID, in.Rounds))
}

// moveRound moves a round to another day and person.
func (s *server) moveRound(c echo.Context) error {
	var in struct {
		Date   string `json:"date"`
		Person string `json:"person"`
		Shown  string `json:"shown"` // its date and person as they were shown
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	return s.answered(c, s.office.MoveRound(c.Request().Context(), user.ID, c.Param("id"), in.Date, in.Person, in.Shown))
}
