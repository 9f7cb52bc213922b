package office

import (
	"encoding/json"

	"gaugewright/calc"
)

// UsualMinutes is how long a test takes if its plan does not say. Chosen here.
const UsualMinutes = 30

// takes returns how many minutes a test takes by its plan. If there is no plan, known is false and
// minutes are the usual ones. mu must be held.
func (x *Index) takes(c *card) (minutes int, known bool) {
	of := demand{c.facts.Method, c.wants}
	n, asked := x.minutes[of]
	if !asked {
		n = x.methods[of.method].laidOut(of)
		if x.minutes == nil {
			x.minutes = map[demand]int{}
		}
		x.minutes[of] = n
	}
	if n == 0 {
		return UsualMinutes, false
	}
	return n, true
}

// laidOut lays a plan out and gives its minutes; 0 where it cannot be.
func (method methodCard) laidOut(of demand) int {
	if len(method.definition) == 0 {
		return 0
	}
	var item struct{ Instrument json.RawMessage }
	if json.Unmarshal(calc.Call("item", []byte(`{"fields":`+of.wants.Value()+`}`)), &item) != nil {
		return 0
	}
	in, err := json.Marshal(map[string]any{"method": method.definition, "instrument": item.Instrument})
	if err != nil {
		return 0
	}
	var out struct{ Minutes int }
	if json.Unmarshal(calc.Call("preview", in), &out) != nil {
		return 0
	}
	return out.Minutes
}
