package plant

import (
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// past is a store as it was when its journal ended at an entry.
type past struct {
	*store.Store
	last uint64
}

// AsOf returns the records as they were at an entry of the journal, whatever was written since.
func AsOf(s *store.Store, entry uint64) Source { return past{s, entry} }

func (p past) Record(id string) (merge.State, bool, error) {
	now, ok, err := p.Store.Record(id)
	if err != nil || !ok {
		return now, ok, err
	}
	return p.then(now)
}

func (p past) then(now merge.State) (merge.State, bool, error) {
	entries, err := p.History(now.ID)
	if err != nil {
		return merge.State{}, false, err
	}
	var list []change.Change
	for _, e := range entries {
		if e.Seq <= p.last {
			list = append(list, e.Change)
		}
	}
	if len(list) == len(entries) || len(list) == 0 {
		return now, len(list) > 0, nil
	}
	s, err := merge.Apply(merge.State{ID: now.ID, Kind: now.Kind, Site: now.Site, Parent: now.Parent}, list...)
	return s, true, err
}

func (p past) Children(id string) ([]merge.State, error) {
	kids, err := p.Store.Children(id)
	if err != nil {
		return nil, err
	}
	list := kids[:0]
	for _, k := range kids {
		s, ok, err := p.then(k)
		if err != nil {
			return nil, err
		}
		if ok {
			list = append(list, s)
		}
	}
	return list, nil
}
