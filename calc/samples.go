package calc

import (
	"slices"

	"gaugewright/calc/after"
	"gaugewright/calc/airdata"
	"gaugewright/calc/balance"
	"gaugewright/calc/burst"
	"gaugewright/calc/choose"
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/energy"
	"gaugewright/calc/entry"
	"gaugewright/calc/gauge"
	"gaugewright/calc/head"
	"gaugewright/calc/history"
	"gaugewright/calc/kinds/gaugetest"
	"gaugewright/calc/leak"
	"gaugewright/calc/medium"
	"gaugewright/calc/numeric"
	"gaugewright/calc/points"
	"gaugewright/calc/programme"
	"gaugewright/calc/reverse"
	"gaugewright/calc/rounding"
	"gaugewright/calc/rounds"
	"gaugewright/calc/serves"
	"gaugewright/calc/standard"
	"gaugewright/calc/switches"
	"gaugewright/calc/trace"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/units"
	"gaugewright/calc/visit"
	"gaugewright/calc/work"
)

// Samples returns a maker of valid documents for each calculation, in their order. The phone's
// module never calls it, so the linker leaves the samples out.
func Samples() []document.Sample {
	makers := slices.Concat(
		numeric.Samples(), units.Samples(), points.Samples(), medium.Samples(), head.Samples(), balance.Samples(), conformity.Samples(),
		uncertainty.Samples(), gauge.Samples(), standard.Samples(),
		[]document.Sample{
			{Calculation: "expand", Make: expandSample}, {Calculation: "evaluate", Make: evaluateSample},
			{Calculation: "preview", Make: expandSample},
		},
		reverse.Samples(gaugetest.SheetSample), gaugetest.Samples(), serves.Samples(expandSample), choose.Samples(serves.Samples(expandSample)[0].Make),
		[]document.Sample{{Calculation: "place", Make: work.PlaceSample}}, entry.Samples(), after.Samples(),
		history.Samples(), switches.Samples(), leak.Samples(), burst.Samples(), energy.Samples(),
		airdata.Samples(), programme.Samples(), trace.Samples(), visit.Samples(),
		rounds.Samples(), rounding.Samples(),
	)
	all := make([]document.Sample, 0, len(makers))
	for _, d := range Calculations() {
		if i := slices.IndexFunc(makers, func(s document.Sample) bool { return s.Calculation == d.Name }); i >= 0 {
			all = append(all, makers[i])
		}
	}
	return all
}
