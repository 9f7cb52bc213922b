package serves

import (
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// The range of air pressure that a barometer must cover, in Pa. Common practice, no source: from
// 1,500 m above the sea to a fine day at sea level.
const (
	leastAirPa = 85000
	mostAirPa  = 105000
)

// besideBarometer reports whether a range can serve an absolute instrument together with a
// barometer: it measures gauge pressure, and the kind of work adds the two.
func besideBarometer(kinds work.Kinds, in *document.Reader, c *candidate, own string) bool {
	m, ok := in.Raw("method")
	if !ok || m.Kind != document.Object || own != "absolute" || c.mode != "gauge" {
		return false
	}
	kind, ok := m.Get("kind")
	return ok && kinds.Has(kind.Text, "barometer")
}

// barometerServes answers the calculation serves for a barometer beside a gauge standard: whether
// it measures the pressure of the air, that of the day if known.
//
// Gives:   the reply of calculateServes without a ratio, since the limit applies to the whole
// pressure.
func barometerServes(kinds work.Kinds, in *document.Reader, out *document.Writer) error {
	r := in.Object("range")
	to := units.Of(
		r, "unit", units.Pressure, units.Length, units.Speed, units.Current, units.Voltage,
	)
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
	low, high := float64(leastAirPa), float64(mostAirPa)
	if hpa, ok := in.Optional("air_hpa"); ok {
		low, high = float64(hpa*100), float64(hpa*100)
		if in.Err() == nil && !gauge.IsAir(low) {
			in.Fail(document.CodeRange, "air_hpa", gauge.NoAir)
		}
	}
	switch k := kinds.Of(in); {
	case in.Err() != nil:
		return in.Err()
	case k.Barometer == nil:
		in.Fail(document.CodeConflict, "method.kind", work.Without("barometer"))
		return in.Err()
	case !known || own.Kind != units.Pressure || modeOf(in) != "absolute":
		in.Fail(document.CodeConflict, "instrument.mode", gauge.OnlyAbsolute)
		return in.Err()
	}
	d := &work.Demand{Unit: own, Low: own.FromSI(low), High: own.FromSI(high), Reaches: true}
	c.bridge = bridge{from: own, to: to}
	ok := to.Kind == own.Kind
	var list []objection
	switch {
	case !ok:
		list = append(list, objection{code: objectKind})
	case c.mode != "absolute":
		list = append(list, objection{code: objectMode, text: c.mode})
	default:
		list = c.againstAir(d)
	}
	c.write(in, out, d, needed, nil, list, false)
	if ok && c.from.Name != c.to.Name {
		c.movedTo(in, out, d, nil, unit, "absolute")
	}
	return nil
}

// againstAir returns the objections to a range of absolute pressure as a barometer: the range and
// its specification must cover the air, and so must its certificate if it has one.
func (c *candidate) againstAir(d *work.Demand) []objection {
	list := c.against(d, "absolute")
	if len(c.standard.Ranges) == 0 {
		return append(list, objection{code: objectSpecification})
	}
	if !c.reaches(list) {
		return list
	}
	for _, at := range []float64{d.Low, d.High} {
		if _, _, err := c.standard.Uncertainty(c.over(at)); err != nil {
			return append(list, objection{objectStatement, document.AsFault(err).Message, at, true})
		}
	}
	return list
}
