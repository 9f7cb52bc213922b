package plant

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gaugewright/calc"
	"gaugewright/sync/merge"
)

// standardFields are the fields of a standard that the calculation choose asks for.
var standardFields = []string{
	"name", "status", "due", "calibrated", "medium", "cleaned_for_oxygen", "ranges",
}

// StandardAsked returns what the calculation choose asks of a standard.
func StandardAsked(s *merge.State) map[string]json.RawMessage {
	out := map[string]json.RawMessage{"id": json.RawMessage(fmt.Sprintf("%q", s.ID))}
	for _, name := range standardFields {
		if b, ok := s.Value(name); ok && string(b) != "null" {
			out[name] = b
		}
	}
	if out["ranges"] == nil {
		out["ranges"] = json.RawMessage("[]")
	}
	return out
}

// instrumentFields are the fields of an instrument that decide which standard serves it.
var instrumentFields = []string{
	"kind", "range", "resolution", "limit", "output", "repeatability_percent", "medium", "cautions",
	"temperature_coefficient_percent_per_k", "reference_temperature_c", "particulars",
}

// Wants returns, as a JSON object, the fields of an instrument that decide which standard serves it.
func Wants(s *merge.State) string {
	var b strings.Builder
	b.WriteByte('{')
	for _, name := range instrumentFields {
		v, ok := s.Value(name)
		if !ok || string(v) == "null" {
			continue
		}
		if b.Len() > 1 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, "%q:%s", name, v)
	}
	b.WriteByte('}')
	return b.String()
}

// Serving lists the standards, of some, against which nothing speaks on a day.
//
// Takes:   wants, as Wants gives it; the definition and the cautions of the method; the standards, a
// JSON list of what StandardAsked gives; the day, as 2006-01-02.
// Refuses: a fault of the calculation choose that is not of the instrument or the method. An
// instrument that does not fit its method is served by none.
func Serving(wants string, method json.RawMessage, cautions []string, standards json.RawMessage, today string) ([]string, error) {
	var item struct{ Instrument json.RawMessage }
	if err := json.Unmarshal(calc.Call("item", []byte(`{"fields":`+wants+`}`)), &item); err != nil {
		return nil, err
	}
	var about struct {
		Medium   string
		Cautions []string
	}
	_ = json.Unmarshal([]byte(wants), &about) // an unreadable record wants nothing in particular
	in, err := json.Marshal(map[string]any{
		"method": method, "instrument": item.Instrument, "today": today,
		"medium": about.Medium, "cautions": append(append([]string{}, about.Cautions...), cautions...),
		"standards": standards,
	})
	if err != nil {
		return nil, err
	}
	var out struct {
		List []struct {
			Standard   string
			Objections []json.RawMessage
		}
		Error *struct{ Field, Message string }
	}
	if err := json.Unmarshal(calc.Call("choose", in), &out); err != nil {
		return nil, err
	}
	if e := out.Error; e != nil && !strings.HasPrefix(e.Field, "instrument") && !strings.HasPrefix(e.Field, "method") {
		return nil, fmt.Errorf("which standard serves it: %s: %s", e.Field, e.Message)
	}
	var list []string
	for _, one := range out.List {
		if len(one.Objections) == 0 && !slices.Contains(list, one.Standard) {
			list = append(list, one.Standard)
		}
	}
	return list, nil
}
