package api

import (
	"net/http"
	"slices"

	"gaugewright/server/office"
	"gaugewright/sync/hub"

	"github.com/labstack/echo/v4"
)

// Forwarding is the state of a hub's forwarding to the office.
type Forwarding struct {
	Upstream string `json:"upstream"` // "" if nothing is forwarded
	hub.Queue
	Last    string `json:"last"`    // when the office last had everything, RFC 3339; "" for never
	Problem string `json:"problem"` // of the last attempt; "" for none
}

// refusedOf is what the office above refuses of one person.
type refusedOf struct {
	Author  string   `json:"author"` // the name
	Count   int      `json:"count"`
	Oldest  string   `json:"oldest"`
	Reasons []string `json:"reasons"`
}

func (s *server) forwarding(c echo.Context) error {
	out := struct {
		Forwarding
		People []refusedOf `json:"people"` // whose work the office does not take
	}{People: []refusedOf{}}
	if s.Forwarding != nil {
		var err error
		if out.Forwarding, err = s.Forwarding(); err != nil {
			return err
		}
	}
	if s.Refused != nil {
		names, err := s.office.Names()
		if err != nil {
			return err
		}
		list, err := s.Refused()
		if err != nil {
			return err
		}
		out.People = byPerson(list, names)
	}
	return c.JSON(http.StatusOK, out)
}

// byPerson sums up a list that is ordered by author and time.
func byPerson(list []hub.Refused, names map[string]string) []refusedOf {
	people, author := []refusedOf{}, ""
	for i := range list {
		r := &list[i]
		if len(people) == 0 || r.Change.Author != author {
			author = r.Change.Author
			people = append(people, refusedOf{Author: office.Called(names, author), Oldest: r.Change.Wall})
		}
		one := &people[len(people)-1]
		one.Count++
		if !slices.Contains(one.Reasons, r.Reason) {
			one.Reasons = append(one.Reasons, r.Reason)
		}
	}
	return people
}

// offer lets a hub offer again what the office has refused.
func (s *server) offer(c echo.Context) error {
	if s.Offer == nil {
		return echo.ErrNotFound
	}
	if err := s.Offer(); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
