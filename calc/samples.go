package calc

import (
	"slices"

	"gaugewright/calc/airdata"
	"gaugewright/calc/balance"
	"gaugewright/calc/burst"
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/energy"
	"gaugewright/calc/gauge"
	"gaugewright/calc/head"
	"gaugewright/calc/history"
	"gaugewright/calc/leak"
	"gaugewright/calc/medium"
	"gaugewright/calc/numeric"
	"gaugewright/calc/points"
	"gaugewright/calc/programme"
	"gaugewright/calc/standard"
	"gaugewright/calc/switches"
	"gaugewright/calc/trace"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/units"
)

// Samples returns a maker of valid documents for each room, in the order of the doors. The phone's module never calls it and is
// therefore linked without them.
func Samples() []document.Sample {
	makers := slices.Concat(
		numeric.Samples(), units.Samples(), points.Samples(), medium.Samples(), head.Samples(), balance.Samples(), conformity.Samples(),
		uncertainty.Samples(), gauge.Samples(), standard.Samples(),
		[]document.Sample{{Room: "expand", Make: expandSample}, {Room: "evaluate", Make: evaluateSample}, {Room: "reverse", Make: reverseSample}, {Room: "methods", Make: methodsSample}},
		history.Samples(), switches.Samples(), leak.Samples(), burst.Samples(), energy.Samples(),
		airdata.Samples(), programme.Samples(), trace.Samples(),
	)
	all := make([]document.Sample, 0, len(makers))
	for _, d := range Doors() {
		if i := slices.IndexFunc(makers, func(s document.Sample) bool { return s.Room == d.Name }); i >= 0 {
			all = append(all, makers[i])
		}
	}
	return all
}
