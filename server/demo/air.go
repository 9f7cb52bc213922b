package demo

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/airdata"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

type airMethod struct{ name, kind, definition string }

// hangar is the workshop's site, its test equipment, and its methods' ids.
type hangar struct {
	site, standard merge.State
	methods        []string
}

// airMethods are the methods of the hangar's workshop. Limits that the program knows only from
// memory are marked as compared with their text, by an invented person: otherwise they decide
// nothing.
var airMethods = []airMethod{
	{"Altimeter, tests of Part 43 Appendix E to 20 000 ft", "altimeter", `{"kind":"altimeter","limits_read":{"clause":"an example: the text in force, clause by clause","by":"Demo inspector"},"pitot":"none","highest_ft":20000,"max_rate_ft_min":3000}`},
	{
		"Airspeed indicator, published tolerances 20 to 250 kt", "airspeed",
		`{"kind":"airspeed","table":"20-250","directions":"up-down","max_rate_kt_min":60}`,
	},
	{"Vertical speed, four rates", "vertical-speed",
		`{"kind":"vertical-speed","pitot":"none","source":"limits of the workshop","zero_ft_min":"50","points":[{"ft_min":"500","at_ft":2000,"tolerance_ft_min":"100"},` +
			`{"ft_min":"2000","at_ft":4000,"tolerance_ft_min":"200"},{"ft_min":"-500","at_ft":4000,"tolerance_ft_min":"100"},{"ft_min":"-2000","at_ft":2500,"tolerance_ft_min":"200"}]}`},
	{"Reported against displayed altitude", "reporting-altitude", `{"kind":"reporting-altitude","limits_read":{"clause":"an example: the text in force, clause by clause","by":"Demo inspector"},"pitot":"tied","points_ft":[0,2000,6000,10000,14000,18000]}`},
	{"Pitot and static lines, leak", "pitot-static-leak", `{"kind":"pitot-static-leak","limits_read":{"clause":"an example: the text in force, clause by clause","by":"Demo inspector"},"static":{"start_ft":"1500"},"pitot":{"start_kt":"150"},"due_months":24}`},
}

// airThing is a pitot-static instrument with its characteristics: its error at the bottom, the
// additional error at the top, and falling.
type airThing struct {
	tag, serial, description, kind, maker, model, unit, low, high, resolution string
	method                                                                    int
	offset, slope, falling, wear                                              float64 // wear per year
	due                                                                       int     // days from today
}

var airThings = []airThing{
	{
		"AL-1", "ALT-20417", "Altimeter, left panel of the trainer", "altimeter", "Skarnholt", "A20", "ft",
		"-1000", "20000", "10", 0, 8, 44, 22, 2, 0,
	},
	{
		"AL-2", "ALT-20418", "Altimeter, right panel of the trainer", "altimeter", "Skarnholt", "A20",
		"ft", "-1000", "20000", "10", 0, -8, 20, 34, -1, 190,
	},
	{
		"AS-1", "ASI-1180", "Airspeed indicator, left panel of the trainer", "airspeed", "Tallow & Reed",
		"V250", "kt", "0", "250", "1", 1, 0.6, 1.6, 1, 0.2, 0,
	},
	{
		"AS-2", "ASI-1181", "Airspeed indicator, right panel of the trainer", "airspeed", "Tallow & Reed",
		"V250", "kt", "0", "250", "1", 1, -1, -2.4, 0, 0, 190,
	},
	{
		"VS-1", "VSI-077", "Vertical speed indicator of the trainer", "vertical-speed", "Skarnholt", "R4",
		"ft/min", "-4000", "4000", "20", 2, 0, 60, 0, 4, 300,
	},
	{
		"RA-1", "ENC-0032", "Source of reported altitude of the trainer", "reporting-altitude", "Quillane",
		"E30", "ft", "-1000", "30000", "100", 3, 0, 0, 0, 0, 300,
	},
	{
		"PSL-1", "PSL-0032", "Pitot and static lines of the trainer", "pitot-static-leak", "Ostrel", "two lines", "ft",
		"-1000", "20000", "10", 4, 0, 0, 0, 0, 1,
	},
}

var airParticulars = map[string]any{
	"lowest_ft": -1000, "highest_ft": 20000, "max_rate_ft_min": 5000, "max_cas_kt": 260, "max_rate_kt_min": 120,
	"weakest": doc{"impact_pa": 11500, "part": "the airspeed indicator"}, "subscale": "inHg", "field_elevation_ft": 420,
}

var airRanges = []map[string]string{
	{"low": "-2000", "high": "50000", "unit": "ft", "mode": "absolute", "absolute": "4", "k": "2"},
	{"low": "0", "high": "450", "unit": "kt", "mode": "differential", "absolute": "0.5", "k": "2"},
	{"low": "-8000", "high": "8000", "unit": "ft/min", "mode": "absolute", "absolute": "12", "k": "2"},
}

var airCautions = []string{"flight", "vacuum"}

// air makes a hangar's workshop with the instruments of an invented aircraft, their visits every
// two years, and the stops due today.
func (m *maker) air() error {
	if !m.real || m.result.NoHistory {
		return nil
	}
	founded := m.start.AddDate(-m.Years, -2, 0)
	site, err := m.keep(
		m.administrator(), merge.State{ID: m.id(), Kind: "site"}, founded,
		plant.Set{Field: "code", Value: "HW"}, plant.Set{Field: "name", Value: "Hangar workshop"},
	)
	if err != nil {
		return err
	}
	calibrated := m.start.AddDate(0, -5, 0)
	standard, err := m.keep(m.administrator(), merge.State{ID: m.id(), Kind: "standard"}, founded,
		plant.Set{Field: "name", Value: "Air data set"}, plant.Set{Field: "serial", Value: "AD-9"}, plant.Set{
			Field: "manufacturer", Value: "Halvorne",
		}, plant.Set{Field: "model", Value: "D2"},
		plant.Set{Field: "ranges", Value: airRanges}, plant.Set{
			Field: "certificate_no", Value: certificateOf(len(standards), calibrated),
		},
		plant.Set{Field: "calibrated", Value: calibrated.Format(time.DateOnly)}, plant.Set{
			Field: "due", Value: calibrated.AddDate(1, 0, 0).Format(time.DateOnly),
		},
		plant.Set{Field: "status", Value: "in service"})
	if err != nil {
		return err
	}
	m.hangar = hangar{site: site, standard: standard}
	return m.hang(airMethods[:4], airThings[:6])
}

// lines makes the leak test of the aircraft's lines. It comes last, so that what is invented before
// it does not change.
func (m *maker) lines() error {
	if !m.real || m.result.NoHistory {
		return nil
	}
	return m.hang(airMethods[4:], airThings[6:])
}

// hang makes methods and instruments for the hangar's workshop, with their visits.
func (m *maker) hang(methods []airMethod, things []airThing) error {
	founded := m.start.AddDate(-m.Years, -2, 0)
	site, standard := m.hangar.site, m.hangar.standard
	for _, x := range methods {
		state, err := m.method(founded, x.name, x.kind, json.RawMessage(x.definition), airCautions)
		if err != nil {
			return err
		}
		m.hangar.methods = append(m.hangar.methods, state.ID)
	}
	ids := m.hangar.methods
	for i := range things {
		x := &things[i]
		due := m.start.AddDate(0, 0, x.due)
		set := []plant.Set{
			{Field: "tag", Value: x.tag}, {Field: "serial", Value: x.serial}, {
				Field: "description", Value: x.description,
			}, {Field: "kind", Value: x.kind},
			{Field: "manufacturer", Value: x.maker}, {Field: "model", Value: x.model},
			{
				Field: "range",
				Value: map[string]string{
					"low": x.low, "high": x.high, "unit": x.unit,
					"mode": map[bool]string{true: "differential", false: "absolute"}[x.unit == "kt"],
				},
			},
			{
				Field: "resolution", Value: x.resolution,
			}, {Field: "medium", Value: "air"}, {Field: "connection", Value: "static and pitot adapters"}, {Field: "area", Value: "Hangar workshop"}, {Field: "place", Value: "bench 2"},
			{
				Field: "particulars", Value: airParticulars,
			}, {Field: "method", Value: ids[x.method]}, {Field: "cautions", Value: airCautions},
			{Field: "interval_months", Value: 24}, {
				Field: "due", Value: due.Format(time.DateOnly),
			}, {Field: "status", Value: "in service"}, {Field: "label", Value: m.id()[:10]},
		}
		state, err := m.keep(
			m.administrator(), merge.State{ID: m.id(), Kind: "instrument", Site: site.ID}, founded, set...,
		)
		if err != nil {
			return err
		}
		m.result.Instruments++
		item := doc{"instrument": state.ID}
		for _, s := range set {
			switch s.Field {
			case "tag", "serial", "description", "kind", "manufacturer", "model", "range", "resolution", "medium", "area", "place", "particulars":
				item[s.Field] = s.Value
			}
		}
		for back := 2; back >= 1; back-- { // the last visit but one, and the last
			at := due.AddDate(-2*back, 0, -3).Add(90 * time.Minute)
			if err := m.airVisit(x, state, item, ids[x.method], standard, at); err != nil {
				return fmt.Errorf("%s on %s: %w", x.tag, at.Format(time.DateOnly), err)
			}
		}
		if x.due == 0 || x.kind == "pitot-static-leak" {
			m.extra = append(m.extra, plant.Stop{Instrument: state.ID, Method: ids[x.method]})
		}
	}
	return nil
}

// airVisit makes one visit with one run, signed and approved.
func (m *maker) airVisit(
	x *airThing, instrument merge.State, item doc, method string, standard merge.State, at time.Time,
) error {
	field := number(1000.4+6*m.rnd.NormFloat64(), 1)
	return m.visitOf(job{instrument: instrument, item: item, standard: standard, certificate: len(standards), cautions: airCautions, pressure: field,
		reach: map[string]map[string]string{"ft": airRanges[0], "kt": airRanges[1], "ft/min": airRanges[2]}[x.unit],
		method: doc{
			"id": method, "version": 1, "name": airMethods[x.method].name,
			"definition": json.RawMessage(airMethods[x.method].definition),
		},
		run: func(visit *plant.Visit, at time.Time) (plant.Run, time.Time, error) {
			return m.airRun(x, visit, item, field, at)
		}}, at)
}

// airStep is a step of a plan with both pressures.
type airStep struct {
	ID, Do, As, Unit, Text string
	Target                 plant.Decimal
	Rate                   plant.Decimal
	Seconds                float64
	Feet                   *float64 `json:"altitude_ft"`
	Knots                  float64  `json:"cas_kt"`
}

// airRun works through the plan and stores the readings, with the finding.
func (m *maker) airRun(
	x *airThing, visit *plant.Visit, item doc, field string, at time.Time,
) (plant.Run, time.Time, error) {
	run := plant.Run{Base: plant.Base{ID: m.id()}, Label: "as found"}
	b, err := plant.Canonical(
		doc{
			"method": visit.Method.Definition,
			"instrument": doc{
				"low": x.low, "high": x.high, "unit": x.unit, "resolution": x.resolution,
				"particulars": item["particulars"],
			},
		},
	)
	if err != nil {
		return run, at, err
	}
	raw, err := m.ask("expand", b)
	if err != nil {
		return run, at, err
	}
	var p struct{ Steps []airStep }
	if err := json.Unmarshal(raw, &p); err != nil {
		return run, at, fmt.Errorf("the plan: %w", err)
	}
	set := []plant.Set{{Field: "label", Value: run.Label}, {Field: "plan", Value: raw}}
	see := airEye{maker: m, thing: x, field: field, worn: x.wear * at.Sub(m.start).Hours() / 8766}
	for _, s := range p.Steps {
		at = at.Add(
			time.Duration(8+s.Seconds+see.move(s))*time.Second + time.Duration(m.rnd.IntN(5000))*time.Millisecond,
		)
		c := plant.Capture{ID: m.id(), Step: s.ID, Of: "indicated", Unit: s.Unit, At: plant.Stamp(at)}
		switch s.Do {
		case "ask":
			c.Of, c.Value = "answer", plant.Decimal(field)
			if s.As == "yes" {
				set = append(
					set,
					plant.Set{
						Field: "capture." + c.ID,
						Value: doc{"step": s.ID, "of": c.Of, "value": "yes", "unit": "", "at": c.At},
					},
				)
				run.Captures = append(
					run.Captures, plant.Capture{ID: c.ID, Step: s.ID, Of: c.Of, Value: "yes", At: c.At},
				)
				continue
			}
		case "read":
			c.Value = plant.Decimal(see.reads(s))
		default:
			set = append(set, plant.Set{Field: "done." + s.ID, Value: doc{"at": plant.Stamp(at)}})
			continue
		}
		run.Captures = append(run.Captures, c)
		set = append(set, plant.Set{Field: "capture." + c.ID, Value: c})
	}
	return m.judged(run, set, visit, at)
}

// airEye reads the instrument: it knows the applied condition and what the instrument indicates.
type airEye struct {
	*maker
	thing       *airThing
	field       string
	feet, knots float64
	falling     bool
	worn        float64 // before today, so with the opposite sign
}

var inHgIn = regexp.MustCompile(`([0-9.]+) inHg`)

// move goes to a step's condition and returns how many seconds that takes.
func (e *airEye) move(s airStep) float64 {
	if s.Do != "set" || s.Feet == nil {
		return 0
	}
	rate, _ := strconv.ParseFloat(string(s.Rate), 64)
	way := math.Abs(*s.Feet-e.feet) + math.Abs(s.Knots-e.knots)
	e.falling = *s.Feet < e.feet || s.Knots < e.knots
	e.feet, e.knots = *s.Feet, s.Knots
	return way / rate
}

// reads returns the indication, to the instrument's resolution.
func (e *airEye) reads(s airStep) string {
	x := e.thing
	shown, span := e.feet, 20000.0
	switch {
	case x.unit == "kt" || s.Unit == "kt":
		shown, span = e.knots, 250
	case x.unit == "ft/min":
		shown, _ = strconv.ParseFloat(string(s.Target), 64)
		span = 4000
	case s.ID == "original" || s.ID == "after" || strings.HasPrefix(s.ID, "barometric"):
		shown = e.atField(s.Text)
	}
	off := x.offset + e.worn + x.slope*shown/span
	if e.falling && (x.unit == "kt" || strings.HasPrefix(s.ID, "hysteresis")) {
		off += x.falling
	}
	switch {
	case strings.HasSuffix(s.ID, ".before"):
		off -= 0.6 * math.Abs(x.falling)
	case s.ID == "leak":
		off -= 20
	case x.kind == "pitot-static-leak": // the indication at the start, and a little less a minute later
		off = map[string]float64{"static": -30, "pitot": -3}[s.ID]
	}
	resolution, _ := strconv.ParseFloat(x.resolution, 64)
	if s.Unit == "kt" {
		resolution = 1
	}
	return number(math.Round((shown+off)/resolution)*resolution, 0)
}

// atField returns an altimeter's indication at the field's pressure with the setting in a text.
func (e *airEye) atField(text string) float64 {
	hectopascals, _ := strconv.ParseFloat(e.field, 64)
	setting := 29.92126
	if found := inHgIn.FindStringSubmatch(text); found != nil && found[1] != "29.92" {
		setting, _ = strconv.ParseFloat(found[1], 64)
	}
	shown, err := airdata.ISO().Indicated(hectopascals*100, setting*3386.388640341)
	if err != nil {
		return 0
	}
	return shown
}
