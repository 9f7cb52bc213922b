package api

import (
	"net/http"

	"gaugewright/server/auth"
	"gaugewright/server/office"

	"github.com/labstack/echo/v4"
)

// previewBulk returns what a bulk change would do.
func (s *server) previewBulk(c echo.Context) error {
	var in struct {
		Instruments []string      `json:"instruments"`
		Values      office.Values `json:"values"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	p, err := s.office.PreviewBulk(in.Instruments, in.Values)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, p)
}

// changeBulk makes a bulk change as a preview showed it.
func (s *server) changeBulk(c echo.Context) error {
	var in struct {
		Instruments []string      `json:"instruments"`
		Values      office.Values `json:"values"`
		Shown       string        `json:"shown"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	b, err := s.office.ChangeBulk(c.Request().Context(), user.ID, in.Instruments, in.Values, in.Shown)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, b)
}

// undoBulk undoes a bulk change.
func (s *server) undoBulk(c echo.Context) error {
	user := c.Get("user").(auth.User)
	undone, kept, err := s.office.UndoBulk(c.Request().Context(), user.ID, c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"undone": undone, "kept": kept})
}

// bulks lists the latest bulk changes.
func (s *server) bulks(c echo.Context) error {
	list, err := s.office.Bulks()
	if err != nil {
		return err
	}
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	for i := range list {
		list[i].By = office.Called(names, list[i].By)
	}
	return c.JSON(http.StatusOK, map[string]any{"changes": list})
}

// exchangeInstrument puts another instrument in the place of one.
func (s *server) exchangeInstrument(c echo.Context) error {
	var in office.Mounted
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	id, err := s.office.Exchange(c.Request().Context(), user.ID, c.Param("id"), in)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]string{"id": id})
}
