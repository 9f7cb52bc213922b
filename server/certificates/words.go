package certificates

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
)

func minus(d plant.Decimal) string { return minusText(string(d)) }

func minusText(s string) string { return strings.Replace(s, "-", "−", 1) }

// plainPoint writes a point, which is a number or a decimal text.
func plainPoint(raw json.RawMessage) string { return strings.Trim(string(raw), "\"") }

// percent writes a probability in per cent with two significant digits.
func percent(p float64) string {
	switch {
	case p < 0.0001:
		return "less than 0.01 %"
	case p > 0.9999:
		return "more than 99.99 %"
	}
	x := p * 100
	return strings.TrimPrefix(strconv.FormatFloat(x, 'f', max(0, 1-int(math.Floor(math.Log10(x)))), 64), "+") + " %"
}

// risk states, for each run by its name, the risks that the calculation found with the rule.
func (in *Input) risk() string {
	unit := in.Visit.Item.Range.Unit
	said := func(when string, f *plant.Finding) string {
		text := ""
		if r := f.Gauge.Decision.RiskAtLimit; r != nil {
			text = when + ": of an error only just accepted the probability that it lies outside the limit " +
				"all the same is " + percent(*r) + "."
		}
		worst, at := -1.0, ""
		for _, p := range f.Points {
			if p.Risk != nil && *p.Risk > worst {
				worst, at = *p.Risk, plainPoint(p.Point)
			}
		}
		if worst >= 0 {
			text = joined(" ", text, when+": the largest probability of a wrong verdict in these results is "+
				percent(worst)+", at "+minusText(at)+" "+unit+".")
		}
		return text
	}
	text := ""
	for _, p := range in.parts() {
		text = joined(" ", text, said(p.when, p.run.Finding))
	}
	return text
}

func rangeText(r plant.Range) string {
	s := minus(r.Low) + " … " + minus(r.High) + " " + r.Unit
	if r.Mode != "" && units.HasMode(r.Unit) {
		s += " (" + r.Mode + ")"
	}
	return s
}

// outputText writes a transmitter's output: 4 … 20 mA, linear.
func outputText(o *plant.Signal) string {
	law := "linear"
	if o.Law == "square-root" {
		law = "square root"
	}
	return minus(o.Low) + " … " + minus(o.High) + " " + o.Unit + ", " + law
}

func limitText(l plant.Limit) string {
	var parts []string
	switch l.Rule {
	case "en837":
		s := "EN 837-1 class " + string(l.Class) + ": ±" + string(l.Class) + " % of span"
		if l.StopPin {
			s += ", from 10 % of span up (stop pin)"
		}
		return s
	case "b40.100":
		return "ASME B40.100 grade " + l.Grade
	}
	if l.OfSpanPercent != "" {
		parts = append(parts, string(l.OfSpanPercent)+" % of span")
	}
	if l.OfReadingPercent != "" {
		parts = append(parts, string(l.OfReadingPercent)+" % of reading")
	}
	if l.Absolute != "" {
		parts = append(parts, string(l.Absolute))
	}
	if len(parts) == 0 {
		return l.Rule
	}
	return "±(" + strings.Join(parts, " + ") + ")"
}

func (d *definition) text() string {
	var parts []string
	switch {
	case d.Points.Count > 0:
		parts = append(parts, fmt.Sprintf("%d points evenly over the range", d.Points.Count))
	case len(d.Points.Values) > 0:
		parts = append(parts, fmt.Sprintf("%d points as listed", len(d.Points.Values)))
	case len(d.Points.Percents) > 0:
		parts = append(parts, fmt.Sprintf("%d points in per cent of span", len(d.Points.Percents)))
	}
	switch d.Directions {
	case "up":
		parts = append(parts, "rising")
	case "up-down":
		parts = append(parts, "rising and falling")
	}
	if d.Cycles > 1 {
		parts = append(parts, fmt.Sprintf("%d cycles", d.Cycles))
	}
	switch {
	case d.Exercise == 1:
		parts = append(parts, "exercised once to full scale before")
	case d.Exercise > 1:
		parts = append(parts, fmt.Sprintf("exercised %d times to full scale before", d.Exercise))
	}
	if d.HoldS > 0 {
		parts = append(parts, fmt.Sprintf("a hold of %g s planned at each point", d.HoldS))
	}
	if d.HoldTopS > 0 {
		parts = append(parts, fmt.Sprintf("%g s at the upper end", d.HoldTopS))
	}
	if d.Tap {
		parts = append(parts, "read after a light tap")
	}
	switch d.Way {
	case "applied-set":
		parts = append(parts, "the applied pressure set to the point and the indication read")
	case "pointer-set":
		parts = append(parts, "the pointer set to the point and the applied pressure read")
	}
	return strings.Join(parts, ", ")
}

func day(stamp string) string {
	t, err := time.Parse(time.RFC3339, stamp)
	if err != nil {
		return stamp
	}
	return t.Format("2 January 2006")
}

func dayOnly(date string) string {
	t, err := time.Parse("2006-01-02", date)
	if err != nil {
		return date
	}
	return t.Format("2 January 2006")
}

func conditions(s *plant.Surroundings) string {
	if s == nil {
		return "not recorded"
	}
	var parts []string
	if s.TemperatureC != "" {
		parts = append(parts, minus(s.TemperatureC)+" °C")
	}
	if s.PressureHPa != "" {
		parts = append(parts, string(s.PressureHPa)+" hPa")
	}
	if s.HumidityPercent != "" {
		parts = append(parts, string(s.HumidityPercent)+" % relative humidity")
	}
	if len(parts) == 0 {
		return "not recorded"
	}
	return strings.Join(parts, ", ")
}

// traceability says what the standard's values rest on, or that nothing of it is recorded; by is
// the laboratory that calibrated it, or "".
func traceability(s *plant.StandardUsed, by, started string) string {
	p := s.Snapshot
	if p.CertificateNo == "" {
		return "No certificate of the standard is recorded with this visit; traceability is not claimed."
	}
	text := "The standard was calibrated"
	if p.Calibrated != "" {
		text += " on " + dayOnly(p.Calibrated)
	}
	if by != "" {
		text += " by " + by
	}
	text += ", certificate " + p.CertificateNo + "; the chain to national standards is shown there."
	if p.Due != "" && len(started) >= 10 && p.Due < started[:10] {
		text += " On the day of the work its calibration had run out on " + dayOnly(p.Due) + "."
	}
	if s.Reason != "" {
		text += " Reason recorded for its use: " + s.Reason
	}
	return text
}
