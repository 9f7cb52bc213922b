package calc

import (
	"slices"

	"gaugewright/calc/kinds/bursttest"
	"gaugewright/calc/kinds/gaugetest"
	"gaugewright/calc/kinds/leaktest"
	"gaugewright/calc/kinds/pitotstatic"
	"gaugewright/calc/kinds/programmed"
	"gaugewright/calc/kinds/switchtest"
	"gaugewright/calc/work"
)

// kinds is every kind of work, made once and never written to.
var kinds = work.Kinds(slices.Concat(
	[]work.Kind{gaugetest.Kind()},
	pitotstatic.Kinds(),
	[]work.Kind{leaktest.Kind(), switchtest.Kind(), bursttest.Kind(), programmed.Kind()},
))
