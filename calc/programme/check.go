package programme

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Finding is one result of the check of a programme. An error means that someone could be hurt,
// something damaged, or a step could not be done; a warning means that a result could be poor.
type Finding struct {
	Level   string // "error" or "warning"
	Code    string
	Line    int
	Message string
}

// Report is the outcome of a check.
type Report struct {
	Findings []Finding // by line
	Duration float64   // s, in the worst case; people's own time is not counted
	Partial  bool      // some rates are not known, and Duration leaves their time out
}

type checker struct {
	facts  Facts
	report Report
	said   map[saying]bool
	kinds  map[string]string // for each name, the kind of its value
}

type saying struct {
	line int
	code string
	at   *Step
}

//go:noinline
func (c *checker) say(level, code string, s *Step, message string) {
	key := saying{s.Line, code, s}
	if c.said[key] {
		return
	}
	c.said[key] = true
	c.report.Findings = append(c.report.Findings, Finding{level, code, s.Line, message})
}

// Check finds the faults of a programme before it is run.
//
// Takes:   steps as Parse gives them, and what is known about instrument, standard and set-up.
// Gives:   findings by line, and the longest time that the steps themselves can take.
// Limits:  every branch counts as possible; conditions are not weighed.
func Check(steps []Step, f Facts) Report {
	c := &checker{facts: f, said: map[saying]bool{}, kinds: map[string]string{}}
	c.unit(steps)
	if f.Instrument == nil && f.Standard == nil {
		c.say(
			"warning", "no_limits", &Step{Line: 1},
			"neither the instrument nor the standard is known, so no pressure or rate is compared with them",
		)
	}
	c.collect(steps)
	c.each(steps)
	c.names(steps)
	c.flow(steps)
	c.whole(steps)
	c.report.Findings = byLine(c.report.Findings)
	return c.report
}

// byLine sorts findings by line; those of one line stay in the order in which they were found. (The
// standard library's sorts take 40 kB of the phone's module.)
func byLine(list []Finding) []Finding {
	last := 0
	for _, f := range list {
		last = max(last, f.Line)
	}
	place := make([]int, last+2) // where the findings of each line begin
	for _, f := range list {
		place[f.Line+1]++
	}
	for i := 1; i < len(place); i++ {
		place[i] += place[i-1]
	}
	sorted := make([]Finding, len(list))
	for _, f := range list {
		sorted[place[f.Line]] = f
		place[f.Line]++
	}
	return sorted
}

func (c *checker) unit(steps []Step) {
	at := &Step{Line: 1}
	if len(steps) > 0 && steps[0].Do == Unit {
		at = &steps[0]
		c.declare(at)
	}
	if c.facts.Unit == nil && at.Unit == "" {
		c.say("error", "unit_unknown", at, "no unit is said: begin with a line such as unit kPa gauge")
	}
	of := ""
	if c.facts.Instrument != nil {
		of = c.facts.Instrument.Mode
	}
	switch {
	case c.facts.Mode == "" && of == "absolute":
		c.say("warning", "mode_unsaid", at, "it is not said whether pressures are gauge or absolute; they are taken as absolute, which the instrument shows")
		c.facts.Mode = of
	case c.facts.Mode == "":
		c.say(
			"warning", "mode_unsaid", at,
			"it is not said whether pressures are gauge or absolute; they are taken as gauge",
		)
	case of != "" && of != c.facts.Mode:
		c.say(
			"error", "unit_conflict", at,
			"the programme is in "+c.facts.Mode+" pressure, but the instrument shows "+of+" pressure",
		)
	}
}

func (c *checker) declare(s *Step) {
	u, ok := units.Find(s.Unit)
	switch {
	case !ok:
		c.say("error", "unit_unknown", s, short(s.Unit)+" is not a unit known here")
	case u.Kind != units.Pressure:
		c.say("error", "unit_unknown", s, short(s.Unit)+" is a unit of "+string(u.Kind)+", not of pressure")
	case c.facts.Unit == nil:
		c.facts.Unit = &u
	case c.facts.Unit.Name != u.Name:
		c.say(
			"error", "unit_conflict", s,
			"the programme is in "+u.Name+", but instrument and standard are given in "+c.facts.Unit.Name,
		)
	}
	switch {
	case s.Mode == "":
	case c.facts.Mode == "":
		c.facts.Mode = s.Mode
	case c.facts.Mode != s.Mode:
		c.say("error", "unit_conflict", s, "the programme is in "+s.Mode+" pressure, but instrument and standard are given in "+c.facts.Mode+" pressure")
	}
}

// figure writes a pressure with its unit.
//
//go:noinline
func (c *checker) figure(text string) string {
	if c.facts.Unit == nil {
		return text
	}
	return text + " " + c.facts.Unit.Name
}

//go:noinline
func shown(x float64) string { return string(document.AppendNumber(nil, x)) }

// value returns the number of a decimal text that Parse has accepted.
func value(text string) float64 {
	x, _ := document.Float(text)
	return x
}

// each compares every step by itself with the facts.
func (c *checker) each(steps []Step) {
	for i := range steps {
		s := &steps[i]
		switch s.Do {
		case Set, Ramp, Exercise:
			c.target(s)
		case Settle:
			if value(s.AtMost) < value(s.Seconds) {
				c.say(
					"error", "settle_never", s,
					"the wait of at most "+s.AtMost+" s ends before the "+s.Seconds+" s at rest can have passed",
				)
			}
		case Repeat:
			if s.When != nil && s.Count == 0 {
				c.say(
					"error", "unbounded", s,
					"the repeat has no end if its condition never comes true: say , at most and a number",
				)
			}
		}
		if (s.Do == If || s.Do == Repeat) && len(s.Steps)+len(s.Else) == 0 {
			c.say("warning", "empty_branch", s, "this leads to nothing: there is no step in its braces")
		}
		if s.Rate != "" {
			c.rate(s)
		}
		if s.When != nil {
			if !c.sound(s.When) && c.gives(s, s.When) == givesNumber {
				c.say(
					"error", "not_a_condition", s,
					"the condition "+short(s.When.String())+" is a number; compare it with something",
				)
			}
			if s.When.divides {
				c.zero(s, s.When)
			}
		}
		c.each(s.Steps)
		c.each(s.Else)
	}
}

func (c *checker) target(s *Step) {
	f := &c.facts
	p, ok := numeric.ParseExact(s.Target)
	if !ok {
		c.say("error", "limit", s, "the number "+s.Target+" is too long or its exponent too large")
		return
	}
	x := value(s.Target)
	vacuum := x < f.base()
	if f.Unit != nil && f.absolute(x) < 0 {
		c.say("error", "below_absolute_zero", s, c.figure(s.Target)+" is below absolute zero")
	}
	scale := true // the instrument's range applies, unless a vacuum is allowed or barred explicitly
	if f.Instrument != nil && vacuum {
		may := f.Instrument.Low.Value < f.base()
		scale = may
		if f.AllowsVacuum != nil {
			may, scale = *f.AllowsVacuum, false
		}
		if !may {
			c.say("error", "vacuum", s, c.figure(s.Target)+" is a vacuum, which the instrument does not allow")
		}
	}
	outside := func(r *Range, code, of string) {
		if r == nil {
			return
		}
		side := ""
		switch {
		case p.Cmp(r.High.Exact) > 0:
			side = "above"
		case p.Cmp(r.Low.Exact) < 0:
			side = "below"
		default:
			return
		}
		c.say(
			"error", code, s,
			c.figure(s.Target)+" is "+side+" the range of the "+of+" ("+r.Low.Text+" to "+c.figure(r.High.Text)+")",
		)
	}
	if scale {
		outside(f.Instrument, "outside_instrument", "instrument")
	}
	outside(f.Standard, "outside_standard", "standard")
	if f.Weakest != nil && p.Cmp(f.Weakest.Exact) > 0 {
		c.say(
			"error", "above_weakest", s,
			c.figure(s.Target)+" is above what the weakest part withstands: "+f.WeakestPart+", "+c.figure(f.Weakest.Text),
		)
	}
	if f.Relief != nil && p.Cmp(f.Relief.Exact) >= 0 {
		c.say("error", "above_relief", s, c.figure(s.Target)+" reaches the relief setting of "+c.figure(f.Relief.Text))
	}
}

func (c *checker) rate(s *Step) {
	f := &c.facts
	rate, ok := numeric.ParseExact(s.Rate)
	if !ok {
		c.say("error", "limit", s, "the number "+s.Rate+" is too long or its exponent too large")
		return
	}
	fast := func(r *Range, code, of string) {
		if r != nil && r.MaxRate != nil && rate.Cmp(r.MaxRate.Exact) > 0 {
			c.say(
				"error", code, s,
				c.figure(s.Rate)+"/s is faster than the "+of+" takes ("+c.figure(r.MaxRate.Text)+"/s)",
			)
		}
	}
	fast(f.Instrument, "rate_instrument", "instrument")
	fast(f.Standard, "rate_standard", "standard")
	if s.Do != Ramp || s.Until != "contact" {
		return
	}
	text := s.Target
	if f.Nominal != nil {
		text = f.Nominal.Text
	}
	if nominal, ok := numeric.ParseExact(text); ok && rate.Mul(numeric.ExactInt(100)).Cmp(nominal.Abs()) > 0 {
		c.say("warning", "rate_near_switch", s, c.figure(s.Rate)+"/s is more than 1 % of the set point in a second ("+c.figure(shown(value(text)/100))+"/s)")
	}
	if f.Tolerance != nil && f.Interval != nil {
		// half step = rate·interval/2, and may be tolerance/10
		if rate.Mul(f.Interval.Exact).Mul(numeric.ExactInt(5)).Cmp(f.Tolerance.Exact) > 0 {
			half := float64(value(s.Rate) * f.Interval.Value / 2)
			c.say("warning", "sampling", s, "between two samples the pressure runs on; half a step is "+c.figure(shown(half))+
				", more than a tenth of the tolerance ("+c.figure(shown(f.Tolerance.Value/10))+")")
		}
	}
}

// collect notes the kind of value of each name.
func (c *checker) collect(steps []Step) {
	for i := range steps {
		s := &steps[i]
		if s.Name != "" {
			kind := "number"
			if s.Do == Ask {
				kind = s.As
			}
			switch was := c.kinds[s.Name]; was {
			case "":
				c.kinds[s.Name] = kind
			case kind:
			default:
				c.say("error", "name_kind", s, s.Name+" holds a "+was+" elsewhere and a "+kind+" here; use two names")
			}
		}
		c.collect(s.Steps)
		c.collect(s.Else)
	}
}

// sound reports whether every part of a condition has the type that its place needs; gives finds
// the parts that do not.
func (c *checker) sound(e *Expr) bool {
	if e.odd {
		return false
	}
	for _, name := range e.names {
		if k := c.kinds[name.Text]; !(name.wanted == givesNumber && k == "number" || name.wanted == givesYesNo && k == "yes") {
			return false
		}
	}
	return true
}

// gives returns the type of an expression, and reports each part whose type does not fit its place.
func (c *checker) gives(s *Step, e *Expr) gives {
	switch e.rank {
	case rankNumber:
		return givesNumber
	case rankName:
		switch k := c.kinds[e.Text]; k {
		case "number":
			return givesNumber
		case "yes":
			return givesYesNo
		case "text", "photo":
			c.say("error", "name_kind", s, e.Text+" holds a "+k+", with which nothing can be calculated")
		}
		return givesFault
	}
	want := e.takes()
	for _, a := range e.Args {
		switch k := c.gives(s, a); {
		case k == givesFault || k == want:
		case want == givesYesNo:
			c.say("error", "not_a_condition", s, short(a.String())+" is a number, but "+e.Op+" joins conditions")
		default:
			c.say("error", "name_kind", s, short(a.String())+" is yes or no, with which "+e.Op+" cannot calculate")
		}
	}
	return e.gives()
}

// zero finds divisions by an expression that is zero whatever is read.
func (c *checker) zero(s *Step, e *Expr) {
	if e.Op == "/" {
		x, err := e.Args[1].Eval(func(string) (float64, bool) { return 0, false })
		if err == nil && x == 0 {
			c.say("error", "divide_by_zero", s, short(e.String())+" divides by zero")
		}
	}
	for _, a := range e.Args {
		c.zero(s, a)
	}
}

// opening are stems of words for actions that must not be done to a joint under pressure.
var opening = []string{"disconnect", "connect", "reconnect", "open", "reopen", "remov", "loosen", "unscrew", "undo", "undid", "detach", "unplug", "uncoupl", "slacken", "tighten", "retighten",
	"dismount", "dismantl", "unbolt", "unseal", "exchang", "replac"}

// opens reports whether a text asks to open, change or tighten a joint.
func opens(text string) bool { return mentions(text, opening) }

// mentions reports whether a word of the text begins with one of the stems. It does not count right
// after a "not", "never" or "without".
func mentions(text string, stems []string) bool {
	before := ""
	for text != "" {
		end := 0
		for end < len(text) && (letter(text[end]) || text[end] == '\'') {
			end++
		}
		if end == 0 {
			text = text[1:]
			continue
		}
		w := lower(text[:end])
		text = text[end:]
		for _, stem := range stems {
			if len(w) >= len(stem) && w[:len(stem)] == stem &&
				!contains([]string{"not", "never", "without", "don't"}, before) {
				return true
			}
		}
		before = w
	}
	return false
}

// lower turns ASCII capitals into lower case.
func lower(s string) string {
	b := []byte(s)
	for i, c := range b {
		if c >= 'A' && c <= 'Z' {
			b[i] = c + 'a' - 'A'
		}
	}
	return string(b)
}
