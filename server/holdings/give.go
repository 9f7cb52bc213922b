package holdings

import (
	"errors"
	"slices"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// shown are the fields of an instrument that lists and searches show, including its names and due
// date.
var shown = []string{
	"aliases", "area", "description", "due", "kind", "label", "manufacturer", "medium", "method", "model", "place",
	"range", "serial", "status", "tag",
}

// Base returns the records that all work at a user's sites needs: the standards with their own
// visits, and the user's present and coming rounds.
func (h *Holdings) Base(u auth.User) (list []merge.State, err error) {
	runs, err := h.scope.Of(u, h.now())
	if err != nil {
		return nil, err
	}
	for _, kind := range base {
		err := h.each(kind, func(s *merge.State) error {
			if !mine(&u, s.Site) {
				return nil
			}
			list = append(list, *s)
			if kind != "standard" {
				return nil
			}
			below, err := h.below(&u, s.ID, runs)
			list = append(list, below...)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	rounds, err := h.Rounds(u)
	return append(list, rounds...), err
}

// Rounds returns a user's present and coming rounds.
func (h *Holdings) Rounds(u auth.User) (list []merge.State, err error) {
	h.mu.Lock()
	err = h.follow()
	var ids []string
	for _, r := range h.rounds {
		if r.of(u.ID) && mine(&u, r.site) {
			ids = append(ids, r.id)
		}
	}
	h.mu.Unlock()
	slices.Sort(ids)
	for _, id := range ids {
		if err != nil {
			break
		}
		var s merge.State
		var ok bool
		if s, ok, err = h.readable(&u, id); ok {
			list = append(list, s)
		}
	}
	return list, err
}

// Whole returns everything that a phone holds of a unit, or nothing if the user may not have it.
func (h *Holdings) Whole(u auth.User, id string) ([]merge.State, error) {
	s, ok, err := h.readable(&u, id)
	if err != nil || !ok {
		return nil, err
	}
	runs, err := h.scope.Of(u, h.now())
	if err != nil {
		return nil, err
	}
	below, err := h.below(&u, id, runs)
	return append([]merge.State{s}, below...), err
}

// below returns the records below a unit: visits, past results, certificates, and the runs that a
// phone holds.
func (h *Holdings) below(
	u *auth.User, parent string, runs func(*change.Change) (bool, error),
) (list []merge.State, err error) {
	children, err := h.store.Children(parent)
	if err != nil {
		return nil, err
	}
	for i := range children {
		s := &children[i]
		if s.Damaged != "" || !mine(u, s.Site) {
			continue
		}
		if s.Kind == "run" {
			wanted, err := runs(&change.Change{Record: s.ID, Kind: s.Kind, Site: s.Site, Parent: s.Parent})
			if err != nil {
				return nil, err
			}
			if !wanted {
				continue
			}
		}
		list = append(list, *s)
		if s.Kind == "visit" {
			under, err := h.below(u, s.ID, runs)
			if err != nil {
				return nil, err
			}
			list = append(list, under...)
		}
	}
	return list, nil
}

// Register returns what a search shows of the instruments at a user's sites, at most n from a place
// on, and the next place; 0 at the end. New instruments are added at the end.
func (h *Holdings) Register(u auth.User, from, n int) (list [][]byte, next, all int, err error) {
	h.siting.Lock()
	if err := h.site(); err != nil {
		h.siting.Unlock()
		return nil, 0, 0, err
	}
	var sites []string
	for site := range h.sites {
		if mine(&u, site) {
			sites = append(sites, site)
		}
	}
	slices.Sort(sites)
	var ids []string
	for _, site := range sites {
		of := h.sites[site]
		if at := from - all; at < len(of) && len(ids) < n {
			begin := max(at, 0)
			ids = append(ids, of[begin:min(len(of), begin+n-len(ids))]...)
		}
		all += len(of)
	}
	h.siting.Unlock()
	if next = from + len(ids); next >= all {
		next = 0
	}
	list, err = h.entries(ids)
	return list, next, all, err
}

// entries returns {id, site, set} for instruments; set has the shown fields.
func (h *Holdings) entries(ids []string) ([][]byte, error) {
	var list [][]byte
	for _, id := range ids {
		s, ok, err := h.store.Record(id)
		if err != nil && !errors.Is(err, store.ErrDamaged) {
			return nil, err
		}
		if ok && err == nil {
			list = append(list, entry(&s))
		}
	}
	return list, nil
}

func entry(s *merge.State) []byte {
	w := document.NewWriter(make([]byte, 0, 512))
	w.Begin()
	w.Text("id", s.ID)
	w.Text("site", s.Site)
	w.BeginObject("set")
	for _, field := range shown {
		if v, ok := s.Value(field); ok && string(v) != "null" && string(v) != `""` {
			w.Raw(field, v)
		}
	}
	if v, ok := s.Value("output"); ok && string(v) != "null" {
		w.Flag("output", true) // marks a transmitter
	}
	w.End()
	w.End()
	return w.Bytes()
}
