package certificates

import (
	"encoding/json"
	"strconv"

	"gaugewright/server/plant"
)

// airFacts states at which field a pitot-static test was made: its elevation and its measured
// pressure. Other kinds of work have none of them.
func (s *sheet) airFacts(run *plant.Run) {
	var own map[string]json.RawMessage
	var kind struct {
		FieldPa *float64 `json:"field_pa"`
	}
	var parts struct {
		Elevation *plant.Decimal `json:"field_elevation_ft"`
		Subscale  string         `json:"subscale"`
	}
	if json.Unmarshal(run.Finding.Raw, &own) != nil || json.Unmarshal(own[s.def.Kind], &kind) != nil ||
		kind.FieldPa == nil {
		return
	}
	s.fact(s.say("Field pressure"), s.say("{} hPa, measured at the beginning ({} inHg)",
		s.number(strconv.FormatFloat(*kind.FieldPa/100, 'f', 1, 64)),
		s.number(strconv.FormatFloat(*kind.FieldPa/3386.388640341, 'f', 2, 64))))
	if len(s.in.Visit.Item.Particulars) > 0 && json.Unmarshal(s.in.Visit.Item.Particulars, &parts) == nil &&
		parts.Elevation != nil {
		s.fact(s.say("Field elevation"), s.typed(*parts.Elevation)+" ft")
	}
	s.paragraph(s.say("Altitudes are geopotential pressure altitudes of the standard atmosphere (ISO 2533, ICAO Doc 7488), airspeeds are calibrated airspeeds. Error = indicated − applied; " +
		"of a comparison of two readings, the later less the earlier. Limits are quoted from their sources as the laboratory has them: check them against the current text. " +
		"U is that of the standard, k = 2. The aircraft's maintenance manual and its release to service go before this certificate."))
}
