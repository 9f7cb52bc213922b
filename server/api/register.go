package api

import (
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"

	"github.com/labstack/echo/v4"
)

// maxRegister is how many instruments one answer lists.
const maxRegister = 100

// gauge is an instrument in a list.
type gauge struct {
	ID          string      `json:"id"`
	Tag         string      `json:"tag"`
	Serial      string      `json:"serial"`
	Description string      `json:"description"`
	Range       plant.Range `json:"range"`
	Area        string      `json:"area"`
	Place       string      `json:"place"`
	Due         string      `json:"due"`
	Status      string      `json:"status"`
	Label       string      `json:"label"`
	Contested   []string    `json:"contested"`
	Damaged     bool        `json:"damaged"`
}

// maxLooked is how many instruments are looked at for one answer, where only those are asked for that are due.
const maxLooked = 2000

// register lists instruments by tag; with due only those in service that are due by that day, with name just those that go by it. after is the place to go on from, "" where that was all.
func (s *server) register(c echo.Context) error {
	by := c.QueryParam("due")
	most := maxRegister
	if by != "" {
		if _, err := time.Parse(time.DateOnly, by); err != nil {
			return errDate
		}
		most = maxLooked
	}
	var ids []string
	var next string
	var err error
	if name := c.QueryParam("name"); name != "" {
		ids, err = s.desk.named(name, most)
	} else {
		ids, next, err = s.desk.search(c.QueryParam("q"), c.QueryParam("after"), most)
	}
	if err != nil {
		return err
	}
	list := []gauge{}
	for i, id := range ids {
		v, err := plant.LoadInstrument(s.Store, id)
		if err != nil && !errors.Is(err, plant.ErrValue) {
			return err
		}
		if by != "" && (err != nil || v.Due == "" || v.Due[:min(len(v.Due), len(by))] > by || v.Status != "" && v.Status != "in service") {
			continue
		}
		list = append(list, gauge{id, v.Tag, v.Serial, v.Description, v.Range, v.Area, v.Place, v.Due, v.Status, v.Label, v.Contested, err != nil})
		if len(list) == maxRegister && i < len(ids)-1 {
			next = v.Tag + "\n" + id
			break
		}
	}
	return c.JSON(http.StatusOK, map[string]any{"instruments": list, "after": next})
}

// aside is a change that was put aside, for people to read.
type aside struct {
	Seq    uint64          `json:"seq"`
	Reason string          `json:"reason"`
	Author string          `json:"author"`
	Device string          `json:"device"`
	Wall   string          `json:"wall"`
	Record string          `json:"record"`
	Kind   string          `json:"kind"`
	Set    []pastSet       `json:"set"`
	Sent   json.RawMessage `json:"sent"` // the whole, where it can be read; null otherwise
	Bytes  int             `json:"bytes"`
}

func (s *server) quarantine(c echo.Context) error {
	held, err := s.Store.Quarantined()
	if err != nil {
		return err
	}
	names, err := s.names()
	if err != nil {
		return err
	}
	list := []aside{}
	for _, h := range held {
		a := aside{Seq: h.Seq, Reason: h.Reason, Set: []pastSet{}, Sent: json.RawMessage("null"), Bytes: len(h.Bytes)}
		if one, err := change.Parse(h.Bytes); err == nil {
			a.Author, a.Device, a.Wall, a.Record, a.Kind, a.Sent = called(names, one.Author), one.Device, one.Wall, one.Record, one.Kind, h.Bytes
			for _, x := range one.Set {
				a.Set = append(a.Set, pastSet{Field: x.Field, Value: json.RawMessage("null"), Bytes: len(x.Value), First: len(x.Sees) == 0, Before: json.RawMessage("null")})
			}
		}
		list = append(list, a)
	}
	return c.JSON(http.StatusOK, map[string]any{"quarantined": list})
}
