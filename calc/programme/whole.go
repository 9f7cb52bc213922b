package programme

import (
	"strconv"

	"gaugewright/calc/energy"
	"gaugewright/calc/leak"
)

// whole checks the programme as a whole: the energy it stores, the leak it must detect, the
// hysteresis it must show.
func (c *checker) whole(steps []Step) {
	f := &c.facts
	if f.Volume > 0 && f.Unit != nil {
		c.stored(steps)
	}
	if f.Leak != nil {
		c.dwell(steps)
	}
	if f.Hysteresis {
		c.hysteresis(steps)
	}
}

// extremes finds the steps that go highest and lowest.
func extremes(steps []Step, highest, lowest *Step) (*Step, *Step) {
	for i := range steps {
		s := &steps[i]
		if s.Target != "" {
			if highest == nil || value(s.Target) > value(highest.Target) {
				highest = s
			}
			if lowest == nil || value(s.Target) < value(lowest.Target) {
				lowest = s
			}
		}
		highest, lowest = extremes(s.Steps, highest, lowest)
		highest, lowest = extremes(s.Else, highest, lowest)
	}
	return highest, lowest
}

func (c *checker) stored(steps []Step) {
	highest, lowest := extremes(steps, nil, nil)
	if highest == nil {
		return
	}
	f := &c.facts
	say := func(s *Step, joules float64, what string) {
		if l := energy.Level(joules); l != "low" {
			c.say("warning", "stored_energy", s, what+" at "+c.figure(s.Target)+" is "+strconv.FormatFloat(joules, 'f', 0, 64)+" J ("+l+
				"): less gas volume or a liquid stores less; keep people away as local rules ask")
		}
	}
	if p := f.absolute(value(highest.Target)); p > f.Ambient {
		say(
			highest,
			energy.Stored(energy.Gas{VolumeM3: f.Volume, Pressure: p, Ambient: f.Ambient, HeatRatio: 1.4}).Isentropic,
			"the energy stored in the gas",
		)
	}
	if p := f.absolute(value(lowest.Target)); p < f.Ambient && p >= 0 {
		say(lowest, energy.Implosion(f.Volume, p, f.Ambient), "the work of the air outside on the evacuated volume")
	}
}

// watch follows how long the pressure is left unchanged between two readings of it.
type watch struct {
	reading bool    // a reading was made since the last change
	held    float64 // s since that reading
	best    float64
	at      *Step
}

func (w *watch) list(steps []Step) {
	for i := range steps {
		s := &steps[i]
		switch {
		case s.moves():
			w.reading, w.held = false, 0
		case s.Do == Hold || s.Do == Settle:
			w.held += value(s.Seconds)
		case s.readsPressure():
			if !w.reading {
				w.reading, w.held = true, 0
			}
			if w.at == nil || w.held > w.best {
				w.best, w.at = w.held, s
			}
		case s.Do == Repeat:
			w.repeat(s)
		case s.Do == If:
			other := *w
			w.list(s.Steps)
			other.list(s.Else)
			if other.best > w.best {
				w.best, w.at = other.best, other.at
			}
			w.reading, w.held = w.reading && other.reading, min(w.held, other.held)
		}
	}
}

// repeat follows the body twice; the passes between them only add their time.
func (w *watch) repeat(s *Step) {
	w.list(s.Steps)
	if s.When != nil || s.Count < 2 {
		return // an "until" may end after one pass
	}
	if !moving(s.Steps) {
		w.held += float64(float64(s.Count-2) * resting(s.Steps))
	}
	w.list(s.Steps)
}

func moving(steps []Step) bool {
	for i := range steps {
		if steps[i].moves() || moving(steps[i].Steps) || moving(steps[i].Else) {
			return true
		}
	}
	return false
}

// resting returns the time that steps without a change take at least.
func resting(steps []Step) float64 {
	t := 0.0
	for i := range steps {
		s := &steps[i]
		switch s.Do {
		case Hold, Settle:
			t += value(s.Seconds)
		case Repeat:
			n := 1
			if s.When == nil {
				n = s.Count
			}
			t += float64(float64(n) * resting(s.Steps))
		case If:
			t += min(resting(s.Steps), resting(s.Else))
		}
	}
	return t
}

func (c *checker) dwell(steps []Step) {
	f := &c.facts
	need := leak.Dwell(f.Volume, f.Leak.Sigma, f.Leak.Limit, f.Leak.Interval, f.Leak.Factor)
	w := &watch{}
	w.list(steps)
	if w.at == nil {
		w.at = &Step{Line: 1}
	}
	if w.best < need {
		c.say("warning", "dwell_short", w.at, "the pressure is watched for "+shown(w.best)+" s at most; a leak at the limit needs "+strconv.FormatFloat(need, 'f', 1, 64)+
			" s between the first reading and the last to be seen")
	}
}

// point is one reading of the gauge at a set pressure.
type point struct {
	x    float64
	text string
	up   bool
	at   *Step
}

// visited lists the set pressures at which the gauge is read, each with its direction of approach,
// in the order written.
type visited struct {
	points []point
	now    point
	fresh  bool // reached by a set, and not read yet
}

func (v *visited) list(steps []Step) {
	for i := range steps {
		s := &steps[i]
		switch {
		case s.Do == Set:
			x := value(s.Target)
			up := x > v.now.x || x == v.now.x && v.now.up
			v.now, v.fresh = point{x, s.Target, up, s}, true
		case s.moves():
			v.now, v.fresh = point{up: true}, false
		case s.Do == Read && s.From == "gauge" && v.fresh:
			v.points = append(v.points, v.now)
			v.fresh = false
		}
		v.list(s.Steps)
		v.list(s.Else)
	}
}

func (c *checker) hysteresis(steps []Step) {
	v := &visited{now: point{x: c.facts.base(), up: true}}
	v.list(steps)
	if len(v.points) == 0 {
		c.say("warning", "no_matching_point", &Step{Line: 1}, "the hysteresis is wanted, but no point is read")
		return
	}
	low, high := v.points[0].x, v.points[0].x
	ways := map[float64][2]bool{}
	for _, p := range v.points {
		low, high = min(low, p.x), max(high, p.x)
		w := ways[p.x]
		if p.up {
			w[0] = true
		} else {
			w[1] = true
		}
		ways[p.x] = w
	}
	down := false
	for _, p := range v.points {
		down = down || !p.up
	}
	if !down {
		c.say(
			"warning", "no_matching_point", v.points[len(v.points)-1].at,
			"the hysteresis is wanted, but no point is read on the way down",
		)
		return
	}
	for _, p := range v.points {
		if w := ways[p.x]; p.x != low && p.x != high && w[0] != w[1] {
			way, other := "up", "down"
			if !p.up {
				way, other = other, way
			}
			c.say(
				"warning", "no_matching_point", p.at,
				c.figure(p.text)+" is read on the way "+way+" but not on the way "+other+", so it has no hysteresis",
			)
		}
	}
}
