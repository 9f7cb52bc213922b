package demo

import (
	"encoding/json"
	"time"

	"gaugewright/server/plant"
)

// served returns, in their order, the gauges that a standard serves today with their own method,
// until there are so many and an ordinary one among them. Some instruments of the plant have none,
// which its planning shows; a round does not lead to one.
func (m *maker) served(list []*gauge, enough int) (out []*gauge, err error) {
	if !m.real {
		return list, nil
	}
	asked := make([]map[string]json.RawMessage, len(m.standards))
	for i := range m.standards {
		asked[i] = plant.StandardAsked(&m.standards[i].state)
	}
	standards, err := json.Marshal(asked)
	if err != nil {
		return nil, err
	}
	today, ordinary := m.start.Format(time.DateOnly), false
	for _, g := range list {
		if len(out) >= enough && ordinary {
			break
		}
		method := &m.methods[g.methodIndex]
		definition, _ := method.Value("definition")
		var cautions []string
		if b, ok := method.Value("cautions"); ok {
			if err := json.Unmarshal(b, &cautions); err != nil {
				return nil, err
			}
		}
		found, err := plant.Serving(plant.Wants(&g.state), definition, cautions, standards, today)
		if err != nil {
			return nil, err
		}
		if len(found) > 0 {
			out, ordinary = append(out, g), ordinary || g.ordinary()
		}
	}
	return out, nil
}

// ordinary reports whether a gauge is what people try first: from zero, at six points up and down.
func (g *gauge) ordinary() bool { return g.low == 0 && g.methodIndex == 0 }
