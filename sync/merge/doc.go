// Package merge makes one state of a record out of its changes. The result does not depend on the
// order or number of arrivals: the merge is commutative, associative and idempotent. It is pure and
// also runs on the phone.
//
// A field keeps as its heads every change that no other change of the field has seen. One head, or
// heads of equal value, settle the field. Otherwise the field is contested: all values are kept and
// shown, the latest stamp first, until a change sees them all. A value that a change has seen never
// comes back.
//
// The byte form of a state, with names in order:
//
//	{"id","kind","site","parent","fields":{NAME:{"heads":[{"change","value","author","device",
//	 "wall","stamp"}],"replaced":[change ids]}}}
//
// Call offers verbs to callers that have bytes only. The three main ones:
//
//   - merge takes {records, changes} and gives the states of the changed records and the highest
//     count. It makes records that are missing.
//   - settle does the same without the values, which no rule of the merge looks at. The phone keeps
//     the values and puts them back by change id; a first sync carries little else.
//   - draft takes a record's state (or null), the new values and the writer's facts. It gives the
//     change, the new state and the new count.
//
// The package must never drop a value that its later writers had not seen, never look at a clock
// and never prefer one arrival to another.
package merge
