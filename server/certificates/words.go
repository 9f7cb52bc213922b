package certificates

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/plant"
)

// places counts the decimals of a number as it was typed.
func places(d plant.Decimal) int {
	if _, after, ok := strings.Cut(string(d), "."); ok {
		return len(after)
	}
	return 0
}

func fixed(x *float64, decimals int) string {
	if x == nil {
		return "–"
	}
	s := strconv.FormatFloat(*x, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

func signed(x *float64, decimals int) string {
	s := fixed(x, decimals)
	if x != nil && strings.Trim(s, "−0.") != "" && !strings.HasPrefix(s, "−") {
		s = "+" + s
	}
	return s
}

// two writes an uncertainty with two significant digits, rounded up in neither direction but to the nearest.
func two(x *float64) string {
	if x == nil || *x <= 0 {
		return "–"
	}
	decimals := 1 - int(math.Floor(math.Log10(*x)))
	return strconv.FormatFloat(*x, 'f', max(decimals, 0), 64)
}

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

// risk states the risks that the calculation found with the rule.
func (in *Input) risk() string {
	last := in.Found.Finding
	if in.Left != nil {
		last = in.Left.Finding
	}
	text := ""
	if r := last.Gauge.Decision.RiskAtLimit; r != nil {
		text = "Of an error only just accepted the probability that it lies outside the limit all the same is " + percent(*r) + "."
	}
	worst, at := -1.0, ""
	for _, p := range last.Points {
		if p.Risk != nil && *p.Risk > worst {
			worst, at = *p.Risk, plainPoint(p.Point)
		}
	}
	if worst >= 0 {
		text = joined(" ", text, "The largest probability of a wrong verdict in these results is "+percent(worst)+", at "+minusText(at)+" "+in.Visit.Item.Range.Unit+".")
	}
	return text
}

func rangeText(r plant.Range) string {
	s := minus(r.Low) + " … " + minus(r.High) + " " + r.Unit
	if r.Mode != "" {
		s += " (" + r.Mode + ")"
	}
	return s
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
	if d.Exercise > 0 {
		parts = append(parts, fmt.Sprintf("exercised %d times to full scale before", d.Exercise))
	}
	if d.HoldS > 0 {
		parts = append(parts, fmt.Sprintf("%g s held at each point", d.HoldS))
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

// rule states the decision rule and its risk. The figures of risk at the limit: ILAC-G8:09/2019, its table of rules.
func (d *definition) rule() string {
	switch d.Kind {
	case "leak":
		return "A rate: pass where rate and expanded uncertainty together do not exceed the limit, fail where the rate less its expanded uncertainty does, otherwise undecided. " +
			"An end pressure or a change of pressure: simple acceptance, as a decimal."
	case "switch", "burst":
		return "Simple acceptance: pass where every figure with limits, as a decimal, lies within them; the uncertainty is not subtracted."
	case "programme":
		return "Simple acceptance: pass where every value with limits, as a decimal, lies within them and every condition holds; the uncertainty is not subtracted."
	}
	switch d.Decision.Rule {
	case "", "simple":
		return "Simple acceptance: pass where the error, as a decimal, does not exceed the limit; the uncertainty is not subtracted. " +
			"A result that lies at its limit may be wrongly accepted or rejected with a probability of up to 50 %."
	case "guarded":
		return "Guard band of " + factor(d) + " times the expanded uncertainty: pass only where the error is within the limit less the guard band, otherwise fail."
	case "guarded-four":
		return "Guard band of " + factor(d) + " times the expanded uncertainty, four verdicts: pass within the limit less the guard band; conditional pass up to the " +
			"limit; conditional fail up to the limit plus the guard band; fail beyond."
	case "managed":
		return "Guard band that keeps the risk of wrong acceptance below 2 %, its width by the ratio of the limit to the expanded uncertainty."
	case "probability":
		return "Pass where the probability that the error is within the limit, from the standard uncertainty, is at least " + string(d.Decision.MinProbability) + "."
	}
	return d.Decision.Rule
}

func factor(d *definition) string {
	if d.Decision.GuardFactor == "" {
		return "1"
	}
	return string(d.Decision.GuardFactor)
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

// traceability says what the standard's values rest on, or that nothing of it is recorded.
func traceability(s *plant.StandardUsed, started string) string {
	p := s.Snapshot
	if p.CertificateNo == "" {
		return "No certificate of the standard is recorded with this visit; traceability is not claimed."
	}
	text := "The standard was calibrated"
	if p.Calibrated != "" {
		text += " on " + dayOnly(p.Calibrated)
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
