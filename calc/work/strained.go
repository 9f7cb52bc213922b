package work

import (
	"math"

	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// noiseShare is how far beyond a part's bound a reading may be before the part counts as strained:
// two gauges on one line differ by about this share of the bound. Common practice, no source.
const noiseShare = 0.01

// bounds are the limits of one thing on the line, in a unit. An infinite end means no limit.
type bounds struct {
	unit      units.Unit
	low, high float64
	part      string // "" for the instrument's own range or its overload limit
	overload  bool   // its overload limit
	bears     bool   // of the range: above its end the overload limit says what is strained
}

// Strained says what a value that is about to be kept may have harmed: the instrument, beyond its
// overload limit or, where nobody knows that, its range; the weakest part on the line, beyond what it
// bears; a gauge beside it on a manifold, above the lowest range; a system, above its relief. It is asked
// about first, and stops the work where whoever reads it is sure. A signal strains nothing, nor does
// what is only asked.
func Strained(in *document.Reader, e *Entry) []Doubt {
	unit, ok := units.Find(e.Unit)
	if !ok || !e.Number || e.Of == "answer" || e.Of == "trace" {
		return nil
	}
	level, code := LevelAsk, "outside_range"
	if e.Sure {
		level, code = LevelStop, "over_range"
	}
	x := unit.ToSI(e.X)
	if hpa, beside := in.Optional("air_hpa"); beside && e.Of == "applied" && unit.Kind == units.Pressure {
		x += float64(100 * hpa) // a gauge standard beside an absolute instrument
	}
	for _, b := range bearing(in) {
		switch {
		case b.unit.Kind != unit.Kind || (b.unit.Name == "ft/min") != (unit.Name == "ft/min"):
		case x >= b.unit.ToSI(b.low) && x <= b.unit.ToSI(b.high):
		case b.overload:
			return DoubtOf(level, code, "this is beyond the instrument's overload limit: it may be strained, and so may everything on the line")
		case b.bears && e.Sure && x > b.unit.ToSI(b.high):
		case b.part != "":
			return DoubtOf(level, code, "this is beyond the limit of "+b.part+": it may be strained, and so may everything on the line")
		case e.Sure:
			return DoubtOf(level, code, "this lies beyond the instrument's range: it may be strained, and so may everything on the line")
		default:
			return DoubtOf(level, code, "this lies outside the instrument's range")
		}
	}
	return nil
}

// bearing lists the limits of what is under the pressure, the weakest part before the instrument.
func bearing(in *document.Reader) []bounds {
	none, all := math.Inf(1), math.Inf(-1)
	it := document.Open(*in.RawObject("instrument")) // the kind reports its faults
	own, ok := units.Find(it.TextOr("unit", ""))
	if !ok {
		return nil
	}
	var list []bounds
	add := func(unit units.Unit, low, high, more float64, part string) {
		if !math.IsInf(low, -1) || !math.IsInf(high, 1) {
			list = append(list, bounds{unit: unit, low: low - more, high: high + more, part: part})
		}
	}
	low, high := it.NumberOr("low", all), it.NumberOr("high", none)
	overload, borne := it.Optional("overload")
	borne = borne && own.Kind == units.Pressure
	span := float64(noiseShare * (finite(low) + finite(high)))
	if p, has := it.OptionalObject("particulars"); has {
		if w, has := p.OptionalObject("weakest"); has {
			name := w.TextOr("part", "the weakest part")
			if own.Kind == units.Pressure {
				add(own, w.NumberOr("low", all), min(w.NumberOr("high", none), w.NumberOr("pressure", none)), span, name)
			}
			if impact := w.NumberOr("impact_pa", none); impact > 0 && !math.IsInf(impact, 1) {
				speed, _ := airdata.ISO().CAS(impact)
				add(knot, all, speed, float64(noiseShare*speed), name)
			}
		}
		if own.Kind == units.Pressure {
			add(own, all, p.NumberOr("relief", none), span, "the relief valve")
		}
		lowest, highest := p.NumberOr("lowest_ft", all), p.NumberOr("highest_ft", none)
		add(foot, lowest, highest, float64(noiseShare*max(finite(lowest), finite(highest))), "the instruments on the lines")
		fastest := p.NumberOr("max_cas_kt", none)
		add(knot, all, fastest, float64(noiseShare*finite(fastest)), "the instruments on the lines")
		climb := p.NumberOr("max_rate_ft_min", none)
		add(feetPerMinute, -climb, climb, float64(noiseShare*finite(climb)), "the instruments on the lines")
	}
	if beside, on := in.OptionalObject("manifold"); on {
		if unit, ok := units.Find(beside.TextOr("unit", "")); ok {
			lowest := beside.NumberOr("high", none)
			add(unit, all, lowest, float64(outsideShare*finite(lowest)), "the lowest range on the manifold")
		}
	}
	if borne {
		list = append(list, bounds{unit: own, low: all, high: overload + float64(noiseShare*finite(overload)), overload: true})
	}
	if own.Kind == units.Pressure || own.Kind == units.Length || own.Kind == units.Speed {
		more := float64(outsideShare * (high - low))
		list = append(list, bounds{unit: own, low: low - more, high: high + more, bears: borne})
	}
	return list
}

// The units in which aircraft instruments state their limits.
var foot, knot, feetPerMinute = named("ft"), named("kt"), named("ft/min")

func named(name string) units.Unit {
	u, _ := units.Find(name)
	return u
}

// finite returns the size of a bound, 0 if there is none.
func finite(x float64) float64 {
	if math.IsInf(x, 0) {
		return 0
	}
	return math.Abs(x)
}
