// Package calc is the doors to every calculation: rooms by name, from JSON document to JSON document, the same on phone, server and command line.
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

// Version is the version of the calculations; it stands in every output and is stored with every finding.
// It rises whenever a number that leaves a room can change.
const Version = "1.1.0"

// rooms is every room in the order of the contract, made once and never written to.
var rooms = slices.Concat(
	// one line for each room package
	numeric.Doors(),
	units.Doors(),
	points.Doors(),
	medium.Doors(),
	head.Doors(),
	balance.Doors(),
	conformity.Doors(),
	uncertainty.Doors(),
	gauge.Doors(),
	standard.Doors(falseAccept),
	[]document.Door{{Name: "expand", Call: expandDoor}, {Name: "evaluate", Call: evaluateDoor}, {Name: "reverse", Call: reverseDoor}, {Name: "methods", Call: methodsDoor}},
	history.Doors(),
	switches.Doors(),
	leak.Doors(),
	burst.Doors(),
	energy.Doors(),
	airdata.Doors(),
	programme.Doors(),
	trace.Doors(),
)

// falseAccept is the global risk that room standard asks for; standards and decision rules do not know each other.
func falseAccept(ratio, share float64) float64 { return conformity.Risks(ratio, share, 1).FalseAccept }

// Doors returns every room, in the order of the contract.
func Doors() []document.Door { return slices.Clone(rooms) }

// Call runs a room on a document.
//
// Takes:   the room's name and one JSON document.
// Gives:   the room's output, or the error form {"error":{"code","field","message"}}.
func Call(room string, doc []byte) []byte {
	for i := range rooms {
		if rooms[i].Name == room {
			return rooms[i].Run(doc, Version)
		}
	}
	return document.ErrorDocument(document.Refuse(document.CodeRange, "room", "there is no room called "+document.Quote(room)))
}

// CallBytes is Call for the one room that takes bytes beside its document: trace, whose record may hold anything.
func CallBytes(room string, doc, bytes []byte) []byte {
	if room != "trace" {
		return document.ErrorDocument(document.Refuse(document.CodeRange, "room", document.Quote(room)+" takes no bytes beside its document"))
	}
	return trace.Bytes(doc, bytes, Version)
}
