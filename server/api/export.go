package api

import (
	"net/http"

	"gaugewright/server/export"

	"github.com/labstack/echo/v4"
)

// exportPath is compressed already.
const exportPath = "/api/office/export.zip"

// export streams everything of the instruments that a query finds, or of the whole plant, one at a
// time. What breaks off lacks its list of contents, so that nobody takes it for a whole one.
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
		panic(http.ErrAbortHandler) // the reader must see that it broke off
	}
	return nil
}
