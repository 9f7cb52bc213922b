package api

import (
	"bytes"
	"errors"
	"net/http"

	"gaugewright/server/auth"
	"gaugewright/sync/change"

	"github.com/labstack/echo/v4"
)

// handingOver lets a revoked user bring what belongs to the work that was put aside, and nothing else: a photo or a logger's record that one of its
// changes names. Everybody else is let through or refused by next.
func (s *server) handingOver(carrier echo.MiddlewareFunc) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		usual := carrier(next)
		return func(c echo.Context) error {
			token, _ := bearer(c)
			user, err := s.Keeper.Who(token)
			if !errors.Is(err, auth.ErrRevoked) || user.Role == auth.Hub { // what a hub carries stays in its own queue
				return usual(c)
			}
			if c.Request().Method != http.MethodHead {
				owed, err := s.owed(user.ID, c.Param("name"))
				if err != nil {
					return err
				}
				if !owed {
					return auth.ErrRevoked
				}
			}
			return next(c)
		}
	}
}

// owed says whether something that was put aside of a user names a blob.
func (s *server) owed(user, name string) (bool, error) {
	held, err := s.Store.Quarantined()
	if err != nil {
		return false, err
	}
	named := []byte(`"` + name + `"`)
	for _, h := range held {
		if !bytes.Contains(h.Bytes, named) {
			continue
		}
		if one, err := change.Parse(h.Bytes); err == nil && one.Author == user {
			return true, nil
		}
	}
	return false, nil
}
