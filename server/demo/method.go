package demo

import (
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// draftedBefore is how long before a method comes into force its draft is written.
const draftedBefore = 72 * time.Hour

// method makes a method as a plant does: the administrator writes a draft, and the reviewer looks at
// it and puts it into force.
func (m *maker) method(at time.Time, name, kind string, definition any, cautions []string) (merge.State, error) {
	author, second := m.administrator(), m.reviewer()
	// The ids of drafts are drawn beside all others: what else is invented stays as it was.
	writer := &plant.Drafter{Device: author.Device, Author: author.Author, Random: m.draftIDs}
	draft := "draft." + author.Author
	state, err := m.keep(writer, merge.State{ID: m.id(), Kind: "method"}, at.Add(-draftedBefore), plant.Set{
		Field: draft, Value: doc{
			"name": name, "definition": definition, "cautions": cautions,
			"at": at.Add(-draftedBefore).UTC().Format(time.RFC3339), "why": "the plant's first version",
		},
	})
	if err != nil {
		return state, err
	}
	f, _ := state.Field(draft)
	return m.keep(second, state, at,
		plant.Set{Field: "name", Value: name}, plant.Set{Field: "kind", Value: kind}, plant.Set{Field: "version", Value: 1},
		plant.Set{Field: "definition", Value: definition}, plant.Set{Field: "cautions", Value: cautions},
		plant.Set{Field: draft, Value: nil},
		plant.Set{Field: "approval.1", Value: plant.MethodApproval{
			By: author.Author, Of: f.Heads[0].Change, Why: "the plant's first version",
			Note: "tried on an instrument of each kind",
		}},
	)
}
