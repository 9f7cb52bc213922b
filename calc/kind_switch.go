package calc

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// contact is one contact of a pressure switch.
type contact struct {
	id, name, safe     string
	rising             bool // set on rising pressure
	nominal, tolerance float64
	band               []float64
	safety             bool
}

// switchWork is a switch test laid out.
type switchWork struct {
	*work
	contacts        []contact
	cycles          int
	from, to        float64 // where cycles begin, and where they turn
	rate            float64 // per second
	rateText        string
	latency, bounce float64
	debounce        int
	settle          float64
}

func expandSwitch(in *document.Reader, p *plan) error {
	s, err := laySwitch(in, p)
	if err != nil {
		return err
	}
	for i := range s.contacts {
		p.once = p.once || s.contacts[i].safety
	}
	return nil
}

// Bounds and habits of a switch test where the method says nothing: the approach of MIL-DTL-28788C 4.7.4.1 (10 % around the point, 1 % of it a second).
const (
	approachShare = 0.1
	rampShare     = 0.01
)

// laySwitch reads a switch's method and contacts, and writes the plan.
func laySwitch(in *document.Reader, p *plan) (*switchWork, error) {
	s := &switchWork{work: newWork(in, p)}
	list := s.parts.List("contacts")
	if s.parts.Err() == nil && (len(list) == 0 || len(list) > 4) {
		s.parts.Fail(document.CodeRange, "contacts", "from 1 to 4 contacts are needed")
	}
	if err := s.parts.Err(); err != nil && in.Err() == nil { // of particulars that are not there
		return nil, document.Refuse(document.CodeMissing, "instrument.particulars.contacts", "the contacts of the switch are missing")
	}
	for i, r := range list {
		s.contact(i, r)
	}
	m := s.m
	s.cycles = m.WholeOr("cycles", 1, 50, 3)
	s.latency = s.seconds(m, "latency_s", 0)
	s.bounce = s.seconds(m, "bounce_window_s", 0.5)
	s.debounce = m.WholeOr("debounce_samples", 1, 1000, 3)
	s.settle = s.seconds(m, "settle_s", 0)
	if d, ok := m.OptionalDecimal("rate"); ok {
		s.rate, s.rateText = d.Value, d.Text
		if in.Err() == nil && d.Value <= 0 {
			m.Fail(document.CodeRange, "rate", "must be above zero")
		}
	}
	if in.Err() != nil {
		return nil, in.Err()
	}
	s.approach(m)
	if p != nil && p.label == "repeat" {
		for i := range s.contacts {
			if s.contacts[i].safety {
				in.Fail(document.CodeConflict, "label", s.contacts[i].name+" is a safety function: what was found stands and is not tested away; adjust, and record as left")
			}
		}
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	s.steps()
	return s, in.Err()
}

func (s *switchWork) contact(i int, r *document.Reader) {
	c := contact{id: "k" + strconv.Itoa(i+1)}
	c.name = r.TextOr("name", "contact "+strconv.Itoa(i+1))
	c.rising = r.Choice("acts", "rising", "falling") == "rising"
	c.nominal = r.Number("nominal")
	c.safe = r.ChoiceOr("safe", "", "open", "closed")
	c.safety = r.Flag("safety_function", false)
	percent, hasPercent := r.Optional("tolerance_percent")
	switch {
	case hasPercent && r.Has("tolerance"):
		r.Fail(document.CodeConflict, "tolerance", "give the tolerance in the unit or in per cent, not both")
	case hasPercent:
		c.tolerance = math.Abs(c.nominal) * percent / 100
	default:
		c.tolerance = r.Number("tolerance")
	}
	if b, ok := r.OptionalObject("dead_band"); ok {
		c.band = []float64{b.Number("low"), b.Number("high")}
		if r.Err() == nil && (c.band[0] > c.band[1] || c.band[0] < 0) {
			b.Fail(document.CodeRange, "low", "must be from zero to high")
		}
	}
	switch {
	case r.Err() != nil:
	case !(c.tolerance > 0):
		r.Fail(document.CodeRange, "tolerance", "must be above zero")
	case c.nominal < s.low || c.nominal > s.high:
		r.Fail(document.CodeRange, "nominal", "lies outside the range of the instrument")
	}
	s.contacts = append(s.contacts, c)
}

// approach finds the window that the ramps move in.
func (s *switchWork) approach(m *document.Reader) {
	low, high := math.Inf(1), math.Inf(-1)
	least := math.Inf(1)
	bottom, top := math.Inf(1), math.Inf(-1)
	for i := range s.contacts {
		c := &s.contacts[i]
		band := float64(0.2 * math.Abs(c.nominal))
		if c.band != nil {
			band = c.band[1]
		}
		a, b := c.nominal-band, c.nominal
		if !c.rising {
			a, b = c.nominal, c.nominal+band
		}
		margin := float64(approachShare * math.Abs(c.nominal))
		if margin < 2*c.tolerance {
			margin = float64(2 * c.tolerance)
		}
		low, high = smaller(low, a-margin), larger(high, b+margin)
		bottom, top = smaller(bottom, c.nominal), larger(top, c.nominal)
		least = smaller(least, math.Abs(c.nominal))
	}
	if r, ok := m.OptionalObject("approach"); ok {
		percents := r.Has("low_percent")
		if percents {
			low, high = float64(bottom*r.Number("low_percent")/100), float64(top*r.Number("high_percent")/100)
			if low > high {
				low, high = high, low
			}
		} else {
			low, high = r.Number("low"), r.Number("high")
		}
		switch {
		case s.in.Err() != nil:
		case low >= high:
			r.Fail(document.CodeRange, "low", "must lie below high")
		case low < s.low || high > s.high:
			r.Fail(document.CodeRange, "high", "the window leaves the range of the instrument, "+figure(s.low)+" to "+figure(s.high)+" "+s.spelling)
		}
		for i := range s.contacts {
			if c := &s.contacts[i]; s.in.Err() == nil && (c.nominal <= low || c.nominal >= high) {
				r.Fail(document.CodeRange, "low", "the set point of "+c.name+" lies outside the window")
			}
		}
	}
	low, high = larger(low, s.low), smaller(high, s.high)
	if s.rate == 0 {
		if least == 0 {
			least = float64((high - low) / 2)
		}
		s.rate = numeric.RoundSignificant(float64(rampShare*least), 2)
	}
	if s.rateText == "" {
		e, _ := numeric.ExactOf(s.rate)
		s.rateText, _ = e.Text(9)
	}
	s.from, s.to = low, high
	if s.falling() {
		s.from, s.to = high, low
	}
}

// falling says whether every contact is set by falling pressure: its cycles begin above.
func (s *switchWork) falling() bool {
	for i := range s.contacts {
		if s.contacts[i].rising {
			return false
		}
	}
	return true
}

// pressure writes a pressure for a step.
func pressureText(x float64) string {
	e, _ := numeric.ExactOf(numeric.RoundSignificant(x, 6))
	t, _ := e.Text(9)
	return t
}

// event is one change of a contact in the order that a ramp meets it.
type event struct {
	contact *contact
	set     bool
	at      float64 // about where
}

// events lists what happens on a rise or a fall.
func (s *switchWork) events(rise bool) []event {
	var list []event
	for i := range s.contacts {
		c := &s.contacts[i]
		e := event{contact: c, set: c.rising == rise, at: c.nominal}
		if !e.set && c.band != nil {
			half := float64((c.band[0] + c.band[1]) / 2)
			if c.rising {
				e.at -= half
			} else {
				e.at += half
			}
		}
		list = append(list, e)
		for j := len(list) - 1; j > 0 && (list[j-1].at > list[j].at) == rise && list[j-1].at != list[j].at; j-- {
			list[j-1], list[j] = list[j], list[j-1]
		}
	}
	return list
}

func (s *switchWork) steps() {
	s.step(planStep{id: "cautions", do: "note", text: "Make the circuit of the contacts safe first: nothing may start, stop or trip by this test that someone relies on. Tell the control room, note every bypass and take it out again. " +
		"Vent before a joint is opened. Local codes, the owner's proof-test procedure and licensed persons go before this plan."}, 0)
	s.step(planStep{id: "ready", do: "ask", as: "yes", text: "Is the circuit safe, are bypasses noted, and is the contact watched by a meter of its own?"}, secondsToRead)
	for i := range s.contacts {
		c := &s.contacts[i]
		s.step(planStep{id: c.id + ".trace", do: "read", of: "applied", unit: s.spelling, trace: true, optional: true, name: c.name,
			text: c.name + ": a logger's record of pressure and contact over all cycles may stand for the typed values"}, 0)
	}
	first := s.from < s.to
	for k := 1; k <= s.cycles; k++ {
		id := "c" + strconv.Itoa(k)
		s.screen()
		begin := planStep{id: id + ".start", do: "set", target: pressureText(s.from), unit: s.spelling, series: 0, text: "Begin beyond the point, well clear of it, and wait until the contact has gone back."}
		if s.gauge && s.from == 0 {
			begin.do, begin.target, begin.unit = "vent", "", ""
		}
		if k == 1 || s.mixed() || begin.do == "vent" {
			s.step(begin, secondsToSet)
			if s.settle > 0 {
				s.step(planStep{id: id + ".hold", do: "hold", seconds: s.settle}, s.settle)
			}
		}
		s.ramp(id, first, k == 1)
		s.ramp(id, !first, false)
	}
	s.screen()
	s.step(planStep{id: "end.vent", do: "vent", text: "Vent, see zero, and bring circuit and bypasses back as they were."}, secondsToVent)
}

// mixed says whether contacts act both ways.
func (s *switchWork) mixed() bool {
	for i := range s.contacts {
		if s.contacts[i].rising != s.contacts[0].rising {
			return true
		}
	}
	return false
}

func (s *switchWork) ramp(cycle string, rise, first bool) {
	direction, turn := "up", larger(s.from, s.to)
	if !rise {
		direction, turn = "down", smaller(s.from, s.to)
	}
	span := math.Abs(s.to - s.from)
	events := s.events(rise)
	for _, e := range events {
		what, id := "reset", cycle+"."+e.contact.id+".reset"
		if e.set {
			what, id = "set", cycle+"."+e.contact.id+".set"
		}
		s.screen()
		text := "Move slowly until " + e.contact.name + " changes, and stop."
		if first && e.set {
			text += " The first change after a standstill counts: do not exercise the switch before it."
		}
		s.step(planStep{id: id + ".ramp", do: "ramp", way: direction, target: pressureText(turn), unit: s.spelling, rate: s.rateText, until: "contact", name: e.contact.name, text: text}, float64(span/s.rate)/float64(len(events)))
		s.stepBy(planStep{id: id, do: "read", way: direction, of: "applied", unit: s.spelling, name: e.contact.name, text: e.contact.name + ": pressure at its " + what + " point"}, secondsToRead, e.contact.id+".trace", 'p')
	}
}
