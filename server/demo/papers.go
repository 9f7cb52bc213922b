package demo

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// letterhead is what the invented laboratory states on its certificates.
var letterhead = plant.Letterhead{Name: "Instrument workshop, Harbour Terminal", Address: []string{
	"Quay 7, Building C", "Harbour Terminal",
},
	Customer: []string{"Operations, Harbour Terminal"}, Country: "NL"}

// certify drafts the certificates of the newest approved visit of each instrument; older visits
// have none. It writes no documents, which would take long: each is drawn from the record on
// demand.
func (m *maker) certify(s *store.Store) ([]change.Change, error) {
	head, err := json.Marshal(letterhead)
	if err != nil {
		return nil, err
	}
	if err := s.Private("office").Put("letterhead", head); err != nil {
		return nil, err
	}
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	if err != nil {
		return nil, err
	}
	newest := map[string]plant.Visit{}
	for _, v := range visits {
		if before, ok := newest[v.Instrument]; v.Status == plant.Approved &&
			(!ok || v.Approval.At > before.Approval.At) {
			newest[v.Instrument] = v
		}
	}
	list := make([]plant.Visit, 0, len(newest))
	for _, v := range visits {
		if newest[v.Instrument].ID == v.ID {
			list = append(list, v)
		}
	}
	slices.SortFunc(list, func(a, b plant.Visit) int {
		return cmp.Or(strings.Compare(a.Approval.At, b.Approval.At), strings.Compare(a.ID, b.ID))
	})
	count, numbers := len(m.changes), map[int]int{}
	for _, v := range list {
		at, err := time.Parse(time.RFC3339, v.Approval.At)
		if err != nil {
			return nil, fmt.Errorf("visit %s: %w", v.ID, err)
		}
		in, err := certificates.Gather(s, v.ID, certificates.Office{}, "", at)
		if errors.Is(err, certificates.ErrNotReady) || errors.Is(err, certificates.ErrIncomplete) {
			continue // as when office staff approve it
		}
		if err != nil {
			return nil, err
		}
		numbers[at.Year()]++
		drawn := letterhead
		drawn.Base = m.Base
		if _, err := m.keep(m.reviewer(), merge.State{ID: m.id(), Kind: "certificate", Site: v.Site, Parent: v.ID}, at,
			plant.Set{
				Field: "number", Value: fmt.Sprintf("%d-%05d", at.Year(), numbers[at.Year()]),
			}, plant.Set{Field: "issued", Value: plant.Stamp(at)},
			plant.Set{Field: "by", Value: v.Approval.By}, plant.Set{Field: "fingerprint", Value: in.Record}, plant.Set{Field: "letterhead", Value: drawn}); err != nil {
			return nil, err
		}
		m.result.Certificates++
	}
	return m.changes[count:], nil
}
