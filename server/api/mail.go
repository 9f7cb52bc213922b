package api

import (
	"net/http"

	"gaugewright/server/mail"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// mailRow is what a person wants mail about.
type mailRow struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Address  string `json:"address"`
	Language string `json:"language"`
	Daily    bool   `json:"daily"`
	AtOnce   bool   `json:"at_once"`
}

// mail returns the state of mail, and who gets which.
func (s *server) mail(c echo.Context) error {
	list, err := s.Mail.People()
	if err != nil {
		return err
	}
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	people := []mailRow{}
	for _, p := range list {
		people = append(people, mailRow{
			p.ID, office.Called(names, p.ID), p.Address, p.Language, p.Daily, p.AtOnce,
		})
	}
	now := s.Mail.Now()
	return c.JSON(http.StatusOK, map[string]any{
		"server": s.Mail.Address, "from": s.Mail.From, "hour": s.Mail.Hour, "people": people,
		"waiting": now.Waiting, "sent": moment(now.Sent), "failed": moment(now.Failed), "why": now.Why,
	})
}

// setMail sets what a person gets mail about.
func (s *server) setMail(c echo.Context) error {
	var in struct {
		Address  string `json:"address"`
		Language string `json:"language"`
		Daily    bool   `json:"daily"`
		AtOnce   bool   `json:"at_once"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	id := c.Param("id")
	return s.answered(c, s.Mail.Set(mail.Person{
		ID: id, Address: in.Address, Language: in.Language, Daily: in.Daily, AtOnce: in.AtOnce,
	}, s.noting(c, "mail_set", id, "")))
}

// tryMail hands over one message now.
func (s *server) tryMail(c echo.Context) error {
	return s.answered(c, s.Mail.Try(c.Request().Context(), c.Param("id")))
}
