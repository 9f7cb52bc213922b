// Package work is the one idea that every kind of work shares: a plan of steps, the captures made
// at those steps, and the finding about them.
//
// Words. A Kind expands a method into a Plan and evaluates a sheet; Kinds is the table of them. A
// Step is one thing to do or record, with the Figures that are shown beside it. A Layout reads the
// method and instrument of a leak, switch or burst test, and their Sheet of values and traces. A
// Result is one figure of a finding with its limits and its budget. Stops keep a run from passing
// whatever its figures say. A Doubt is a reason to question a value before it is kept.
//
// Flow. Kinds finds the kind that a document names. To expand, it passes a Plan to the kind. To
// evaluate, the kind lays out its method again without a Plan and then knows what was asked for. An
// Amount is a pressure with the terms of its uncertainty; Weigh combines these and judges by the
// method's rule.
//
// It uses the physics (gauge, energy, uncertainty, conformity, …) and never a kind: a kind
// imports work, and no other kind. What only one kind needs belongs to that kind.
package work
