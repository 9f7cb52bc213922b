package leaktest

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// doubtsOfLeak lays out a leak test and returns the doubts about a value that is about to be kept.
func doubtsOfLeak(in *document.Reader, e *work.Entry, kept []work.Entry) ([]work.Doubt, error) {
	l, err := layLeakTest(in, nil)
	if err != nil {
		return nil, err
	}
	return l.speaks(e, kept), nil
}

// speaks returns the doubts about a value of a leak test. It refuses an air pressure or a
// temperature that exists nowhere. It asks about a first reading that is not at the test pressure,
// and refuses a record that begins so.
func (l *leakWork) speaks(e *work.Entry, kept []work.Entry) []work.Doubt {
	if !e.Number {
		return nil
	}
	for i := range l.phases {
		n := &l.phases[i]
		for k := 1; k <= n.runs; k++ {
			switch id := n.run(k); e.Step {
			case id + ".t0", id + ".t1":
				if why := work.NoSystem(e.X); why != "" {
					return work.DoubtOf(work.LevelRefuse, work.StopPlace, why)
				}
			case id + ".b0", id + ".b1":
				if why := work.NoPressure(e.X, e.Height, e.HasHeight); why != "" {
					return work.DoubtOf(work.LevelRefuse, work.StopPlace, why)
				}
			case id:
				return l.begins(n, e, kept)
			}
		}
	}
	return nil
}

func (l *leakWork) begins(n *leakPhase, e *work.Entry, kept []work.Entry) []work.Doubt {
	level := work.LevelRefuse
	if e.Of != "trace" {
		level = work.LevelAsk
		for i := len(kept) - 1; i >= 0; i-- {
			if kept[i].Step == e.Step && kept[i].Of == e.Of {
				return n.follows(e, &kept[i])
			}
		}
	}
	first, _ := n.in(e)
	if why := l.away(n, first); why != "" {
		return work.DoubtOf(level, work.StopPressure, why)
	}
	return nil
}

// follows asks about a reading that is far from the one before it: between readings a pressure
// changes little, a slipped decimal point much.
func (n *leakPhase) follows(e, before *work.Entry) []work.Doubt {
	most := float64(work.FarShare * math.Abs(n.pressure))
	x, unit := n.in(e)
	old, was := n.in(before)
	if !e.Number || !before.Number || unit.Name == "" || was.Name == "" || math.Abs(x-old) <= most {
		return nil
	}
	if unit.Name != n.unit.Name { // the suggestion is in the typed unit
		old, most = unit.FromSI(n.unit.ToSI(old)), unit.FromInterval(n.unit.Interval(most))
	}
	return []work.Doubt{{
		Level: work.LevelAsk, Code: "far", Message: "this is far from the reading before it. Is a digit missing?",
		Suggest: work.Slipped(e.Text, old, float64(most/2)),
	}}
}

// in returns a value in the phase's unit, and the unit in which it was typed; a zero unit if that
// is no pressure.
func (n *leakPhase) in(e *work.Entry) (float64, units.Unit) {
	u, ok := units.Find(e.Unit)
	switch {
	case !ok || u.Kind != n.unit.Kind:
		return e.X, units.Unit{}
	case u.Name == n.unit.Name:
		return e.X, u
	}
	return n.unit.FromSI(u.ToSI(e.X)), u
}
