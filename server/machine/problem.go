package machine

import (
	"cmp"
	"encoding/json"
	"errors"
	"io/fs"
	"log/slog"
	"math"
	"net/http"
	"strconv"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// Problem says what went wrong, as RFC 9457 has it; code and field go beyond it.
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

// statuses maps what went wrong to the status and the stable code.
var statuses = []struct {
	err    error
	status int
	code   string
}{
	{ErrToken, http.StatusUnauthorized, "token"},
	{errScope, http.StatusForbidden, "scope"},
	{errPace, http.StatusTooManyRequests, "too_many"},
	{errType, http.StatusUnsupportedMediaType, "type"},
	{errAbove, http.StatusConflict, "at_the_office"},
	{errKey, http.StatusUnprocessableEntity, "idempotency_key"},
	{office.ErrOrderDiffers, http.StatusConflict, "exists"},
	{office.ErrOrderDone, http.StatusConflict, "done"},
	{office.ErrNoMachine, http.StatusNotFound, "not_found"},
	{plant.ErrNotFound, http.StatusNotFound, "not_found"},
	{plant.ErrKind, http.StatusNotFound, "not_found"},
	{plant.ErrValue, http.StatusUnprocessableEntity, "damaged"},
	{store.ErrDamaged, http.StatusUnprocessableEntity, "damaged"},
	{store.ErrErased, http.StatusGone, "erased"},
	{fs.ErrNotExist, http.StatusNotFound, "not_found"},
	{store.ErrClosed, http.StatusServiceUnavailable, "closed"},
	{store.ErrFull, http.StatusInsufficientStorage, "full"},
}

// problemOf turns an error into what its sender is told.
func problemOf(err error) Problem {
	p := Problem{
		Type: "about:blank", Status: http.StatusInternalServerError, Code: "internal",
		Detail: "something went wrong here; nothing was lost",
	}
	var fault *document.Fault
	var large *http.MaxBytesError
	var he *echo.HTTPError
	switch {
	case errors.As(err, &fault):
		p.Status, p.Code, p.Field, p.Detail = http.StatusBadRequest, fault.Code, fault.Field, fault.Message
	case errors.As(err, &large):
		p.Status, p.Code = http.StatusRequestEntityTooLarge, "too_large"
		p.Detail = "the body is too large"
	case errors.As(err, &he):
		p.Status, p.Code, p.Detail = he.Code, "http", http.StatusText(he.Code)
		switch he.Code {
		case http.StatusNotFound:
			p.Code = "not_found"
		case http.StatusMethodNotAllowed:
			p.Code = "method"
		}
	default:
		for _, k := range statuses {
			if errors.Is(err, k.err) {
				p.Status, p.Code, p.Detail = k.status, k.code, err.Error()
				break
			}
		}
	}
	p.Title = cmp.Or(http.StatusText(p.Status), "Error")
	return p
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

// wait is errPace with how long.
type wait struct{ long time.Duration }

func (w *wait) Error() string        { return errPace.Error() }
func (w *wait) Is(target error) bool { return target == errPace }
