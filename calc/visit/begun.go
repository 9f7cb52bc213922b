package visit

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
)

// Progress is how far an open run has come.
type Progress struct {
	Step, Steps  int    // the next screen, from 1, and the number of screens
	Pressed      bool   // by the record, the instrument is under pressure or vacuum
	Target, Unit string // the last pressure set, "" if none was
}

// pressurising are the steps after which the instrument is under pressure or vacuum until a step
// vents it. Steps that read, hold or ask change nothing.
var pressurising = []string{"exercise", "set", "ramp"}

// ReadProgress finds how far a run has come, from its plan and the steps that have a mark or a
// value.
//
// A run counts as under pressure from the first mark of a step that sets a pressure, even a step
// that has only begun, until a later step has vented it: after an interruption nobody knows the
// pressure.
func ReadProgress(run *Record) Progress {
	var b Progress
	touched := marked(run)
	plan := run.Value("plan")
	steps := part(plan, "steps")
	if steps == nil {
		return b
	}
	list := steps.List()
	last := -1
	for i := range list {
		s := &list[i]
		if !slices.Contains(touched, text(part(s, "id"))) {
			continue
		}
		last = i
		switch do := text(part(s, "do")); {
		case do == "vent":
			b.Pressed, b.Target, b.Unit = false, "", ""
		case slices.Contains(pressurising, do):
			b.Pressed = true
			b.Target, b.Unit = text(part(s, "target")), text(part(s, "unit"))
		}
	}
	screen := func(i int) int { // of a step; in a plan without screens each step is one
		if n, ok := document.Float(text(part(&list[i], "screen"))); ok {
			return int(n)
		}
		return i + 1
	}
	if len(list) > 0 {
		b.Steps = screen(len(list) - 1)
		b.Step = screen(min(last+1, len(list)-1))
	}
	return b
}

// marked lists the steps of a run that were done or begun, or have a value.
func marked(run *Record) []string {
	var list []string
	for i := range run.Fields {
		f := &run.Fields[i]
		if len(f.Heads) == 0 || f.Heads[0].value().Kind == document.Null {
			continue
		}
		if id, ok := strings.CutPrefix(f.Name, "done."); ok {
			list = append(list, strings.TrimSuffix(id, ".begun"))
		} else if strings.HasPrefix(f.Name, "capture.") {
			list = append(list, text(part(f.Heads[0].value(), "step")))
		}
	}
	return list
}

// calculateBegun is the calculation begun: a visit and its runs → how far the work has come, and
// for an open run how far it has come and whether it is under pressure.
//
// Takes:   {visit, runs} as in visit.
// Gives:   {stage, run?, step?, steps?, pressed, target?, unit?}.
func calculateBegun(in *document.Reader, out *document.Writer) error {
	visit, runs, err := readVisit(in)
	if err != nil {
		return err
	}
	s := ReadStanding(&visit)
	stage := ReadStage(&visit, &s, runs)
	out.Text("stage", string(stage.Step))
	var b Progress
	for _, run := range runs {
		if stage.Step == Running && run.ID == stage.Run {
			b = ReadProgress(run)
			out.Text("run", stage.Run)
			out.Whole("step", b.Step)
			out.Whole("steps", b.Steps)
		}
	}
	out.Flag("pressed", b.Pressed)
	if b.Target != "" {
		out.Text("target", b.Target)
		out.Text("unit", b.Unit)
	}
	return nil
}
