package leaktest

import (
	"math"

	"gaugewright/calc/conformity"
	"gaugewright/calc/work"
)

// testPressureShare is how far the first reading of a phase may be from its test pressure, as a
// share of the difference between that and the pressure of the room. Gas that was just compressed
// cools and loses some of it before the readings begin. Common practice, no source.
const testPressureShare = 0.2

// away returns why a first reading is not at the test pressure of its phase, "" if it is. All
// pressures are in the phase's unit and mode.
func (l *leakWork) away(n *leakPhase, first float64) string {
	target, p := n.unit.ToSI(n.pressure), n.unit.ToSI(first)
	ambient := 0.0
	if !l.Gauge {
		ambient = l.Ambient
	}
	if math.Abs(p-target) <= float64(testPressureShare*math.Abs(target-ambient))*(1+1e-12) {
		return ""
	}
	s := n.name + ": it begins at " + work.Figure(first) + " " + n.spell + ", and the test pressure is " + n.target + " " + n.spell
	switch {
	case float64((p-ambient)*(target-ambient)) < 0 && n.rise:
		return s + ": the sign is wrong, or it is the record of a test above the pressure of the room"
	case float64((p-ambient)*(target-ambient)) < 0:
		return s + ": the sign is wrong, or it is the record of a vacuum"
	}
	return s + ": it was never at its test pressure, or the unit is wrong"
}

// atPressure withholds the verdict of a run that was never at its test pressure: a leak rate at
// another pressure says nothing about this one.
func (l *leakWork) atPressure(r *leakRun) {
	why := l.away(r.leakPhase, r.start)
	if why == "" {
		return
	}
	l.Stops.Add(work.StopPressure, r.field, why)
	if r.form != limitNone {
		r.verdict, r.reason = conformity.Undecided, "it was never at its test pressure"
		r.decision.Certain = false
	}
}
