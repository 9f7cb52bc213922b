package api

import (
	"net/http"

	"gaugewright/sync/hub"

	"github.com/labstack/echo/v4"
)

// Forwarding says how it stands with what a hub forwards to the office.
type Forwarding struct {
	Upstream string `json:"upstream"` // "" where nothing is forwarded
	hub.Queue
	Last    string `json:"last"`    // when the office last had everything, RFC 3339; "" for never
	Problem string `json:"problem"` // of the last attempt; "" for none
}

func (s *server) forwarding(c echo.Context) error {
	var f Forwarding
	if s.Forwarding != nil {
		var err error
		if f, err = s.Forwarding(); err != nil {
			return err
		}
	}
	return c.JSON(http.StatusOK, f)
}
