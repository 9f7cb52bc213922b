package api

import (
	"net/http"

	"gaugewright/server/export"

	"github.com/labstack/echo/v4"
)

// exportPath is compressed already.
const exportPath = "/api/office/export.zip"

// export streams everything about the instruments that a query finds, or about the whole plant, one
// export at a time. One that breaks off lacks its list of contents, so that it cannot pass for a
// complete one.
func (s *server) export(c echo.Context) error {
	q, err := query(c)
	if err != nil {
		return err
	}
	part, err := s.office.Wanted(q)
	if err != nil {
		return err
	}
	if !s.copying.TryLock() {
		return errCopying
	}
	defer s.copying.Unlock()
	if err := s.note(c, "exported", "", part.Part); err != nil { // before the first byte leaves
		return err
	}
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "application/zip")
	h.Set(echo.HeaderContentDisposition, `attachment; filename="gaugewright-export.zip"`)
	to := export.NewZip(c.Response())
	want := export.Wanted{Instruments: part.Instruments, Part: part.Part}
	if _, err = export.Write(s.Store, s.office, want, to); err == nil {
		err = to.Close()
	}
	if err != nil {
		if !c.Response().Committed {
			return err
		}
		failed(c, err)
		panic(http.ErrAbortHandler) // the reader must notice that it broke off
	}
	return nil
}
