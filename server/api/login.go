package api

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"gaugewright/server/auth"

	"github.com/labstack/echo/v4"
)

func bearer(c echo.Context) (string, bool) {
	return strings.CutPrefix(c.Request().Header.Get("Authorization"), "Bearer ")
}

// allow lets a request pass whose token is of a user with one of the roles.
func (s *server) allow(roles ...auth.Role) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			token, ok := bearer(c)
			if !ok {
				return auth.ErrToken
			}
			u, err := s.Keeper.Who(token)
			if err != nil {
				return err
			}
			if !slices.Contains(roles, u.Role) {
				return errRole
			}
			c.Set("user", u)
			return next(c)
		}
	}
}

func (s *server) cookieName() string {
	if s.Secure {
		return "__Host-gw_refresh"
	}
	return "gw_refresh"
}

func (s *server) cookie(c echo.Context, value string, age time.Duration) {
	c.SetCookie(&http.Cookie{Name: s.cookieName(), Value: value, Path: "/", MaxAge: int(age.Seconds()), HttpOnly: true, Secure: s.Secure, SameSite: http.SameSiteStrictMode})
}

const cookieLife = 90 * 24 * time.Hour

func (s *server) tell(c echo.Context, l auth.Login) error {
	s.cookie(c, l.Refresh, cookieLife)
	return c.JSON(http.StatusOK, map[string]any{"access": l.Access, "expires": l.Expires.UTC().Format(time.RFC3339),
		"user": map[string]any{"id": l.User.ID, "name": l.User.Name, "role": l.User.Role, "sites": append([]string{}, l.User.Sites...)}})
}

func (s *server) login(c echo.Context) error {
	var in struct{ Name, Password string }
	if err := decode(c, &in); err != nil {
		return err
	}
	l, err := s.Keeper.LoginFrom(in.Name, in.Password, auth.Origin{Address: c.RealIP(), Device: c.Request().UserAgent()})
	if err != nil {
		return err
	}
	return s.tell(c, l)
}

func (s *server) renew(c echo.Context) error {
	k, err := c.Cookie(s.cookieName())
	if err != nil {
		return auth.ErrToken
	}
	l, err := s.Keeper.Refresh(k.Value)
	if errors.Is(err, auth.ErrToken) {
		s.cookie(c, "", -time.Second)
	}
	if err != nil {
		return err
	}
	return s.tell(c, l)
}

func (s *server) logout(c echo.Context) error {
	if k, err := c.Cookie(s.cookieName()); err == nil {
		if err := s.Keeper.Logout(k.Value); err != nil {
			return err
		}
	}
	s.cookie(c, "", -time.Second)
	return c.NoContent(http.StatusNoContent)
}

func (s *server) users(c echo.Context) error {
	list, err := s.Keeper.Users()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"users": list})
}

func (s *server) addUser(c echo.Context) error {
	var in struct {
		Name     string    `json:"name"`
		Password string    `json:"password"`
		Role     auth.Role `json:"role"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	id, err := newID()
	if err != nil {
		return err
	}
	u, err := s.Keeper.Add(id, in.Name, in.Role, in.Password)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, u)
}

// setSites says of which sites a person is given the records; none is all.
func (s *server) setSites(c echo.Context) error {
	var in struct {
		Sites []string `json:"sites"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	for _, id := range in.Sites {
		state, ok, err := s.Store.Record(id)
		if err != nil {
			return err
		}
		if !ok || state.Kind != "site" {
			return fmt.Errorf("%w: there is no site %q", auth.ErrInput, id)
		}
	}
	if err := s.Keeper.SetSites(c.Param("id"), in.Sites); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

func (s *server) revoke(c echo.Context) error {
	if err := s.Keeper.Revoke(c.Param("id")); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

func (s *server) restore(c echo.Context) error {
	if err := s.Keeper.Restore(c.Param("id")); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

func (s *server) setPassword(c echo.Context) error {
	var in struct {
		Password string `json:"password"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	if err := s.Keeper.SetPassword(c.Param("id"), in.Password); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

// own returns who asks, and the refresh token of the log-in they ask with; "" without a cookie.
func (s *server) own(c echo.Context) (auth.User, string, error) {
	u, ok := c.Get("user").(auth.User)
	if !ok {
		return auth.User{}, "", auth.ErrToken
	}
	if k, err := c.Cookie(s.cookieName()); err == nil {
		return u, k.Value, nil
	}
	return u, "", nil
}

func (s *server) logins(c echo.Context) error {
	u, token, err := s.own(c)
	if err != nil {
		return err
	}
	list, err := s.Keeper.Sessions(u.ID, token)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"logins": list})
}

func (s *server) endLogin(c echo.Context) error {
	u, _, err := s.own(c)
	if err != nil {
		return err
	}
	if err := s.Keeper.EndSession(u.ID, c.Param("id")); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

func (s *server) endOtherLogins(c echo.Context) error {
	u, token, err := s.own(c)
	if err != nil {
		return err
	}
	if err := s.Keeper.EndOtherSessions(u.ID, token); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
