package visit

import (
	"slices"

	"gaugewright/calc/document"
)

// The phases of the work on a manifold, in order.
const (
	preparing = "prepare" // what comes before the first pressure, one gauge after the other
	ready     = "ready"   // every question is answered: the runs begin together
	together  = "run"     // the run as found, at common pressures
	after     = "after"   // on its own: result, adjustment, remark, signature
	signed    = "done"
)

// common are the steps done once for all gauges of a manifold.
var common = []string{"set", "ramp", "vent", "exercise", "hold"}

// berth is how far one visit on a manifold has come.
type berth struct {
	visit Record
	runs  []*Record
	phase string
	run   *Record          // the open run as found
	steps []document.Value // steps of its plan
	at    int              // index of the first step not done; len(steps) at the end
}

// readBerth reads how far a visit has come. A gauge whose work was stopped or that cannot be tested
// has no open run: it has left the set.
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
	case Bypasses: // asked once its run has begun, and before its first step
		b.phase = after
		if open := slices.IndexFunc(runs, func(r *Record) bool { return !r.has("closed") }); b.opened(runs[open].ID) {
			b.phase = preparing
		}
	case Cautions, Identity, Halted, Standard, AtService, Surroundings:
		b.phase = preparing
		if len(runs) > 0 {
			b.phase = after // sent back, with a closed run
		}
	default:
		b.phase = after
	}
	return b, nil
}

// opened stores the open run in b and returns true if it is the first one as found.
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

// answers are the steps that end with a value.
var answers = []string{"read", "ask", "settle"}

// done reports whether a step of the open run is done. A wait does not count if a value follows on
// the same screen: the value ends it, and may be read early for a reason.
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

// next returns the index of the visit to work on next; −1 if all are signed.
//
// Open runs come first while anything is under pressure: the least advanced one, in the order of
// the manifold. So a pressure is set once and each gauge is read at it before the next pressure
// follows. Every gauge is prepared before the runs begin, and no step is done before all have
// begun. After its run, each gauge is handled on its own.
func next(list []berth) int {
	first, far := -1, false
	for i := range list {
		if list[i].phase != together {
			continue
		}
		if far = far || list[i].at > 0; first < 0 || list[i].at < list[first].at {
			first = i
		}
	}
	if asked := slices.IndexFunc(list, func(b berth) bool { return b.phase == preparing && b.run != nil }); asked >= 0 && !far {
		return asked
	}
	if begin := slices.IndexFunc(list, func(b berth) bool { return b.phase == ready }); begin >= 0 && !far && first >= 0 {
		return begin
	}
	for _, phase := range []string{preparing, ready, after} {
		if first < 0 {
			first = slices.IndexFunc(list, func(b berth) bool { return b.phase == phase })
		}
	}
	return first
}

// calculateManifold is the calculation manifold: the visits of a manifold with their runs, in order
// → which visit to work on next, and for which others its step counts too.
//
// Takes:   {visits: [{visit, runs}]} as in visit, runs with their plans.
// Gives:   {next?, phase?, with, common, visits: [{id, phase}]}; with lists the other visits for
// which the next step is done at the same time, or that begin together.
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
