package certificates

import (
	"math"
	"slices"
	"strings"

	"gaugewright/calc/numeric"
)

// twoSigma is the coverage probability of k = 2 for a normal distribution.
// Source: GUM (JCGM 100:2008) 6.3.3, table G.1.
const twoSigma = 0.9545

// coverage returns the coverage probability that the method asks for.
func (d *definition) coverage() float64 {
	if p := d.Decision.Coverage; p > 0 && p < 1 {
		return p
	}
	return twoSigma
}

// probability writes a coverage probability as people state it: 95 % for that of k = 2.
func (t tongue) probability(p float64) string {
	if p == twoSigma {
		return t.say("about {} %", "95")
	}
	text := numeric.FormatDecimals(p*100, 2)
	return t.number(strings.TrimSuffix(strings.TrimRight(text, "0"), ".")) + " %"
}

// uncertainty explains the column U: the coverage factor, its coverage probability and, if k is not
// 2, the degrees of freedom behind it (ILAC-P14:09/2020 5.2; GUM 7.2.3).
func (s *sheet) uncertainty() string {
	stated, points := 0, 0
	var factors, freedoms []string
	note := func(list *[]string, text string) {
		if !slices.Contains(*list, text) {
			*list = append(*list, text)
		}
	}
	for _, p := range s.in.parts() {
		r := p.run
		for _, f := range r.Finding.Results {
			points++
			if f.Expanded != nil && *f.Expanded > 0 {
				stated++
				note(&factors, s.number(factorText(f.K)))
				s.freedom(f.K, f.DOF, &freedoms, note)
			}
		}
		for _, p := range r.Finding.Points {
			points++
			if u, k, dof := ofReading(&p); u != nil {
				stated++
				note(&factors, s.number(factorText(k)))
				s.freedom(k, dof, &freedoms, note)
			}
		}
	}
	if stated == 0 {
		return s.say("No measurement uncertainty was evaluated for these results.")
	}
	factor := " = " + factors[0]
	if len(factors) > 1 {
		factor = " (" + strings.Join(factors, s.say(", ")) + ")"
	}
	text := s.say("The column U gives the expanded uncertainty in the unit of the result: the standard uncertainty "+
		"multiplied by the coverage factor k{}, for a coverage probability of {}.", factor, s.probability(s.def.coverage()))
	if s.air() {
		text = s.say("The column U gives the expanded uncertainty of what was applied, in the unit of the result: the standard uncertainty "+
			"multiplied by the coverage factor k{}, for a coverage probability of {}. How well the item can be read is not in it.",
			factor, s.probability(s.def.coverage()))
	}
	switch len(freedoms) {
	case 0:
		text += s.say(" The distribution is taken as normal.")
	case 1:
		text += s.say(" Where k is not 2 it is the quantile of Student's t for {}.", freedoms[0])
	default:
		text += s.say(" Where k is not 2 it is the quantile of Student's t: {}.", strings.Join(freedoms, "; "))
	}
	if stated < points {
		text += s.say(" For the lines without a U none was evaluated.")
	}
	text += s.say(" Values are rounded to the last digit of U, half away from zero, with more digits only where rounding would hide on which " +
		"side of its limit a value lies. The verdicts are those of the values before rounding.")
	if s.def.Kind == "" || s.def.Kind == "gauge" {
		text += s.say(" U has the contributions of the standard, of its use and of the item during the work, but for what the notes " +
			"of the evaluation name as missing.")
	}
	return text + s.say(" U holds for the time and conditions of the {} and says nothing about long-term stability.", s.word(s.def.work()))
}

func factorText(k *float64) string {
	if k == nil {
		return "2.00"
	}
	return numeric.FormatDecimals(*k, 2)
}

// freedom notes the effective degrees of freedom of a coverage factor that is not 2, rounded down as
// for the factor (GUM G.4.1).
func (t tongue) freedom(k, dof *float64, list *[]string, note func(*[]string, string)) {
	if k == nil || dof == nil || *dof <= 0 || factorText(k) == "2.00" {
		return
	}
	whole := max(1, math.Floor(*dof))
	text := t.say("{} degrees of freedom (k = {})", numeric.FormatDecimals(whole, 0), t.number(factorText(k)))
	if whole == 1 {
		text = t.say("1 degree of freedom (k = {})", t.number(factorText(k)))
	}
	note(list, text)
}
