package visit

import (
	"slices"

	"gaugewright/calc/document"
)

// What is done on a manifold, in the order of the work.
const (
	preparing = "prepare" // what comes before the first pressure, one gauge after the other
	ready     = "ready"   // everything is answered: the runs begin together
	together  = "run"     // the run as found, which has its pressures in common
	after     = "after"   // on its own: result, adjustment, remark, signature
	signed    = "done"
)

// common are the steps that are done once for all gauges of a manifold.
var common = []string{"set", "ramp", "vent", "exercise", "hold"}

// berth is a visit on a manifold: how far it is.
type berth struct {
	visit Record
	runs  []*Record
	phase string
	run   *Record          // the open run as found
	steps []document.Value // of its plan
	at    int              // the first step that is not done; len(steps) at the end
}

// readBerth reads where a visit stands. A gauge that is stopped, or cannot be tested, has no open
// run: it has left the set.
func readBerth(r *document.Reader) (berth, error) {
	v, runs, err := readVisit(r)
	if err != nil {
		return berth{}, err
	}
	b := berth{visit: v, runs: runs}
	s := ReadStanding(&b.visit)
	stage := ReadStage(&b.visit, &s, runs)
	switch stage.Step {
	case Done:
		b.phase = signed
	case Begin:
		b.phase = ready
		if stage.Label != AsFound {
			b.phase = after
		}
	case Running:
		b.phase = after
		if b.opened(stage.Run) {
			b.phase = together
		}
	case Cautions, Identity, Halted, Standard, AtService, Surroundings, Bypasses:
		b.phase = preparing
		if len(runs) > 0 {
			b.phase = after // sent back, with a run that is closed
		}
	default:
		b.phase = after
	}
	return b, nil
}

// opened takes the run that is open, if it is the first one as found.
func (b *berth) opened(id string) bool {
	if len(b.runs) != 1 || b.runs[0].ID != id || text(b.runs[0].Value("label")) != AsFound {
		return false
	}
	b.run = b.runs[0]
	if steps := part(b.run.Value("plan"), "steps"); steps != nil {
		b.steps = steps.List()
	}
	for b.at = 0; b.at < len(b.steps) && b.done(b.at); b.at++ {
	}
	return true
}

// answers are the steps that a value ends.
var answers = []string{"read", "ask", "settle"}

// done says whether a step of the open run is done. A wait before a value on its screen is over with
// that value, which may be read early for a reason.
func (b *berth) done(i int) bool {
	s := &b.steps[i]
	id, do := text(part(s, "id")), text(part(s, "do"))
	if b.run.has("done." + id) {
		return true
	}
	switch do {
	case "hold":
		if i+1 >= len(b.steps) {
			return false
		}
		next := &b.steps[i+1]
		return text(part(next, "screen")) == text(part(s, "screen")) &&
			slices.Contains(answers, text(part(next, "do")))
	case "read", "ask":
		of := or(text(part(s, "of")), "indicated")
		if do == "ask" {
			of = "answer"
		}
		for _, f := range b.run.many("capture") {
			c := f.Heads[0].value()
			if text(part(c, "step")) == id && text(part(c, "of")) == of {
				return true
			}
		}
	}
	return false
}

// next returns the index of the visit that is worked on next; −1 where all are signed.
//
// While anything is under pressure that comes first: of the open runs the one that is least far, in
// the order of the manifold. So a pressure is set once, each gauge is read at it, and only then the
// next one follows. Before the runs begin every gauge is prepared; what follows a run is done for
// each on its own.
func next(list []berth) int {
	first := -1
	for i := range list {
		if list[i].phase == together && (first < 0 || list[i].at < list[first].at) {
			first = i
		}
	}
	for _, phase := range []string{preparing, ready, after} {
		if first < 0 {
			first = slices.IndexFunc(list, func(b berth) bool { return b.phase == phase })
		}
	}
	return first
}

// calculateManifold is the calculation manifold: the visits of a manifold with their runs, in its
// order → which of them is worked on next, and which others its step is done for as well.
//
// Takes:   {visits: [{visit, runs}]} as in visit, runs with their plans.
// Gives:   {next?, phase?, with, common, visits: [{id, phase}]}; with: where the step that comes is
// done once for all, the visits that it is still to be done for, or that begin together.
func calculateManifold(in *document.Reader, out *document.Writer) error {
	var list []berth
	for _, r := range in.List("visits") {
		b, err := readBerth(r)
		if err != nil {
			return err
		}
		list = append(list, b)
	}
	if err := in.Err(); err != nil {
		return err
	}
	here := next(list)
	shared := false
	if here >= 0 {
		b := &list[here]
		out.Text("next", b.visit.ID)
		out.Text("phase", b.phase)
		shared = b.phase == together && b.at < len(b.steps) &&
			slices.Contains(common, text(part(&b.steps[b.at], "do")))
	}
	out.Flag("common", shared)
	out.BeginList("with")
	for i := range list {
		b := &list[i]
		if here < 0 || b.phase != list[here].phase {
			continue
		}
		if b.phase == ready || shared && b.at == list[here].at {
			out.TextItem(b.visit.ID)
		}
	}
	out.EndList()
	out.BeginList("visits")
	for i := range list {
		out.Begin()
		out.Text("id", list[i].visit.ID)
		out.Text("phase", list[i].phase)
		out.End()
	}
	out.EndList()
	return nil
}
