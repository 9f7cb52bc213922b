package demo

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// systemMethod is a method of the plant's systems.
type systemMethod struct {
	name, kind, definition string
	cautions               []string
}

// systemMethods are the methods of the leak, switch and burst tests.
var systemMethods = []systemMethod{
	{"Leak test, vacuum and pressure", "leak", `{"kind":"leak","source":"works instruction 31","phases":[` +
		`{"name":"vacuum","pressure":"-60","stabilise_s":120,"measure_s":180,"every_s":15,"limit_pa_m3_s":0.02},` +
		`{"name":"pressure","pressure":"400","fill_s":30,"stabilise_s":180,"measure_s":180,"every_s":15,"limit_pa_m3_s":0.02}]}`, []string{
		"lock_out", "stand_aside", "stored_energy", "vent", "vacuum",
	}},
	{
		"Pressure switch, three cycles", "switch",
		`{"kind":"switch","cycles":3,"source":"trip list of the plant"}`, []string{"lock_out", "vent"},
	},
	{
		"Rupture discs of a lot, three of them", "burst", `{"kind":"burst","discs":3,"rate":"0.02"}`,
		[]string{"stand_aside", "stored_energy", "vent"},
	},
	{
		"Transmitter, signal at five points", "gauge",
		`{"kind":"gauge","points":{"count":5},"directions":"up-down","exercise":1,"hold_s":10}`,
		[]string{"lock_out", "stand_aside", "vent"},
	},
}

// systemThing is a system, a switch or a lot with its characteristics.
type systemThing struct {
	tag, serial, description, maker, model string
	method                                 int
	unit, low, high, resolution            string
	parts                                  string
	facts                                  string  // of a transmitter: limit and output
	off, wear, scatter                     float64 // a transmitter in mA, a system's leak in Pa·m³/s, others from the nominal
	due                                    int
	absolute                               bool   // it measures absolute pressure
	air                                    string // air pressure at the visit being made, hPa
}

func (x *systemThing) mode() string {
	if x.absolute {
		return "absolute"
	}
	return "gauge"
}

var systemThings = []systemThing{
	{"SY-1", "NS-0114", "Nitrogen system of the press", "Ostrevna Forge", "N2", 0, "kPa", "-100", "700", "0.01",
		`{"volume_m3":"0.0046","u_volume_rel":0.01,"weakest":{"high":"600","part":"the sight glass"}}`, "", 0.004, 0.001, 0.004, 0, false, ""},
	{"SY-2", "NS-0115", "Sample system of the analyser, closed", "Ostrevna Forge", "N1", 0, "kPa", "-100", "700", "0.01",
		`{"volume_m3":"0.0021","u_volume_rel":0.02}`, "", 0.011, 0.006, 0.004, 170, false, ""},
	{"PS-1", "SW-7741", "Low lubrication pressure, trip", "Tallow & Reed", "P3", 1, "bar", "0", "6", "0.01",
		`{"contacts":[{"name":"trip","acts":"falling","nominal":"1.5","tolerance":"0.06","dead_band":{"low":"0.1","high":"0.5"},"safe":"open","safety_function":true}]}`, "", 0.01, 0.01, 0.008, 0, false, ""},
	{"PS-2", "SW-7742", "High discharge pressure, alarm and trip", "Tallow & Reed", "P3D", 1, "bar", "0", "16", "0.01",
		`{"contacts":[{"name":"alarm","acts":"rising","nominal":"9","tolerance":"0.2"},{"name":"trip","acts":"rising","nominal":"10","tolerance":"0.2","safe":"open","safety_function":true}]}`, "", 0.05, 0.03, 0.02, 60, false, ""},
	{"PS-3", "SW-7743", "Start of the compressor", "Tallow & Reed", "P3", 1, "bar", "0", "10", "0.01",
		`{"contacts":[{"name":"start","acts":"falling","nominal":"6","tolerance":"0.15","dead_band":{"low":"0.8","high":"1.6"}}]}`, "", -0.03, 0.02, 0.02, 210, false, ""},
	{"PS-4", "SW-7744", "Vent of the receiver", "Tallow & Reed", "P3", 1, "bar", "0", "10", "0.01",
		`{"contacts":[{"name":"vent","acts":"rising","nominal":"7.5","tolerance":"0.15","dead_band":{"low":"0.3","high":"1.2"}}]}`, "", 0.02, 0.07, 0.02, 130, false, ""},
	{"RD-1", "L-2207", "Rupture discs 1 bar, lot 2207", "Quillane", "D25", 2, "bar", "0", "4", "0.001",
		`{"marked":"1","requested":"1.02","range_percent":{"low":-8,"high":4},"lot":"2207","lot_size":40,"material":"nickel","coincident_temperature_c":22,"volume_m3":"0.0008"}`, "", 0.008, 0, 0.02, 0, false, ""},
	{"RD-2", "L-2188", "Rupture discs 2.5 bar, lot 2188", "Quillane", "D25", 2, "bar", "0", "4", "0.001",
		`{"marked":"2.5","lot":"2188","lot_size":25,"material":"nickel","coincident_temperature_c":22,"volume_m3":"0.0008"}`, "", -0.03, 0, 0.03, 240, false, ""},
	{"PT-1", "TX-5102", "Nitrogen header, transmitter", "Tallow & Reed", "T20", 3, "bar", "0", "10", "0.001",
		"", `{"limit":{"rule":"terms","of_span_percent":"0.25"},"output":{"low":"4","high":"20","unit":"mA","resolution":"0.001"}}`, 0.011, 0.004, 0.003, 0, false, ""},
	{"PT-2", "TX-5103", "Instrument air header, transmitter", "Tallow & Reed", "T20", 3, "bar", "0", "16", "0.001",
		"", `{"limit":{"rule":"terms","of_span_percent":"0.25"},"output":{"low":"4","high":"20","unit":"mA","resolution":"0.001"}}`, -0.006, 0.003, 0.003, 150, false, ""},
}

var systemRanges = []map[string]string{
	{"low": "-100", "high": "1000", "unit": "kPa", "mode": "gauge", "of_span_percent": "0.02", "k": "2"},
	{"low": "-1", "high": "20", "unit": "bar", "mode": "gauge", "of_span_percent": "0.02", "k": "2"},
}

// meterRange is the range of the meter that reads transmitters' signals.
var meterRange = doc{"low": "0", "high": "24", "unit": "mA", "of_reading_percent": "0.02", "absolute": "0.002", "k": "2", "resolution": "0.001", "points": []doc{
	{
		"applied": "0", "error": "0.0002", "expanded": "0.0012", "k": "2",
	}, {"applied": "4", "error": "0.0006", "expanded": "0.0012", "k": "2"},
	{
		"applied": "12", "error": "0.0011", "expanded": "0.0016", "k": "2",
	}, {"applied": "20", "error": "0.0019", "expanded": "0.0020", "k": "2"},
	{"applied": "24", "error": "0.0022", "expanded": "0.0024", "k": "2"}}}

// loopMeter makes the meter that reads transmitters' signals.
func (m *maker) loopMeter(founded, calibrated time.Time) (merge.State, error) {
	return m.keep(m.administrator(), merge.State{ID: m.id(), Kind: "standard"}, founded,
		plant.Set{Field: "name", Value: "Loop meter"}, plant.Set{Field: "serial", Value: "LM-2"}, plant.Set{
			Field: "manufacturer", Value: "Halvorne",
		}, plant.Set{Field: "model", Value: "L1"},
		plant.Set{
			Field: "ranges", Value: []doc{meterRange},
		}, plant.Set{Field: "certificate." + m.id(), Value: doc{"number": certificateOf(len(standards)+2, calibrated), "calibrated": calibrated.Format(time.DateOnly),
			"due": calibrated.AddDate(1, 0, 0).Format(time.DateOnly), "by": laboratory, "range": doc{"low": "0", "high": "24", "unit": "mA"}, "points": meterRange["points"]}}, plant.Set{
			Field: "certificate_no", Value: certificateOf(len(standards)+2, calibrated),
		},
		plant.Set{Field: "calibrated", Value: calibrated.Format(time.DateOnly)}, plant.Set{
			Field: "due", Value: calibrated.AddDate(1, 0, 0).Format(time.DateOnly),
		},
		plant.Set{Field: "status", Value: "in service"})
}

// systems makes closed systems, switches and lots of discs at the first site, with a visit in each
// of the last two years and the stops due today.
func (m *maker) systems() error {
	if !m.real || m.result.NoHistory {
		return nil
	}
	founded := m.start.AddDate(-m.Years, -2, 0)
	calibrated := m.start.AddDate(0, -4, 0)
	standard, err := m.keep(m.administrator(), merge.State{ID: m.id(), Kind: "standard"}, founded,
		plant.Set{Field: "name", Value: "Test rack"}, plant.Set{Field: "serial", Value: "TR-3"}, plant.Set{
			Field: "manufacturer", Value: "Halvorne",
		}, plant.Set{Field: "model", Value: "R2"},
		plant.Set{Field: "ranges", Value: systemRanges}, plant.Set{
			Field: "certificate_no", Value: certificateOf(len(standards)+1, calibrated),
		},
		plant.Set{Field: "calibrated", Value: calibrated.Format(time.DateOnly)}, plant.Set{
			Field: "due", Value: calibrated.AddDate(1, 0, 0).Format(time.DateOnly),
		},
		plant.Set{Field: "status", Value: "in service"})
	if err != nil {
		return err
	}
	meter, err := m.loopMeter(founded, calibrated)
	if err != nil {
		return err
	}
	ids := make([]string, len(systemMethods))
	for i, x := range systemMethods {
		state, err := m.method(founded, x.name, x.kind, json.RawMessage(x.definition), x.cautions)
		if err != nil {
			return err
		}
		ids[i] = state.ID
	}
	m.rack.standard, m.rack.meter = standard, meter
	for i := range systemThings {
		x := &systemThings[i]
		if err := m.system(x, &systemMethods[x.method], ids[x.method], i+1); err != nil {
			return err
		}
	}
	return m.programmes(founded, standard)
}

// rack is the test equipment for the systems.
type rack struct {
	standard, meter, barometer merge.State
}

// system makes a system, a switch, a lot or a transmitter with its visits, and its stop if it is
// due today.
func (m *maker) system(x *systemThing, method *systemMethod, id string, skid int) error {
	founded, site := m.start.AddDate(-m.Years, -2, 0), m.sites[0]
	due := m.start.AddDate(0, 0, x.due)
	item := doc{"tag": x.tag, "serial": x.serial, "description": x.description, "kind": method.kind, "manufacturer": x.maker, "model": x.model,
		"range": map[string]string{
			"low": x.low, "high": x.high, "unit": x.unit, "mode": x.mode(),
		}, "resolution": x.resolution, "medium": "nitrogen", "area": "Utilities", "place": "skid " + strconv.Itoa(skid),
		"particulars": nil}
	if x.parts != "" {
		item["particulars"] = json.RawMessage(x.parts)
	}
	if err := x.addFacts(item); err != nil {
		return err
	}
	set := []plant.Set{{Field: "method", Value: id}, {
		Field: "cautions", Value: method.cautions,
	}, {Field: "interval_months", Value: 12},
		{
			Field: "due", Value: due.Format(time.DateOnly),
		}, {Field: "status", Value: "in service"}, {Field: "label", Value: m.id()[:10]}}
	for _, name := range []string{"tag", "serial", "description", "kind", "manufacturer", "model", "range", "resolution", "medium", "area", "place", "particulars", "limit", "output"} {
		if item[name] != nil {
			set = append(set, plant.Set{Field: name, Value: item[name]})
		} else {
			delete(item, name)
		}
	}
	state, err := m.keep(m.administrator(), merge.State{ID: m.id(), Kind: "instrument", Site: site.ID}, founded, set...)
	if err != nil {
		return err
	}
	m.result.Instruments++
	item["instrument"] = state.ID
	reach := systemRanges[0]
	if x.unit == "bar" {
		reach = systemRanges[1]
	}
	for back := 2; back >= 1; back-- {
		at := due.AddDate(-back, 0, -3).Add(90 * time.Minute)
		j := job{instrument: state, item: item, standard: m.rack.standard, reach: reach, certificate: len(standards) + 1, cautions: method.cautions, pressure: number(1008+6*m.rnd.NormFloat64(), 1),
			method: doc{
				"id": id, "version": 1, "name": method.name,
				"definition": json.RawMessage(method.definition),
			},
			run: func(visit *plant.Visit, at time.Time) (plant.Run, time.Time, error) {
				return m.systemRun(x, visit, item, at)
			}}
		x.air = j.pressure
		if item["output"] != nil {
			j.beside = append(j.beside, beside{"meter", m.rack.meter, meterRange})
		}
		if x.absolute {
			j.beside = append(j.beside, beside{"barometer", m.rack.barometer, barometerRange})
		}
		if err := m.visitOf(j, at); err != nil {
			return fmt.Errorf("%s on %s: %w", x.tag, at.Format(time.DateOnly), err)
		}
	}
	if x.due == 0 {
		m.extra = append(m.extra, plant.Stop{Instrument: state.ID, Method: id})
	}
	return nil
}

// addFacts copies a transmitter's fields besides its range.
func (x *systemThing) addFacts(to doc) error {
	if x.facts == "" {
		return nil
	}
	var facts map[string]json.RawMessage
	if err := json.Unmarshal([]byte(x.facts), &facts); err != nil {
		return err
	}
	for name, fact := range facts {
		to[name] = fact
	}
	return nil
}

// systemStep is a step of a plan.
type systemStep struct {
	ID, Do, Of, As, Unit string
	Target, Expected     plant.Decimal
	Seconds              float64
	Every                float64 `json:"every_s"`
	Many, Optional       bool
}

// systemRun works through the plan and stores the readings, with the finding.
func (m *maker) systemRun(x *systemThing, visit *plant.Visit, item doc, at time.Time) (plant.Run, time.Time, error) {
	run := plant.Run{Base: plant.Base{ID: m.id()}, Label: "as found"}
	instrument := doc{"low": x.low, "high": x.high, "unit": x.unit, "mode": x.mode(), "resolution": x.resolution}
	if x.parts != "" {
		instrument["particulars"] = item["particulars"]
	}
	if err := x.addFacts(instrument); err != nil {
		return run, at, err
	}
	asked := doc{"method": visit.Method.Definition, "instrument": instrument}
	if x.absolute {
		asked["air_hpa"] = x.air
	}
	b, err := plant.Canonical(asked)
	if err != nil {
		return run, at, err
	}
	raw, err := m.ask("expand", b)
	if err != nil {
		return run, at, err
	}
	var p struct{ Steps []systemStep }
	if err := json.Unmarshal(raw, &p); err != nil {
		return run, at, fmt.Errorf("the plan: %w", err)
	}
	set := []plant.Set{{Field: "label", Value: run.Label}, {Field: "plan", Value: raw}}
	eye := systemEye{maker: m, thing: x, years: m.start.Sub(at).Hours() / 8766}
	if x.parts != "" {
		if err := json.Unmarshal([]byte(x.parts), &eye.parts); err != nil {
			return run, at, err
		}
	}
	write := func(s systemStep, of, value, unit string) {
		c := plant.Capture{ID: m.id(), Step: s.ID, Of: of, Value: plant.Decimal(value), Unit: unit, At: plant.Stamp(at)}
		run.Captures = append(run.Captures, c)
		set = append(
			set,
			plant.Set{
				Field: "capture." + c.ID, Value: doc{"step": s.ID, "of": of, "value": value, "unit": unit, "at": c.At},
			},
		)
	}
	for _, s := range p.Steps {
		switch {
		case s.Optional:
		case s.Do == "ask":
			at = at.Add(time.Duration(6+m.rnd.IntN(9)) * time.Second)
			write(s, "answer", eye.answers(s), "")
		case s.Do == "read" && s.Many:
			for t := 0.0; t <= s.Seconds; t += s.Every {
				write(s, "indicated", eye.leaks(s, t), s.Unit)
				at = at.Add(time.Duration(s.Every) * time.Second)
			}
			set = append(set, plant.Set{Field: "done." + s.ID, Value: doc{"at": plant.Stamp(at)}})
		case s.Do == "read":
			at = at.Add(time.Duration(20+m.rnd.IntN(20)) * time.Second)
			write(s, s.Of, eye.reads(s), s.Unit)
		default:
			at = at.Add(time.Duration(8+s.Seconds) * time.Second)
			set = append(set, plant.Set{Field: "done." + s.ID, Value: doc{"at": plant.Stamp(at)}})
			if s.Do == "set" {
				eye.target, _ = strconv.ParseFloat(string(s.Target), 64)
			}
		}
	}
	return m.judged(run, set, visit, at)
}

// systemEye reads a system, a switch or a disc.
type systemEye struct {
	*maker
	thing  *systemThing
	target float64
	years  float64 // before today
	parts  struct {
		Volume   plant.Decimal `json:"volume_m3"`
		Marked   plant.Decimal
		Contacts []struct {
			Acts    string
			Nominal plant.Decimal
		}
	}
}

func (e *systemEye) answers(s systemStep) string {
	switch {
	case s.As == "yes":
		return "yes"
	case s.Unit == "°C":
		return number(21.4+0.03*e.rnd.NormFloat64(), 1)
	case s.Unit == "hPa":
		return "1009.2"
	}
	return e.thing.serial + "/" + strings.TrimPrefix(strings.TrimSuffix(s.ID, ".disc"), "d")
}

// leaks returns the pressure some seconds after the first reading.
func (e *systemEye) leaks(s systemStep, t float64) string {
	volume, _ := strconv.ParseFloat(string(e.parts.Volume), 64)
	rate := math.Max(e.thing.off-e.thing.wear*e.years, 0.0005) / volume / 1000 // kPa/s, less in earlier years
	p := e.target - rate*t
	if e.target < 0 {
		p = e.target + rate*t
	}
	return number(p+e.thing.scatter*e.rnd.NormFloat64(), 2)
}

// reads returns the pressure at which a contact changed or a disc burst.
func (e *systemEye) reads(s systemStep) string {
	x := e.thing
	off := x.off - x.wear*e.years + x.scatter*e.rnd.NormFloat64()
	if x.absolute {
		target, _ := strconv.ParseFloat(string(s.Target), 64)
		return number(target+off, 3)
	}
	if s.Expected != "" && s.Unit == "mA" {
		signal, _ := strconv.ParseFloat(string(s.Expected), 64)
		return number(signal+off, 3)
	}
	if e.parts.Marked != "" {
		marked, _ := strconv.ParseFloat(string(e.parts.Marked), 64)
		return number(marked+off, 3)
	}
	part := strings.Split(s.ID, ".") // c1.k1.set
	k, _ := strconv.Atoi(strings.TrimPrefix(part[1], "k"))
	c := e.parts.Contacts[k-1]
	nominal, _ := strconv.ParseFloat(string(c.Nominal), 64)
	if part[2] == "reset" {
		band := 0.09*nominal + 0.12
		if c.Acts == "rising" {
			band = -band
		}
		off += band
	}
	return number(nominal+off, 2)
}
