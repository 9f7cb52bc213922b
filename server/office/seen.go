package office

import (
	"context"
	"encoding/json"
	"slices"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
)

// Seen notes on a signed visit that office staff have opened it in its present signed state, so
// that the phone can show that. It writes nothing if that is noted already or the visit waits for
// no decision.
func (o *Office) Seen(ctx context.Context, user, visit string) error {
	return o.writer.Write(ctx, user, func(p *plant.Drafter) ([]change.Change, error) {
		state, err := o.Record(visit)
		if err != nil {
			return nil, err
		}
		v, err := plant.ReadVisit(state)
		if err != nil || v.Status != plant.Signed {
			return nil, err
		}
		field, of := "seen."+user, v.Signatures()
		if b, ok := state.Value(field); ok {
			var was struct{ Of []string }
			if err := json.Unmarshal(b, &was); err == nil && slices.Equal(was.Of, of) {
				return nil, nil
			}
		}
		now := o.now()
		one, _, err := p.Edit(
			state, now, plant.Set{Field: field, Value: map[string]any{"at": plant.Stamp(now), "of": of}},
		)
		return []change.Change{one}, err
	})
}
