package api

import (
	"net/http"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/machine"
	"gaugewright/server/office"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// machineToken is a token in a list.
type machineToken struct {
	ID      string          `json:"id"`
	Name    string          `json:"name"`
	Scopes  []machine.Scope `json:"scopes"`
	Sites   []string        `json:"sites"` // ids; none for the whole plant
	Made    string          `json:"made"`
	By      string          `json:"by"`
	Until   string          `json:"until"`
	Ended   string          `json:"ended"`
	Used    string          `json:"used"` // "" for never
	InForce bool            `json:"in_force"`
}

// moment formats a time, "" for none.
func moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

// machineTokens lists the tokens of other systems.
func (s *server) machineTokens(c echo.Context) error {
	list, err := s.tokens.List()
	if err != nil {
		return err
	}
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	out := []machineToken{}
	for _, t := range list {
		out = append(out, machineToken{
			t.ID, t.Name, t.Scopes, append([]string{}, t.Sites...), moment(t.Made), office.Called(names, t.By), moment(t.Until), moment(t.Ended),
			moment(t.Used), t.InForce(s.Now()),
		})
	}
	return c.JSON(http.StatusOK, map[string]any{"tokens": out, "scopes": machine.Scopes})
}

// lastDay returns the end of a day in the office's calendar.
func (s *server) lastDay(field, day string) (time.Time, error) {
	at, err := time.ParseInLocation(time.DateOnly, day, s.Now().Location())
	if err != nil {
		return at, document.Refuse(document.CodeRange, field, "is a day such as 2026-01-31")
	}
	return at.AddDate(0, 0, 1), nil
}

// makeMachineToken makes a token and returns its secret, this once.
func (s *server) makeMachineToken(c echo.Context) error {
	var in struct {
		Name   string          `json:"name"`
		Scopes []machine.Scope `json:"scopes"`
		Sites  []string        `json:"sites"`
		Until  string          `json:"until"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	until, err := s.lastDay("until", in.Until)
	if err != nil {
		return err
	}
	by := c.Get("user").(auth.User).ID
	t, secret, err := s.tokens.Make(in.Name, in.Scopes, in.Sites, until, by, func(t machine.Token) store.Step {
		return s.noting(c, "machine_token_made", t.Name, in.Until)
	})
	if err != nil {
		return err
	}
	return c.JSON(http.StatusCreated, map[string]any{"id": t.ID, "secret": secret})
}

// endMachineToken ends a token, or removes an ended one.
func (s *server) endMachineToken(c echo.Context) error {
	return s.answered(c, s.tokens.End(c.Param("id"), s.noting(c, "machine_token_ended", "", c.Param("id"))))
}
