package refusal

import (
	"errors"
	"fmt"
	"net/http"
	"testing"

	"github.com/labstack/echo/v4"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/sync/store"
)

// TestEachErrorHasOneRow checks that no error is in the table twice, and that no row hides a later
// one.
func TestEachErrorHasOneRow(t *testing.T) {
	for i, r := range Shared {
		if r.Status < 400 || r.Status > 599 || r.Code == "" {
			t.Errorf("%v: status %d, code %q", r.Err, r.Status, r.Code)
		}
		for _, before := range Shared[:i] {
			if errors.Is(r.Err, before.Err) {
				t.Errorf("%q has a row before its own, of %q", r.Err, before.Err)
			}
		}
	}
}

// TestOf checks that the caller's rows override the shared ones, that wrapped errors are found, and
// that the cause of an error without a row stays hidden.
func TestOf(t *testing.T) {
	own := errors.New("own")
	rows := []Row{
		{Err: own, Status: http.StatusTeapot, Code: "own"},
		{Err: office.ErrOrderDone, Status: http.StatusGone, Code: "ruled"},
	}
	for _, c := range []struct {
		err     error
		status  int
		code    string
		message string
	}{
		{fmt.Errorf("it is %w", own), http.StatusTeapot, "own", "it is own"},
		{office.ErrOrderDone, http.StatusGone, "ruled", office.ErrOrderDone.Error()},
		{fmt.Errorf("order 7: %w", office.ErrOrderDiffers), http.StatusConflict, "exists", "order 7: " + office.ErrOrderDiffers.Error()},
		{document.Refuse("range", "low", "must be above zero"), http.StatusBadRequest, "range", "must be above zero"},
		{&http.MaxBytesError{Limit: 3}, http.StatusRequestEntityTooLarge, "too_large", "the body is too large"},
		{fmt.Errorf("write: %w", store.ErrFull), http.StatusInsufficientStorage, "full", "the server's disk is full; nothing of this was kept"},
		{echo.ErrMethodNotAllowed, http.StatusMethodNotAllowed, "method", "Method Not Allowed"},
		{errors.New("/var/lib/secret"), http.StatusInternalServerError, "internal", "something went wrong here; nothing was lost"},
	} {
		if a := Of(c.err, rows); a.Status != c.status || a.Code != c.code || a.Message != c.message {
			t.Errorf("%v: %+v", c.err, a)
		}
	}
	if a := Of(document.Refuse("range", "low", "x"), nil); a.Field != "low" {
		t.Errorf("the field is %q", a.Field)
	}
}
