package demo

import (
	"encoding/json"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// absoluteMethod checks a gauge that measures absolute pressure: the standard of the rack measures
// gauge pressure, and a barometer beside it adds the rest.
var absoluteMethod = systemMethod{
	"Absolute gauge, five points above the air", "gauge",
	`{"kind":"gauge","points":{"percents":["30","50","65","80","100"]},"directions":"up-down","exercise":1,"hold_s":10}`,
	[]string{"lock_out", "stand_aside", "vent"},
}

var absoluteThings = []systemThing{
	{tag: "PX-1", serial: "AB-3301", description: "Steam header, absolute pressure", maker: "Tallow & Reed", model: "A40",
		unit: "bar", low: "0", high: "6", resolution: "0.001", facts: `{"limit":{"rule":"terms","of_span_percent":"0.4"}}`,
		off: 0.009, wear: 0.003, scatter: 0.002, absolute: true, due: 20},
	{tag: "PX-2", serial: "AB-3302", description: "Flash vessel, absolute pressure", maker: "Tallow & Reed", model: "A40",
		unit: "bar", low: "0", high: "4", resolution: "0.001", facts: `{"limit":{"rule":"terms","of_span_percent":"0.4"}}`,
		off: -0.004, wear: 0.002, scatter: 0.002, absolute: true, due: 95},
}

// barometerRange is the range of the barometer beside a gauge standard.
var barometerRange = doc{"low": "800", "high": "1100", "unit": "hPa", "mode": "absolute", "absolute": "0.15", "k": "2", "resolution": "0.01", "points": []doc{
	{"applied": "850", "error": "0.04", "expanded": "0.10", "k": "2"},
	{"applied": "950", "error": "0.06", "expanded": "0.10", "k": "2"},
	{"applied": "1013", "error": "0.07", "expanded": "0.10", "k": "2"},
	{"applied": "1050", "error": "0.08", "expanded": "0.10", "k": "2"},
}}

// absolutes makes gauges for absolute pressure, their method, and the barometer that their gauge
// standard needs.
func (m *maker) absolutes() error {
	if !m.real || m.result.NoHistory {
		return nil
	}
	founded, calibrated := m.start.AddDate(-m.Years, -2, 0), m.start.AddDate(0, -3, 0)
	number, day := certificateOf(len(standards)+3, calibrated), calibrated.Format(time.DateOnly)
	due := calibrated.AddDate(1, 0, 0).Format(time.DateOnly)
	barometer, err := m.keep(m.administrator(), merge.State{ID: m.id(), Kind: "standard"}, founded,
		plant.Set{Field: "name", Value: "Barometer of the workshop"}, plant.Set{Field: "serial", Value: "BM-1"},
		plant.Set{Field: "manufacturer", Value: "Halvorne"}, plant.Set{Field: "model", Value: "B1"},
		plant.Set{Field: "ranges", Value: []doc{barometerRange}},
		plant.Set{Field: "certificate." + m.id(), Value: doc{"number": number, "calibrated": day, "due": due, "by": laboratory,
			"range":  doc{"low": "800", "high": "1100", "unit": "hPa", "mode": "absolute"},
			"points": barometerRange["points"]}},
		plant.Set{Field: "certificate_no", Value: number}, plant.Set{Field: "calibrated", Value: day},
		plant.Set{Field: "due", Value: due}, plant.Set{Field: "status", Value: "in service"})
	if err != nil {
		return err
	}
	m.rack.barometer = barometer
	x := &absoluteMethod
	method, err := m.method(founded, x.name, x.kind, json.RawMessage(x.definition), x.cautions)
	if err != nil {
		return err
	}
	for i := range absoluteThings {
		if err := m.system(&absoluteThings[i], x, method.ID, len(systemThings)+i+1); err != nil {
			return err
		}
	}
	return nil
}
