package demo

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// technicians is how many of the staff, from the first, are technicians.
const technicians = 2

// All names here are invented.
var staff = []Person{
	{Name: "Jorin Alder", Initials: "JA", Role: "technician"},
	{Name: "Sefa Lindqvar", Initials: "SL", Role: "technician"},
	{Name: "Mirel Ostrand", Initials: "MO", Role: "reviewer"},
	{Name: "Pell Havaro", Initials: "PH", Role: "administrator"},
}

type service struct {
	what, medium string
	cautions     []string
}

var (
	water    = service{"water", "water", nil}
	steam    = service{"steam", "steam", []string{"hot"}}
	oxygen   = service{"oxygen", "oxygen", []string{"oxygen", "stored_energy"}}
	ammonia  = service{"ammonia", "ammonia", []string{"toxic"}}
	nitrogen = service{"nitrogen", "nitrogen", []string{"stored_energy"}}
	oil      = service{"lube oil", "oil", nil}
	airs     = service{"instrument air", "air", []string{"stored_energy"}}
)

var sites = []struct {
	code, name string
	areas      []string
	services   []service
}{
	{"NW", "North Works", []string{"Boiler house", "Turbine hall", "Feed water"}, []service{water, steam, oil}},
	{"HT", "Harbour Terminal", []string{"Tank farm", "Jetty", "Cold store"}, []service{water, nitrogen, ammonia}},
	{"UT", "Utilities", []string{"Compressors", "Gas plant", "Cooling tower"}, []service{airs, oxygen, water}},
}

var places = []string{"pump discharge", "pump suction", "filter inlet", "filter outlet", "header east", "header west", "vessel top", "upstream of the regulator",
	"downstream of the regulator", "heat exchanger inlet", "heat exchanger outlet", "bearing supply", "return line", "sampling point", "skid panel"}

var makers = []struct{ name, series string }{
	{"Fennmark", "FM"}, {"Tallow & Reed", "TR"}, {"Osterholt", "OH"}, {"Quillane", "Q"},
}

type pattern struct {
	low, high float64
	unit      string
	class     string // EN 837-1 class, or a grade if it begins with G
}

var patterns = []pattern{
	{0, 1.6, "bar", "1"}, {0, 2.5, "bar", "1.6"}, {0, 4, "bar", "1"}, {0, 6, "bar", "1.6"}, {0, 10, "bar", "1"}, {0, 10, "bar", "1.6"}, {0, 16, "bar", "1"},
	{0, 16, "bar", "2.5"}, {0, 25, "bar", "1.6"}, {0, 40, "bar", "1"}, {0, 60, "bar", "1.6"}, {0, 100, "bar", "1"}, {0, 250, "bar", "1.6"}, {0, 400, "bar", "1"},
	{0, 10, "bar", "0.6"}, {-1, 1.5, "bar", "1.6"}, {-1, 3, "bar", "1"}, {-1, 0, "bar", "1.6"}, {0, 160, "kPa", "1"}, {0, 250, "kPa", "1.6"}, {0, 600, "kPa", "1"},
	{0, 1000, "kPa", "1.6"}, {0, 30, "psi", "GB"}, {0, 60, "psi", "GA"}, {0, 100, "psi", "G1A"}, {0, 160, "psi", "GB"}, {0, 300, "psi", "GA"}, {0, 600, "psi", "G2A"},
	{0, 3000, "psi", "GB"}, {-1000, 0, "mbar", "1.6"}, {-600, 0, "mbar", "1"}, {0, 600, "mbar", "1.6"},
}

var methods = []struct {
	name, definition string
	cautions         []string
}{
	{"Gauge, six points, rising and falling", `{"kind":"gauge","points":{"count":6},"directions":"up-down","cycles":1,"exercise":2,"tap":true,"hold_s":30,"hold_top_s":120,"way":"applied-set","decision":{"rule":"simple"}}`, []string{"stand_aside", "vent"}},
	{"Gauge, five points, rising", `{"kind":"gauge","points":{"count":5},"directions":"up","cycles":1,"exercise":1,"tap":true,"hold_s":30,"hold_top_s":60,"way":"applied-set","decision":{"rule":"simple"}}`, []string{"stand_aside", "vent"}},
	{"Precision gauge, eleven points, rising and falling", `{"kind":"gauge","points":{"count":11},"directions":"up-down","cycles":1,"exercise":3,"tap":true,"hold_s":30,"hold_top_s":120,"way":"applied-set","decision":{"rule":"simple"}}`, []string{"stand_aside", "vent"}},
	{"Vacuum gauge, quarters, down and back", `{"kind":"gauge","points":{"percents":["0","25","50","75","100"]},"directions":"up-down","cycles":1,"exercise":2,"tap":true,"hold_s":30,"way":"applied-set","decision":{"rule":"simple"}}`, []string{"vent", "vacuum"}},
}

type span = map[string]string

func reach(low, high, unit, ofSpan string) span {
	return span{"low": low, "high": high, "unit": unit, "mode": "gauge", "of_span_percent": ofSpan, "k": "2"}
}

var standards = []struct {
	name, serial, manufacturer, model string
	ranges                            []span
	expired, out                      bool
	medium                            string // what it is filled with
	clean                             bool   // cleaned for oxygen
}{
	{
		"Field kit A", "FK-0417", "Halvorne", "P20",
		[]span{reach("-1", "2", "bar", "0.05"), reach("-1", "20", "bar", "0.05")}, false, false, "gas", true,
	},
	{
		"Field kit B", "FK-0418", "Halvorne", "P20",
		[]span{reach("-1", "2", "bar", "0.05"), reach("-1", "20", "bar", "0.05")}, false, false, "gas", false,
	},
	{
		"High pressure", "HP-102", "Halvorne", "P700",
		[]span{reach("0", "70", "bar", "0.05"), reach("0", "700", "bar", "0.05")}, false, true, "gas", true,
	},
	{
		"Workshop comparator", "WC-7", "Dunmere", "C3",
		[]span{reach("0", "300", "psi", "0.1"), reach("0", "5000", "psi", "0.1")}, false, false, "oil", false,
	},
	{
		"Old comparator", "WC-2", "Dunmere", "C1",
		[]span{reach("0", "20", "bar", "0.1"), reach("0", "400", "bar", "0.1")}, true, false, "oil", false,
	},
	{"Low range", "LR-31", "Halvorne", "P1", []span{reach("-250", "250", "mbar", "0.05")}, false, false, "air", false},
}

// gauge is an instrument with the characteristics that its readings follow from, all as fractions
// of its limit.
type gauge struct {
	state                                    merge.State
	item                                     map[string]any // what a visit keeps of it
	low, high, limit, resolution             float64
	digits                                   int
	unit, method                             string
	methodIndex, technician                  int
	stopPin, inService, visitedLately        bool
	offset, drift, curve, hysteresis, wander float64
	set                                      time.Time // since when it drifts from its offset
	due                                      time.Time
	last                                     time.Time
}

// widest returns the largest error allowed in the middle of the dial, in per cent of span (EN
// 837-1:1996 table 11; ASME B40.100, from memory).
func (p pattern) widest() float64 {
	if grade, ok := strings.CutPrefix(p.class, "G"); ok {
		return map[string]float64{"2A": 0.5, "1A": 1, "A": 1, "B": 2}[grade]
	}
	percent, _ := strconv.ParseFloat(p.class, 64)
	return percent
}

// readTo returns to what fraction of the unit such a dial is read: a fifth or a quarter of a
// graduation of about the limit.
func readTo(limit float64) (resolution float64, digits int) {
	power := math.Floor(math.Log10(limit))
	base := math.Pow(10, power)
	part, more := 0.2, 1
	switch m := limit / base; {
	case m >= 5:
		part, more = 1, 0
	case m >= 2:
		part, more = 0.5, 1
	}
	return part * base, max(0, more-int(power))
}

func number(x float64, digits int) string {
	s := strconv.FormatFloat(x, 'f', digits, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

func (m *maker) instruments() error {
	founded := m.start.AddDate(-m.Years, -2, 0)
	for i := range m.Instruments {
		p := patterns[(i*7+m.rnd.IntN(4))%len(patterns)]
		at := i % len(sites)
		site := sites[at]
		area := (i / len(sites)) % len(site.areas)
		use := site.services[m.rnd.IntN(len(site.services))]
		g := &gauge{
			low: p.low, high: p.high, unit: p.unit, technician: at % technicians, inService: m.rnd.IntN(40) != 0,
		}
		if at == len(sites)-1 {
			g.technician = area % technicians // they share the third site
		}
		span := p.high - p.low
		g.limit = span * p.widest() / 100
		g.resolution, g.digits = readTo(g.limit)
		m.character(g)
		limit := map[string]any{"rule": "en837", "class": p.class}
		if grade, ok := strings.CutPrefix(p.class, "G"); ok {
			limit = map[string]any{"rule": "b40.100", "grade": grade}
		} else if p.low == 0 && m.rnd.IntN(3) == 0 {
			limit["stop_pin"] = true
			g.stopPin = true
		}
		switch {
		case p.high <= 0:
			g.methodIndex = 3
		case p.class == "0.6" || p.class == "G2A":
			g.methodIndex = 2
		case p.class == "2.5" || p.class == "GB":
			g.methodIndex = 1
		}
		g.method = m.methods[g.methodIndex].ID
		cautions := append([]string{"stand_aside", "vent"}, use.cautions...)
		if p.low < 0 {
			cautions = append(cautions, "vacuum")
		}
		make := makers[m.rnd.IntN(len(makers))]
		months := 12
		g.last = m.lastVisit(i)
		g.due = g.last.AddDate(0, months, 0)
		place := places[m.rnd.IntN(len(places))]
		set := []plant.Set{
			{Field: "tag", Value: fmt.Sprintf("PI-%d%d%02d", at+1, area+1, i/(len(sites)*len(site.areas))+1)},
			{Field: "serial", Value: fmt.Sprintf("%s%06d", make.series, 100000+m.rnd.IntN(900000))},
			{Field: "description", Value: strings.ToUpper(use.what[:1]) + use.what[1:] + ", " + place},
			{Field: "kind", Value: "gauge"}, {Field: "manufacturer", Value: make.name}, {
				Field: "model",
				Value: fmt.Sprintf("%s-%d", make.series, []int{63, 100, 160}[m.rnd.IntN(3)]),
			},
			{
				Field: "range",
				Value: map[string]string{
					"low": number(p.low, decimals(p.low)), "high": number(p.high, decimals(p.high)),
					"unit": p.unit, "mode": "gauge",
				},
			},
			{
				Field: "resolution", Value: number(g.resolution, g.digits),
			}, {Field: "limit", Value: limit}, {Field: "method", Value: g.method},
			{Field: "medium", Value: use.medium}, {Field: "connection", Value: connectionOf(&p)}, {Field: "cautions", Value: cautions}, {Field: "area", Value: site.areas[area]}, {Field: "place", Value: place},
			{Field: "interval_months", Value: months}, {Field: "due", Value: g.due.Format(time.DateOnly)},
			{
				Field: "status",
				Value: map[bool]string{true: "in service", false: "out of service"}[g.inService],
			}, {Field: "label", Value: m.id()[:10]},
		}
		var err error
		if g.state, err = m.keep(m.administrator(), merge.State{ID: m.id(), Kind: "instrument", Site: m.sites[at].ID}, founded, set...); err != nil {
			return err
		}
		g.item = map[string]any{"instrument": g.state.ID}
		for _, s := range set {
			switch s.Field {
			case "tag", "serial", "description", "kind", "manufacturer", "model", "range", "resolution", "limit", "medium", "area", "place":
				g.item[s.Field] = s.Value
			}
		}
		m.gauges = append(m.gauges, g)
		m.result.Instruments++
	}
	return nil
}

// connectionOf returns the thread of a gauge: G 1/4 for small ones to 10 bar, NPT for those in psi.
// The threads are those of EN 837-1 (from memory).
func connectionOf(p *pattern) string {
	switch {
	case p.unit == "psi":
		return "NPT 1/2"
	case p.unit == "bar" && p.high > 10:
		return "G 1/2 B"
	}
	return "G 1/4 B"
}

func decimals(x float64) int {
	if x == math.Trunc(x) {
		return 0
	}
	return 1
}

// lastVisit spreads the latest visits over the year: some are from the last days and wait for the
// office, some are a year old and due now.
func (m *maker) lastVisit(i int) time.Time {
	back := 8 + m.rnd.IntN(340)
	switch {
	case i%40 == 3:
		back = 1 + m.rnd.IntN(3)
	case i%9 == 4:
		back = 360 + m.rnd.IntN(14)
	}
	return m.start.AddDate(0, 0, -back)
}

// character gives a gauge its characteristics: most are good and drift slowly, one in nine drifts
// out within a few years.
func (m *maker) character(g *gauge) {
	g.offset = 0.26 * m.rnd.NormFloat64()
	g.drift = 0.08 * m.rnd.NormFloat64()
	if m.rnd.IntN(9) == 0 {
		g.drift = (0.3 + 0.3*m.rnd.Float64()) * float64(1-2*m.rnd.IntN(2))
	}
	g.curve = 0.15 * m.rnd.NormFloat64()
	g.hysteresis = 0.1 + 0.15*m.rnd.Float64()
	g.wander = 0.06
	g.set = m.start.AddDate(-m.Years, 0, 0)
}

// indicates returns what the gauge shows at an applied pressure on a day, read to its resolution.
func (m *maker) indicates(g *gauge, applied float64, falling bool, at time.Time) float64 {
	x := (applied - g.low) / (g.high - g.low)
	years := at.Sub(g.set).Hours() / 8766
	off := g.offset + g.drift*years*(0.5+0.5*x) + g.curve*math.Sin(math.Pi*x) + g.wander*m.rnd.NormFloat64()
	half := g.hysteresis * 2 * x * (1 - x)
	if falling {
		off += half
	} else {
		off -= half
	}
	shown := math.Round((applied+off*g.limit)/g.resolution) * g.resolution
	if g.stopPin && shown < g.low {
		return g.low
	}
	return shown
}

// adjust adjusts a gauge: it sets the pointer right at about half of the range.
func (m *maker) adjust(g *gauge, at time.Time) {
	g.set, g.offset, g.curve = at, 0.1*m.rnd.NormFloat64(), 0.6*g.curve
}
