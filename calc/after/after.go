// Package after says what follows a failed result: the ways to go on, the information that each way
// needs, and the bypasses of the test that are not dealt with yet.
package after

import (
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/visit"
)

// Calculations returns the calculation after.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "after", Call: calculate}}
}

// The ways on after a result that failed.
const (
	wayAdjust   = "adjust"          // put right, and tested as left
	wayReplaced = "replaced"        // another instrument took its place
	wayStays    = "left_in_service" // a named person decided so, until a date
	wayOut      = "taken_out"       // and tagged
)

// needsAction reports whether a verdict calls for action: a failure always does, an undecided one
// only for a safety function.
func needsAction(verdict string, safety bool) bool {
	switch verdict {
	case conformity.Fail, conformity.ConditionalFail:
		return true
	case conformity.Undecided:
		return safety
	}
	return false
}

var verdicts = []string{
	conformity.Pass, conformity.ConditionalPass, conformity.Fail, conformity.ConditionalFail,
	conformity.Undecided,
}

// readWay reads what was decided after a failure and refuses a way that lacks its information.
func readWay(r *document.Reader, today int, dated bool) string {
	way := r.ChoiceOr("way", "", wayReplaced, wayStays, wayOut)
	need := func(name, what string) {
		if r.TextOr(name, "") == "" && r.Err() == nil {
			r.Fail(document.CodeMissing, name, what)
		}
	}
	r.TextOr("reason", "")
	switch way {
	case wayReplaced:
		need("serial", "the serial number of the one that was put in is needed")
	case wayStays:
		need("by", "who decided that it stays in service is needed")
		need("until", "the day until which it may stay is needed")
		need("reason", "why it may stay in service is needed")
		day, ok := document.ParseDate(r.TextOr("until", ""))
		switch {
		case r.Err() != nil:
		case !ok:
			r.Fail(document.CodeRange, "until", "a day such as 2026-03-04 is needed")
		case dated && day < today:
			r.Fail(document.CodeRange, "until", "this day is over")
		}
	case wayOut:
		need("code", "a defect code is needed")
		need("reason", "what is wrong with it is needed")
	}
	for _, name := range []string{"serial", "by", "until", "code", "at"} {
		r.TextOr(name, "")
	}
	return way
}

// readBypass reads a listed bypass and reports whether it is removed, and whether it is settled:
// removed, or left in for a reason.
func readBypass(r *document.Reader) (removed, settled bool) {
	r.Text("name")
	state := r.Choice("state", "set", "removed", "left")
	reason := r.TextOr("reason", "")
	r.TextOr("at", "")
	if state == "left" && reason == "" && r.Err() == nil {
		r.Fail(document.CodeMissing, "reason", "why the bypass stays in is needed")
	}
	return state == "removed", state != "set"
}

// calculate is the calculation after: the result and what has been decided about it → what is still
// asked, the ways to go on, and whether there is a failure.
func calculate(in *document.Reader, out *document.Writer) error {
	kind := in.TextOr("kind", "")
	today, dated := 0, false
	if in.Has("date") {
		if today, dated = document.ParseDate(in.Text("date")); !dated && in.Err() == nil {
			in.Fail(document.CodeRange, "date", "a day such as 2026-03-04 is needed")
		}
	}
	verdict, safety := "", in.Flag("safety", false)
	for _, name := range []string{"found", "left"} { // the later one counts
		if in.Has(name) {
			verdict = in.Choice(name, verdicts...)
		}
	}
	way := ""
	if r, ok := in.OptionalObject("said"); ok {
		way = readWay(r, today, dated)
	}
	unsettled, kept := 0, 0
	if in.Has("bypasses") {
		for _, r := range in.List("bypasses") {
			removed, settled := readBypass(r)
			if !settled {
				unsettled++
			}
			if !removed {
				kept++
			}
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	failed := needsAction(verdict, safety)
	out.Flag("failed", failed)
	out.Flag("asked", failed && way == "")
	out.Flag("open", failed && way != wayReplaced)
	out.BeginList("ways")
	if failed {
		if visit.Adjustable(kind) {
			out.TextItem(wayAdjust)
		}
		for _, w := range []string{wayReplaced, wayStays, wayOut} {
			out.TextItem(w)
		}
	}
	out.EndList()
	out.Whole("bypasses_unsettled", unsettled)
	out.Whole("bypasses_in", kept)
	return nil
}
