// Package refusal maps an error to what HTTP answers to its sender: the status, a stable code,
// the field and the sentence. Each error of the domain has one row here, for the office's own pages
// and for other systems alike. Packages api and machine add their own rows, and each writes its own
// form. Package refusal must never decide anything, or write an answer itself.
package refusal

import (
	"errors"
	"io/fs"
	"net/http"

	"gaugewright/calc/document"
	"gaugewright/server/desk"
	"gaugewright/server/labels"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/journal"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// Row maps an error, and whatever wraps it, to a status and a stable code.
type Row struct {
	Err    error
	Status int
	Code   string
}

// Shared are the errors of the domain.
var Shared = []Row{
	{office.ErrRole, http.StatusForbidden, "role"},
	{office.ErrReading, http.StatusServiceUnavailable, "reading"},
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
	{office.ErrMethodChanged, http.StatusConflict, "changed"},
	{office.ErrOwnMethod, http.StatusConflict, "own"},
	{office.ErrKey, http.StatusConflict, "key"},
	{office.ErrOwn, http.StatusConflict, "own"},
	{office.ErrIssued, http.StatusConflict, "issued"},
	{office.ErrWhy, http.StatusBadRequest, "range"},
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
	{office.ErrOrderDiffers, http.StatusConflict, "exists"},
	{office.ErrOrderDone, http.StatusConflict, "done"},
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
	{journal.ErrRange, http.StatusBadRequest, "range"},
	{store.ErrBlobName, http.StatusBadRequest, "shape"},
	{store.ErrBlobHash, http.StatusBadRequest, "hash"},
	{store.ErrBlobPlace, http.StatusConflict, "place"},
	{store.ErrBlobSize, http.StatusRequestEntityTooLarge, "too_large"},
	{fs.ErrNotExist, http.StatusNotFound, "not_found"},
	{store.ErrClosed, http.StatusServiceUnavailable, "closed"},
}

// Answer is the reply to a refused request.
type Answer struct {
	Status  int
	Code    string
	Field   string // in the body or the query; "" if none
	Message string
}

// Of returns the answer to err: by the caller's own rows, then by Shared. An error without a row is
// a 500 that does not reveal its cause.
func Of(err error, own []Row) Answer {
	var fault *document.Fault
	var large *http.MaxBytesError
	var he *echo.HTTPError
	switch {
	case errors.As(err, &fault):
		return Answer{http.StatusBadRequest, fault.Code, fault.Field, fault.Message}
	case errors.As(err, &large):
		return Answer{http.StatusRequestEntityTooLarge, "too_large", "", "the body is too large"}
	case errors.Is(err, store.ErrFull):
		return Answer{
			http.StatusInsufficientStorage, "full", "", "the server's disk is full; nothing of this was kept",
		}
	case errors.As(err, &he):
		code := "http"
		switch he.Code {
		case http.StatusNotFound:
			code = "not_found"
		case http.StatusMethodNotAllowed:
			code = "method"
		}
		return Answer{he.Code, code, "", http.StatusText(he.Code)}
	}
	for _, rows := range [][]Row{own, Shared} {
		for _, r := range rows {
			if errors.Is(err, r.Err) {
				return Answer{r.Status, r.Code, "", err.Error()}
			}
		}
	}
	return Answer{http.StatusInternalServerError, "internal", "", "something went wrong here; nothing was lost"}
}
