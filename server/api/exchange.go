package api

import (
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"
	"time"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/merge"

	"context"
	"fmt"
	"github.com/labstack/echo/v4"
	"io/fs"
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
	if err != nil && (!revoked || user.Role == auth.Hub) { // a revoked hub keeps what others wrote in its own queue
		return err
	}
	done, err := unpress(c, maxSync)
	if err != nil {
		return err
	}
	defer done()
	b, err := body(c)
	if err != nil {
		return err
	}
	q, err := link.ReadRequest(b)
	if err != nil {
		return err
	}
	twin, err := s.devices.met(&q, user)
	if err != nil {
		c.Logger().Error(err) // a note about the device, which the work does not wait for
	}
	judge, err := s.Keeper.Judge(user)
	if err != nil {
		return err
	}
	var barred error
	if revoked {
		barred = auth.ErrRevoked
	}
	side := s.side(c, judge, barred)
	switch {
	case revoked:
	case user.Role == auth.Hub:
		side.InScope = func(*change.Change) (bool, error) { return true, nil }
	default:
		if side.InScope, err = s.scope.of(user, s.Now()); err != nil {
			return err
		}
		if side.Limited = user.Limited(); side.Limited {
			side.Sites, side.Scope = user.Sites, scopeName(user.Sites)
		}
	}
	p, err := side.Serve(c.Request().Context(), q, s.Now().UTC().Format(time.RFC3339Nano))
	if err != nil {
		return err
	}
	p.Twin = twin
	p.Same = p.Same && !twin
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, p.Bytes())
}

// side is the office's end of an exchange in which nothing is given yet; barred is why the sender may write nothing, or nil.
func (s *server) side(c echo.Context, judge func(*change.Change) error, barred error) link.Side {
	once, plans := s.watch(), s.plans()
	return link.Side{Store: s.Store, OnAccepted: func(list []change.Change) {
		if err := s.recheck(c.Request().Context(), list); err != nil {
			c.Logger().Error(err) // the work is kept all the same; the office sees what it was sent
		}
		if s.OnAccepted != nil {
			s.OnAccepted(list)
		}
	},
		MayWrite: func(one *change.Change) error {
			if barred != nil {
				return barred
			}
			if err := judge(one); err != nil {
				return err
			}
			if err := s.fits(one); err != nil {
				return err
			}
			if err := plans.judge(one); err != nil {
				return err
			}
			return once.judge(one)
		},
		InScope: func(*change.Change) (bool, error) { return false, nil },
	}
}

// fits refuses what would alter a reading: a capture is written once, and a run that is closed takes no further one. The same change sent
// again fits, since it alters nothing.
func (s *server) fits(c *change.Change) error {
	if c.Kind != "run" {
		return nil
	}
	state, ok, err := s.Store.Record(c.Record)
	if err != nil || !ok {
		return err
	}
	_, closed := state.Field("closed")
	for _, set := range c.Set {
		if !strings.HasPrefix(set.Field, "capture.") {
			continue
		}
		f, written := state.Field(set.Field)
		switch {
		case written && slices.ContainsFunc(f.Heads, func(h merge.Head) bool { return h.Change == c.ID }):
		case written:
			return errors.New("the capture " + set.Field + " is written already; a correction is a new one that supersedes it")
		case closed:
			if err := s.corrects(c, set.Value, &state); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *server) putBlob(c echo.Context) error {
	p, err := readPiece(c.Request().Header.Get("Content-Range"))
	if err != nil {
		return err
	}
	if p != nil {
		return s.putPiece(c, p)
	}
	b, err := io.ReadAll(c.Request().Body)
	if err != nil {
		return err
	}
	if err := s.Store.PutBlob(c.Param("name"), b); err != nil {
		return err
	}
	s.arrived(c, c.Param("name"))
	return c.NoContent(http.StatusNoContent)
}

func (s *server) getBlob(c echo.Context) error {
	name := c.Param("name")
	b, err := s.Store.Blob(name)
	if errors.Is(err, fs.ErrNotExist) && s.FetchBlob != nil {
		b, err = s.fetchBlob(c.Request().Context(), name)
	}
	if err != nil {
		return err
	}
	// The bytes came from outside: they are never shown as a page.
	c.Response().Header().Set("Content-Disposition", "attachment")
	return c.Blob(http.StatusOK, echo.MIMEOctetStream, b)
}

// fetchBlob asks the office for a blob that is not here, and keeps it; bytes that are not the ones asked for are refused.
func (s *server) fetchBlob(ctx context.Context, name string) ([]byte, error) {
	b, err := s.FetchBlob(ctx, name)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		return nil, fmt.Errorf("%w: %w", errUpstream, err)
	}
	return b, s.Store.PutBlob(name, b)
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
