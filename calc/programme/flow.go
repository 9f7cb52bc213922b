package programme

import (
	"math"
)

// state is what is known about the system between two steps, whichever path led there.
type state struct {
	dead     bool    // no path leads here
	vented   bool    // vented and confirmed on every path
	zeroed   bool    // vented once on every path
	settled  bool    // at rest since the last change on every path
	shield   bool    // the shield was acknowledged on every path, and no joint touched since
	low      float64 // range of possible pressures
	high     float64
	duration float64 // longest time to here, s
}

//go:noinline
func join(a, b state) state {
	if a.dead {
		return b
	}
	if b.dead {
		return a
	}
	return state{
		vented: a.vented && b.vented, zeroed: a.zeroed && b.zeroed, settled: a.settled && b.settled, shield: a.shield && b.shield,
		low: min(a.low, b.low), high: max(a.high, b.high), duration: max(a.duration, b.duration),
	}
}

// flow follows every path at once and checks each step with the state before it.
func (c *checker) flow(steps []Step) {
	f := &follower{c: c, base: c.facts.base()}
	if most := c.facts.maxRate(); most != nil {
		f.rate, f.rated = most.Value, true
	}
	known := !c.facts.Unknown
	s := f.list(steps, state{vented: known, zeroed: known, settled: known, low: f.base, high: f.base})
	if !s.dead {
		last := &Step{Line: 1}
		if len(steps) > 0 {
			last = &steps[len(steps)-1]
		}
		f.ends(last, s)
	}
	c.report.Duration, c.report.Partial = f.longest, f.partial
}

type follower struct {
	c             *checker
	base          float64
	rate          float64
	rated         bool
	partial       bool
	longest       float64 // s, of the paths that have ended
	ended         bool    // a path has ended since it was last set to false
	endedDuration float64 // the longest of those
}

func (f *follower) ends(s *Step, at state) {
	if !at.vented {
		f.c.say(
			"error", "not_vented", s,
			"the programme can end here without the system being vented and confirmed; put a vent before",
		)
	}
	f.ended = true
	f.endedDuration = max(f.endedDuration, at.duration)
	f.longest = max(f.longest, at.duration)
}

func (f *follower) list(steps []Step, s state) state {
	for i := range steps {
		if s.dead {
			f.c.say("warning", "unreachable", &steps[i], "no way leads here: the programme has stopped before")
			return s
		}
		s = f.step(&steps[i], s)
	}
	return s
}

// change returns the longest time that a change to p can take.
func (f *follower) change(s state, p float64, rate string) float64 {
	r := f.rate
	if rate != "" {
		r = value(rate)
	} else if !f.rated {
		f.partial = true
		return 0
	}
	return max(math.Abs(p-s.low), math.Abs(p-s.high)) / r
}

func (f *follower) step(step *Step, s state) state {
	switch step.Do {
	case Set, Ramp:
		return f.move(step, s)
	case Hold:
		s.duration += value(step.Seconds)
		s.settled = true
	case Settle:
		s.duration += max(value(step.AtMost), value(step.Seconds))
		late := s
		late.settled = false
		s.settled = true
		if len(step.Else) > 0 {
			s = join(s, f.list(step.Else, late))
		}
	case Read:
		f.read(step, s)
	case Ask, Note:
		f.asked(step, &s)
	case Exercise:
		p := value(step.Target)
		s.duration += f.change(s, p, "") + f.change(state{low: p, high: p}, f.base, "") +
			float64(float64(2*(step.Count-1))*f.change(state{low: f.base, high: f.base}, p, ""))
		s.low, s.high = f.base, f.base
		s.vented, s.settled = false, false
	case Vent:
		if s.low != f.base || s.high != f.base {
			s.duration += f.change(s, f.base, "")
		}
		s.low, s.high = f.base, f.base
		s.vented, s.zeroed, s.settled = true, true, false
	case Repeat:
		return f.repeat(step, s)
	case If:
		yes := f.list(step.Steps, s)
		return join(yes, f.list(step.Else, s))
	case Stop:
		f.ends(step, s)
		s.dead = true
	}
	return s
}

func (f *follower) move(step *Step, s state) state {
	p := value(step.Target)
	if step.Do == Ramp && step.Until == "drop" && !s.shield {
		f.c.say("error", "no_shield", step, `a burst needs the shield acknowledged on every way to it, after the last change at a joint: ask "… shield …" as yes`)
	}
	s.duration += f.change(s, p, step.Rate)
	s.vented, s.settled = false, false
	reached := s
	reached.low, reached.high = p, p
	if step.Do == Set {
		return reached
	}
	s.low, s.high = min(s.low, p), max(s.high, p)
	if step.Until == "drop" {
		s.low, s.high = min(s.low, f.base), max(s.high, f.base)
	}
	if len(step.Else) > 0 {
		return join(s, f.list(step.Else, reached))
	}
	return s
}

func (f *follower) read(step *Step, s state) {
	if !step.readsPressure() {
		return
	}
	if !s.settled {
		f.c.say(
			"warning", "no_settling", step, "the pressure was changed and is read without a hold or settle in between",
		)
	}
	if !s.zeroed {
		f.c.say("warning", "no_zero_check", step, "a reading before the first vent: the zero is not confirmed")
	}
}

func (f *follower) asked(step *Step, s *state) {
	if opens(step.Text) {
		if !s.vented {
			f.c.say(
				"error", "open_under_pressure", step,
				"this asks for work on a joint while the system can be under pressure; vent before it",
			)
		}
		s.shield = false
	}
	if step.Do == Ask && step.As == "yes" && step.Name == "" && mentions(step.Text, []string{"shield"}) {
		s.shield = true
	}
}

// repeat follows the body from the state before it and once more from the state after it; further
// passes find nothing new, because every part of the state is either left alone, set, or widened by
// a step.
func (f *follower) repeat(step *Step, s state) state {
	n := step.Count
	if n == 0 {
		n = 2 // it states no end, which another check reports: two passes show every change
	}
	before := *f
	f.ended, f.endedDuration = false, 0
	first := f.list(step.Steps, s)
	once, rest := first, 0.0
	last := first
	if n > 1 && !first.dead {
		last = f.list(step.Steps, first)
		if !last.dead {
			rest = float64(float64(n-2) * (last.duration - first.duration))
			last.duration += rest
		}
	}
	if f.ended { // a path that ends in the last pass
		f.longest = max(f.longest, f.endedDuration+rest)
		f.endedDuration += rest
	}
	f.ended, f.endedDuration = f.ended || before.ended, max(f.endedDuration, before.endedDuration)
	if step.When == nil {
		return last
	}
	end := join(once, last)
	if len(step.Else) > 0 {
		end = join(end, f.list(step.Else, last))
	}
	return end
}
