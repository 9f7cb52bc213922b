package api

import (
	"net/http"

	"gaugewright/server/auth"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// maxImport caps a register together with its reading: 100,000 rows as base64.
const maxImport = 32 << 20

// tryImport returns what importing a register would do.
func (s *server) tryImport(c echo.Context) error {
	var in struct {
		File    []byte          `json:"file"`
		Reading *office.Reading `json:"reading"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	t, err := s.office.TryImport(in.File, in.Reading)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, t)
}

// takeImport imports a register as a trial showed it.
func (s *server) takeImport(c echo.Context) error {
	var in struct {
		File    []byte         `json:"file"`
		Reading office.Reading `json:"reading"`
		Shown   string         `json:"shown"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	done, err := s.office.Import(c.Request().Context(), user.ID, in.File, in.Reading, in.Shown)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, done)
}

// tryResults returns what importing a sheet of past results would do.
func (s *server) tryResults(c echo.Context) error {
	var in office.PastSheet
	if err := decode(c, &in); err != nil {
		return err
	}
	t, err := s.office.TryResults(in)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, t)
}

// bringResults imports a sheet of past results as a trial showed it.
func (s *server) bringResults(c echo.Context) error {
	var in struct {
		office.PastSheet
		Shown string `json:"shown"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	written, err := s.office.BringResults(c.Request().Context(), user.ID, in.PastSheet, in.Shown)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"written": written})
}
