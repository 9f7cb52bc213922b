package api

import (
	"context"
	"encoding/base64"
	"errors"
	"io/fs"
	"log/slog"
	"net/http"
	"strings"

	"gaugewright/server/auth"
	"gaugewright/server/labels"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// secondPixels is the side, in pixels, of a module in the QR code of the second factor.
const secondPixels = 4

// ownAccount returns the state of the user's own account.
func (s *server) ownAccount(c echo.Context) error {
	u, _, err := s.own(c)
	if err != nil {
		return err
	}
	passkeys, err := s.Keeper.PasskeysOf(u)
	if err != nil {
		return err
	}
	codes, err := s.Keeper.HasCodes(u)
	if err != nil {
		return err
	}
	who, err := s.office.IdentityOf(u.ID)
	if err != nil {
		return err
	}
	return c.JSON(
		http.StatusOK,
		map[string]any{
			"id": u.ID, "name": u.Name, "full": who.Full, "function": who.Function,
			"role": u.Role, "second": u.Second, "wanted": s.lacks(u),
			"codes": codes, "passkeys": passkeys, "passkeys_here": s.Keeper.TakesPasskeys(),
		},
	)
}

// lacks reports whether a user's role needs a second factor that they do not have, or did not give
// when the provider logged them in.
func (s *server) lacks(u auth.User) bool {
	if !s.RequireSecond || u.Role != auth.Reviewer && u.Role != auth.Administrator {
		return false
	}
	if u.Vouched {
		return !s.OpenIDSecond
	}
	return !u.Second
}

// ownPassword changes the user's own password.
func (s *server) ownPassword(c echo.Context) error {
	var in struct {
		Old string `json:"old"`
		New string `json:"new"`
	}
	u, token, err := s.ownBody(c, &in)
	if err != nil {
		return err
	}
	return s.answered(c, notTheSession(
		s.Keeper.ChangePassword(u, in.Old, in.New, token, s.noting(c, "password_changed", u.ID, "")),
	))
}

// notTheSession distinguishes a wrong password of a logged-in user from a log-in that has ended, so
// that the client does not log in again for it.
func notTheSession(err error) error {
	if errors.Is(err, auth.ErrLogin) {
		return errPassword
	}
	return err
}

// beginSecond makes a second factor, which takes effect once it is confirmed.
func (s *server) beginSecond(c echo.Context) error {
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
	secret, address, err := s.Keeper.BeginFactor(u)
	if err != nil {
		return err
	}
	picture, err := labels.PNG(address, secondPixels)
	if err != nil {
		return err
	}
	return c.JSON(
		http.StatusOK,
		map[string]any{"secret": secret, "address": address, "png": base64.StdEncoding.EncodeToString(picture)},
	)
}

// confirmSecond puts the second factor whose device shows the code into effect.
func (s *server) confirmSecond(c echo.Context) error {
	var in struct {
		Code string `json:"code"`
	}
	u, token, err := s.ownBody(c, &in)
	if err != nil {
		return err
	}
	recovery, err := s.Keeper.ConfirmFactor(u, in.Code, token, s.noting(c, "second_begun", u.ID, ""))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"recovery": recovery})
}

// endSecond removes the user's own second factor.
func (s *server) endSecond(c echo.Context) error {
	var in struct {
		Password string `json:"password"`
		Code     string `json:"code"`
	}
	u, _, err := s.ownBody(c, &in)
	if err != nil {
		return err
	}
	if err := s.Keeper.Confirm(u, in.Password); err != nil {
		return notTheSession(err)
	}
	if err := s.Keeper.CheckSecond(u, in.Code); err != nil {
		return notTheSession(err)
	}
	return s.answered(c, s.Keeper.EndFactor(u.ID, s.noting(c, "second_ended", u.ID, "")))
}

// inviteAgain gives a user a code to choose a new password with.
func (s *server) inviteAgain(c echo.Context) error {
	code, err := s.Keeper.InviteAgain(c.Param("id"), s.noting(c, "invited", c.Param("id"), ""))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]string{"code": code})
}

// endSecondOf removes every second factor of a user who lost the device.
func (s *server) endSecondOf(c echo.Context) error {
	return s.answered(c, s.Keeper.EndSecond(c.Param("id"), s.noting(c, "second_ended", c.Param("id"), "")))
}

// loginsOf lists a person's log-ins.
func (s *server) loginsOf(c echo.Context) error {
	list, err := s.Keeper.Sessions(c.Param("id"), "")
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"logins": list})
}

// endLoginsOf ends all of a person's log-ins.
func (s *server) endLoginsOf(c echo.Context) error {
	return s.answered(c, s.Keeper.EndOtherSessions(c.Param("id"), "", s.noting(c, "logins_ended", c.Param("id"), "")))
}

// erasePhoto erases a photo of a visit for good; only its hash stays in the record.
func (s *server) erasePhoto(c echo.Context) error {
	var in struct {
		Visit  string `json:"visit"`
		Reason string `json:"reason"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	if in.Reason = strings.TrimSpace(in.Reason); in.Reason == "" || len(in.Reason) > office.MaxRemark {
		return errWhy
	}
	name := c.Param("name")
	if is, err := s.office.ShowsPhoto(in.Visit, name); err != nil || !is {
		return errors.Join(err, fs.ErrNotExist) // anything but a photo of a visit is evidence
	}
	erased := s.noting(c, "photo_erased", "", "visit "+in.Visit+": "+in.Reason)
	if s.Offer != nil { // a hub erases its own copy; the office tells everybody
		return s.answered(c, s.Store.EraseBlob(name, in.Reason, erased))
	}
	fields, err := s.office.PhotoFields(in.Visit, name)
	if err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	return s.answered(c, s.office.Erase(c.Request().Context(), user.ID, "visit", in.Visit, fields, in.Reason, erased))
}

// eraseAgain erases what a restored older copy has again.
func (s *server) eraseAgain() {
	err := s.office.ListErased(s.Erased...)
	n := 0
	if err == nil {
		n, err = s.office.EraseAgain(context.Background())
	}
	if err != nil {
		slog.Error("not all that was erased is erased again", "error", err)
	}
	if n > 0 {
		slog.Info("erased again what an older copy had", "records", n)
	}
}

// personal lists what in a record of a kind shows or names a person and can be erased.
func (s *server) personal(kind string) echo.HandlerFunc {
	return func(c echo.Context) error {
		list, err := s.office.Personal(c.Param("id"), kind)
		if err != nil {
			return err
		}
		return c.JSON(http.StatusOK, map[string]any{"values": list})
	}
}

// eraseValues erases for good what shows or names a person in fields of a record of a kind.
func (s *server) eraseValues(kind string) echo.HandlerFunc {
	return func(c echo.Context) error {
		var in struct {
			Fields []string `json:"fields"`
			Reason string   `json:"reason"`
		}
		if err := decode(c, &in); err != nil {
			return err
		}
		if in.Reason = strings.TrimSpace(in.Reason); in.Reason == "" || len(in.Reason) > office.MaxRemark {
			return errWhy
		}
		id := c.Param("id")
		detail := kind + " " + id + ", " + strings.Join(in.Fields, " ") + ": " + in.Reason
		noted := s.noting(c, "values_erased", "", detail)
		by := c.Get("user").(auth.User)
		return s.answered(c, s.office.Erase(c.Request().Context(), by.ID, kind, id, in.Fields, in.Reason, noted))
	}
}
