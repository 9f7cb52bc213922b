package api

import (
	"net/http"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// pieceOf reads the first row and the number of rows that a request asks for.
func pieceOf(c echo.Context) (from, most int, err error) {
	most = tablePage
	for name, to := range map[string]*int{"from": &from, "most": &most} {
		if text := c.QueryParam(name); text != "" {
			if *to, err = strconv.Atoi(text); err != nil || *to < 0 {
				return 0, 0, document.Refuse(document.CodeRange, name, "is a number from 0 on")
			}
		}
	}
	return from, min(most, maxTable), nil
}

// figures returns what the results over the years say.
func (s *server) figures(c echo.Context) error {
	f, err := s.office.Figures(c.QueryParam("since"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, f)
}

// figureTests lists the tests behind a figure.
func (s *server) figureTests(c echo.Context) error {
	from, most, err := pieceOf(c)
	if err != nil {
		return err
	}
	list, err := s.office.Tests(office.TestsQuery{
		By: c.QueryParam("by"), Value: c.QueryParam("value"), Since: c.QueryParam("since"),
		Out: c.QueryParam("out") != "", Group: c.QueryParam("group"), From: from, Most: most,
	})
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, list)
}

// advices lists the advice on intervals.
func (s *server) advices(c echo.Context) error {
	from, most, err := pieceOf(c)
	if err != nil {
		return err
	}
	list, err := s.office.Advices(office.AdviceQuery{
		Action: c.QueryParam("action"), Group: c.QueryParam("group"), From: from, Most: most,
	})
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, list)
}

// outlook returns the past of an instrument and its forecast.
func (s *server) outlook(c echo.Context) error {
	out, err := s.office.Outlook(c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, out)
}

// decideAdvice stores a decision on advice.
func (s *server) decideAdvice(c echo.Context) error {
	var in office.Deciding
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	n, err := s.office.Decide(c.Request().Context(), user.ID, in)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"decided": n})
}
