package certificates

import (
	"fmt"
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
func probability(p float64) string {
	if p == twoSigma {
		return "about 95 %"
	}
	text := numeric.FormatDecimals(p*100, 2)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".") + " %"
}

// uncertainty states what the column U is: the coverage factor, its coverage probability and, where
// k is not 2, the degrees of freedom that it follows from (ILAC-P14:09/2020 5.2; GUM 7.2.3).
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
				note(&factors, factorText(f.K))
				freedom(f.K, f.DOF, &freedoms, note)
			}
		}
		for _, p := range r.Finding.Points {
			points++
			if u, k, dof := ofReading(&p); u != nil {
				stated++
				note(&factors, factorText(k))
				freedom(k, dof, &freedoms, note)
			}
		}
	}
	if stated == 0 {
		return "No measurement uncertainty was evaluated for these results."
	}
	text := "The column U gives the expanded uncertainty in the unit of the result: the standard uncertainty " +
		"multiplied by the coverage factor k"
	if len(factors) == 1 {
		text += " = " + factors[0]
	} else {
		text += " (" + strings.Join(factors, ", ") + ")"
	}
	text += ", for a coverage probability of " + probability(s.def.coverage()) + "."
	switch len(freedoms) {
	case 0:
		text += " The distribution is taken as normal."
	case 1:
		text += " Where k is not 2 it is the quantile of Student's t for " + freedoms[0] + "."
	default:
		text += " Where k is not 2 it is the quantile of Student's t: " + strings.Join(freedoms, "; ") + "."
	}
	if stated < points {
		text += " For the lines without a figure no uncertainty was evaluated."
	}
	text += " Values are rounded to the last digit of U, half away from zero, with more digits only where rounding would hide on which " +
		"side of its limit a value lies. The verdicts are those of the values before rounding."
	if s.def.Kind == "" || s.def.Kind == "gauge" {
		text += " It has the contributions of the standard, of its use and of the item during the work, but for what the notes " +
			"of the evaluation name as missing."
	}
	return text + " It holds for the time and conditions of the " + s.def.work() + " and says nothing about long-term stability."
}

func factorText(k *float64) string {
	if k == nil {
		return "2.00"
	}
	return numeric.FormatDecimals(*k, 2)
}

// freedom notes the effective degrees of freedom of a coverage factor that is not 2.
func freedom(k, dof *float64, list *[]string, note func(*[]string, string)) {
	if k == nil || dof == nil || *dof <= 0 || factorText(k) == "2.00" {
		return
	}
	unit := "degrees of freedom"
	if *dof == 1 {
		unit = "degree of freedom"
	}
	note(list, fmt.Sprintf("%s %s (k = %s)", numeric.FormatDecimals(*dof, 0), unit, factorText(k)))
}
