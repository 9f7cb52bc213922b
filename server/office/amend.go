package office

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// ErrReason is wrapped where a visit is opened again with no reason, or one too long.
var ErrReason = errors.New(
	"say in the reason why the approved visit has to be opened again; the certificate will state it",
)

// Reopen opens an approved visit again, so that it is corrected, signed and approved anew. Nothing
// of it is taken away: its certificate stays readable, and the next one states that it takes its
// place.
//
// proof is as of Approve.
//
// Refuses: ErrReason, plant.ErrNotFound, ErrNotApproved, ErrKey.
func (o *Office) Reopen(ctx context.Context, user, visit, reason, proof string) error {
	if reason = strings.TrimSpace(reason); reason == "" || len(reason) > MaxRemark {
		return ErrReason
	}
	return o.say(ctx, user, "reopened", proof, func() (merge.State, map[string]any, error) {
		state, v, err := o.approvedVisit(visit)
		if err != nil {
			return state, nil, err
		}
		return state, map[string]any{"of": []string{v.Approval.Change}, "signed": v.Signatures(), "reason": reason}, nil
	})
}

// typed says whether a person wrote a reading or a correction of some runs.
func typed(runs []plant.Run, person string) bool {
	return slices.ContainsFunc(runs, func(r plant.Run) bool {
		return slices.ContainsFunc(r.Captures, func(c plant.Capture) bool { return c.Author == person })
	})
}

// corrects refuses a reading for a closed run, unless the office has sent the visit back or opened
// it again, which the writer had heard of, and the reading is a correction, with its reason, of one
// that stays.
func corrects(visit, run *merge.State, c *change.Change, value []byte) error {
	var in struct{ Supersedes, Reason string }
	if err := json.Unmarshal(value, &in); err != nil || in.Supersedes == "" {
		return errClosed
	}
	_, kept := run.Field("capture." + in.Supersedes)
	switch {
	case !slices.ContainsFunc(visit.Fields, func(f merge.Field) bool {
		back := strings.HasPrefix(f.Name, "returned.") || strings.HasPrefix(f.Name, "reopened.")
		return back && len(f.Heads) > 0 && f.Heads[0].Stamp.Count < c.Stamp.Count
	}):
		return errClosed
	case !kept:
		return errors.New("the reading that it corrects is not in this run")
	case strings.TrimSpace(in.Reason) == "":
		return errors.New("a correction states its reason")
	}
	return nil
}

// earlier is a certificate whose place another one takes.
type earlier struct{ number, record, signed, why, different string }

// replaced finds the certificate whose place a new one of a visit takes; what came in after it was
// written is what is different, in the language of the new one.
func (o *Office) replaced(src over, visit, language string) (out earlier, err error) {
	list, err := o.certificatesOf(visit)
	if err != nil {
		return out, err
	}
	i := slices.IndexFunc(list, func(c Paper) bool { return c.ReplacedBy == "" })
	if i < 0 {
		return out, nil
	}
	born, err := o.store.History(list[i].ID)
	if err != nil || len(born) == 0 {
		return out, err
	}
	state, _, err := src.Record(visit)
	if err != nil {
		return out, err
	}
	v, err := plant.ReadVisit(state)
	if err != nil {
		return out, err
	}
	runs, err := plant.Runs(src, visit)
	if err != nil {
		return out, err
	}
	fresh := func(record string) (map[string]bool, error) {
		entries, err := o.store.History(record)
		if err != nil {
			return nil, err
		}
		after := map[string]bool{}
		for _, e := range entries {
			if e.Seq <= born[0].Seq {
				continue
			}
			after[e.Change.ID] = true
			for _, set := range e.Change.Set {
				after[set.Field] = true
			}
		}
		return after, nil
	}
	after, err := fresh(visit)
	if err != nil {
		return out, err
	}
	var reasons []string
	for _, r := range v.Reopenings {
		if after["reopened."+r.ID] {
			reasons = append(reasons, r.Text)
		}
	}
	said := certificates.In(language)
	different := changed(&v, after, said)
	for i := range runs {
		since, err := fresh(runs[i].ID)
		if err != nil {
			return out, err
		}
		different = append(different, corrected(&runs[i], since, said)...)
	}
	if len(different) == 0 {
		different = []string{said.Phrase("no recorded value; it was signed and approved again")}
	}
	was := &list[i]
	out = earlier{
		was.Number, was.record, was.signed, strings.Join(reasons, "; "), strings.Join(different, "; "),
	}
	if out.why == "" {
		out.why = said.Phrase("the visit was approved again")
	}
	return out, nil
}

// parts names the fields of a visit that a certificate states, in words.
var parts = []struct{ field, words string }{{"item", "the description of the item"}, {"method", "the method"}, {"standard", "the standard"}, {"surroundings", "the conditions"},
	{"head", "the difference of level"}, {
		"condition", "the condition of the item",
	}, {"identity", "the identity of the item"}, {
		"adjusted", "what is said of the adjustment",
	}}

func changed(v *plant.Visit, after map[string]bool, said certificates.Language) (list []string) {
	for _, p := range parts {
		if after[p.field] {
			list = append(list, said.Phrase(p.words))
		}
	}
	if slices.ContainsFunc(v.Remarks, func(r plant.Remark) bool { return after["remark."+r.ID] }) {
		list = append(list, said.Phrase("the remarks"))
	}
	return list
}

// corrected says what was corrected in a run since a certificate was written, or that the run is
// new.
func corrected(run *plant.Run, since map[string]bool, said certificates.Language) (list []string) {
	if since["label"] {
		return []string{said.Phrase("a further run, {}", said.Phrase(run.Label))}
	}
	steps, before := targets(run, said), map[string]plant.Capture{}
	for _, c := range run.Captures {
		before[c.ID] = c
	}
	for _, c := range run.Effective() {
		if !since[c.Change] || c.Supersedes == "" {
			continue
		}
		first := before[c.Supersedes]
		for seen := 0; since[first.Change] && first.Supersedes != "" && seen < len(run.Captures); seen++ { // what the earlier certificate rests on
			first = before[first.Supersedes]
		}
		what := said.Phrase("{} is now {} {}", said.Number(string(first.Value)), said.Number(string(c.Value)), c.Unit)
		if c.Of == "trace" {
			what = said.Phrase("the logger's record is read in another way")
		}
		list = append(
			list,
			strings.TrimSpace(
				fmt.Sprintf(
					"%s, %s: %s (%s)", said.Phrase(run.Label),
					strings.TrimSpace(steps[c.Step]+" "+said.Phrase(strings.ReplaceAll(c.Of, "_", " "))), what,
					c.Reason,
				),
			),
		)
	}
	return list
}

// targets names the steps of a run's plan for people, as far as they have a pressure or a text;
// others keep their id.
func targets(run *plant.Run, said certificates.Language) map[string]string {
	names := map[string]string{}
	for _, c := range run.Captures {
		names[c.Step] = c.Step
	}
	var plan struct {
		Steps []struct {
			ID, Direction, Unit, Text string
			Target                    json.RawMessage
		}
	}
	if json.Unmarshal(run.Plan, &plan) != nil {
		return names
	}
	for _, s := range plan.Steps {
		target := strings.Trim(string(s.Target), `"`)
		switch {
		case target != "" && target != "null":
			names[s.ID] = strings.TrimSpace(
				said.Phrase(map[string]string{"up": "rising", "down": "falling"}[s.Direction]) + " " + said.Number(target) + " " + s.Unit,
			)
		case s.Text != "":
			names[s.ID] = s.Text
		}
	}
	return names
}
