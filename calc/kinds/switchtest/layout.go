package switchtest

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/work"
)

// contact is one contact of a pressure switch.
type contact struct {
	id, name, safe     string
	rising             bool // set on rising pressure
	nominal, tolerance float64
	band               []float64
	safety             bool
}

// switchWork is the layout of a switch test.
type switchWork struct {
	*work.Layout
	contacts        []contact
	cycles          int
	from, to        float64 // the pressures where cycles begin and turn
	rate            float64 // per second
	rateText        string
	rateStated      bool
	latency, bounce float64
	debounce        int
	settle          float64
}

func expand(in *document.Reader, p *work.Plan) error {
	s, err := laySwitch(in, p)
	if err != nil {
		return err
	}
	p.Circuit = true
	for i := range s.contacts {
		p.Once = p.Once || s.contacts[i].safety
	}
	return nil
}

// Bounds and defaults of a switch test. If the method states nothing, the approach is that of
// MIL-DTL-28788C 4.7.4.1 (10 % around the point, 1 % of it a second).
const (
	approachShare = 0.1
	rampShare     = 0.01
)

// laySwitch reads a switch's method and contacts, and writes the plan.
func laySwitch(in *document.Reader, p *work.Plan) (*switchWork, error) {
	s := &switchWork{Layout: work.NewLayout(in, p)}
	list := s.Parts.List("contacts")
	if s.Parts.Err() == nil && (len(list) == 0 || len(list) > 4) {
		s.Parts.Fail(document.CodeRange, "contacts", "from 1 to 4 contacts are needed")
	}
	if err := s.Parts.Err(); err != nil && in.Err() == nil { // the fault of absent particulars
		return nil, document.Refuse(
			document.CodeMissing, "instrument.particulars.contacts",
			"the contacts of the switch are missing",
		)
	}
	for i, r := range list {
		s.contact(i, r)
	}
	m := s.Method
	s.cycles = m.WholeOr("cycles", 1, 50, 3)
	s.latency = s.Seconds(m, "latency_s", 0)
	s.bounce = s.Seconds(m, "bounce_window_s", 0.5)
	s.debounce = m.WholeOr("debounce_samples", 1, 1000, 3)
	s.settle = s.Seconds(m, "settle_s", 0)
	if d, ok := m.OptionalDecimal("rate"); ok {
		s.rate, s.rateText, s.rateStated = d.Value, d.Text, true
		if in.Err() == nil && d.Value <= 0 {
			m.Fail(document.CodeRange, "rate", "must be above zero")
		}
	}
	if in.Err() != nil {
		return nil, in.Err()
	}
	s.approach(m)
	if p != nil && p.Label == "repeat" {
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
	case c.nominal < s.Low || c.nominal > s.High:
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
		low, high = min(low, a-margin), max(high, b+margin)
		bottom, top = min(bottom, c.nominal), max(top, c.nominal)
		least = min(least, math.Abs(c.nominal))
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
		case s.In.Err() != nil:
		case low >= high:
			r.Fail(document.CodeRange, "low", "must lie below high")
		case low < s.Low || high > s.High:
			r.Fail(document.CodeRange, "high", "the window leaves the range of the instrument, "+work.Figure(s.Low)+" to "+work.Figure(s.High)+" "+s.Spelling)
		}
		for i := range s.contacts {
			if c := &s.contacts[i]; s.In.Err() == nil && (c.nominal <= low || c.nominal >= high) {
				r.Fail(document.CodeRange, "low", "the set point of "+c.name+" lies outside the window")
			}
		}
	}
	low, high = max(low, s.Low), min(high, s.High)
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

// falling reports whether every contact is set by falling pressure: its cycles begin above.
func (s *switchWork) falling() bool {
	for i := range s.contacts {
		if s.contacts[i].rising {
			return false
		}
	}
	return true
}

// event is one change of a contact on a ramp.
type event struct {
	contact *contact
	set     bool
	at      float64 // expected pressure
}

// events lists the changes on a rise or a fall, in the order in which the ramp meets them.
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
	s.Step(work.Step{ID: "cautions", Do: "note", Text: "Make the circuit of the contacts safe first: nothing may start, stop or trip by this test that someone relies on. Tell the control room, note every bypass and take it out again. " +
		"Vent before a joint is opened. Local codes, the owner's proof-test procedure and licensed persons go before this plan."}, 0)
	s.Step(work.Step{ID: "ready", Do: "ask", As: "yes", Text: "Is the circuit safe, are bypasses noted, and is the contact watched by a meter of its own?",
		MakeSafe: "Do not move the pressure: a trip may act, or fail to act. Leave the switch isolated and vented. Tell the control room. Then make the circuit safe and note every bypass."}, work.SecondsToRead)
	for i := range s.contacts {
		c := &s.contacts[i]
		s.Step(work.Step{ID: c.id + ".trace", Do: "read", Of: "applied", Unit: s.Spelling, Trace: true, Optional: true, Name: c.name,
			Text: c.name + ": a logger's record of pressure and contact over all cycles may stand for the typed values"}, 0)
	}
	first := s.from < s.to
	for k := 1; k <= s.cycles; k++ {
		id := "c" + strconv.Itoa(k)
		s.Screen()
		begin := work.Step{
			ID: id + ".start", Do: "set", Way: "up", Target: work.PressureText(s.from), Unit: s.Spelling,
			Series:  0,
			Text:    "The cycle begins here, well clear of the set point: wait until the contact has gone back.",
			Figures: s.nth(k),
		}
		if k > 1 && first || k == 1 && s.Absolute(s.from) < s.Ambient {
			begin.Way = "down"
		}
		if s.Gauge && s.from == 0 {
			begin.Do, begin.Way, begin.Target, begin.Unit = "vent", "", "", ""
		}
		if k == 1 || s.mixed() || begin.Do == "vent" {
			s.Step(begin, work.SecondsToSet)
			if s.settle > 0 {
				s.Step(work.Step{ID: id + ".hold", Do: "hold", Seconds: s.settle}, s.settle)
			}
		}
		s.ramp(k, first)
		s.ramp(k, !first)
	}
	s.Screen()
	s.Step(
		work.Step{
			ID: "end.vent", Do: "vent", Text: "Vent, see zero, and bring circuit and bypasses back as they were.",
		},
		work.SecondsToVent,
	)
}

// mixed reports whether contacts act both ways.
func (s *switchWork) mixed() bool {
	for i := range s.contacts {
		if s.contacts[i].rising != s.contacts[0].rising {
			return true
		}
	}
	return false
}

// nth returns the figures that show the number of the cycle.
func (s *switchWork) nth(k int) *work.Figures {
	return &work.Figures{Cycle: k, Cycles: s.cycles, CycleOf: "cycle"}
}

// held returns what is shown with a contact's change: the limits of its set point, or the dead band
// that its reset follows.
func (s *switchWork) held(k int, c *contact, set bool) *work.Figures {
	f := s.nth(k)
	if set {
		f.About, f.Off = c.nominal, c.tolerance
		f.Expected = work.PressureText(c.nominal)
		f.Low, f.High = work.SpanOf(c.nominal, c.tolerance)
	} else if c.band != nil {
		f.BandLow, f.BandHigh = work.PressureText(c.band[0]), work.PressureText(c.band[1])
	}
	return f
}

// ramp moves through the window one way, with a stop at each change.
func (s *switchWork) ramp(k int, rise bool) {
	cycle := "c" + strconv.Itoa(k)
	direction, move, turn, other := "up", work.MoveRaise, max(s.from, s.to), min(s.from, s.to)
	if !rise {
		direction, move, turn, other = "down", work.MoveLower, other, turn
	}
	span := math.Abs(s.to - s.from)
	events := s.events(rise)
	for i, e := range events {
		what, id := "reset", cycle+"."+e.contact.id+".reset"
		if e.set {
			what, id = "set", cycle+"."+e.contact.id+".set"
		}
		s.Screen()
		acts := " resets"
		if e.set {
			acts = " acts"
		}
		text := "Slowly, until " + e.contact.name + acts + ", and stop."
		if k == 1 && e.set && rise == (s.from < s.to) {
			text += " The first change after a standstill counts: do not exercise the switch before it."
		}
		held := s.held(k, e.contact, e.set)
		ramp := *held
		ramp.Move, ramp.From = move, work.PressureText(other)
		if i > 0 {
			ramp.From = "" // starts where the previous contact changed
		}
		s.Step(
			work.Step{
				ID: id + ".ramp", Do: "ramp", Figures: &ramp, Way: direction,
				Target: work.PressureText(turn), Unit: s.Spelling, Rate: s.rateText, Until: "contact",
				Name: e.contact.name, Text: text,
			},
			float64(span/s.rate)/float64(len(events)),
		)
		s.StepBy(
			work.Step{
				ID: id, Do: "read", Way: direction, Of: "applied", Unit: s.Spelling, Name: e.contact.name,
				Text: e.contact.name + ": pressure at its " + what + " point", Figures: held,
			},
			work.SecondsToRead, e.contact.id+".trace", 'p',
		)
	}
}
