package office

import (
	"cmp"
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

// ErrReason is wrapped if a visit is reopened with no reason, or one too long.
var ErrReason = errors.New(
	"say in the reason why the approved visit has to be opened again; the certificate will state it",
)

// Reopen reopens an approved visit so that it can be corrected, signed and approved again. It
// removes nothing: the certificate stays readable, and the next one states that it replaces it.
//
// proof is as for Approve.
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

// typed reports whether a person wrote a reading or a correction in some runs.
func typed(runs []plant.Run, person string) bool {
	return slices.ContainsFunc(runs, func(r plant.Run) bool {
		return slices.ContainsFunc(r.Captures, func(c plant.Capture) bool { return c.Author == person })
	})
}

// corrects refuses a reading for a closed run, with one exception: the office has returned or
// reopened the visit, the writer had seen that, and the reading corrects one that stays, with a
// reason.
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

// earlier is a certificate that another one replaces.
type earlier struct{ number, record, signed, why, different string }

// replaced finds the certificate that the new one of a visit replaces. What came in after it was
// written makes up different: the old and the new value, in the language of the new certificate,
// which is drawn from in.
func (o *Office) replaced(src over, visit string, in *certificates.Input) (out earlier, err error) {
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
	said := certificates.In(in.Office.Language)
	facts, err := o.factsThen(born[0].Seq, in, said)
	if err != nil {
		return out, err
	}
	different := changed(&v, after, facts, said)
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

// parts names the fields of a visit that a certificate states, in words, and gives the text it
// prints for each.
var parts = []struct {
	field, words string
	facts        []string
}{
	{"item", "the description of the item", []string{
		"Item", "Maker and model", "Serial number", "Tag", "Range", "Output", "Read to", "Specification",
	}},
	{"method", "the method", []string{"Method", "Reason for this method"}},
	{"standard", "the standard", []string{"Standard", "Traceability"}},
	{"surroundings", "the conditions", []string{"Conditions"}},
	{"head", "the difference of level", []string{"Difference of level"}},
	{"condition", "the condition of the item", []string{"Condition"}},
	{"identity", "the identity of the item", nil},
	{"adjusted", "what is said of the adjustment", []string{"Adjustment"}},
}

// factsThen lists the facts whose text differs from that at an entry of the journal, with old and
// new value by name; none if nothing could be printed then.
func (o *Office) factsThen(
	entry uint64, in *certificates.Input, said certificates.Language,
) (changes map[string]string, err error) {
	// The approval may follow the certificate in the journal, so a draft is read.
	was, err := certificates.Draft(plant.AsOf(o.store, entry), in.Visit.ID, in.Office, in.Issued)
	if errors.Is(err, certificates.ErrNotReady) || errors.Is(err, certificates.ErrIncomplete) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	before, err := certificates.Facts(&was)
	if err != nil {
		return nil, err
	}
	now, err := certificates.Facts(in)
	if err != nil {
		return nil, err
	}
	texts := map[string][2]string{}
	for i, list := range [][]certificates.Fact{before, now} {
		for _, f := range list {
			both := texts[f.Name]
			both[i] = f.Text
			texts[f.Name] = both
		}
	}
	changes = map[string]string{}
	for name, both := range texts {
		if both[0] != both[1] {
			changes[name] = said.Phrase("{}: {} is now {}", name, cmp.Or(both[0], "–"), cmp.Or(both[1], "–"))
		}
	}
	return changes, nil
}

func changed(
	v *plant.Visit, after map[string]bool, facts map[string]string, said certificates.Language,
) (list []string) {
	for _, p := range parts {
		if !after[p.field] {
			continue
		}
		var details []string
		for _, name := range p.facts {
			if change := facts[said.Phrase(name)]; change != "" {
				details = append(details, change)
			}
		}
		text := said.Phrase(p.words)
		if len(details) > 0 {
			text += " (" + strings.Join(details, ", ") + ")"
		}
		list = append(list, text)
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
		for seen := 0; since[first.Change] && first.Supersedes != "" && seen < len(run.Captures); seen++ { // to the value on the earlier certificate
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

// targets names the steps of a run's plan in words if they have a pressure or a text; others keep
// their id.
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
