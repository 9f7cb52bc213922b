package api

import (
	"net/http"

	"github.com/labstack/echo/v4"
)

// backup streams a consistent copy of the store, one at a time. The copy leaves out the plant's TLS
// authority, whose key must not leave the machine this way. A copy that breaks off lacks its list
// of contents, so that it cannot pass for a complete one.
func (s *server) backup(c echo.Context) error {
	if !s.copying.TryLock() {
		return errCopying
	}
	defer s.copying.Unlock()
	if err := s.note(c, "backup", "", ""); err != nil { // before the first byte leaves
		return err
	}
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "application/gzip")
	h.Set(echo.HeaderContentDisposition, `attachment; filename="gaugewright-backup.tar.gz"`)
	if err := s.Store.Backup(c.Response(), false); err != nil {
		if !c.Response().Committed {
			return err
		}
		failed(c, err)
		panic(http.ErrAbortHandler) // the reader must notice that it broke off
	}
	return nil
}
