package leaktest

import (
	"math"

	"gaugewright/calc/conformity"
	"gaugewright/calc/work"
)

// testPressureShare is how far the first reading of a phase may be from its test pressure, as a
// share of what lies between that and the pressure of the room. Gas that was just compressed cools
// and loses some of it before the readings begin. Common practice, no source.
const testPressureShare = 0.2

// away says why a first reading is not that of a phase at its test pressure; "" where it is. All
// are in the phase's unit and mode.
func (l *leakWork) away(n *leakPhase, first float64) string {
	target, p := n.unit.ToSI(n.pressure), n.unit.ToSI(first)
	calculation := 0.0
	if !l.Gauge {
		calculation = l.Ambient
	}
	if math.Abs(p-target) <= float64(testPressureShare*math.Abs(target-calculation))*(1+1e-12) {
		return ""
	}
	s := n.name + ": it begins at " + work.Figure(first) + " " + n.spell + ", and the test pressure is " + n.target + " " + n.spell
	switch {
	case float64((p-calculation)*(target-calculation)) < 0 && n.rise:
		return s + ": the sign is wrong, or it is the record of a test above the pressure of the room"
	case float64((p-calculation)*(target-calculation)) < 0:
		return s + ": the sign is wrong, or it is the record of a vacuum"
	}
	return s + ": it was never at its test pressure, or the unit is wrong"
}

// atPressure keeps a run that was never at its test pressure from having a verdict: what leaks at
// another pressure says nothing of this one.
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
