package api

import (
	"net/http"

	"gaugewright/server/auth"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// method returns a method with the drafts that wait for a second person and the versions that were
// in force.
func (s *server) method(c echo.Context) error {
	p, err := s.office.Method(c.Get("user").(auth.User), c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, p)
}

// approveMethod puts a draft into force.
func (s *server) approveMethod(c echo.Context) error {
	var in office.MethodApproval
	if err := decode(c, &in); err != nil {
		return err
	}
	version, err := s.office.ApproveMethod(c.Request().Context(), c.Get("user").(auth.User), c.Param("id"), in)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"version": version})
}
