package machine

import (
	"cmp"
	"encoding/json"
	"errors"
	"log/slog"
	"math"
	"net/http"
	"strconv"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/refusal"

	"github.com/labstack/echo/v4"
)

// Problem describes an error by RFC 9457; code and field are additions.
type Problem struct {
	Type   string `json:"type" jsonschema:"description=about:blank: status and code say the kind"`
	Title  string `json:"title" jsonschema:"description=the status in words"`
	Status int    `json:"status"`
	Detail string `json:"detail" jsonschema:"description=what went wrong this time"`
	Code   string `json:"code" jsonschema:"description=a stable word for it"`
	Field  string `json:"field,omitempty" jsonschema:"description=the parameter or the field of the body that it is about"`
}

const problemType = "application/problem+json"

var (
	errScope  = errors.New("the token does not have the scope for this")
	errPace   = errors.New("too many requests of this token; wait a little")
	errType   = errors.New("the body must be application/json")
	errAbove  = errors.New("work orders are taken at the office, not at a hub")
	errKey    = errors.New("this Idempotency-Key came with another request before")
	errKeyBad = document.Refuse(
		document.CodeRange, "Idempotency-Key", "has 1 to 200 characters",
	)
)

// statuses are the refusals of this interface; refusal.Shared has those of the domain.
var statuses = []refusal.Row{
	{Err: ErrToken, Status: http.StatusUnauthorized, Code: "token"},
	{Err: errScope, Status: http.StatusForbidden, Code: "scope"},
	{Err: errOtherSites, Status: http.StatusForbidden, Code: "site"},
	{Err: errPace, Status: http.StatusTooManyRequests, Code: "too_many"},
	{Err: errType, Status: http.StatusUnsupportedMediaType, Code: "type"},
	{Err: errAbove, Status: http.StatusConflict, Code: "at_the_office"},
	{Err: errKey, Status: http.StatusUnprocessableEntity, Code: "idempotency_key"},
}

// problemOf returns what the reply says about an error.
func problemOf(err error) Problem {
	a := refusal.Of(err, statuses)
	return Problem{
		Type: "about:blank", Title: cmp.Or(http.StatusText(a.Status), "Error"), Status: a.Status,
		Detail: a.Message, Code: a.Code, Field: a.Field,
	}
}

// refuse answers with a problem.
func refuse(c echo.Context, err error) error {
	if c.Response().Committed {
		return err
	}
	p := problemOf(err)
	h := c.Response().Header()
	if p.Status == http.StatusTooManyRequests || p.Status == http.StatusServiceUnavailable {
		after := time.Second
		var w *wait
		if errors.As(err, &w) {
			after = w.long
		}
		h.Set("Retry-After", strconv.Itoa(max(1, int(math.Ceil(after.Seconds())))))
	}
	if p.Status == http.StatusUnauthorized {
		h.Set("WWW-Authenticate", `Bearer realm="gaugewright"`)
	}
	if p.Status == http.StatusInternalServerError {
		slog.Error(
			"an answer to a machine failed", "request", h.Get(echo.HeaderXRequestID), "error", err,
		)
	}
	b, fail := json.Marshal(p)
	if fail != nil {
		return fail
	}
	return c.Blob(p.Status, problemType, b)
}

// wait is an errPace with the time to wait.
type wait struct{ long time.Duration }

func (w *wait) Error() string        { return errPace.Error() }
func (w *wait) Is(target error) bool { return target == errPace }
