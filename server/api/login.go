package api

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

func bearer(c echo.Context) (string, bool) {
	return strings.CutPrefix(c.Request().Header.Get("Authorization"), "Bearer ")
}

// allow passes a request whose token belongs to a user with one of the roles.
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
				s.noteRight(c, u)
				return errRole
			}
			if s.lacks(u) && !slices.Contains(roles, auth.Technician) {
				return errSecondWanted
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
	c.SetCookie(
		&http.Cookie{
			Name: s.cookieName(), Value: value, Path: "/", MaxAge: int(age.Seconds()), HttpOnly: true,
			Secure: s.Secure, SameSite: http.SameSiteStrictMode,
		},
	)
}

const (
	marksName = "gw_known" // the marks of earlier log-ins; see auth.Mark
	marksLife = 400 * 24 * time.Hour
)

func (s *server) marks(c echo.Context) string {
	if k, err := c.Cookie(marksName); err == nil {
		return k.Value
	}
	return ""
}

func (s *server) tell(c echo.Context, l auth.Login) error {
	who, err := s.office.IdentityOf(l.User.ID)
	if err != nil {
		failed(c, err) // a user whose record is damaged works on under the account's name
	}
	s.cookie(c, l.Refresh, l.Last.Sub(s.Now()))
	return c.JSON(http.StatusOK, map[string]any{"access": l.Access, "expires": l.Expires.UTC().Format(time.RFC3339),
		"user": map[string]any{
			"id": l.User.ID, "name": l.User.Name, "role": l.User.Role,
			"sites": append([]string{}, l.User.Sites...), "full": who.Full, "function": who.Function,
		}})
}

func (s *server) login(c echo.Context) error {
	var in auth.Entry
	if err := decode(c, &in); err != nil {
		return err
	}
	marks, err := s.Keeper.Browser(s.marks(c))
	if err != nil {
		return err
	}
	l, err := s.Keeper.LoginFrom(in, auth.Origin{
		Address: c.RealIP(), Device: c.Request().UserAgent(), Marks: marks,
		With: func(user string) store.Step { return notingOf(c, user, "login", "", c.Request().UserAgent()) },
	})
	if err != nil {
		s.noteRefusedLogin(c, in.Name, err)
		return err
	}
	return s.entered(c, l, marks)
}

// noteRefusedLogin notes a refused log-in under a name; asking for a second factor is not a
// refusal.
func (s *server) noteRefusedLogin(c echo.Context, name string, err error) {
	switch {
	case errors.Is(err, auth.ErrLogin):
		s.noteRefusal(c, name, "wrong")
	case errors.Is(err, auth.ErrTooMany):
		s.noteRefusal(c, name, "too many tries")
	case errors.Is(err, auth.ErrRevoked):
		s.noteRefusal(c, name, "revoked")
	}
}

// entered answers a log-in, and marks the browser as one of that account.
func (s *server) entered(c echo.Context, l auth.Login, marks string) error {
	if err := s.welcomed(c, l, marks); err != nil {
		return err
	}
	return s.tell(c, l)
}

// welcomed marks the browser as one of an account.
func (s *server) welcomed(c echo.Context, l auth.Login, marks string) error {
	marks, err := s.Keeper.Mark(l.User.Name, marks)
	if err != nil {
		return err
	}
	c.SetCookie(
		&http.Cookie{
			Name: marksName, Value: marks, Path: "/api/login", MaxAge: int(marksLife.Seconds()),
			HttpOnly: true, Secure: s.Secure, SameSite: http.SameSiteStrictMode,
		},
	)
	s.reconsider(c, l.User.ID)
	return nil
}

func (s *server) renew(c echo.Context) error {
	k, err := c.Cookie(s.cookieName())
	if err != nil {
		return auth.ErrToken
	}
	l, err := s.Keeper.Refresh(k.Value, func(user string) store.Step {
		return notingOf(c, "", "login_in_two_hands", user, c.Request().UserAgent())
	})
	if errors.Is(err, auth.ErrToken) {
		s.cookie(c, "", -time.Second)
	}
	if err != nil {
		return err
	}
	return s.tell(c, l)
}

// logout ends a log-in and makes the browser clear its cache; unsent work on the device stays.
func (s *server) logout(c echo.Context) error {
	if k, err := c.Cookie(s.cookieName()); err == nil {
		noted := func(user string) store.Step { return notingOf(c, user, "logout", "", "") }
		if err := s.Keeper.Logout(k.Value, noted); err != nil {
			return err
		}
	}
	c.Response().Header().Set("Clear-Site-Data", `"cache"`)
	s.cookie(c, "", -time.Second)
	return c.NoContent(http.StatusNoContent)
}

func (s *server) users(c echo.Context) error {
	type row struct {
		auth.User
		office.Identity
	}
	list, err := s.Keeper.Users()
	if err != nil {
		return err
	}
	who, err := s.office.Identities()
	if err != nil {
		return err
	}
	rows := make([]row, 0, len(list))
	for _, u := range list {
		rows = append(rows, row{u, who[u.ID]})
	}
	return c.JSON(http.StatusOK, map[string]any{"users": rows})
}

// setPerson sets the full name and the function that certificates state of a person.
func (s *server) setPerson(c echo.Context) error {
	var in office.Identity
	if err := decode(c, &in); err != nil {
		return err
	}
	user, err := s.account(c.Param("id"))
	if err != nil {
		return err
	}
	by := c.Get("user").(auth.User)
	noted := s.noting(c, "named", user.ID, "") // the names are in the record, where they can be erased
	return s.answered(c, s.office.Identify(c.Request().Context(), by.ID, user, in, noted))
}

// account returns the account with an id.
func (s *server) account(id string) (auth.User, error) {
	list, err := s.Keeper.Users()
	if err != nil {
		return auth.User{}, err
	}
	i := slices.IndexFunc(list, func(u auth.User) bool { return u.ID == id })
	if i < 0 {
		return auth.User{}, fmt.Errorf("%w: there is no account %q", auth.ErrInput, id)
	}
	return list[i], nil
}

// addUser makes an account: with a password, or with a code by which its owner chooses one.
func (s *server) addUser(c echo.Context) error {
	var in struct {
		Name     string    `json:"name"`
		Password string    `json:"password"`
		Role     auth.Role `json:"role"`
		Full     string    `json:"full"`
		Function string    `json:"function"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	id, err := change.NewID(rand.Reader)
	if err != nil {
		return err
	}
	who := office.Identity{Full: in.Full, Function: in.Function}
	known := who != office.Identity{}
	if known {
		if err := s.office.Check(&who); err != nil {
			return err
		}
	}
	var made struct {
		auth.User
		Code string `json:"code,omitempty"`
	}
	added := s.noting(c, "account_added", id, string(in.Role))
	if in.Password == "" && in.Role != auth.Hub {
		made.User, made.Code, err = s.Keeper.Invite(id, in.Name, in.Role, added)
	} else {
		made.User, err = s.Keeper.Add(id, in.Name, in.Role, in.Password, added)
	}
	if err != nil {
		return err
	}
	if known {
		by := c.Get("user").(auth.User)
		err := s.office.Identify(c.Request().Context(), by.ID, made.User, who)
		if err != nil {
			failed(c, err) // the account exists; its identity can be set again
		}
	}
	s.reconsider(c, made.ID)
	return c.JSON(http.StatusOK, made)
}

// setSites sets the sites whose records a person receives; none means all.
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
	noted := s.noting(c, "sites", c.Param("id"), strconv.Itoa(len(in.Sites))+" sites")
	if err := s.Keeper.SetSites(c.Param("id"), in.Sites, noted); err != nil {
		return err
	}
	s.reconsider(c, c.Param("id"))
	return s.answered(c, nil)
}

// setRole gives an account another role; its users have to log in again.
func (s *server) setRole(c echo.Context) error {
	var in struct {
		Role auth.Role `json:"role"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	noted := s.noting(c, "role", c.Param("id"), string(in.Role))
	if err := s.Keeper.SetRole(c.Param("id"), in.Role, noted); err != nil {
		return err
	}
	by := c.Get("user").(auth.User)
	if err := s.office.Ranked(c.Request().Context(), by.ID, c.Param("id"), in.Role); err != nil {
		failed(c, err) // their rights have changed anyway
	}
	s.reconsider(c, c.Param("id"))
	return s.answered(c, nil)
}

func (s *server) revoke(c echo.Context) error {
	if err := s.Keeper.Revoke(c.Param("id"), s.noting(c, "revoked", c.Param("id"), "")); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	return s.answered(c, s.office.EndKeys(c.Request().Context(), user.ID, c.Param("id"), "the account was ended"))
}

func (s *server) restore(c echo.Context) error {
	if err := s.Keeper.Restore(c.Param("id"), s.noting(c, "restored", c.Param("id"), "")); err != nil {
		return err
	}
	s.reconsider(c, c.Param("id"))
	return s.answered(c, nil)
}

func (s *server) setPassword(c echo.Context) error {
	var in struct {
		Password string `json:"password"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	noted := s.noting(c, "password_set", c.Param("id"), "")
	return s.answered(c, s.Keeper.SetPassword(c.Param("id"), in.Password, noted))
}

// own returns the user and the refresh token of their log-in; "" without a cookie.
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

// ownBody is own for a request with a body, which it reads into in.
func (s *server) ownBody(c echo.Context, in any) (auth.User, string, error) {
	u, token, err := s.own(c)
	if err == nil {
		err = decode(c, in)
	}
	return u, token, err
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
	return s.answered(c, s.Keeper.EndSession(u.ID, c.Param("id"), s.noting(c, "logins_ended", u.ID, "one")))
}

func (s *server) endOtherLogins(c echo.Context) error {
	u, token, err := s.own(c)
	if err != nil {
		return err
	}
	return s.answered(c, s.Keeper.EndOtherSessions(u.ID, token, s.noting(c, "logins_ended", u.ID, "all others")))
}
