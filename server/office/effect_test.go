package office_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/office"
	"gaugewright/server/plant"
)

// TestAFailureIsApprovedWithItsEffect checks that a failure as found needs a statement of what it
// means, which becomes part of the approval, and that a pass needs none.
func TestAFailureIsApprovedWithItsEffect(t *testing.T) {
	p := newPlace(t)
	ctx := t.Context()
	visit := p.visitReading("PI-1", "5.4") // class 1.6 of 10 bar allows 0.16 bar
	approve := func(effect string) error {
		_, err := p.office.Approve(ctx, reviewer, visit, p.covers(visit), "", effect, office.Sheet{})
		return err
	}
	for name, effect := range map[string]string{
		"nothing": "", "blanks": " \n ", "too much": strings.Repeat("x", office.MaxRemark+1),
	} {
		if err := approve(effect); !errors.Is(err, office.ErrEffect) {
			t.Errorf("approved with %s: %v", name, err)
		}
	}
	view, err := p.office.View(ctx, reviewer, visit)
	if err != nil || !view.EffectAsked || view.Status != plant.Signed {
		t.Fatalf("%+v %v", view, err)
	}
	if view.Pair.Own || !slices.Equal(view.Pair.Worked, []string{technician}) || !view.Pair.Authorised {
		t.Errorf("%+v", view.Pair)
	}
	if own, err := p.office.View(ctx, technician, visit); err != nil || !own.Pair.Own {
		t.Errorf("%+v %v", own.Pair, err)
	}
	if err := approve(" batches since March were checked "); err != nil {
		t.Fatal(err)
	}
	v, err := plant.LoadVisit(p.store, visit)
	if err != nil || v.Approval == nil || v.Approval.Effect != "batches since March were checked" {
		t.Errorf("%+v %v", v.Approval, err)
	}
	inside := p.visit("PI-2")
	if view, err := p.office.View(ctx, reviewer, inside); err != nil || view.EffectAsked {
		t.Errorf("a pass asks for its effect: %v", err)
	}
}

// TestWorkWithoutCompetenceIsShown checks that, once the office keeps competences, a visit by a
// person without one for its kind of work on its day needs attention, but is not refused.
func TestWorkWithoutCompetenceIsShown(t *testing.T) {
	p := newPlace(t)
	ctx := t.Context()
	visit := p.visit("PI-1") // on 4 March 2026, a gauge
	flagged := func() bool {
		t.Helper()
		view, err := p.office.View(ctx, reviewer, visit)
		if err != nil {
			t.Fatal(err)
		}
		return slices.Contains(view.Attention, "no_competence")
	}
	if flagged() {
		t.Error("an office that keeps no competences misses one")
	}
	authorise := func(user string, c office.Authorisation) {
		t.Helper()
		if err := p.office.Authorise(ctx, reviewer, user, "", c); err != nil {
			t.Fatal(err)
		}
	}
	authorise(reviewer, office.Authorisation{
		May: []string{plant.MayCheck, plant.MayDo}, From: "2026-01-01", Evidence: "training of January",
	})
	if !flagged() {
		t.Error("nothing points out the missing competence")
	}
	authorise(technician, office.Authorisation{
		Kind: "gauge", May: []string{plant.MayDo}, From: "2025-01-01", Until: "2026-03-03", Evidence: "test piece 12",
	})
	if !flagged() {
		t.Error("a competence that ended the day before counts")
	}
	authorise(technician, office.Authorisation{
		Kind: "leak", May: []string{plant.MayDo}, From: "2025-01-01", Evidence: "test piece 13",
	})
	if !flagged() {
		t.Error("a competence for another kind counts")
	}
	authorise(technician, office.Authorisation{
		Kind: "gauge", May: []string{plant.MayDo}, From: "2026-03-04", Until: "2026-03-04", Evidence: "test piece 14",
	})
	if flagged() {
		t.Error("a competence of the day does not count")
	}
	if _, err := p.office.Approve(ctx, reviewer, visit, p.covers(visit), "", "", office.Sheet{}); err != nil {
		t.Error(err)
	}
	for name, c := range map[string]office.Authorisation{
		"no evidence": {May: []string{"do"}, From: "2026-01-01"}, "nothing": {From: "2026-01-01", Evidence: "x"},
		"another thing": {May: []string{"sign"}, From: "2026-01-01", Evidence: "x"},
		"no day":        {May: []string{"do"}, From: "soon", Evidence: "x"},
		"an end before": {May: []string{"do"}, From: "2026-02-01", Until: "2026-01-31", Evidence: "x"},
	} {
		if p.office.Authorise(ctx, reviewer, technician, "", c) == nil {
			t.Errorf("%s is kept", name)
		}
	}
}
