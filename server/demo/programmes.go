package demo

import (
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// programmes are tests that the office of the plant wrote itself and published.
var programmes = []struct {
	name, text string
	rules      []doc
}{
	{"Held for a minute", `unit bar gauge
vent
hold 10 s
read zero from gauge
set 0.5
hold 60 s
read held from gauge
vent
`, []doc{{"name": "zero", "low": "-0.02", "high": "0.02"}, {"name": "held", "low": "0.45", "high": "0.55"}}},
	{"Rest at three and six bar", `unit bar gauge
note "Everything connected is rated for 6 bar, the relief valve is set, and nobody stands before a joint."
vent
hold 10 s
read zero from gauge
set 3
settle within 0.02 for 30 s, at most 300 s
read low from gauge
set 6
settle within 0.02 for 30 s, at most 300 s
read high from gauge
if high - low > 3.1 {
  hold 60 s
  read again from gauge
} else {
  note "The step of three bar is as it should be."
}
ask "Was anything heard at the joints?" as yes into heard
vent
`, []doc{{"name": "the step of three bar", "when": "high - low > 2.9", "text": "below 2.9 bar the pointer sticks or the range is not what the dial says"}}},
}

// programmes publishes the plant's own tests.
func (m *maker) programmes(founded time.Time) error {
	for _, p := range programmes {
		definition := doc{"kind": "programme", "text": p.text, "rules": p.rules}
		_, err := m.keep(m.administrator(), merge.State{ID: m.id(), Kind: "method"}, founded, plant.Set{Field: "name", Value: p.name}, plant.Set{Field: "kind", Value: "programme"},
			plant.Set{Field: "version", Value: 1}, plant.Set{Field: "definition", Value: definition}, plant.Set{Field: "cautions", Value: []string{"pressure"}})
		if err != nil {
			return err
		}
	}
	return nil
}
