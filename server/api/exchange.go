package api

import (
	"errors"
	"io"
	"net/http"
	"slices"
	"time"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/link"

	"github.com/labstack/echo/v4"
)

func (s *server) version(c echo.Context) error {
	return c.JSON(http.StatusOK, map[string]string{"version": s.Version, "calc": calc.Version, "store": s.Store.StoreID()})
}

func (s *server) sync(c echo.Context) error {
	token, ok := bearer(c)
	if !ok {
		return auth.ErrToken
	}
	user, err := s.Keeper.Who(token)
	revoked := errors.Is(err, auth.ErrRevoked)
	if err != nil && !revoked {
		return err
	}
	b, err := body(c)
	if err != nil {
		return err
	}
	q, err := link.ReadRequest(b)
	if err != nil {
		return err
	}
	side := link.Side{Store: s.Store, OnAccepted: s.OnAccepted,
		MayWrite: func(one *change.Change) error {
			if revoked {
				return auth.ErrRevoked
			}
			return auth.MayWrite(user, one)
		},
		InScope: func(*change.Change) bool { return !revoked },
	}
	p, err := side.Serve(c.Request().Context(), q, s.Now().UTC().Format(time.RFC3339Nano))
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, p.Bytes())
}

func (s *server) putBlob(c echo.Context) error {
	b, err := io.ReadAll(c.Request().Body)
	if err != nil {
		return err
	}
	if err := s.Store.PutBlob(c.Param("name"), b); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

func (s *server) getBlob(c echo.Context) error {
	b, err := s.Store.Blob(c.Param("name"))
	if err != nil {
		return err
	}
	// The bytes came from outside: they are never shown as a page.
	c.Response().Header().Set("Content-Disposition", "attachment")
	return c.Blob(http.StatusOK, echo.MIMEOctetStream, b)
}

func (s *server) calc(c echo.Context) error {
	b, err := body(c)
	if err != nil {
		return err
	}
	room := c.Param("room")
	if !slices.ContainsFunc(calc.Doors(), func(d document.Door) bool { return d.Name == room }) {
		return echo.ErrNotFound
	}
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, calc.Call(room, b))
}
