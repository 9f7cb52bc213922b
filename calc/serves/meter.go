package serves

import (
	"gaugewright/calc/document"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// meterServes answers the calculation serves for the meter that reads a transmitter's output: the
// same questions in the quantity of the signal.
//
// Gives:   the reply of calculateServes, with values in the unit of the output.
func meterServes(kinds work.Kinds, in *document.Reader, out *document.Writer) error {
	r := in.Object("range")
	to := units.Of(r, "unit", units.Pressure, units.Length, units.Speed, units.Current, units.Voltage)
	c := readCandidate(r, to)
	c.mode = "" // a current has no mode
	c.standard.YearsSince = in.NumberOr("years_since", 0)
	needed, _ := neededBy(in)
	unit := ""
	if it, ok := in.Raw("instrument"); ok && it.Kind == document.Object {
		if o, ok := it.Get("output"); ok && o.Kind == document.Object {
			if u, ok := o.Get("unit"); ok {
				unit = u.Text
			}
		}
	}
	own, known := units.Find(unit)
	if in.Err() == nil && !known {
		in.Fail(document.CodeMissing, "instrument.output", "only a transmitter has a signal that a meter reads")
	}
	if err := in.Err(); err != nil {
		return err
	}
	if k := kinds.Of(in); in.Err() == nil && k.Meter == nil {
		in.Fail(document.CodeConflict, "method.kind", work.Without("meter"))
		return in.Err()
	}
	asked, err := demandOf(kinds, in)
	if err != nil {
		return err
	}
	d := &work.Demand{Unit: own}
	for _, p := range asked.Signal {
		if !d.Reaches {
			d.Low, d.High, d.Reaches = p.At, p.At, true
		}
		d.Low, d.High = min(d.Low, p.At), max(d.High, p.At)
		if p.Limit > 0 {
			d.Points = append(d.Points, p)
		}
	}
	var list []objection
	ok := to.Kind == own.Kind
	c.bridge = bridge{from: own, to: to}
	var worst *ratioAt
	if !ok {
		list = append(list, objection{code: objectKind})
	} else if list = c.against(d, ""); c.reaches(list) && len(d.Points) > 0 {
		var more []objection
		worst, more = c.weigh(d, needed)
		list = append(list, more...)
	}
	c.write(in, out, d, needed, worst, list, false)
	if ok && c.from.Name != c.to.Name {
		c.movedTo(in, out, d, worst, unit, "")
	}
	return nil
}
