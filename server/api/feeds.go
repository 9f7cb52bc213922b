package api

import (
	"net/http"
	"strings"

	"gaugewright/server/auth"
	"gaugewright/server/calendar"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// calendar returns the calendar of a feed to anyone who has its address.
func (s *server) calendar(c echo.Context) error {
	secret, is := strings.CutSuffix(c.Param("file"), ".ics")
	if !is {
		return echo.ErrNotFound
	}
	b, err := s.feeds.At(secret, s.base(c))
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "text/calendar; charset=utf-8", b)
}

// feedRow is a calendar in a list, without its address.
type feedRow struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Person   string `json:"person"` // name of the person whose rounds alone are in it, "" for everybody's
	Site     string `json:"site"`   // id of the site whose due dates alone are in it, "" for all
	Due      bool   `json:"due"`
	Rounds   bool   `json:"rounds"`
	Language string `json:"language"`
	Made     string `json:"made"`
	By       string `json:"by"`
}

// calendarFeeds lists the calendars that were given out.
func (s *server) calendarFeeds(c echo.Context) error {
	list, err := s.feeds.List()
	if err != nil {
		return err
	}
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	out := []feedRow{}
	for _, f := range list {
		whose := ""
		if f.Person != "" {
			whose = office.Called(names, f.Person)
		}
		out = append(out, feedRow{
			f.ID, f.Name, whose, f.Site, f.Due, f.Rounds, f.Language, moment(f.Made), office.Called(names, f.By),
		})
	}
	return c.JSON(http.StatusOK, map[string]any{"feeds": out})
}

// makeFeed makes a calendar and returns its address, this once.
func (s *server) makeFeed(c echo.Context) error {
	var in struct {
		Name     string `json:"name"`
		Person   string `json:"person"`
		Site     string `json:"site"`
		Due      bool   `json:"due"`
		Rounds   bool   `json:"rounds"`
		Language string `json:"language"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	f, secret, err := s.feeds.Make(calendar.Feed{
		Name: in.Name, Person: in.Person, Site: in.Site, Due: in.Due, Rounds: in.Rounds, Language: in.Language,
		By: c.Get("user").(auth.User).ID,
	}, s.noting(c, "feed_made", in.Name, ""))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusCreated, map[string]any{
		"id": f.ID, "address": s.base(c) + "/api/calendar/" + secret + ".ics",
	})
}

// endFeed ends a calendar.
func (s *server) endFeed(c echo.Context) error {
	return s.answered(c, s.feeds.End(c.Param("id"), s.noting(c, "feed_ended", "", c.Param("id"))))
}
