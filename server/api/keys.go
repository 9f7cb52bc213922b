package api

import (
	"net/http"
	"strings"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"

	"github.com/labstack/echo/v4"
)

// keys returns the public keys by which everything here is checked. verify takes the reply as its
// file of keys.
func (s *server) keys(c echo.Context) error {
	ring, err := s.office.Ring()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, ring)
}

// brieflyKey is how many characters of a key's thumbprint identify it in a log.
const brieflyKey = 8

// keysList lists all keys with their state, including the laboratory's own.
func (s *server) keysList(c echo.Context) error {
	rows, err := s.office.KeyRows("")
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"keys": rows, "heads": s.Store.HeadKey()})
}

// ownKeys lists the user's own keys with their state.
func (s *server) ownKeys(c echo.Context) error {
	user := c.Get("user").(auth.User)
	rows, err := s.office.KeyRows(user.ID)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"keys": rows})
}

// endKey takes a key out of use: the user's own or, for an administrator, anyone's.
func (s *server) endKey(c echo.Context) error {
	var in struct {
		Why  string `json:"why"`
		Lost bool   `json:"lost"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	k, err := s.keyOf(c)
	if err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	if k.Person != user.ID && user.Role != auth.Administrator {
		s.noteRight(c, user)
		return errRole
	}
	if in.Why = strings.TrimSpace(in.Why); in.Why == "" || len(in.Why) > office.MaxRemark {
		return office.ErrWhy
	}
	kind := "key_ended"
	if in.Lost {
		kind = "key_lost"
	}
	detail := in.Why + " (" + k.Public.Thumbprint()[:brieflyKey] + ")"
	noted := s.noting(c, kind, k.Person, detail)
	ctx := c.Request().Context()
	return s.answered(c, s.office.EndKey(ctx, user.ID, k.ID, in.Why, in.Lost, noted))
}

// confirmKey notes that an administrator knows the owner of a key that came through a hub.
func (s *server) confirmKey(c echo.Context) error {
	k, err := s.keyOf(c)
	if err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	noted := s.noting(c, "key_confirmed", k.Person, "")
	return s.answered(c, s.office.Confirm(c.Request().Context(), user.ID, []string{k.ID}, noted))
}

func (s *server) keyOf(c echo.Context) (plant.Key, error) {
	state, err := s.office.Record(c.Param("id"))
	if err != nil {
		return plant.Key{}, err
	}
	return plant.ReadKey(state)
}

// confirmOwn confirms the keys among changes that their owner's log-in pushed here.
func (s *server) confirmOwn(c echo.Context, user auth.User, list []change.Change) {
	var keys []string
	for i := range list {
		if list[i].Kind == "key" && list[i].Author == user.ID {
			keys = append(keys, list[i].Record)
		}
	}
	if len(keys) == 0 {
		return
	}
	noted := notingOf(c, user.ID, "key_added", user.ID, "")
	if err := s.office.Confirm(c.Request().Context(), "", keys, noted); err != nil {
		failed(c, err) // the key is kept anyway; an administrator can confirm it
	}
}
