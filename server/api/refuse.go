package api

import (
	"errors"
	"math"
	"net/http"
	"strconv"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/calendar"
	"gaugewright/server/hooks"
	"gaugewright/server/machine"
	"gaugewright/server/mail"
	"gaugewright/server/openid"
	"gaugewright/server/refusal"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// statuses are the refusals of HTTP itself, of log-ins and of the setup; refusal.Shared has those
// of the domain.
var statuses = []refusal.Row{
	{Err: auth.ErrLogin, Status: http.StatusUnauthorized, Code: "login"},
	{Err: auth.ErrToken, Status: http.StatusUnauthorized, Code: "token"},
	{Err: auth.ErrSecond, Status: http.StatusUnauthorized, Code: "second"},
	{Err: auth.ErrInvited, Status: http.StatusUnauthorized, Code: "invited"},
	{Err: errNotAdded, Status: http.StatusBadRequest, Code: "passkey"},
	{Err: auth.ErrNoPasskeys, Status: http.StatusConflict, Code: "passkeys"},
	{Err: auth.ErrNoPasskey, Status: http.StatusNotFound, Code: "not_found"},
	{Err: auth.ErrUnknownPasskey, Status: http.StatusUnauthorized, Code: "passkey_unknown"},
	{Err: auth.ErrCounter, Status: http.StatusUnauthorized, Code: "passkey_counter"},
	{Err: auth.ErrSpent, Status: http.StatusUnauthorized, Code: "passkey_spent"},
	{Err: auth.ErrUninvited, Status: http.StatusUnauthorized, Code: "passkey_invited"},
	{Err: auth.ErrPasskey, Status: http.StatusUnauthorized, Code: "passkey"},
	{Err: errPassword, Status: http.StatusForbidden, Code: "password"},
	{Err: errSecondWanted, Status: http.StatusForbidden, Code: "second_wanted"},
	{Err: auth.ErrFactor, Status: http.StatusConflict, Code: "second"},
	{Err: auth.ErrCode, Status: http.StatusBadRequest, Code: "code"},
	{Err: auth.ErrRevoked, Status: http.StatusForbidden, Code: "revoked"},
	{Err: auth.ErrTooMany, Status: http.StatusTooManyRequests, Code: "too_many"},
	{Err: auth.ErrBusy, Status: http.StatusServiceUnavailable, Code: "busy"},
	{Err: auth.ErrEnded, Status: http.StatusConflict, Code: "account_revoked"},
	{Err: auth.ErrExists, Status: http.StatusConflict, Code: "exists"},
	{Err: auth.ErrLast, Status: http.StatusConflict, Code: "last"},
	{Err: auth.ErrNoLogin, Status: http.StatusNotFound, Code: "not_found"},
	{Err: machine.ErrNoToken, Status: http.StatusNotFound, Code: "not_found"},
	{Err: hooks.ErrNone, Status: http.StatusNotFound, Code: "not_found"},
	{Err: calendar.ErrNone, Status: http.StatusNotFound, Code: "not_found"},
	{Err: mail.ErrOff, Status: http.StatusConflict, Code: "mail_off"},
	{Err: mail.ErrNotTaken, Status: http.StatusBadGateway, Code: "mail"},
	{Err: auth.ErrNotOutside, Status: http.StatusNotFound, Code: "not_found"},
	{Err: errNoOpenID, Status: http.StatusConflict, Code: "openid"},
	{Err: openid.ErrToken, Status: http.StatusBadRequest, Code: "logout_token"},
	{Err: openid.ErrReach, Status: http.StatusServiceUnavailable, Code: "reach"},
	{Err: openid.ErrBusy, Status: http.StatusServiceUnavailable, Code: "busy"},
	{Err: errOrigin, Status: http.StatusForbidden, Code: "origin"},
	{Err: auth.ErrInput, Status: http.StatusBadRequest, Code: "range"},
	{Err: errRole, Status: http.StatusForbidden, Code: "role"},
	{Err: errOlder, Status: http.StatusUpgradeRequired, Code: "older"},
	{Err: errEarly, Status: http.StatusConflict, Code: "early"},
	{Err: errListeners, Status: http.StatusServiceUnavailable, Code: "busy"},
	{Err: errDealt, Status: http.StatusConflict, Code: "changed"},
	{Err: errNotTaken, Status: http.StatusConflict, Code: "not_taken"},
	{Err: errWhy, Status: http.StatusBadRequest, Code: "range"},
	{Err: errSlow, Status: http.StatusRequestTimeout, Code: "slow"},
	{Err: errAllowance, Status: http.StatusTooManyRequests, Code: "too_many"},
	{Err: errHandedOver, Status: http.StatusInsufficientStorage, Code: "full"},
	{Err: errCopying, Status: http.StatusConflict, Code: "busy"},
	{Err: errUpstream, Status: http.StatusBadGateway, Code: "upstream"},
	{Err: errType, Status: http.StatusUnsupportedMediaType, Code: "type"},
	{Err: errRange, Status: http.StatusBadRequest, Code: "range"},
}

var (
	errOrigin = errors.New("the request comes from a page of another site")

	errPassword     = errors.New("the password is wrong")
	errNotAdded     = errors.New("the passkey was not added")
	errSecondWanted = errors.New("this needs a second factor; set it up under Device, Account")

	errRole = errors.New("your role may not do this")
	errType = errors.New("the body must be application/json")

	errUpstream = errors.New("it is at the office only, which cannot be reached now")

	errOlder = errors.New("the program on this device is too old for the office; nothing of this was kept, the work stays on the device until the program is brought up to date")

	errCopying = errors.New("a backup or an export is being taken already")
)

func (s *server) refuse(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	answer := refusal.Of(err, statuses)
	var wanted *auth.Wanted
	if errors.As(err, &wanted) {
		answer.Field = wanted.Ways()
	}
	if answer.Status == http.StatusServiceUnavailable || answer.Status == http.StatusTooManyRequests {
		after := 5 * time.Second
		var wait *auth.Wait
		if errors.As(err, &wait) {
			after = wait.For
		}
		c.Response().Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(after.Seconds()))))
	}
	if answer.Status == http.StatusInternalServerError || errors.Is(err, store.ErrFull) {
		failed(c, err)
	}
	body := map[string]any{
		"error": map[string]string{"code": answer.Code, "field": answer.Field, "message": answer.Message},
	}
	if err := c.JSON(answer.Status, body); err != nil {
		failed(c, err)
	}
}
