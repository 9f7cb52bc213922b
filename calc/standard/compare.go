package standard

import (
	"math"

	"gaugewright/calc/document"
)

// Change is how a standard differs at a point from its earlier certificate.
type Change struct {
	Applied, Before, After float64
	Drift                  float64 // After less Before
	En                     float64
}

// Changes compares two certificates of a standard at the later one's points within the range of the
// earlier one.
//
//	drift = e₂ − e₁;  En = (e₂ − e₁) / √(U₁² + U₂²), each U for k = 2
//
// Takes:   the points of both, rising; the earlier errors and standard uncertainties are interpolated
// along straight lines.
// Gives:   one change for each point, none if both uncertainties are zero. |En| ≤ 1 is agreement
// within the uncertainties; they do not include the drift between the two calibrations.
// Source:  ISO 13528:2022 9.7 and ISO/IEC 17043:2023 annex B (the En score), from memory.
func Changes(before, after []Point) (list []Change) {
	earlier := Standard{Points: before}
	for _, p := range after {
		a, b, part, ok := earlier.between(p.Applied)
		if !ok {
			continue
		}
		ua, ub := a.Expanded/a.K, b.Expanded/b.K
		u1, u2 := ua+float64((ub-ua)*part), p.Expanded/p.K
		c := Change{Applied: p.Applied, Before: a.Error + float64((b.Error-a.Error)*part), After: p.Error}
		c.Drift = c.After - c.Before
		both := float64(coverage * math.Sqrt(float64(u1*u1)+float64(u2*u2)))
		if !(both > 0) {
			continue
		}
		c.En = c.Drift / both
		list = append(list, c)
	}
	return list
}

// calculateChanges is the calculation changes: the points of two certificates of one standard, in
// one unit → the change at each point, and whether all agree within their uncertainties.
func calculateChanges(in *document.Reader, out *document.Writer) error {
	before, after := ReadPoints(in.Object("before")), ReadPoints(in.Object("after"))
	if err := in.Err(); err != nil {
		return err
	}
	list, agree := Changes(before, after), true
	out.BeginList("points")
	for _, c := range list {
		out.Begin()
		out.Number("applied", c.Applied)
		out.Number("before", c.Before)
		out.Number("after", c.After)
		out.Number("drift", c.Drift)
		out.Number("en", c.En)
		out.Flag("agrees", math.Abs(c.En) <= 1)
		out.End()
		agree = agree && math.Abs(c.En) <= 1
	}
	out.EndList()
	out.Flag("agree", agree)
	out.Whole("beyond", len(after)-len(list))
	return nil
}
