package serves

import (
	"gaugewright/calc/document"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// What the air of a place may be, in Pa: a barometer reaches that far. Common practice, no source:
// from 1,500 m above the sea to a fine day at its level.
const (
	leastAirPa = 85000
	mostAirPa  = 105000
)

// besideBarometer says whether a range measures an absolute instrument together with a barometer:
// gauge pressure, in the kind of work whose evaluation adds the two.
func besideBarometer(in *document.Reader, c *candidate, own string) bool {
	m, ok := in.Raw("method")
	if !ok || m.Kind != document.Object || own != "absolute" || c.mode != "gauge" {
		return false
	}
	kind, ok := m.Get("kind")
	return ok && kind.Text == "gauge"
}

// barometerServes answers the calculation serves for a barometer beside a gauge standard: whether
// it measures the pressure of the air.
//
// Gives:   what calculateServes gives, without a ratio: the limit is that of the whole pressure.
func barometerServes(in *document.Reader, out *document.Writer) error {
	r := in.Object("range")
	to := units.Of(r, "unit", units.Pressure, units.Length, units.Speed, units.Current, units.Voltage)
	c := readCandidate(r, to)
	c.standard.YearsSince = in.NumberOr("years_since", 0)
	needed, _ := neededBy(in)
	unit := ""
	if it, ok := in.Raw("instrument"); ok && it.Kind == document.Object {
		if u, ok := it.Get("unit"); ok {
			unit = u.Text
		}
	}
	own, known := units.Find(unit)
	in.TextOr("label", "")
	if in.Err() == nil && (!known || own.Kind != units.Pressure || modeOf(in) != "absolute") {
		in.Fail(document.CodeConflict, "instrument.mode", "only for an absolute pressure is a barometer added to a gauge standard")
	}
	if err := in.Err(); err != nil {
		return err
	}
	d := &work.Demand{Unit: own, Low: own.FromSI(leastAirPa), High: own.FromSI(mostAirPa), Reaches: true}
	c.bridge = bridge{from: own, to: to}
	ok := to.Kind == own.Kind
	var list []objection
	switch {
	case !ok:
		list = append(list, objection{code: objectKind})
	case c.mode != "absolute":
		list = append(list, objection{code: objectMode, text: c.mode})
	default:
		if list = c.against(d, "absolute"); len(c.standard.Ranges) == 0 {
			list = append(list, objection{code: objectSpecification})
		}
	}
	c.write(in, out, d, needed, nil, list, false)
	if ok && c.from.Name != c.to.Name {
		c.movedTo(in, out, d, nil, unit, "absolute")
	}
	return nil
}
