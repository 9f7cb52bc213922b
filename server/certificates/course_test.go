package certificates_test

import (
	"strings"
	"testing"

	"gaugewright/server/plant"
)

// everyStep is a programme with each kind of step.
const everyStep = `unit bar gauge
note "Everything connected is rated for 6 bar."
ask "Is the relief valve set?" as yes into valve
ask "Which is its set pressure?" as number into relief
vent
hold 10 s
read zero from gauge
repeat 2 {
  set 3
  settle within 0.02 for 30 s, at most 300 s
  read low from gauge
}
if low > 2.9 {
  ramp 6 at 0.1/s until contact
  hold 60 s
} else {
  note "It did not come up."
}
read high from gauge
vent
`

// TestCourseOfAProgramme prints every step of a run: answers, notes, waits, holds, cycles, the
// decision with its reason, and the time of each.
func TestCourseOfAProgramme(t *testing.T) {
	w := start(t, false, 6)
	at := func(second int) doc { return doc{"at": typed("", "", "", "", second).At} }
	var marks []plant.Set
	for step, second := range map[string]int{
		"l2.1": 1, "l5.1": 4, "l6.1.begun": 5, "l6.1": 17, "l9.1": 20, "l9.2": 100, "l14.1": 160,
		"l15.1.begun": 160, "l15.1": 221, "l20.1": 240,
	} {
		marks = append(marks, plant.Set{Field: "done." + step, Value: at(second)})
	}
	for i, r := range w.runs {
		w.runs[i] = w.keep(w.drafter.Edit(r, w.now, marks...))
	}
	captures := []plant.Capture{
		typed("l3.1", "answer", "yes", "", 2), typed("l4.1", "answer", "6.2", "", 3),
		typed("l7.1", "indicated", "0.01", "bar", 18),
		typed("l10.1", "settle", "3.05", "bar", 30), typed("l10.1", "settle", "3.02", "bar", 45),
		typed("l10.1", "settle", "3.01", "bar", 60), typed("l10.1", "settle", "3.01", "bar", 80),
		typed("l11.1", "indicated", "3.02", "bar", 85),
		typed("l10.2", "settle", "3.00", "bar", 101), typed("l10.2", "settle", "3.00", "bar", 135),
		typed("l11.2", "indicated", "3.03", "bar", 140),
		typed("l19.1", "indicated", "5.98", "bar", 230),
	}
	item := doc{
		"description": "Gauge of a skid", "resolution": "0.01",
		"range": doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"},
		"limit": doc{"rule": "en837", "class": "1"},
	}
	method := doc{
		"kind": "programme", "text": everyStep,
		"rules": []doc{{"name": "zero", "low": "-0.02", "high": "0.02"}},
	}
	got := w.printed(t, "course", method, item, captures)
	wants(
		t, got, "Course of the programme as found",
		"note: Everything connected is rated for 6 bar. read 08:00:01",
		"question: Is the relief valve set? yes 08:00:02",
		"question: Which is its set pressure? 6.2 08:00:03",
		"vent done 08:00:04", "hold for 10 s held for 12 s 08:00:17",
		"read zero, at the instrument 0.01 bar 08:00:18",
		"raise to 3 bar (cycle 1 of 2) done 08:00:20",
		"at most 5 min (cycle 1 of 2) 3.05 bar; 3.02 bar; 3.01 bar; 3.01 bar; 08:01:20 came to rest",
		"(cycle 2 of 2) 3.00 bar; 3.00 bar; came to rest 08:02:15",
		"read low, at the instrument (cycle 2 of 2) 3.03 bar 08:02:20",
		"ramp to 6 bar, at 0.1 bar a second, until contact done 08:02:40",
		"hold for 60 s held for 61 s 08:03:41", "read high, at the instrument 5.98 bar 08:03:50",
		"vent done 08:04:00", "Decisions of the programme:", "line 13 of the programme, the condition holds: ",
	)
	for _, not := range []string{"not done", "could not be followed", "It did not come up"} {
		if strings.Contains(got, not) {
			t.Errorf("says %q: %s", not, got)
		}
	}
}

// TestCourseThatCannotBeFollowed lists what was recorded although the programme has no such steps.
func TestCourseThatCannotBeFollowed(t *testing.T) {
	w := start(t, false, 6)
	item := doc{
		"description": "Gauge of a skid", "resolution": "0.01",
		"range": doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"},
		"limit": doc{"rule": "en837", "class": "1"},
	}
	got := w.printed(
		t, "odd course", doc{"kind": "programme", "text": "unit bar gauge\nvent\nread zero from gauge\n"}, item,
		[]plant.Capture{typed("l3.1", "indicated", "0.01", "bar", 18)}, // nobody noted the venting
	)
	wants(t, got, "vent not done", "read zero, at the instrument 0.01 bar 08:00:18", "step s1.up.0 0.13 bar")
}
