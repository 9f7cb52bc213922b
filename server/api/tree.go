package api

import (
	"encoding/hex"
	"net/http"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// tree returns the newest signed head of the journal and, given a size, the proof that nothing up
// to that size was altered since.
func (s *server) tree(c echo.Context) error {
	h, err := s.Store.Head()
	if err != nil {
		return err
	}
	answer := struct {
		Key   string     `json:"key"`
		Head  store.Head `json:"head"`
		Proof []string   `json:"proof"`
	}{s.Store.HeadKey(), h, []string{}}
	if text := c.QueryParam("from"); text != "" {
		from, err := strconv.ParseUint(text, 10, 50)
		if err != nil {
			return document.Refuse(document.CodeShape, "from", "is not a size of the journal")
		}
		proof, err := s.Store.Consistency(from, h.Size)
		if err != nil {
			return err
		}
		for _, one := range proof {
			answer.Proof = append(answer.Proof, hex.EncodeToString(one[:]))
		}
	}
	return c.JSON(http.StatusOK, answer)
}
