package office

import (
	"slices"
	"time"

	"gaugewright/calc/choose"
	"gaugewright/calc/conformity"
	"gaugewright/server/plant"
)

// attention names what the office should look at in a visit before approving it, in a fixed order.
// The client has a sentence for each name.
func attention(v *plant.Visit, runs []plant.Run, now time.Time) []string {
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
	has := func(code string) bool {
		return slices.ContainsFunc(runs, func(r plant.Run) bool {
			return r.Finding != nil && slices.ContainsFunc(
				r.Finding.Warnings,
				func(w struct{ Code, Field, Message string }) bool { return w.Code == code },
			)
		})
	}
	signed := v.Signature != nil
	out := v.Outcome(runs)
	add("bypass_in", out.BypassesIn > 0)
	add("safety_failed", out.Open && out.Safety)
	if v.Disposition != nil && out.Failed {
		add(v.Disposition.Way, true)
	}
	add("no_way", signed && out.Asked)
	add("safety_no", v.Unsafe || has("safety_no"))
	add("not_clean", has("not_clean"))
	add("item_damaged", v.Condition != nil && v.Condition.State == "damaged")
	add("not_tested", v.NotTested != nil)
	add("fail", verdict(conformity.Fail, conformity.ConditionalFail))
	add("undecided", verdict(conformity.Undecided))
	add(
		"contested",
		len(v.Contested) > 0 || slices.ContainsFunc(runs, func(r plant.Run) bool { return len(r.Contested) > 0 }),
	)
	add("recomputed", len(v.Checks) > 0)
	add("standard_out_of_date", v.Standard != nil && choose.OutOfDate(v.Standard.Snapshot.Due, v.Started))
	add("standard_odd", v.OddStandard())
	add("standard_reason", v.Standard != nil && v.Standard.Reason != "")
	add("no_standard", v.Standard == nil && len(runs) > 0)
	add("other_method", v.Method.Reason != "")
	add("identity", v.Identity != nil && !v.Identity.OK)
	add("condition", v.Condition != nil && !v.Condition.OK && v.Condition.State != "damaged")
	for _, code := range []string{"not_at_pressure", "disc_twice", "no_place"} {
		add(code, has(code))
	}
	add("ahead", isAhead(latest(v), now))
	add("superseded", slices.ContainsFunc(runs, func(r plant.Run) bool { return len(r.Effective()) < len(r.Captures) }))
	add("departures", slices.ContainsFunc(runs, func(r plant.Run) bool { return len(r.Departures()) > 0 }))
	add("stopped", slices.ContainsFunc(runs, func(r plant.Run) bool { return r.Stopped != "" }))
	add("warnings", warned(found) || warned(left))
	add("no_finding", signed && (found == nil || found.Finding == nil))
	add("after_signature", signed && v.Approval == nil && len(v.Changed) > 0)
	add("after_approval", v.Approval != nil && len(v.Changed) > 0)
	add(
		"key",
		v.Marks.Signature != "" && (!v.Marks.Signature.Holds() || !v.Marks.Approval.Holds() || !v.Marks.Office.Holds()),
	)
	add("after_closing", len(v.Late) > 0)
	add("returned", v.Status == plant.Returned)
	add("reopened", v.Status == plant.Reopened)
	add("amended", v.Status != plant.Reopened && v.Approval == nil && len(v.Reopenings) > 0)
	return list
}

// attention adds to those names what other visits reveal.
func (o *Office) attention(v *plant.Visit, runs []plant.Run, who authorised) ([]string, error) {
	list := attention(v, runs, o.now())
	if o.unauthorised(who, v.Person, workOf(v), v.Started) {
		list = append(list, "no_competence")
	}
	again, err := foundAgain(o.store, v, runs)
	if again {
		list = append([]string{"found_again"}, list...)
	}
	return list, err
}

// unauthorised reports whether the person of a visit was not authorised for its kind of work.
func (o *Office) unauthorised(who authorised, person, work, started string) bool {
	return person != "" && !who.may(person, plant.MayDo, work, o.index.date(started))
}

// foundAgain reports whether a safety function was tested as found again while a failure of an
// earlier visit was still open.
func foundAgain(src plant.Source, v *plant.Visit, runs []plant.Run) (bool, error) {
	if !slices.ContainsFunc(runs, func(r plant.Run) bool { return r.Label == "as found" && r.Safety() }) {
		return false, nil
	}
	kids, err := src.Children(v.Instrument)
	if err != nil {
		return false, err
	}
	var last plant.Visit
	for i := range kids {
		if kids[i].Kind != "visit" || kids[i].ID == v.ID {
			continue
		}
		past, err := plant.ReadVisit(kids[i])
		if err == nil && past.Signature != nil && past.NotTested == nil && past.Started < v.Started &&
			past.Started > last.Started {
			last = past
		}
	}
	return last.Summary.After != nil && last.Summary.After.Open && last.Summary.After.Safety, nil
}

// first are the names that put a visit at the head of its list.
var first = []string{"found_again", "bypass_in", "safety_failed", "left_in_service", "taken_out"}

func urgent(attention []string) bool {
	return slices.ContainsFunc(attention, func(name string) bool { return slices.Contains(first, name) })
}

// clockSlack is how far a phone's clock may be ahead before the times of a visit are doubted.
const clockSlack = 10 * time.Minute

// latest returns the latest moment that a visit claims for its beginning or its signature; zero if it
// claims none.
func latest(v *plant.Visit) (last time.Time) {
	times := []string{v.Started}
	if v.Signature != nil {
		times = append(times, v.Signature.At)
	}
	for _, s := range times {
		if at, err := time.Parse(time.RFC3339, s); err == nil && at.After(last) {
			last = at
		}
	}
	return last
}

// isAhead reports whether the latest moment of a visit is later than now: the phone's clock was
// wrong, and its dates would be on the certificate.
func isAhead(latest, now time.Time) bool { return latest.After(now.Add(clockSlack)) }

// warned reports whether the finding of a run has warnings.
func warned(r *plant.Run) bool { return r != nil && r.Finding != nil && len(r.Finding.Warnings) > 0 }
