package holdings

import (
	"encoding/json"
	"errors"
	"slices"
	"sort"
	"strings"
	"time"

	"gaugewright/server/office"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// piece is how many entries or records are read at once, in one short read transaction.
const piece = 2000

// round is what planning a person's days needs of a round.
type round struct {
	id, site, date string
	persons        []string // more than one if contested
	stops          []string // ids of instruments
}

// visit is a visit that has begun and is neither signed nor approved.
type visit struct{ instrument, person string }

// follow brings the lists up to the journal's end; h.mu must be held.
func (h *Holdings) follow() error {
	if !h.loaded {
		if err := h.load(); err != nil {
			return err
		}
		h.loaded = true
	}
	for {
		list, last, err := h.store.Since(h.cursor, piece, nil)
		if err != nil || len(list) == 0 {
			return err
		}
		touched := map[string]string{}
		for i := range list {
			switch c := &list[i].Change; c.Kind {
			case "round", "visit":
				touched[c.Record] = c.Kind
			case "instrument", "standard":
				if h.units[c.Record] == "" {
					h.units[strings.Clone(c.Record)] = strings.Clone(c.Kind) // a part of a change would keep all of it
				}
			}
		}
		for id, kind := range touched {
			if err := h.look(id, kind); err != nil {
				return err
			}
		}
		h.cursor = last
	}
}

// load reads the present and coming rounds and the recent visits, and of instruments and standards
// only the ids: whoever asks for their day shall not wait until a company's register is read.
func (h *Holdings) load() error {
	last, err := h.store.Last()
	if err != nil {
		return err
	}
	for _, kind := range []string{"instrument", "standard"} {
		ids, err := h.store.Names(kind)
		if err != nil {
			return err
		}
		for _, id := range ids {
			h.units[id] = kind
		}
	}
	err = h.each("round", func(s *merge.State) error {
		h.takeRound(s)
		return nil
	})
	if err != nil {
		return err
	}
	from, err := h.before(h.now().AddDate(0, 0, -begunDays), last)
	if err != nil {
		return err
	}
	visits := map[string]bool{}
	for h.cursor = from; h.cursor < last; {
		list, seen, err := h.store.Since(h.cursor, piece, func(c *change.Change) bool { return c.Kind == "visit" })
		if err != nil {
			return err
		}
		for i := range list {
			visits[list[i].Change.Record] = true
		}
		if seen == h.cursor {
			break
		}
		h.cursor = seen
	}
	for id := range visits {
		if err := h.look(id, "visit"); err != nil {
			return err
		}
	}
	h.cursor = last
	return nil
}

// before finds roughly the last journal entry before a moment. It goes by the clocks of the
// authors, and those of phones may be wrong, so it is only a place to start.
func (h *Holdings) before(moment time.Time, last uint64) (uint64, error) {
	var fault error
	n := sort.Search(int(last), func(i int) bool {
		list, _, err := h.store.Piece(uint64(i), store.Bounds{Changes: 1}, nil)
		if err != nil || len(list) == 0 {
			fault = errors.Join(fault, err)
			return true
		}
		at, err := time.Parse(time.RFC3339, list[0].Change.Wall)
		return err == nil && at.After(moment)
	})
	return uint64(n), fault
}

// each reads all readable records of a kind, in order of arrival.
func (h *Holdings) each(kind string, take func(*merge.State) error) error {
	for after := ""; ; {
		list, err := h.store.ByKind(kind, after, piece)
		if err != nil || len(list) == 0 {
			return err
		}
		for i := range list {
			if list[i].Damaged != "" {
				continue
			}
			if err := take(&list[i]); err != nil {
				return err
			}
		}
		after = list[len(list)-1].ID
	}
}

// site files the instruments that came since it was last called under their sites, which never
// change; h.siting must be held. Those that the office knows are not read.
func (h *Holdings) site() error {
	if h.sited == "" {
		if err := h.siteKnown(); err != nil {
			return err
		}
	}
	for {
		list, err := h.store.ByKind("instrument", h.sited, piece)
		if err != nil || len(list) == 0 {
			return err
		}
		for i := range list {
			if list[i].Damaged == "" {
				h.sites[list[i].Site] = append(h.sites[list[i].Site], list[i].ID)
			}
		}
		h.sited = list[len(list)-1].ID
	}
}

// siteKnown files the instruments whose sites the office knows, up to the first that it does not.
func (h *Holdings) siteKnown() error {
	known, err := h.known()
	if errors.Is(err, office.ErrReading) {
		return nil // the records are read instead
	}
	if err != nil {
		return err
	}
	ids, err := h.store.Names("instrument")
	if err != nil {
		return err
	}
	for _, id := range ids {
		site, ok := known[id]
		if !ok {
			return nil
		}
		h.sites[site] = append(h.sites[site], id)
		h.sited = id
	}
	return nil
}

// look rereads a round or a visit.
func (h *Holdings) look(id, kind string) error {
	s, ok, err := h.store.Record(id)
	if errors.Is(err, store.ErrDamaged) {
		return nil // the office's pages show it as damaged
	}
	if err != nil || !ok {
		return err
	}
	if kind == "round" {
		h.takeRound(&s)
		return nil
	}
	_, signed := s.Value("signature")
	_, approved := s.Value("approval")
	if signed || approved {
		delete(h.begun, id)
	} else {
		h.begun[id] = visit{instrument: s.Parent, person: textOf(&s, "person")}
	}
	return nil
}

func (h *Holdings) takeRound(s *merge.State) {
	r := round{id: s.ID, site: s.Site, date: textOf(s, "date")}
	if len(r.date) > len(time.DateOnly) {
		r.date = r.date[:len(time.DateOnly)]
	}
	if back, ok := s.Value("taken_back"); ok && string(back) != "null" {
		r.date = "" // it was withdrawn
	}
	if r.date < h.now().AddDate(0, 0, -roundsBehind).Format(time.DateOnly) {
		delete(h.rounds, s.ID)
		return
	}
	r.persons = textsOf(s, "person")
	var stops []struct {
		Instrument string `json:"instrument"`
	}
	if b, ok := s.Value("stops"); ok && json.Unmarshal(b, &stops) == nil {
		for _, stop := range stops {
			r.stops = append(r.stops, stop.Instrument)
		}
	}
	h.rounds[s.ID] = r
}

func (r *round) of(person string) bool {
	return len(r.persons) == 0 || slices.Contains(r.persons, person) || slices.Contains(r.persons, "")
}

func textOf(s *merge.State, field string) (text string) {
	if b, ok := s.Value(field); ok && json.Unmarshal(b, &text) != nil {
		return ""
	}
	return text
}

// textsOf returns every present value of a field.
func textsOf(s *merge.State, field string) (list []string) {
	f, ok := s.Field(field)
	if !ok {
		return nil
	}
	for i := range f.Heads {
		var text string
		if json.Unmarshal(f.Heads[i].Value, &text) == nil {
			list = append(list, text)
		}
	}
	return list
}
