package api

import (
	"errors"
	"net/http"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/openid"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// OpenIDBack is the path on this server to which a provider sends people back.
const OpenIDBack = "/api/openid/back"

// The page reads how a log-in by the provider ended from the fragment of its address, which no
// server sees.
const (
	cameIn     = "/#openid"
	cameNot    = "/#openid="
	keptPath   = "/"
	keptName   = "gw_openid"
	safePrefix = "__Host-"
)

var errNoOpenID = errors.New("this server has no log-in by a provider")

// outsideRefusals are the refusals of a log-in by the provider, each with the word for which the
// page has a sentence.
var outsideRefusals = []struct {
	err  error
	word string
}{
	{errNoOpenID, "off"}, {openid.ErrReach, "reach"}, {openid.ErrSpent, "spent"},
	{openid.ErrDeclined, "declined"}, {openid.ErrToken, "token"}, {openid.ErrUnverified, "unverified"},
	{openid.ErrBusy, "busy"}, {auth.ErrStranger, "stranger"}, {auth.ErrRevoked, "revoked"},
	{auth.ErrOwnSecond, "second"},
	{auth.ErrSecond, "second"}, {auth.ErrLogin, "spent"}, // the account changed meanwhile
}

func (s *server) keptCookie(c echo.Context, value string, age time.Duration) {
	c.SetCookie(&http.Cookie{
		// Lax: the browser comes back from the provider's page.
		Name: s.keptCookieName(), Value: value, Path: keptPath, MaxAge: int(age.Seconds()),
		HttpOnly: true, Secure: s.Secure, SameSite: http.SameSiteLaxMode,
	})
}

func (s *server) keptCookieName() string {
	if s.Secure {
		return safePrefix + keptName
	}
	return keptName
}

// beginOpenID sends the browser to the provider.
func (s *server) beginOpenID(c echo.Context) error {
	if s.OpenID == nil {
		return s.turnedAway(c, errNoOpenID)
	}
	address, keep, err := s.OpenID.Begin(c.Request().Context())
	if err != nil {
		return s.turnedAway(c, err)
	}
	s.keptCookie(c, keep, openid.Life)
	return c.Redirect(http.StatusSeeOther, address)
}

// finishOpenID logs in the person whom the provider vouches for.
func (s *server) finishOpenID(c echo.Context) error {
	if s.OpenID == nil {
		return s.turnedAway(c, errNoOpenID)
	}
	keep := ""
	if k, err := c.Cookie(s.keptCookieName()); err == nil {
		keep = k.Value
	}
	s.keptCookie(c, "", -time.Second) // used once
	person, err := s.OpenID.Finish(c.Request().Context(), keep, c.QueryParams())
	if err != nil {
		return s.turnedAway(c, err)
	}
	marks, err := s.Keeper.Browser(s.marks(c))
	if err != nil {
		return err
	}
	device := c.Request().UserAgent()
	vouched := auth.Vouched{
		Issuer: person.Issuer, Subject: person.Subject, Name: person.Name,
		Session: person.Session, Second: s.OpenIDSecond,
	}
	l, err := s.Keeper.LoginOutside(vouched, auth.Origin{
		Address: c.RealIP(), Device: device, Marks: marks,
		With: func(user string) store.Step { return notingOf(c, user, "login", "", "provider; "+device) },
	}, func(user string) store.Step { return notingOf(c, user, "openid_linked", user, person.Name) })
	if err != nil {
		return s.turnedAway(c, err)
	}
	if err := s.welcomed(c, l, marks); err != nil {
		return err
	}
	s.cookie(c, l.Refresh, l.Last.Sub(s.Now()))
	return c.Redirect(http.StatusSeeOther, cameIn)
}

// endedOutside ends the log-ins of a person whom the provider has logged out. The provider posts it
// itself, without a browser; its signed token says who it is.
func (s *server) endedOutside(c echo.Context) error {
	if s.OpenID == nil {
		return errNoOpenID
	}
	if err := c.Request().ParseForm(); err != nil {
		return errors.Join(openid.ErrToken, err)
	}
	e, err := s.OpenID.Logout(c.Request().Context(), c.Request().PostForm)
	if err != nil {
		failed(c, err) // for the server's operator
		return err
	}
	_, err = s.Keeper.EndOutside(e.Issuer, e.Subject, e.Session, func(user string) store.Step {
		return notingOf(c, "", "openid_logout", user, "")
	})
	if err != nil {
		return err
	}
	return c.NoContent(http.StatusOK)
}

// turnedAway notes that a log-in by the provider was refused, and lets the page say why.
func (s *server) turnedAway(c echo.Context, err error) error {
	for _, r := range outsideRefusals {
		if !errors.Is(err, r.err) {
			continue
		}
		name := ""
		var refused *auth.Refused
		if errors.As(err, &refused) {
			name = refused.User.Name
		}
		if errors.Is(err, openid.ErrReach) {
			failed(c, err) // for the server's operator
		}
		s.noteRefusal(c, name, "provider: "+r.err.Error())
		return c.Redirect(http.StatusSeeOther, cameNot+r.word)
	}
	return err
}

// expectOpenID lets a person log in by the provider under the name they have there.
func (s *server) expectOpenID(c echo.Context) error {
	var in struct {
		Name string `json:"name"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	if s.OpenID == nil {
		return errNoOpenID
	}
	noted := s.noting(c, "openid_expected", c.Param("id"), in.Name)
	return s.answered(c, s.Keeper.ExpectOpenID(c.Param("id"), in.Name, noted))
}

// endOpenID removes a person's log-in by the provider.
func (s *server) endOpenID(c echo.Context) error {
	return s.answered(c, s.Keeper.EndOpenID(c.Param("id"), s.noting(c, "openid_ended", c.Param("id"), "")))
}
