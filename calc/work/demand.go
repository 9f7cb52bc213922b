package work

import (
	"strconv"

	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Demand is what a run demands of a standard, in the instrument's unit: how far it must reach, and
// the permissible error at each judged value.
type Demand struct {
	Unit      units.Unit
	Low, High float64
	Reaches   bool
	Points    []Demanded
	Signal    []Demanded // for a transmitter, in the unit of its output
}

// Demanded is one judged value with its limit.
type Demanded struct{ At, Limit float64 }

func (d *Demand) reach(x float64) {
	if !d.Reaches {
		d.Low, d.High, d.Reaches = x, x, true
	}
	d.Low, d.High = min(d.Low, x), max(d.High, x)
}

// Take adds the demand of a step.
func (d *Demand) Take(s *Step) {
	switch s.Do {
	case "set", "ramp", "exercise", "read", "vent":
	default:
		return
	}
	if from, ok := units.Find(s.Unit); ok && from.Kind == d.Unit.Kind && s.Target != "" {
		if x, ok := numeric.ParseExact(s.Target); ok {
			d.reach(d.Unit.FromSI(from.ToSI(x.Float())))
		}
	}
	if s.Do == "read" && s.Figures != nil && s.Expected != "" {
		if about, err := strconv.ParseFloat(s.Expected, 64); err == nil {
			high, _ := strconv.ParseFloat(s.Figures.High, 64)
			d.Signal = append(d.Signal, Demanded{about, max(0, high-about)})
		}
	}
	if s.Do != "read" || s.Figures == nil || !(s.Off > 0) {
		return
	}
	d.reach(s.About)
	for i := range d.Points {
		if p := &d.Points[i]; p.At == s.About {
			p.Limit = min(p.Limit, s.Off)
			return
		}
	}
	d.Points = append(d.Points, Demanded{s.About, s.Off})
}
