package visit

import "gaugewright/calc/document"

// Step is what comes next in a visit.
type Step string

// What comes next, in the order of the work.
const (
	Cautions     Step = "cautions"
	Identity     Step = "identity"
	Halted       Step = "halt" // something was found that forbids pressure
	Standard     Step = "standard"
	AtService    Step = "service" // questions about the instrument's service
	Surroundings Step = "surroundings"
	Since        Step = "since"    // what was done since a failure at an earlier visit
	Begin        Step = "begin"    // a run
	Bypasses     Step = "bypasses" // before the first step: which bypasses are set
	Running      Step = "run"
	Adjusted     Step = "adjusted" // is it adjusted after its run as found?
	Finish       Step = "finish"
	Done         Step = "done"
)

// Stage is how far the work of a visit has come, with details.
type Stage struct {
	Step  Step
	Why   string // of Halted: "cautions", "identity", "damaged", "oxygen" or "air"
	Label string // of Begin: AsFound or AsLeft
	Run   string // of Running and Adjusted: the run's id
}

// Adjustable reports whether work of a kind is judged as found and as left. Leak tests, burst tests
// and users' programmes have no adjustment between runs.
func Adjustable(kind string) bool {
	switch kind {
	case "leak", "burst", "programme", "pitot-static-leak":
		return false
	}
	return true
}

// HaltedBy returns the finding that forbids pressure: an unmet caution, the wrong instrument,
// damage, or an unsafe service; "" for none.
func HaltedBy(visit *Record) string {
	switch way := text(part(visit.Value("identity"), "way")); {
	case no(part(visit.Value("cautions"), "met")):
		return "cautions"
	case way == "wrong" || way == "exchanged":
		return "identity"
	case text(part(visit.Value("condition"), "state")) == "damaged":
		return "damaged"
	}
	answers := visit.Value("service")
	for _, q := range []string{ServiceOxygen, ServiceAir} {
		if text(part(answers, q)) == "no" {
			return q
		}
	}
	return ""
}

// NotTested returns why a visit ended without a test, "" if it did not.
func NotTested(visit *Record) string { return text(part(visit.Value("not_tested"), "reason")) }

func kindOf(visit *Record) string {
	return text(part(method(visit), "kind"))
}

// ReadStage finds how far the work of a visit has come, from its records alone. Runs are in order.
func ReadStage(visit *Record, s *Standing, runs []*Record) Stage {
	if s.Status == Approved {
		return Stage{Step: Done}
	}
	why, untested, signed := HaltedBy(visit), NotTested(visit) != "", visit.has("signature")
	if !visit.has("cautions") && !untested {
		return Stage{Step: Cautions}
	}
	if !untested {
		if why != "" && !signed {
			return Stage{Step: Halted, Why: why}
		}
		for _, r := range runs {
			if r.has("closed") {
				continue
			}
			if yes(part(r.Value("plan"), "bypasses")) && !visit.has("bypasses") {
				return Stage{Step: Bypasses}
			}
			return Stage{Step: Running, Run: r.ID}
		}
	}
	switch {
	// A device that lacks the runs of a signed visit begins no new ones.
	case signed && (len(s.SentBack) == 0 || len(runs) == 0):
		return Stage{Step: Done}
	case untested:
		return Stage{Step: Finish}
	case why != "":
		return Stage{Step: Halted, Why: why}
	case !visit.has("identity") || !visit.has("condition"):
		return Stage{Step: Identity}
	case !visit.has("standard"):
		return Stage{Step: Standard}
	case len(runs) == 0 && !answered(visit):
		return Stage{Step: AtService}
	case !visit.has("surroundings"):
		return Stage{Step: Surroundings}
	case len(runs) == 0 && visit.has("since"):
		if !visit.has("adjusted") {
			return Stage{Step: Since}
		}
		return Stage{Step: Begin, Label: AsLeft}
	case len(runs) == 0:
		return Stage{Step: Begin, Label: AsFound}
	}
	return adjustment(visit, runs)
}

func adjustment(visit *Record, runs []*Record) Stage {
	if !visit.has("adjusted") && Adjustable(kindOf(visit)) {
		return Stage{Step: Adjusted, Run: runs[len(runs)-1].ID}
	}
	if !yes(part(visit.Value("adjusted"), "done")) {
		return Stage{Step: Finish}
	}
	for _, r := range runs {
		if text(r.Value("label")) == AsLeft {
			return Stage{Step: Finish}
		}
	}
	return Stage{Step: Begin, Label: AsLeft}
}

// method returns the definition of the method that the visit keeps.
func method(visit *Record) *document.Value { return part(visit.Value("method"), "definition") }
