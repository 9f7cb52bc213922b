package certificates

import (
	"strconv"
	"strings"

	"gaugewright/server/plant"
)

// defects are the codes of what was found wrong with an instrument that was taken out.
var defects = map[string]string{"out_of_limit": "reads or acts outside its limit", "does_not_act": "does not act", "sticks": "sticks or is slow",
	"leaks": "leaks", "damaged": "damaged", "other": "another defect"}

// dispositionText says what was decided of an item that failed; "" where nothing was.
func dispositionText(d *plant.Disposition) string {
	if d == nil {
		return ""
	}
	switch d.Way {
	case "replaced":
		return joined(": ", "replaced by serial "+d.Serial, d.Reason)
	case "left_in_service":
		return "left in service until " + dayOnly(d.Until) + " by decision of " + d.By + prefixed(": ", d.Reason)
	case "taken_out":
		code := d.Code
		if said, ok := defects[code]; ok {
			code = said
		}
		return "taken out of service and tagged" + prefixed("; ", joined(": ", code, d.Reason))
	}
	return ""
}

// bypassText lists the bypasses that were set for the test, and what became of each.
func bypassText(list []plant.Bypass) string {
	said := map[string]string{"removed": "removed", "left": "left in", "set": "not ticked off"}
	parts := make([]string, 0, len(list))
	for _, b := range list {
		parts = append(parts, b.Name+": "+said[b.State]+prefixed(", ", b.Reason))
	}
	return strings.Join(parts, "; ")
}

// usedText names what was measured with beside the standard.
func usedText(m *plant.StandardUsed) string {
	return joined(
		", ", joined(" ", m.Snapshot.Name, m.Snapshot.Manufacturer, m.Snapshot.Model),
		prefixed("serial ", m.Snapshot.Serial), rangeText(meterRange(m)),
		prefixed("calibration due ", dayOnly(m.Snapshot.Due)),
	)
}

// meterRange is the range of a meter or barometer as its record has it, else as the visit keeps it.
func meterRange(m *plant.StandardUsed) plant.Range {
	if m.Snapshot.Range.Unit != "" {
		return m.Snapshot.Range
	}
	return m.Range
}

// spanOf is how far a range reaches from its low to its high end; 1 where either is not a number.
func spanOf(r plant.Range) float64 {
	low, err := strconv.ParseFloat(string(r.Low), 64)
	high, err2 := strconv.ParseFloat(string(r.High), 64)
	if err != nil || err2 != nil || high <= low {
		return 1
	}
	return high - low
}
