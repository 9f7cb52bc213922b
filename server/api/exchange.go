package api

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"slices"
	"time"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

func (s *server) version(c echo.Context) error {
	return c.JSON(
		http.StatusOK, map[string]string{"version": s.Version, "calc": calc.Version, "store": s.Store.StoreID()},
	)
}

func (s *server) sync(c echo.Context) (err error) {
	token, ok := bearer(c)
	if !ok {
		return auth.ErrToken
	}
	user, err := s.Keeper.Who(token)
	revoked := errors.Is(err, auth.ErrRevoked)
	if err != nil && (!revoked || user.Role == auth.Hub) { // a revoked hub keeps other people's work in its own queue
		return err
	}
	done, err := decompress(c, maxSync)
	if err != nil {
		return err
	}
	defer done()
	b, err := body(c)
	if err != nil {
		return err
	}
	through, err := s.turn(c.Request().Context(), b)
	if err != nil {
		return err
	}
	defer through()
	q, err := link.ReadRequest(b)
	if err != nil {
		return err
	}
	if q.Protocol < max(s.Oldest, link.Oldest) {
		return errOlder
	}
	taken := s.order.begin(q.Device, q.Nonce)
	defer func() { taken(err == nil) }()
	if q.After != "" { // a large one keeps others from being read meanwhile
		if err := s.order.follow(c.Request().Context(), q.Device, q.After, len(b) <= largeBody); err != nil {
			return err
		}
	}
	came, err := s.Store.CameOf(q.Device)
	if err != nil {
		return err
	}
	twin, err := s.devices.met(&q, user, came.By)
	if err != nil {
		failed(c, err) // only a note about the device: the work does not wait for it
	}
	judge, err := s.Keeper.Judge(user)
	if err != nil {
		return err
	}
	var barred error
	if revoked {
		barred = auth.ErrRevoked
		if err := s.handOver(user.ID, q.Changes); err != nil {
			return err
		}
	}
	side := s.side(c, judge, barred)
	side.Sender, side.Nothing = user.ID, revoked
	if s.Offer != nil { // at a hub: another hub pushes everybody's work, a person their own
		side.Passes = func(author, device string) bool {
			return user.Role == auth.Hub || author == user.ID && s.ownDevice(c, user, device)
		}
	}
	if user.Role != auth.Hub {
		side.Judge = s.ofOwnDevices(user, side.Judge)
		calculate := side.OnAccepted
		side.OnAccepted = func(list []change.Change) {
			// What is brought back after a restore may have come by way of a hub at first.
			sent := make(map[string]bool, len(q.Changes))
			for i := range q.Changes {
				sent[q.Changes[i].ID] = true
			}
			s.confirmOwn(c, user, slices.DeleteFunc(slices.Clone(list), func(one change.Change) bool { return !sent[one.ID] }))
			calculate(list)
		}
	}
	side.Refusals = func() ([]link.Held, error) { return s.refusals(user) }
	switch {
	case revoked:
	case user.Role == auth.Hub:
		side.InScope = func(*change.Change) (bool, error) { return true, nil }
	default:
		if side.InScope, err = s.scope.Of(user, s.Now()); err != nil {
			return err
		}
		if side.Limited = user.Limited(); side.Limited {
			side.Sites, side.Scope = user.Sites, office.ScopeName(user.Sites)
		}
	}
	finish := func(*link.Response) error { return nil }
	if !revoked && user.Role != auth.Hub && q.Hold != nil {
		if finish, err = s.part(&side, &q, user); err != nil {
			return err
		}
	}
	p, err := side.Serve(c.Request().Context(), q, s.Now().UTC().Format(time.RFC3339Nano))
	if err != nil {
		return err
	}
	if err := finish(&p); err != nil {
		return err
	}
	p.Twin, p.Ended = twin, revoked
	p.Same = p.Same && !twin && !revoked
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, p.Bytes())
}

// errDevice refuses what a user writes as another person's device.
var errDevice = errors.New("device: is another person's; a shared device is known by its browser")

// ownDevice reports whether a user may write with a device; if that is unknown, they may not.
func (s *server) ownDevice(c echo.Context, u auth.User, device string) bool {
	came, err := s.Store.CameOf(device)
	strange := true
	if err == nil {
		strange, err = s.devices.strange(device, u, came.By)
	}
	if err != nil {
		failed(c, err) // what was sent stays with its sender
	}
	return err == nil && !strange
}

// ofOwnDevices also refuses what a user writes with a device that belongs to others. A hub pushes
// what its devices sent, which it judged in the same way.
func (s *server) ofOwnDevices(u auth.User, judge store.Judge) store.Judge {
	return func(v store.View, one *change.Change) error {
		came, err := v.Came(one.Device)
		if err != nil {
			return err
		}
		strange, err := s.devices.strange(one.Device, u, came.By)
		if err != nil {
			return store.CannotTell(err)
		}
		if strange {
			return errDevice
		}
		return judge(v, one)
	}
}

// side is the office's end of an exchange, without anything to give yet. judge returns the account
// by which a change is judged and whether that account may write it at all. barred is why the
// sender may write nothing, or nil.
func (s *server) side(c echo.Context, judge func(*change.Change) (auth.User, error), barred error) link.Side {
	after := map[string]bool{} // changes that came to a run after it was closed
	fits := s.office.Judge(judge)
	return link.Side{
		Store: s.Store,
		OnAccepted: func(list []change.Change) {
			ctx := c.Request().Context()
			err := errors.Join(
				s.office.Recheck(ctx, list), s.office.NoteLate(ctx, list, after), s.office.EraseArrived(ctx, list),
			)
			if err != nil {
				failed(c, err) // the work is kept anyway; the office sees what it was sent
			}
			if s.OnAccepted != nil {
				s.OnAccepted(list)
			}
		},
		Judge: func(v store.View, one *change.Change) error {
			if barred != nil {
				return barred
			}
			if err := fits(v, one); err != nil {
				return err
			}
			is, err := office.Late(v, one)
			if is {
				after[one.ID] = true
			}
			return err
		},
		InScope: func(*change.Change) (bool, error) { return false, nil },
	}
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

// arrived recalculates what waited for a blob.
func (s *server) arrived(c echo.Context, name string) {
	if err := s.office.Arrived(c.Request().Context(), name); err != nil {
		failed(c, err) // the blob is kept anyway
	}
}

func (s *server) getBlob(c echo.Context) error {
	name := c.Param("name")
	user, _ := c.Get("user").(auth.User)
	given, err := s.places.Given(user, name)
	if err != nil {
		return err
	}
	if !given {
		return echo.ErrNotFound // as if it did not exist
	}
	b, err := s.Store.Blob(name)
	if errors.Is(err, fs.ErrNotExist) && s.FetchBlob != nil {
		b, err = s.fetchBlob(c.Request().Context(), name)
	}
	if err != nil {
		return err
	}
	// The bytes came from outside: never show them as a page.
	c.Response().Header().Set("Content-Disposition", "attachment")
	return c.Blob(http.StatusOK, echo.MIMEOctetStream, b)
}

// fetchBlob fetches a missing blob from the office above and keeps it. It refuses bytes with
// another hash.
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
	done, err := s.turn(c.Request().Context(), b)
	if err != nil {
		return err
	}
	defer done()
	calculation := c.Param("calculation")
	if !slices.ContainsFunc(calc.Calculations(), func(d document.Calculation) bool { return d.Name == calculation }) {
		return echo.ErrNotFound
	}
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, calc.Call(calculation, b))
}
