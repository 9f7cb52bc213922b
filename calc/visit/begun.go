package visit

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
)

// Progress is how far a run is that is not closed.
type Progress struct {
	Step, Steps  int    // the screen that comes next, from 1, and how many there are
	Pressed      bool   // by what was recorded, there is pressure or vacuum at the instrument
	Target, Unit string // what was set last, "" where nothing was
}

// pressing are the steps after which something is under pressure or vacuum until a step vents
// it. One that reads, holds or asks leaves it as it was.
var pressing = []string{"exercise", "set", "ramp"}

// ReadProgress reads how far a run is, from its plan and from the steps that have a mark or a value.
//
// A run counts as under pressure from the first mark of a step that sets a pressure, a step that
// began its way there too, until a later step has vented it: whoever left in between cannot know
// what is there now.
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
		case slices.Contains(pressing, do):
			b.Pressed = true
			b.Target, b.Unit = text(part(s, "target")), text(part(s, "unit"))
		}
	}
	screen := func(i int) int { // of a step; where the plan has no screens each is one
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

// calculateBegun is the calculation begun: a visit and its runs → how far the work is, and of an
// open run how far it is and whether it is under pressure.
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
