package office

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gaugewright/calc/conformity"
	"gaugewright/server/certificates"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

var (
	// ErrChanged is wrapped if a visit is no longer as it was shown.
	ErrChanged = errors.New("the visit's runs have changed since they were shown; check them again")
	// ErrUnsigned is wrapped if a signature does not cover the whole visit.
	ErrUnsigned = errors.New("the visit has changed since it was signed")
	// ErrApproved is wrapped if a visit is already approved.
	ErrApproved = errors.New("the visit is approved already")
	// ErrNotReady is wrapped if no certificate can be written for a visit.
	ErrNotReady = certificates.ErrNotReady
	// ErrLanguage is wrapped if a certificate cannot be issued in the language asked for.
	ErrLanguage = certificates.ErrLanguage
	// ErrIncomplete is wrapped if something is missing that a certificate has to state.
	ErrIncomplete = certificates.ErrIncomplete
	// ErrRemark is wrapped if a visit is returned with no remark, or one too long.
	ErrRemark = errors.New("say in the remark what the technician should do")
	// ErrEffect is wrapped if a visit that found an instrument outside its limits is approved
	// without a statement of what that means.
	ErrEffect = errors.New(
		"the instrument was found outside its limits: say what that means for its use since it last passed",
	)
	// ErrContested is wrapped if a visit has contested fields.
	ErrContested = errors.New("there are conflicts: choose between the values first")
	// ErrKey is wrapped if a signature by a key is not valid.
	ErrKey = errors.New("a key's signature is not valid")
	// ErrOwn is wrapped if a person tries to approve a visit that they worked on.
	ErrOwn = errors.New(
		"you made, corrected or signed this visit; another person has to approve it",
	)
)

// MaxRemark caps the office's remark to a technician: a screen of text.
const MaxRemark = 2000

// signedVisit reads a visit on which the office may decide.
func (o *Office) signedVisit(id string) (state merge.State, v plant.Visit, runs []plant.Run, err error) {
	if state, err = o.Record(id); err != nil {
		return state, v, nil, err
	}
	if v, err = plant.ReadVisit(state); err != nil {
		return state, v, nil, err
	}
	if v.Status == plant.Approved {
		return state, v, nil, ErrApproved
	}
	if v.Status != plant.Signed {
		return state, v, nil, ErrUnsigned
	}
	runs, err = plant.Runs(o.store, id)
	return state, v, runs, err
}

// approvedVisit reads a visit whose approval is in force.
func (o *Office) approvedVisit(id string) (state merge.State, v plant.Visit, err error) {
	if state, err = o.Record(id); err != nil {
		return state, v, err
	}
	if v, err = plant.ReadVisit(state); err == nil && v.Status != plant.Approved {
		err = ErrNotApproved
	}
	return state, v, err
}

// Approve approves a visit as it was shown, which covers names, and issues its certificate. It
// first recalculates every finding. proof is the signature of the approval by the reviewer's own
// key, or "" if the browser has none. effect says what a failure as found means for the use of the
// instrument since its last pass, and becomes part of the approval. sheet says how to issue the
// certificate.
//
// Refuses: plant.ErrNotFound, ErrApproved, ErrUnsigned, ErrChanged, ErrOwn, ErrContested,
// ErrEffect, ErrDiffers, ErrAway, ErrKey.
func (o *Office) Approve(
	ctx context.Context, user, visit string, covers []string, proof, effect string, sheet Sheet,
) (out Issued, err error) {
	covers, effect = slices.Sorted(slices.Values(covers)), strings.TrimSpace(effect)
	if _, runs, err := o.approvable(user, visit, covers, effect); err != nil {
		return out, err
	} else if err := o.confirm(ctx, runs); err != nil {
		return out, err
	}
	err = o.writer.WriteIf(ctx, user, func(p *plant.Drafter) ([]change.Change, error) {
		state, _, err := o.approvable(user, visit, covers, effect)
		if err != nil {
			return nil, err
		}
		return o.approved(p, state, covers, proof, effect, sheet, &out)
	}, unmoved(visit, covers))
	return out, err
}

// approvable reads a visit that the user may approve, as far as covers names it.
func (o *Office) approvable(
	user, visit string, covers []string, effect string,
) (merge.State, []plant.Run, error) {
	state, v, runs, err := o.signedVisit(visit)
	if err != nil {
		return state, runs, err
	}
	if !slices.Equal(covers, plant.Covered(&v, runs)) {
		return state, runs, ErrChanged
	}
	if err := mayApprove(o.store, &state, &v, runs, user); err != nil {
		return state, runs, err
	}
	if len(effect) > MaxRemark || effect == "" && foundOut(&v, runs) {
		return state, runs, ErrEffect
	}
	return state, runs, nil
}

// foundOut reports whether a visit found its instrument outside its limits.
func foundOut(v *plant.Visit, runs []plant.Run) bool {
	found, _ := v.Speaking(runs)
	return found != nil && found.Finding != nil &&
		(found.Finding.Verdict == conformity.Fail || found.Finding.Verdict == conformity.ConditionalFail)
}

// mayApprove returns why a person may not approve a visit, or nil. They must not have worked on it,
// the signature must cover all of it, and no field may be contested.
func mayApprove(src sources, state *merge.State, v *plant.Visit, runs []plant.Run, user string) error {
	signed, _ := state.Field("signature")
	if plant.Named(state, user) || signed != nil &&
		slices.ContainsFunc(signed.Heads, func(h merge.Head) bool { return h.Author == user }) || typed(runs, user) {
		return ErrOwn
	}
	beyond, err := v.Unsigned(src, runs)
	if err != nil {
		return err
	}
	contested := slices.Clone(v.Contested)
	for _, r := range runs {
		contested = append(contested, r.Contested...)
	}
	switch {
	case v.Signature == nil:
		return ErrUnsigned
	case len(contested) > 0:
		return fmt.Errorf("%w of %s", ErrContested, strings.Join(contested, ", "))
	case len(beyond) > 0:
		return fmt.Errorf("%w: %s", ErrUnsigned, strings.Join(beyond, ", "))
	case slices.ContainsFunc(runs, func(r plant.Run) bool { return r.ClosedAt == "" }):
		return fmt.Errorf("%w: a run is not closed", ErrUnsigned)
	}
	marks, err := plant.MarksOf(src, src, v, true)
	if err == nil && !marks.Signature.Holds() {
		err = fmt.Errorf("%w: %s; send the visit back, so that it is signed again", ErrKey, keyFaults[marks.Signature])
	}
	return err
}

// keyFaults are the words for each fault of a signature by a key.
var keyFaults = map[plant.Mark]string{
	plant.MarkBad:     "what it was made over is not what is recorded here",
	plant.MarkEnded:   "the key had been taken out of use before",
	plant.MarkUnknown: "the key is not on record here",
}

// attested adds the signature of a person's own key to their decision, and refuses one that is not
// valid.
func (o *Office) attested(by, field, record string, said map[string]any, proof string) error {
	if proof == "" {
		return nil
	}
	said[statement.Proof] = proof
	b, err := plant.Canonical(said)
	if err != nil {
		return err
	}
	mark, err := plant.MarkOf(o.store, nil, plant.Said{By: by, Field: field, Record: record, Value: b}, statement.Proof)
	if err == nil && !mark.Holds() {
		err = fmt.Errorf("%w: %s", ErrKey, keyFaults[mark])
	}
	return err
}

// unmoved refuses to write if anything of a visit has come in since it was looked at. It runs in
// the transaction that writes.
func unmoved(visit string, covers []string) store.Judge {
	return func(view store.View, _ *change.Change) error {
		state, _, err := view.Record(visit)
		if err != nil {
			return err
		}
		v, err := plant.ReadVisit(state)
		if err != nil {
			return err
		}
		runs, err := plant.Runs(kids{view}, visit)
		if err != nil {
			return err
		}
		if !slices.Equal(covers, plant.Covered(&v, runs)) {
			return ErrChanged
		}
		return nil
	}
}

// approved drafts the approval and, if it can be written, the certificate that it names. Both are
// kept or neither.
func (o *Office) approved(
	p *plant.Drafter, state merge.State, covers []string, proof, effect string, sheet Sheet, out *Issued,
) ([]change.Change, error) {
	kids, err := o.store.Children(state.ID)
	if err != nil {
		return nil, err
	}
	kids = slices.DeleteFunc(kids, func(s merge.State) bool { return s.Kind != "run" })
	content, err := plant.ContentOf(state, kids, covers)
	if err != nil {
		return nil, err
	}
	said := map[string]any{"covers": covers, "of": plant.SignedOf, "content": content}
	if effect != "" {
		said["effect"] = effect
	}
	if err := o.attested(p.Author, "approval", state.ID, said, proof); err != nil {
		return nil, err
	}
	approve := func(p *plant.Drafter, certificate string) (change.Change, merge.State, error) {
		said["certificate"] = certificate
		return p.Edit(state, o.now(), plant.Set{Field: "approval", Value: said})
	}
	trial := *p
	_, next, err := approve(&trial, "")
	if err != nil {
		return nil, err
	}
	var list []change.Change
	if *out, list, err = o.issue(p, over{o.store, map[string]merge.State{state.ID: next}}, state.ID, sheet); err != nil {
		return nil, err
	}
	one, next, err := approve(p, out.ID)
	if err != nil {
		return nil, err
	}
	done, err := o.fulfilled(p, next)
	return append(append(list, one), done...), err
}

// SendBack returns a signed visit to its technician. remark says what to do; proof is as for
// Approve.
//
// Refuses: ErrRemark, plant.ErrNotFound, ErrApproved, ErrUnsigned, ErrKey.
func (o *Office) SendBack(ctx context.Context, user, visit, remark, proof string) error {
	if remark = strings.TrimSpace(remark); remark == "" || len(remark) > MaxRemark {
		return ErrRemark
	}
	return o.say(ctx, user, "returned", proof, func() (merge.State, map[string]any, error) {
		state, v, _, err := o.signedVisit(visit)
		return state, map[string]any{"of": v.Signatures(), "remark": remark}, err
	})
}

// say writes a decision of the office on a visit as a field of its own. visit finds it in a state
// that allows the decision, and names the changes that the decision is about, so that what came
// later does not depend on anyone's clock.
func (o *Office) say(
	ctx context.Context, user, field, proof string, visit func() (merge.State, map[string]any, error),
) error {
	return o.writer.Write(ctx, user, func(p *plant.Drafter) ([]change.Change, error) {
		state, said, err := visit()
		if err != nil {
			return nil, err
		}
		if err := o.attested(user, field, state.ID, said, proof); err != nil {
			return nil, err
		}
		id, err := change.NewID(rand.Reader)
		if err != nil {
			return nil, err
		}
		one, _, err := p.Edit(state, o.now(), plant.Set{Field: field + "." + id, Value: said})
		return []change.Change{one}, err
	})
}
