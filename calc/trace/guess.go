package trace

import (
	"gaugewright/calc/units"
	"math"
)

// headings are lower-case words in the headings of columns with their meaning. Longer and surer
// words come first.
var headings = [...][2]string{
	{"baro", "barometer"}, {"ambient pressure", "barometer"}, {"atmospher", "barometer"}, {"luftdruck", "barometer"}, {"p_amb", "barometer"},
	{"temp", "temperature"},
	{"pressure", "pressure"}, {"druck", "pressure"}, {"pression", "pressure"}, {"presión", "pressure"}, {"pressione", "pressure"},
	{"contact", "contact"}, {"kontakt", "contact"}, {"switch", "contact"}, {"relay", "contact"}, {"state", "contact"},
	{"timestamp", "time"}, {"time", "time"}, {"zeit", "time"}, {"elapsed", "time"}, {"temps", "time"}, {"uhr", "time"},
	{"date", "date"}, {"datum", "date"},
	{"index", "index"}, {"sample", "index"}, {"scan", "index"}, {"number", "index"}, {"nr", "index"}, {"no.", "index"}, {"#", "index"},
}

func small(s string) string {
	b := []byte(s)
	for i, c := range b {
		if c >= 'A' && c <= 'Z' {
			b[i] = c + 'a' - 'A'
		}
	}
	return string(b)
}

func holds(s, part string) bool {
	for i := 0; i+len(part) <= len(s); i++ {
		if s[i:i+len(part)] == part {
			return true
		}
	}
	return false
}

// guess assigns a meaning to each column. Each meaning but pressure and temperature goes to one
// column only.
func (v *View) guess(data []line) {
	taken := map[string]bool{}
	give := func(i int, what string) {
		if v.Columns[i].Guess == "" && !taken[what] {
			v.Columns[i].Guess = what
			taken[what] = true
		}
	}
	for i := range v.Columns {
		c := &v.Columns[i]
		switch c.Kind {
		case Dates:
			give(i, "time")
		case Days:
			give(i, "date")
		case Clocks:
			give(i, "time")
		}
	}
	for i := range v.Columns {
		c := &v.Columns[i]
		name := small(c.Name)
		for _, h := range headings {
			if !holds(name, h[0]) {
				continue
			}
			if (h[1] == "contact") == (c.Kind == Words) && c.Kind != Nothing || h[1] == "contact" && c.Kind == Numbers {
				give(i, h[1])
			}
			break
		}
		if u, ok := units.Find(c.Unit); ok && c.Kind == Numbers {
			switch u.Kind {
			case units.Pressure:
				give(i, "pressure")
			case units.Temperature:
				give(i, "temperature")
			case units.Time:
				give(i, "time")
			}
		} else if c.Unit == "ms" && c.Kind == Numbers {
			give(i, "time")
		}
	}
	for i := range v.Columns {
		c := &v.Columns[i]
		if c.Kind == Words && len(c.Words) == 2 {
			give(i, "contact")
		}
		if c.Kind == Numbers && c.Rising && i == 0 && !taken["index"] {
			give(i, "time")
		}
	}
	for i := range v.Columns {
		if c := &v.Columns[i]; c.Kind == Numbers && c.Name == "" {
			give(i, "pressure")
		}
	}
	v.times(data)
}

// times finds the order of dates, the zone and the interval.
func (v *View) times(data []line) {
	at, dateAt := -1, -1
	for i := range v.Columns {
		switch v.Columns[i].Guess {
		case "time":
			at = i
		case "date":
			dateAt = i
		}
	}
	dated := dateAt
	if at >= 0 && v.Columns[at].Kind == Dates {
		dated = at
	}
	if dated >= 0 {
		v.Order, v.Zone = orderOf(data, dated)
	}
	if at < 0 {
		return
	}
	var steps []float64
	var before int64
	for n, l := range data {
		if at >= len(l.cells) {
			continue
		}
		var ns int64
		ok := false
		b := []byte(l.cells[at])
		switch v.Columns[at].Kind {
		case Clocks:
			ns, ok = clockOf(b)
		case Dates:
			if v.Order != "" {
				ns, _, ok = dateOf(b, v.Order)
			}
		case Numbers:
			ns, ok = nanoseconds(b, v.Decimal, UnitNS(v.timeUnit(at)))
		}
		if ok && n > 0 && ns > before {
			steps = append(steps, float64(ns-before)/1e9)
		}
		before = ns
	}
	v.IntervalS = median(steps)
}

// timeUnit returns the unit in which a column of numbers seems to count time.
func (v *View) timeUnit(at int) string {
	c := &v.Columns[at]
	switch {
	case UnitNS(c.Unit) > 0:
		return c.Unit
	case c.Low > 1e11:
		return "ms" // since 1970
	case c.serial(v.Rows):
		return "d"
	}
	return "s"
}

// serial reports whether a column seems to count days, as the dates of a spreadsheet do: some
// 45,000 of them, in steps of a whole number of seconds that are no round part of a day's number.
func (c *Seen) serial(rows int) bool {
	if !(c.Rising && c.Low > 2e4 && c.High < 8e4 && rows > 1) {
		return false
	}
	step := (c.High - c.Low) / float64(rows-1)
	whole := func(x float64) bool { return math.Abs(x-math.Round(x)) < 0.02 }
	return step < 0.0008 || step < 0.5 && whole(float64(step*86400)) && !whole(float64(step*1000))
}

// UnitNS returns the nanoseconds in a unit of time; 0 for another text.
func UnitNS(unit string) int64 {
	switch unit {
	case "us", "µs":
		return 1e3
	case "ms":
		return 1e6
	case "s":
		return 1e9
	case "min":
		return 60e9
	case "h":
		return 3600e9
	case "d":
		return 86400e9
	}
	return 0
}

// orderOf returns the order of day, month and year if only one fits every row. "ymd" is recognised
// by its form.
func orderOf(data []line, at int) (order, zone string) {
	fits := 0
	zone = "none"
	for _, o := range orders {
		all := true
		for _, l := range data {
			if at >= len(l.cells) || l.cells[at] == "" {
				continue
			}
			b := []byte(l.cells[at])
			_, zoned, ok := dateOf(b, o)
			if !ok {
				_, ok = dayOf(b, o)
			}
			if zoned {
				zone = "given"
			}
			if !ok {
				all = false
				break
			}
		}
		if all {
			fits++
			order = o
		}
	}
	if fits != 1 {
		order = ""
	}
	return order, zone
}
