package api

import (
	"net/http"

	"gaugewright/server/auth"
	"gaugewright/server/hooks"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// hookRow is an endpoint in a list, without its secret.
type hookRow struct {
	ID      string   `json:"id"`
	Name    string   `json:"name"`
	URL     string   `json:"url"`
	Events  []string `json:"events"` // none for all
	Sites   []string `json:"sites"`  // ids; none for the whole plant
	Made    string   `json:"made"`
	By      string   `json:"by"`
	Failing string   `json:"failing"` // since when nothing arrived; "" if the last message did
	Ended   string   `json:"ended"`   // when it was disabled, "" while it is in use
	Why     string   `json:"why"`
}

// hooks lists the endpoints.
func (s *server) hooks(c echo.Context) error {
	list, err := s.Hooks.Endpoints()
	if err != nil {
		return err
	}
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	out := []hookRow{}
	for _, e := range list {
		out = append(out, hookRow{
			e.ID, e.Name, e.URL, append([]string{}, e.Events...), append([]string{}, e.Sites...), moment(e.Made), office.Called(names, e.By),
			moment(e.Failing), moment(e.Ended), e.Why,
		})
	}
	return c.JSON(http.StatusOK, map[string]any{"hooks": out, "kinds": office.HappeningKinds})
}

// makeHook makes an endpoint and returns its secret, this once.
func (s *server) makeHook(c echo.Context) error {
	var in struct {
		Name   string   `json:"name"`
		URL    string   `json:"url"`
		Events []string `json:"events"`
		Sites  []string `json:"sites"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	e, err := s.Hooks.Make(
		in.Name, in.URL, in.Events, in.Sites, c.Get("user").(auth.User).ID, s.noting(c, "hook_made", in.Name, in.URL),
	)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusCreated, map[string]any{"id": e.ID, "secret": e.Secret})
}

// removeHook removes an endpoint.
func (s *server) removeHook(c echo.Context) error {
	return s.answered(c, s.Hooks.Remove(c.Param("id"), s.noting(c, "hook_removed", "", c.Param("id"))))
}

// resumeHook enables an endpoint again.
func (s *server) resumeHook(c echo.Context) error {
	return s.answered(c, s.Hooks.Resume(c.Param("id"), s.noting(c, "hook_resumed", "", c.Param("id"))))
}

// messagesPiece is how many messages an answer has.
const messagesPiece = 50

// hookMessage is a message in the log.
type hookMessage struct {
	Key     string `json:"key"`
	ID      string `json:"id"`
	Hook    string `json:"hook"`
	Event   string `json:"event"`
	Body    string `json:"body"`
	Made    string `json:"made"`
	Tries   int    `json:"tries"`
	Next    string `json:"next"`    // when it is tried again, "" for never
	Arrived string `json:"arrived"` // "" if it has not arrived
	Status  int    `json:"status"`
	Why     string `json:"why"`
}

// hookMessages lists what was sent, the newest first.
func (s *server) hookMessages(c echo.Context) error {
	list, next, err := s.Hooks.Log(c.QueryParam("hook"), c.QueryParam("after"), messagesPiece)
	if err != nil {
		return err
	}
	out := []hookMessage{}
	for _, m := range list {
		out = append(out, messageRow(&m))
	}
	return c.JSON(http.StatusOK, map[string]any{"messages": out, "next": next})
}

func messageRow(m *hooks.Message) hookMessage {
	return hookMessage{
		m.Key, m.ID, m.Endpoint, m.Event, string(m.Body), moment(m.Made), m.Tries, moment(m.Next),
		moment(m.Arrived), m.Status, m.Why,
	}
}

// sendHookAgain sends a message once more.
func (s *server) sendHookAgain(c echo.Context) error {
	var in struct {
		Key string `json:"key"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	return s.answered(c, s.Hooks.Again(in.Key, s.noting(c, "hook_sent_again", "", in.Key)))
}
