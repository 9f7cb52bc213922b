package api

import (
	"errors"
	"io/fs"
	"math"
	"net/http"
	"strconv"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/calendar"
	"gaugewright/server/desk"
	"gaugewright/server/hooks"
	"gaugewright/server/labels"
	"gaugewright/server/machine"
	"gaugewright/server/mail"
	"gaugewright/server/office"
	"gaugewright/server/openid"
	"gaugewright/server/plant"
	"gaugewright/sync/journal"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// statuses is the one map from what went wrong to the answer's status and stable code.
var statuses = []struct {
	err    error
	status int
	code   string
}{
	{auth.ErrLogin, http.StatusUnauthorized, "login"},
	{auth.ErrToken, http.StatusUnauthorized, "token"},
	{auth.ErrSecond, http.StatusUnauthorized, "second"},
	{auth.ErrInvited, http.StatusUnauthorized, "invited"},
	{errNotAdded, http.StatusBadRequest, "passkey"},
	{auth.ErrNoPasskeys, http.StatusConflict, "passkeys"},
	{auth.ErrNoPasskey, http.StatusNotFound, "not_found"},
	{auth.ErrUnknownPasskey, http.StatusUnauthorized, "passkey_unknown"},
	{auth.ErrCounter, http.StatusUnauthorized, "passkey_counter"},
	{auth.ErrSpent, http.StatusUnauthorized, "passkey_spent"},
	{auth.ErrUninvited, http.StatusUnauthorized, "passkey_invited"},
	{auth.ErrPasskey, http.StatusUnauthorized, "passkey"},
	{errPassword, http.StatusForbidden, "password"},
	{errSecondWanted, http.StatusForbidden, "second_wanted"},
	{auth.ErrFactor, http.StatusConflict, "second"},
	{auth.ErrCode, http.StatusBadRequest, "code"},
	{auth.ErrRevoked, http.StatusForbidden, "revoked"},
	{auth.ErrTooMany, http.StatusTooManyRequests, "too_many"},
	{auth.ErrBusy, http.StatusServiceUnavailable, "busy"},
	{auth.ErrEnded, http.StatusConflict, "account_revoked"},
	{auth.ErrExists, http.StatusConflict, "exists"},
	{auth.ErrLast, http.StatusConflict, "last"},
	{auth.ErrNoLogin, http.StatusNotFound, "not_found"},
	{machine.ErrNoToken, http.StatusNotFound, "not_found"},
	{hooks.ErrNone, http.StatusNotFound, "not_found"},
	{calendar.ErrNone, http.StatusNotFound, "not_found"},
	{mail.ErrOff, http.StatusConflict, "mail_off"},
	{mail.ErrNotTaken, http.StatusBadGateway, "mail"},
	{auth.ErrNotOutside, http.StatusNotFound, "not_found"},
	{errNoOpenID, http.StatusConflict, "openid"},
	{openid.ErrToken, http.StatusBadRequest, "logout_token"},
	{openid.ErrReach, http.StatusServiceUnavailable, "reach"},
	{openid.ErrBusy, http.StatusServiceUnavailable, "busy"},
	{errOrigin, http.StatusForbidden, "origin"},
	{auth.ErrInput, http.StatusBadRequest, "range"},
	{errRole, http.StatusForbidden, "role"},
	{office.ErrRole, http.StatusForbidden, "role"},
	{office.ErrDate, http.StatusBadRequest, "range"},
	{office.ErrRemark, http.StatusBadRequest, "range"},
	{desk.ErrAbove, http.StatusConflict, "at_the_office"},
	{desk.ErrBusy, http.StatusConflict, "busy"},
	{desk.ErrUndecided, http.StatusConflict, "undecided"},
	{desk.ErrNobody, http.StatusConflict, "nobody"},
	{office.ErrEffect, http.StatusBadRequest, "effect"},
	{office.ErrReason, http.StatusBadRequest, "range"},
	{office.ErrChanged, http.StatusConflict, "changed"},
	{office.ErrUnsigned, http.StatusConflict, "unsigned"},
	{office.ErrApproved, http.StatusConflict, "approved"},
	{office.ErrDiffers, http.StatusConflict, "recomputed"},
	{office.ErrAway, http.StatusConflict, "away"},
	{office.ErrFrozen, http.StatusConflict, "approved"},
	{office.ErrContested, http.StatusConflict, "contested"},
	{office.ErrKey, http.StatusConflict, "key"},
	{office.ErrOwn, http.StatusConflict, "own"},
	{office.ErrIssued, http.StatusConflict, "issued"},
	{errOlder, http.StatusUpgradeRequired, "older"},
	{errListeners, http.StatusServiceUnavailable, "busy"},
	{errDealt, http.StatusConflict, "changed"},
	{errNotTaken, http.StatusConflict, "not_taken"},
	{office.ErrWhy, http.StatusBadRequest, "range"},
	{errWhy, http.StatusBadRequest, "range"},
	{office.ErrStale, http.StatusConflict, "changed"},
	{office.ErrUndone, http.StatusConflict, "undone"},
	{office.ErrChoice, http.StatusBadRequest, "range"},
	{office.ErrNotApproved, http.StatusConflict, "unsigned"},
	{office.ErrNotReady, http.StatusConflict, "unready"},
	{office.ErrIncomplete, http.StatusConflict, "unready"},
	{office.ErrLanguage, http.StatusBadRequest, "range"},
	{office.ErrLetterhead, http.StatusBadRequest, "range"},
	{office.ErrIncoming, http.StatusBadRequest, "range"},
	{office.ErrAccreditation, http.StatusBadRequest, "range"},
	{office.ErrNoMachine, http.StatusNotFound, "not_found"},
	{office.ErrNotSigned, http.StatusNotFound, "not_found"},
	{office.ErrNoKey, http.StatusNotFound, "not_found"},
	{office.ErrImport, http.StatusBadRequest, "file"},
	{office.ErrLabels, http.StatusBadRequest, "range"},
	{office.ErrInService, http.StatusConflict, "in_service"},
	{labels.ErrLink, http.StatusBadRequest, "range"},
	{labels.ErrSize, http.StatusBadRequest, "range"},
	{plant.ErrNotFound, http.StatusNotFound, "not_found"},
	{plant.ErrKind, http.StatusNotFound, "not_found"},
	{plant.ErrValue, http.StatusUnprocessableEntity, "damaged"},
	{office.ErrErase, http.StatusUnprocessableEntity, "not_personal"},
	{office.ErrEraseAbove, http.StatusConflict, "at_the_office"},
	{office.ErrPeopleAbove, http.StatusConflict, "at_the_office"},
	{store.ErrErased, http.StatusGone, "erased"},
	{store.ErrDamaged, http.StatusUnprocessableEntity, "damaged"},
	{store.ErrHeldFull, http.StatusInsufficientStorage, "full"},
	{errSlow, http.StatusRequestTimeout, "slow"},
	{errAllowance, http.StatusTooManyRequests, "too_many"},
	{errHandedOver, http.StatusInsufficientStorage, "full"},
	{errCopying, http.StatusConflict, "busy"},
	{errUpstream, http.StatusBadGateway, "upstream"},
	{errType, http.StatusUnsupportedMediaType, "type"},
	{journal.ErrRange, http.StatusBadRequest, "range"},
	{store.ErrBlobName, http.StatusBadRequest, "shape"},
	{store.ErrBlobHash, http.StatusBadRequest, "hash"},
	{store.ErrBlobPlace, http.StatusConflict, "place"},
	{errRange, http.StatusBadRequest, "range"},
	{store.ErrBlobSize, http.StatusRequestEntityTooLarge, "too_large"},
	{fs.ErrNotExist, http.StatusNotFound, "not_found"},
	{store.ErrClosed, http.StatusServiceUnavailable, "closed"},
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
	status, code, field, message := http.StatusInternalServerError, "internal", "", "something went wrong here; nothing was lost"
	var fault *document.Fault
	var large *http.MaxBytesError
	var he *echo.HTTPError
	switch {
	case errors.As(err, &fault):
		status, code, field, message = http.StatusBadRequest, fault.Code, fault.Field, fault.Message
	case errors.As(err, &large):
		status, code, message = http.StatusRequestEntityTooLarge, "too_large", "the body is too large"
	case errors.Is(err, store.ErrFull):
		failed(c, err)
		status, code, message = http.StatusInsufficientStorage, "full", "the server's disk is full; nothing of this was kept"
	case errors.As(err, &he):
		status, code, message = he.Code, "http", http.StatusText(he.Code)
		switch he.Code {
		case http.StatusNotFound:
			code = "not_found"
		case http.StatusMethodNotAllowed:
			code = "method"
		}
	default:
		for _, k := range statuses {
			if errors.Is(err, k.err) {
				status, code, message = k.status, k.code, err.Error()
				break
			}
		}
		var wanted *auth.Wanted
		if errors.As(err, &wanted) {
			field = wanted.Ways()
		}
	}
	if status == http.StatusServiceUnavailable || status == http.StatusTooManyRequests {
		after := 5 * time.Second
		var wait *auth.Wait
		if errors.As(err, &wait) {
			after = wait.For
		}
		c.Response().Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(after.Seconds()))))
	}
	if status == http.StatusInternalServerError {
		failed(c, err)
	}
	answer := map[string]any{"error": map[string]string{"code": code, "field": field, "message": message}}
	if err := c.JSON(status, answer); err != nil {
		failed(c, err)
	}
}
