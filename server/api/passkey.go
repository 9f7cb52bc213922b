package api

import (
	"encoding/json"
	"errors"
	"net/http"

	"gaugewright/server/auth"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// ways returns how users can log in here besides name and password.
func (s *server) ways(c echo.Context) error {
	return c.JSON(
		http.StatusOK, map[string]any{"passkeys": s.Keeper.TakesPasskeys(), "openid": s.OpenID != nil},
	)
}

// beginPasskeyLogin asks a passkey for its signature: as second factor with a name and a password,
// otherwise alone.
func (s *server) beginPasskeyLogin(c echo.Context) error {
	var in struct {
		Name     string `json:"name"`
		Password string `json:"password"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	from := auth.Origin{Address: c.RealIP(), Device: c.Request().UserAgent(), Marks: s.marks(c)}
	options, ceremony, err := s.Keeper.BeginPasskeyLogin(auth.Entry{Name: in.Name, Password: in.Password}, from)
	if err != nil {
		s.noteRefusedLogin(c, in.Name, err)
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"options": options, "ceremony": ceremony})
}

// finishPasskeyLogin logs in the owner of the passkey that signed.
func (s *server) finishPasskeyLogin(c echo.Context) error {
	var in struct {
		Ceremony string          `json:"ceremony"`
		Answer   json.RawMessage `json:"answer"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	marks, err := s.Keeper.Browser(s.marks(c))
	if err != nil {
		return err
	}
	device := c.Request().UserAgent()
	l, err := s.Keeper.LoginByPasskey(in.Ceremony, in.Answer, auth.Origin{
		Address: c.RealIP(), Device: device, Marks: marks,
		With: func(user string) store.Step { return notingOf(c, user, "login", "", "passkey; "+device) },
	})
	if err != nil {
		s.notePasskeyRefusal(c, err)
		return err
	}
	return s.entered(c, l, marks)
}

// notePasskeyRefusal notes that a passkey was refused. A counter that went back gets an entry of
// its own, since somebody has to look into it.
func (s *server) notePasskeyRefusal(c echo.Context, err error) {
	name, why := "", "passkey: "+err.Error()
	var refused *auth.Refused
	if errors.As(err, &refused) {
		name = refused.User.Name
	}
	var counter *auth.Counter
	if errors.As(err, &counter) && refused != nil {
		if err := s.noteOf(c, "", "passkey_counter", refused.User.ID, counter.Detail()); err != nil {
			failed(c, err) // the log-in is refused anyway
		}
		return
	}
	s.noteRefusal(c, name, why)
}

// beginPasskey begins a passkey for the user.
func (s *server) beginPasskey(c echo.Context) error {
	var in struct {
		Password string `json:"password"`
	}
	u, _, err := s.ownBody(c, &in)
	if err != nil {
		return err
	}
	if err := s.Keeper.Confirm(u, in.Password); err != nil {
		return notTheSession(err)
	}
	options, ceremony, err := s.Keeper.BeginPasskey(u)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"options": options, "ceremony": ceremony})
}

// finishPasskey stores the passkey that the browser made.
func (s *server) finishPasskey(c echo.Context) error {
	var in struct {
		Ceremony string          `json:"ceremony"`
		Name     string          `json:"name"`
		Answer   json.RawMessage `json:"answer"`
	}
	u, token, err := s.ownBody(c, &in)
	if err != nil {
		return err
	}
	recovery, err := s.Keeper.FinishPasskey(
		u, in.Name, in.Ceremony, in.Answer, token, s.noting(c, "passkey_added", u.ID, in.Name),
	)
	if err != nil {
		return notALogin(err)
	}
	return c.JSON(http.StatusOK, map[string]any{"recovery": recovery})
}

// notALogin distinguishes a passkey that could not be added from a log-in that has ended.
func notALogin(err error) error {
	if errors.Is(err, auth.ErrPasskey) || errors.Is(err, auth.ErrSpent) {
		return errors.Join(errNotAdded, err)
	}
	return err
}

// removePasskey removes a passkey of the user.
func (s *server) removePasskey(c echo.Context) error {
	var in struct {
		Password string `json:"password"`
	}
	u, token, err := s.ownBody(c, &in)
	if err != nil {
		return err
	}
	if err := s.Keeper.Confirm(u, in.Password); err != nil {
		return notTheSession(err)
	}
	name := ""
	list, err := s.Keeper.PasskeysOf(u)
	for _, p := range list {
		if p.ID == c.Param("id") {
			name = p.Name
		}
	}
	if err != nil {
		return err
	}
	noted := s.noting(c, "passkey_removed", u.ID, name)
	return s.answered(c, s.Keeper.RemovePasskey(u, c.Param("id"), token, noted))
}
