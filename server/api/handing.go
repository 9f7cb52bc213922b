package api

import (
	"bytes"
	"errors"
	"net/http"
	"strconv"

	"gaugewright/server/auth"
	"gaugewright/sync/link"

	"github.com/labstack/echo/v4"
)

// handingOver lets a revoked user push what belongs to their quarantined work, and nothing else: a
// photo or a logger's record that one of its changes names. Everybody else goes through next.
func (s *server) handingOver(carrier echo.MiddlewareFunc) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		usual := carrier(next)
		return func(c echo.Context) error {
			token, _ := bearer(c)
			user, err := s.Keeper.Who(token)
			if !errors.Is(err, auth.ErrRevoked) || user.Role == auth.Hub { // a hub queues what it carries
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

// owed reports whether a quarantined change of a user names a blob.
func (s *server) owed(user, name string) (bool, error) {
	named := []byte(`"` + name + `"`)
	for after := uint64(0); ; {
		held, err := s.Store.HeldBy(user, after, maxAside, maxAsideBytes)
		if err != nil || len(held) == 0 {
			return false, err
		}
		for i := range held {
			if bytes.Contains(held[i].Bytes, named) {
				return true, nil
			}
		}
		after = held[len(held)-1].Seq
	}
}

// mostHandedOver bounds what a revoked user may add to quarantine: weeks of work without its
// photos.
const mostHandedOver = 64 << 20

var errHandedOver = errors.New("a revoked account has handed over as much as it may; the office looks through it first")

// handOver counts a revoked user's push against that bound.
func (s *server) handOver(user string, changes []link.Sent) error {
	if len(changes) == 0 {
		return nil
	}
	s.handing.Lock()
	defer s.handing.Unlock()
	kept := s.Store.Private("handed over")
	b, err := kept.Get(user)
	if err != nil {
		return err
	}
	total := int64(0)
	if b != nil {
		if total, err = strconv.ParseInt(string(b), 10, 64); err != nil {
			return err
		}
	}
	for i := range changes {
		total += int64(len(changes[i].Bytes))
	}
	if total > mostHandedOver {
		return errHandedOver
	}
	return kept.Put(user, strconv.AppendInt(nil, total, 10))
}
