package api

import (
	"slices"
	"strings"

	"gaugewright/calc/conformity"
	"gaugewright/server/plant"
)

// attention names what the office should look at in a visit before it says yes, in a fixed order; the client has a sentence for each name.
func attention(v *plant.Visit, runs []plant.Run) []string {
	list := []string{}
	add := func(name string, is bool) {
		if is {
			list = append(list, name)
		}
	}
	found, left := v.Speaking(runs)
	verdict := func(words ...string) bool {
		for _, r := range []*plant.Run{found, left} {
			if r != nil && r.Finding != nil && slices.Contains(words, r.Finding.Verdict) {
				return true
			}
		}
		return false
	}
	covers := plant.Covers(runs)
	signed := v.Signature != nil
	add("fail", verdict(conformity.Fail, conformity.ConditionalFail))
	add("undecided", verdict(conformity.Undecided))
	add("contested", len(v.Contested) > 0 || slices.ContainsFunc(runs, func(r plant.Run) bool { return len(r.Contested) > 0 }))
	add("recomputed", len(v.Checks) > 0)
	add("standard_out_of_date", v.Standard != nil && outOfDate(v.Standard.Snapshot.Due, v.Started))
	add("standard_reason", v.Standard != nil && v.Standard.Reason != "")
	add("no_standard", v.Standard == nil && len(runs) > 0)
	add("identity", v.Identity != nil && !v.Identity.OK)
	add("condition", v.Condition != nil && !v.Condition.OK)
	add("superseded", slices.ContainsFunc(runs, func(r plant.Run) bool { return len(r.Effective()) < len(r.Captures) }))
	add("stopped", slices.ContainsFunc(runs, func(r plant.Run) bool { return r.Stopped != "" }))
	add("no_finding", signed && (found == nil || found.Finding == nil))
	add("after_signature", signed && v.Approval == nil && !slices.Equal(v.Signature.Covers, covers))
	add("after_approval", v.Approval != nil && !slices.Equal(v.Approval.Covers, covers))
	add("returned", v.Status == plant.Returned)
	add("reopened", v.Status == plant.Reopened)
	add("amended", v.Status != plant.Reopened && v.Approval == nil && len(v.Reopenings) > 0)
	return list
}

// outOfDate says whether a date of expiry lies before the day of the work; one that is not known is out of date too.
func outOfDate(due, started string) bool {
	day, _, _ := strings.Cut(started, "T")
	due, _, _ = strings.Cut(due, "T")
	return due < day
}
