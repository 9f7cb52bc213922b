package certificates

import (
	"slices"
	"strings"

	"gaugewright/server/plant"
)

func (s *sheet) notes() {
	s.heading(s.say("Measurement uncertainty"), 12)
	s.paragraph(s.uncertainty())
	v := &s.in.Visit
	if len(v.Remarks) > 0 {
		s.heading(s.say("Remarks"), 8)
		for _, r := range v.Remarks {
			s.paragraph(r.Text)
		}
	}
	if d := s.departures(s.in.parts()); len(d) > 0 {
		s.heading(s.say("Departures from the method, as recorded"), 8)
		for _, text := range d {
			s.paragraph(text)
		}
	}
	if n := s.warnings(s.in.Found, s.in.Left); len(n) > 0 {
		s.heading(s.say("Notes of the evaluation"), 8)
		for _, text := range n {
			s.paragraph(text)
		}
	}
}

// departures lists the reasons for which doubtful readings were kept (ISO/IEC 17025:2017 7.8.2.1
// n), each once for a run, with how many readings have it.
func (t tongue) departures(parts []part) (list []string) {
	for _, r := range parts {
		var reasons []string
		times := map[string]int{}
		for _, c := range r.run.Departures() {
			if times[c.Reason]++; times[c.Reason] == 1 {
				reasons = append(reasons, c.Reason)
			}
		}
		for _, reason := range reasons {
			readings := t.say("1 reading")
			if n := times[reason]; n > 1 {
				readings = t.say("{} readings", count(n))
			}
			list = append(list, t.say("{}: {} kept with the reason “{}”.", t.word(r.when), readings, reason))
		}
	}
	return list
}

// onPaper has the warnings, by code, that tell the technician what to do next. A paper only states what
// is so.
var onPaper = map[string]string{
	"no_repeatability": "One cycle was measured: how well readings repeat is not known and not in the uncertainty.",
}

// finished ends a sentence with its full stop.
func finished(text string) string {
	if text == "" || strings.ContainsAny(text[len(text)-1:], ".!?") {
		return text
	}
	return text + "."
}

// warnings lists the warnings of the findings, each text once; if there are two runs, a warning of
// only one names it.
func (t tongue) warnings(found, left *plant.Run) (list []string) {
	of := func(r *plant.Run) (texts []string) {
		if r == nil {
			return nil
		}
		for _, w := range r.Finding.Warnings {
			text := capital(t.sentence(w.Message))
			if said, ok := onPaper[w.Code]; ok {
				text = t.word(said)
			}
			if text = finished(text); text != "" && !slices.Contains(texts, text) {
				texts = append(texts, text)
			}
		}
		return texts
	}
	first, second := of(found), of(left)
	for _, text := range first {
		if left == nil || slices.Contains(second, text) {
			list = append(list, text)
		} else {
			list = append(list, t.say("As found: {}", text))
		}
	}
	for _, text := range second {
		if !slices.Contains(first, text) {
			list = append(list, t.say("As left: {}", text))
		}
	}
	return list
}
