package certificates

import (
	"encoding/json"
	"strconv"

	"gaugewright/server/plant"
)

// decided is a decision rule with its figures, as texts.
type decided struct{ rule, factor, least string }

// judgedBy returns the rule by which a finding that is not a gauge's was judged. Findings of
// earlier versions do not name one.
func judgedBy(kind string, f *plant.Finding) (decided, bool) {
	var all map[string]json.RawMessage
	var own struct {
		Decision struct {
			Rule           string
			GuardFactor    *float64 `json:"guard_factor"`
			MinProbability *float64 `json:"min_probability"`
		}
	}
	if json.Unmarshal(f.Raw, &all) != nil || json.Unmarshal(all[kind], &own) != nil {
		return decided{}, false
	}
	number := func(x *float64) string {
		if x == nil {
			return "1"
		}
		return strconv.FormatFloat(*x, 'f', -1, 64)
	}
	d := own.Decision
	return decided{d.Rule, number(d.GuardFactor), number(d.MinProbability)}, d.Rule != ""
}

// rule states the decision rule and its risk. Source of the risks at the limit: ILAC-G8:09/2019,
// its table of rules.
func (s *sheet) rule() string {
	d := &s.def
	by, known := judgedBy(d.Kind, s.in.parts()[0].run.Finding)
	by.factor, by.least = s.number(by.factor), s.number(by.least)
	switch {
	case d.Kind == "leak" && (!known || by.rule == "both sides"):
		return s.say("A rate: pass where rate and expanded uncertainty together do not exceed the limit, fail where the rate less its expanded uncertainty does, otherwise undecided. " +
			"An end pressure or a change of pressure: simple acceptance, as a decimal.")
	case d.Kind == "switch" || d.Kind == "leak" || d.Kind == "burst":
		if !known {
			by.rule = "simple"
		}
		return by.ofFigures(s.tongue) + s.say(" What lacks a part of its uncertainty, or lies between two samples on both sides of a limit, is undecided; the reason is given with it.")
	case d.Kind == "programme":
		return s.say("Simple acceptance: pass where every value with limits, as a decimal, lies within them and every condition holds; the uncertainty is not subtracted.")
	}
	return decided{d.Decision.Rule, s.number(factor(d)), s.number(string(d.Decision.MinProbability))}.ofErrors(s.tongue)
}

func (d decided) ofErrors(t tongue) string {
	switch d.rule {
	case "", "simple":
		return t.say("Simple acceptance: pass where the error, as a decimal, does not exceed the limit; the uncertainty is not subtracted. " +
			"A result that lies at its limit may be wrongly accepted or rejected with a probability of up to 50 %.")
	case "guarded":
		return t.say("Guard band of {} times the expanded uncertainty: pass only where the error is within the limit less the guard band, otherwise fail.", d.factor)
	case "guarded-four":
		return t.say("Guard band of {} times the expanded uncertainty, four verdicts: pass within the limit less the guard band; conditional pass up to the "+
			"limit; conditional fail up to the limit plus the guard band; fail beyond.", d.factor)
	case "managed":
		return t.say(managed)
	case "probability":
		return t.say("Pass where the probability that the error is within the limit, from the standard uncertainty, is at least {}.", d.least)
	}
	return d.rule
}

const managed = "Guard band that keeps the risk of wrong acceptance below 2 %, its width by the ratio of the limit to the expanded uncertainty."

func (d decided) ofFigures(t tongue) string {
	switch d.rule {
	case "simple":
		return t.say("Simple acceptance: pass where every figure with limits, as a decimal, lies within them; the uncertainty is not subtracted.")
	case "guarded":
		return t.say("Guard band of {} times the expanded uncertainty: pass only where the figure lies within its limits less the guard band, otherwise fail.", d.factor)
	case "guarded-four":
		return t.say("Guard band of {} times the expanded uncertainty, four verdicts: pass within the limits less the guard band; conditional pass up to the "+
			"limits; conditional fail up to the limits plus the guard band; fail beyond.", d.factor)
	case "managed":
		return t.say(managed)
	case "probability":
		return t.say("Pass where the probability that the figure is within its limits, from the standard uncertainty, is at least {}.", d.least)
	}
	return d.rule
}

func factor(d *definition) string {
	if d.Decision.GuardFactor == "" {
		return "1"
	}
	return string(d.Decision.GuardFactor)
}
