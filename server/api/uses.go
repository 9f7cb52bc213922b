package api

import (
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"gaugewright/server/plant"

	"github.com/labstack/echo/v4"
)

// usesPiece is how many visits are looked at for one answer.
const usesPiece = 200

// use is one run that rests on a standard, as it can be calculated anew.
type use struct {
	Visit       string          `json:"visit"`
	Run         string          `json:"run"`
	Label       string          `json:"label"`
	Tag         string          `json:"tag"`
	Description string          `json:"description"`
	Started     string          `json:"started"`
	Status      string          `json:"status"`
	Verdict     string          `json:"verdict"`
	Standard    json.RawMessage `json:"standard"` // what the visit keeps of it
	Sheet       json.RawMessage `json:"sheet"`
}

// uses lists the runs that speak for the visits on which a standard was used since a date, a piece at a time: `after` is where the next piece begins, ""
// at the end. Damaged visits are counted.
func (s *server) uses(c echo.Context) error {
	since := c.QueryParam("since")
	if since != "" {
		if _, err := time.Parse(time.DateOnly, since); err != nil {
			return errDate
		}
	}
	if _, err := s.record(c.Param("id")); err != nil {
		return err
	}
	states, err := s.Store.ByKind("visit", c.QueryParam("after"), usesPiece)
	if err != nil {
		return err
	}
	list, after, damaged := []use{}, "", 0
	for i := range states {
		v, err := plant.ReadVisit(states[i])
		var runs []plant.Run
		if err == nil && (v.Standard == nil || v.Standard.ID != c.Param("id") || s.desk.date(v.Started) < since) {
			continue
		}
		if err == nil {
			runs, err = plant.Runs(s.Store, v.ID)
		}
		if err == nil {
			list, err = used(list, &v, runs)
		}
		switch {
		case errors.Is(err, plant.ErrValue):
			damaged++ // one unreadable visit does not hide the others
		case err != nil:
			return err
		}
	}
	if len(states) == usesPiece {
		after = states[len(states)-1].ID
	}
	return c.JSON(http.StatusOK, map[string]any{"uses": list, "after": after, "damaged": damaged})
}

// used adds the runs that speak for a visit, with what each is calculated from.
func used(list []use, v *plant.Visit, runs []plant.Run) ([]use, error) {
	found, left := v.Speaking(runs)
	for _, r := range []*plant.Run{found, left} {
		if r == nil || r.Finding == nil {
			continue
		}
		sheet, err := v.Sheet(r, true)
		if err != nil {
			return list, err
		}
		list = append(list, use{v.ID, r.ID, r.Label, v.Item.Tag, v.Item.Description, v.Started, string(v.Status), r.Finding.Verdict, v.StandardAsKept(), sheet})
	}
	return list, nil
}
