package certificates

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
)

func minusText(s string) string { return strings.Replace(s, "-", "−", 1) }

// plainPoint writes a point, which is a number or a decimal text.
func plainPoint(raw json.RawMessage) string { return strings.Trim(string(raw), "\"") }

// typed writes a number as typed.
func (t tongue) typed(d plant.Decimal) string { return t.number(minusText(string(d))) }

// count writes a whole number.
func count(n int) string { return strconv.Itoa(n) }

// percent writes a probability in per cent with two significant digits.
func (t tongue) percent(p float64) string {
	switch {
	case p < 0.0001:
		return t.say("less than {} %", t.number("0.01"))
	case p > 0.9999:
		return t.say("more than {} %", t.number("99.99"))
	}
	x := p * 100
	return t.number(strconv.FormatFloat(x, 'f', max(0, 1-int(math.Floor(math.Log10(x)))), 64)) + " %"
}

func (t tongue) rangeText(r plant.Range) string {
	s := t.typed(r.Low) + " … " + t.typed(r.High) + " " + r.Unit
	if r.Mode != "" && units.HasMode(r.Unit) {
		s += " (" + t.word(r.Mode) + ")"
	}
	return s
}

// outputText writes a transmitter's output: 4 … 20 mA, linear.
func (t tongue) outputText(o *plant.Signal) string {
	law := t.say("linear")
	if o.Law == "square-root" {
		law = t.say("square root")
	}
	return t.typed(o.Low) + " … " + t.typed(o.High) + " " + o.Unit + ", " + law
}

func (t tongue) limitText(l plant.Limit) string {
	var parts []string
	switch l.Rule {
	case "en837":
		class := t.number(string(l.Class))
		s := t.say("EN 837-1 class {}: ±{} % of span", class, class)
		if l.StopPin {
			s += t.say(", from 10 % of span up (stop pin)")
		}
		return s
	case "b40.100":
		return t.say("ASME B40.100 grade {}", l.Grade)
	}
	if l.OfSpanPercent != "" {
		parts = append(parts, t.say("{} % of span", t.number(string(l.OfSpanPercent))))
	}
	if l.OfReadingPercent != "" {
		parts = append(parts, t.say("{} % of reading", t.number(string(l.OfReadingPercent))))
	}
	if l.Absolute != "" {
		parts = append(parts, t.number(string(l.Absolute)))
	}
	if len(parts) == 0 {
		return l.Rule
	}
	return "±(" + strings.Join(parts, " + ") + ")"
}

// text describes a method.
func (d *definition) text(t tongue) string {
	var parts []string
	add := func(text string) { parts = append(parts, text) }
	g := func(x float64) string { return t.number(strconv.FormatFloat(x, 'g', -1, 64)) }
	switch {
	case d.Points.Count > 0:
		add(t.say("{} points evenly over the range", count(d.Points.Count)))
	case len(d.Points.Values) > 0:
		add(t.say("{} points as listed", count(len(d.Points.Values))))
	case len(d.Points.Percents) > 0:
		add(t.say("{} points in per cent of span", count(len(d.Points.Percents))))
	}
	switch d.Directions {
	case "up":
		add(t.say("rising"))
	case "up-down":
		add(t.say("rising and falling"))
	}
	if d.Cycles > 1 {
		add(t.say("{} cycles", count(d.Cycles)))
	}
	switch {
	case d.Exercise == 1:
		add(t.say("exercised once to full scale before"))
	case d.Exercise > 1:
		add(t.say("exercised {} times to full scale before", count(d.Exercise)))
	}
	if d.HoldS > 0 {
		add(t.say("a hold of {} s planned at each point", g(d.HoldS)))
	}
	if d.HoldTopS > 0 {
		add(t.say("{} s at the upper end", g(d.HoldTopS)))
	}
	if d.Tap {
		add(t.say("read after a light tap"))
	}
	switch d.Way {
	case "applied-set":
		add(t.say("the applied pressure set to the point and the indication read"))
	case "pointer-set":
		add(t.say("the pointer set to the point and the applied pressure read"))
	}
	return strings.Join(parts, ", ")
}

func (t tongue) conditions(s *plant.Surroundings) string {
	if s == nil {
		return t.say("not recorded")
	}
	var parts []string
	if s.TemperatureC != "" {
		parts = append(parts, t.typed(s.TemperatureC)+" °C")
	}
	if s.PressureHPa != "" {
		parts = append(parts, t.typed(s.PressureHPa)+" hPa")
	}
	if s.HumidityPercent != "" {
		parts = append(parts, t.say("{} % relative humidity", t.typed(s.HumidityPercent)))
	}
	if len(parts) == 0 {
		return t.say("not recorded")
	}
	return strings.Join(parts, ", ")
}

// traceability says what the values of a standard, a barometer or a meter are traceable to, or that
// nothing is recorded; it is the beginning of the sentence, "The standard was calibrated", and by is
// the laboratory that calibrated it, or "".
func (t tongue) traceability(it string, s *plant.StandardUsed, by, started string) string {
	p := s.Snapshot
	if p.CertificateNo == "" {
		return t.say("No certificate of the standard is recorded with this visit; traceability is not claimed.")
	}
	text := t.word(it)
	if p.Calibrated != "" {
		text += t.say(" on {}", t.dayOnly(p.Calibrated))
	}
	if by != "" {
		text += t.say(" by {}", by)
	}
	text += t.say(", certificate {}; the chain to national standards is shown there.", p.CertificateNo)
	if p.Due != "" && len(started) >= 10 && p.Due < started[:10] {
		text += t.say(" On the day of the work its calibration had run out on {}.", t.dayOnly(p.Due))
	}
	if s.Reason != "" {
		text += t.say(" Reason recorded for its use: {}", s.Reason)
	}
	return text
}
