package gauge

import (
	"math"

	"gaugewright/calc/numeric"
	"gaugewright/calc/uncertainty"
)

// repeat finds the budget line of repeatability. The same line serves every point, because what was
// found at one point holds for its neighbours.
//
//	b'/√12 with the largest b' of all points;  s, dof = (C − 1)(K − 1): see scatter;  s where s t(dof)/2 > b'/√12, else the width
//
// One cycle says nothing about it. Then the value that the instrument or the method states is used,
// as a full width, and if neither states one there is a warning.
//
// Source:  DKD-R 6-1 (2014) clause 8 for the width (from memory); that the largest serves all
// points, and s beside it, since two cycles of few points give a width that is too small: derived
// here, see TestGaugeCoverage.
func (t *Task) repeat(r *Result, list []cycle) {
	line := budgetLine{
		Term: "rep", Sensitivity: 1, Divisor: root12, Shape: uncertainty.Rectangular, From: "readings",
		dof: math.Inf(1),
	}
	switch {
	case r.HasRepeatability:
		line.Value = r.Repeatability
		if s, dof := scatter(list, len(r.Points)); float64(s*widening(dof)) > line.Value/root12 {
			line.Value, line.Divisor, line.Shape, line.dof = s, 1, uncertainty.Normal, dof
		}
	case t.Repeatability > 0:
		line.Value, line.From = float64(t.Repeatability/100*t.span()), "repeatability_percent"
	case t.HasStandard:
		r.warn("no_repeatability", "readings", "one cycle says nothing of how well readings repeat: it is not in the uncertainty; take a second cycle, or state it for the instrument or in the method")
	}
	r.repeated = line
}

// widening returns how many times larger the coverage factor of few degrees of freedom is than the
// 2 of many, so that the two figures of repeatability are compared by what they add to U.
func widening(dof float64) float64 {
	if dof == 0 {
		return 1
	}
	return float64(numeric.StudentTQuantile((1+uncertainty.TwoSigma)/2, dof) / 2)
}

// scatter returns the standard deviation of a reading that remains after each cycle and each place,
// that is a point in one direction, has had its own shift removed.
//
//	s² = Σ (y_ck − ȳ_c − ȳ_k + ȳ)²/((C − 1)(K − 1)), pooled over the mountings, of the K places that every one of the C cycles of a mounting has
//
// Gives:   zero, and no degrees of freedom, with fewer than two cycles of two places.
// Source:  two-way analysis of variance without interaction.
func scatter(list []cycle, points int) (s, dof float64) {
	sum := 0.0
	for i := range list {
		if !first(list, i) {
			continue
		}
		var rows [][]float64
		for j := i; j < len(list); j++ {
			if list[j].mounting == list[i].mounting {
				rows = append(rows, make([]float64, 0, 2*points))
			}
		}
		if len(rows) < 2 {
			continue
		}
		for k := range 2 * points {
			n := 0
			for j := i; j < len(list); j++ {
				side := list[j].side(k < points)
				if list[j].mounting != list[i].mounting || side == nil || side[k%points] == nil {
					continue
				}
				rows[n] = append(rows[n], side[k%points].off)
				n++
			}
			if n < len(rows) { // a place that some cycle lacks
				for j := range n {
					rows[j] = rows[j][:len(rows[j])-1]
				}
			}
		}
		c, k := float64(len(rows)), float64(len(rows[0]))
		if k < 2 {
			continue
		}
		all, squares := 0.0, 0.0
		places := make([]float64, len(rows[0]))
		for _, row := range rows {
			own := 0.0
			for at, y := range row {
				own += y
				places[at] += y
				squares += float64(y * y)
			}
			all += own
			squares -= float64(own*own) / k
		}
		for _, x := range places {
			squares -= float64(x*x) / c
		}
		sum += max(0, squares+float64(all*all)/(c*k))
		dof += float64((c - 1) * (k - 1))
	}
	if dof == 0 {
		return 0, 0
	}
	return math.Sqrt(sum / dof), dof
}
