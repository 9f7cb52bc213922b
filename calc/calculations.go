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

// Version is the version of the calculations; it is in every output and is stored with every
// finding. It rises whenever a number that leaves a calculation can change.
const Version = "1.5.0"

// calculations is every calculation in the order of the contract, made once and never written to.
var calculations = slices.Concat(
	// one line for each calculation package
	numeric.Calculations(),
	units.Calculations(),
	points.Calculations(),
	medium.Calculations(),
	head.Calculations(),
	balance.Calculations(),
	conformity.Calculations(),
	uncertainty.Calculations(),
	gauge.Calculations(),
	standard.Calculations(falseAccept),
	[]document.Calculation{{Name: "expand", Call: kinds.ExpandMethod}, {Name: "evaluate", Call: kinds.EvaluateSheet}},
	[]document.Calculation{{Name: "preview", Call: kinds.Preview}},
	reverse.Calculations(kinds),
	gaugetest.Calculations(),
	serves.Calculations(kinds),
	[]document.Calculation{{Name: "place", Call: work.CheckPlace}},
	entry.Calculations(kinds),
	after.Calculations(),
	history.Calculations(),
	switches.Calculations(),
	leak.Calculations(),
	burst.Calculations(),
	energy.Calculations(),
	airdata.Calculations(),
	programme.Calculations(),
	trace.Calculations(),
	visit.Calculations(),
	rounds.Calculations(),
	rounding.Calculations(),
	choose.Calculations(
		alone(serves.Calculations(kinds)[0]),
		alone(document.Calculation{Name: "expand", Call: kinds.ExpandMethod}),
		kinds.Has,
	),
)

// alone returns a calculation as a function that another calculation can call.
func alone(calculate document.Calculation) choose.Calculation {
	return func(doc []byte) []byte { return calculate.Run(doc, Version) }
}

// falseAccept is the global risk that the calculation standard asks for. It is passed in because
// packages standard and conformity do not import each other.
func falseAccept(ratio, share float64) float64 { return conformity.Risks(ratio, share, 1).FalseAccept }

// Calculations returns every calculation, in the order of the contract.
func Calculations() []document.Calculation { return slices.Clone(calculations) }

// Call runs a calculation on a document.
//
// Takes:   the calculation's name and one JSON document.
// Gives:   the calculation's output, or the error form {"error":{"code","field","message"}}.
func Call(calculation string, doc []byte) []byte {
	for i := range calculations {
		if calculations[i].Name == calculation {
			return calculations[i].Run(doc, Version)
		}
	}
	return document.ErrorDocument(
		document.Refuse(document.CodeRange, "calculation", "there is no calculation called "+document.Quote(calculation)),
	)
}

// CallBytes is Call for the one calculation that takes bytes beside its document: trace, whose
// record may hold anything.
func CallBytes(calculation string, doc, bytes []byte) []byte {
	if calculation != "trace" {
		return document.ErrorDocument(
			document.Refuse(
				document.CodeRange, "calculation", document.Quote(calculation)+" takes no bytes beside its document",
			),
		)
	}
	return trace.Bytes(doc, bytes, Version)
}
