package certificates

import (
	"strconv"
	"strings"

	"gaugewright/server/plant"
)

// defects are the codes for what is wrong with an instrument taken out of service.
var defects = map[string]string{"out_of_limit": "reads or acts outside its limit", "does_not_act": "does not act", "sticks": "sticks or is slow",
	"leaks": "leaks", "damaged": "damaged", "other": "another defect"}

// Defect returns the text for the code of a defect; an unknown code stays.
func (l Language) Defect(code string) string {
	if said, ok := defects[code]; ok {
		return l.tongue.word(said)
	}
	return code
}

// dispositionText says what was decided about an item that failed, or "".
func (t tongue) dispositionText(d *plant.Disposition) string {
	if d == nil {
		return ""
	}
	switch d.Way {
	case "replaced":
		return joined(": ", t.say("replaced by serial {}", d.Serial), d.Reason)
	case "left_in_service":
		return joined(": ", t.say("left in service until {} by decision of {}", t.dayOnly(d.Until), d.By), d.Reason)
	case "taken_out":
		code := Language{t}.Defect(d.Code)
		return t.say("taken out of service and tagged") + prefixed("; ", joined(": ", code, d.Reason))
	}
	return ""
}

// bypassText lists the bypasses that were set for the test, and what became of each.
func (t tongue) bypassText(list []plant.Bypass) string {
	said := map[string]string{"removed": "removed", "left": "left in", "set": "not ticked off"}
	parts := make([]string, 0, len(list))
	for _, b := range list {
		parts = append(parts, b.Name+": "+t.word(said[b.State])+prefixed(", ", b.Reason))
	}
	return strings.Join(parts, "; ")
}

// usedText names a device that measured beside the standard.
func (t tongue) usedText(m *plant.StandardUsed) string {
	return joined(
		", ", joined(" ", m.Snapshot.Name, m.Snapshot.Manufacturer, m.Snapshot.Model),
		t.serial(m.Snapshot.Serial), t.rangeText(meterRange(m)), t.due(m.Snapshot.Due),
	)
}

// serial gives an object's serial number in words, "" if it has none.
func (t tongue) serial(number string) string {
	if number == "" {
		return ""
	}
	return t.say("serial {}", number)
}

// due says when a standard's calibration is due, "" if that is not recorded.
func (t tongue) due(date string) string {
	if date == "" {
		return ""
	}
	return t.say("calibration due {}", t.dayOnly(date))
}

// meterRange is the range of a meter or barometer from its record, else as the visit keeps it.
func meterRange(m *plant.StandardUsed) plant.Range {
	if m.Snapshot.Range.Unit != "" {
		return m.Snapshot.Range
	}
	return m.Range
}

// spanOf returns the span of a range; 1 if either end is not a number.
func spanOf(r plant.Range) float64 {
	low, err := strconv.ParseFloat(string(r.Low), 64)
	high, err2 := strconv.ParseFloat(string(r.High), 64)
	if err != nil || err2 != nil || high <= low {
		return 1
	}
	return high - low
}
