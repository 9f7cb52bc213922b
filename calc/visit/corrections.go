package visit

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// correction is how the pressure of a test point was corrected, in the unit of the table.
type correction struct {
	point, typed string
	judged       float64 // the pressure that the point was judged at
	total        float64 // the sum of corrections to the typed pressure
	level        float64 // the part for the column of fluid between the levels
	certificate  float64 // the part for the errors in the standard's certificate
}

// calculateCorrections is the calculation corrections: the finding of a gauge → the correction of
// the typed pressure at each test point, with its parts.
//
// If the column depends on the pressure, its correction has no single size and the total is not
// split.
//
// Takes:   {finding, unit}, the unit of the instrument.
// Gives:   {points: [{point, typed, judged, total, level, certificate}], split, head?, head_low?,
// head_high?} in that unit.
func calculateCorrections(in *document.Reader, out *document.Writer) error {
	finding := in.RawObject("finding")
	unit := units.Of(in, "unit", units.Pressure, units.Length, units.Speed)
	if err := in.Err(); err != nil {
		return err
	}
	gauge := part(finding, "gauge")
	one, single := number(part(gauge, "head_correction_pa"))
	low, ranged := number(part(gauge, "head_correction_low_pa"))
	high, _ := number(part(gauge, "head_correction_high_pa"))
	list := corrections(finding, unit.FromInterval(one), single && !ranged, !ranged)
	level, certificate := false, false
	out.BeginList("points")
	for i := range list {
		c := &list[i]
		level = level || c.level != 0
		certificate = certificate || math.Abs(c.certificate) > float64(1e-9*math.Abs(c.judged))
		out.Begin()
		out.Text("point", c.point)
		out.Text("typed", c.typed)
		out.Number("judged", c.judged)
		out.Number("total", c.total)
		out.Number("level", c.level)
		out.Number("certificate", c.certificate)
		out.End()
	}
	out.EndList()
	out.Flag("split", !ranged && level && certificate)
	if single {
		out.Number("head", unit.FromInterval(one))
	}
	if ranged {
		out.Number("head_low", unit.FromInterval(low))
		out.Number("head_high", unit.FromInterval(high))
	}
	return nil
}

// corrections lists the points whose pressure was corrected. The column's part is known if it has a
// single size; the certificate's part is known if the column's is, or if there is no column.
func corrections(finding *document.Value, head float64, sized, rest bool) []correction {
	var list []correction
	readings := part(finding, "readings")
	if readings == nil {
		return nil
	}
	seen := map[string]bool{}
	for _, r := range readings.List() {
		typed := part(&r, "typed")
		judged, ok := number(part(&r, "applied"))
		point := text(part(&r, "point"))
		if typed == nil || !ok || seen[point] {
			continue
		}
		seen[point] = true
		c := correction{
			point: point, typed: or(text(part(typed, "applied")), text(part(typed, "indicated"))), judged: judged,
		}
		c.total = judged - typedAt(finding, point, judged)
		if sized {
			c.level = head
		}
		if rest {
			c.certificate = c.total - c.level
		}
		list = append(list, c)
	}
	return list
}

// typedAt returns the pressure of a point as it was typed; or otherwise if the point has none.
func typedAt(finding *document.Value, point string, otherwise float64) float64 {
	points := part(finding, "points")
	at, known := document.Float(point)
	if points == nil || !known {
		return otherwise
	}
	for _, p := range points.List() {
		if x, ok := number(part(&p, "point")); ok && x == at {
			if typed, ok := number(part(&p, "typed")); ok {
				return typed
			}
		}
	}
	return otherwise
}
