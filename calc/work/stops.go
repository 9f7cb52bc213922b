package work

import (
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
)

// Codes of the reasons that keep a run from passing, whatever its figures. Each is a warning in the
// finding, where phone and office read it.
const (
	stopSafety     = "safety_no"          // a safety question was answered with anything but yes
	stopDamaged    = "damaged"            // the instrument was damaged
	stopInstrument = "not_the_instrument" // it is another instrument
	stopUnclean    = "not_clean"          // the standard was not clean for oxygen
	StopPlace      = "no_place"           // impossible ambient air
	StopDisc       = "disc_twice"         // one disc cannot burst twice
	StopPressure   = "not_at_pressure"    // a leak phase was never at its test pressure
)

// Stops are the reasons that keep a run from passing, in the order found.
type Stops struct {
	List []gauge.Warning // what was found, in order
}

// Add keeps the run from passing.
func (s *Stops) Add(code, field, message string) {
	s.List = append(s.List, gauge.Warning{Code: code, Field: field, Message: message})
}

// Answered records the answer to a safety question. Anything but yes counts as no.
func (s *Stops) Answered(answer, field, question string) {
	if answer != "yes" {
		s.Add(stopSafety, field, "a safety question was not answered with yes: "+question)
	}
}

// Verdict leaves a run open that must not pass. A failure remains a failure.
func (s *Stops) Verdict(verdict, reason string) (string, string) {
	if len(s.List) == 0 || verdict == conformity.Fail || verdict == conformity.ConditionalFail {
		return verdict, reason
	}
	return conformity.Undecided, s.List[0].Message
}

// Before puts the stops ahead of a run's other warnings.
func (s *Stops) Before(list []gauge.Warning) []gauge.Warning {
	return append(append([]gauge.Warning(nil), s.List...), list...)
}

// ReadStops reads the facts noted before the first pressure, and the ambient air, from a sheet.
func ReadStops(in *document.Reader) Stops {
	var s Stops
	if b, ok := in.OptionalObject("before"); ok {
		safe := b.ChoiceOr("safe", "", "yes", "no")
		identity := b.ChoiceOr("identity", "", "same", "register", "exchanged", "wrong")
		condition := b.ChoiceOr("condition", "", "good", "dirty", "damaged")
		unclean := b.ChoiceOr("standard", "", "clean", "not_clean", "oil")
		if safe == "no" {
			s.Add(
				stopSafety, b.Path("safe"),
				"a safety question was not answered with yes: not every caution was met before the first pressure",
			)
		}
		switch unclean {
		case "oil":
			s.Add(stopUnclean, b.Path("standard"), "the instrument is in oxygen service and the standard has held oil")
		case "not_clean":
			s.Add(
				stopUnclean, b.Path("standard"),
				"the instrument is in oxygen service and nothing says that the standard was cleaned for oxygen",
			)
		}
		if condition == "damaged" {
			s.Add(stopDamaged, b.Path("condition"), "the instrument was damaged: it must not be put under pressure")
		}
		if identity == "exchanged" || identity == "wrong" {
			s.Add(stopInstrument, b.Path("identity"), "tag and serial were not those of this instrument")
		}
	}
	if a, ok := in.OptionalObject("surroundings"); ok {
		w := readAround(a)
		Skim(a)
		if in.Err() == nil {
			for _, f := range w.faults() {
				s.Add(StopPlace, a.Path(f.field), f.message)
			}
		}
	}
	return s
}
