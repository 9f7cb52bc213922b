package coverage

import (
	"math"
	"math/rand/v2"
	"strconv"
)

// gauge is a gauge of 0 to 10, ±0.1 allowed, with a standard of u 0.005 unless stated otherwise.
type gauge struct {
	points, cycles int
	rises          bool    // no falls
	scatter        float64 // of a reading
	step           float64
	hysteresis     float64 // height of falling readings above rising ones
	stated         float64 // width of repeatability, per cent of span
	dof            float64 // of the standard's uncertainty, which is then estimated from dof + 1 readings
	rule           string
}

func (g gauge) run(random *rand.Rand, share float64, quiet bool) one {
	const limit, u = 0.1, 0.005
	scatter, hysteresis, standard := g.scatter, g.hysteresis, u
	if quiet {
		scatter, hysteresis = 0.1*scatter, 0.3*hysteresis
	}
	stated := standard
	if g.dof > 0 { // the laboratory knows its u by dof + 1 readings of its own
		sum := 0.0
		for range int(g.dof) {
			z := random.NormFloat64()
			sum += z * z
		}
		stated = standard * math.Sqrt(sum/g.dof)
	}
	common := standard * random.NormFloat64()
	middle := g.points / 2
	truth := func(i int, up bool) float64 {
		e := 0.01
		if i == middle {
			e = share * limit
			if !up {
				return e
			}
			return e - hysteresis
		}
		if !up {
			e += hysteresis
		}
		return e - hysteresis/2
	}
	var readings []object
	for c := range g.cycles {
		for side, direction := range []string{"up", "down"} {
			if side == 1 && g.rises {
				continue
			}
			for k := range g.points {
				i := k
				if side == 1 {
					i = g.points - 1 - k
				}
				p := 10 * float64(i) / float64(g.points-1)
				readings = append(readings, object{"series": strconv.Itoa(c), "direction": direction, "point": rounded(p, 0),
					"indicated": rounded(p+truth(i, side == 0)+common+scatter*random.NormFloat64(), g.step)})
			}
		}
	}
	st := object{"u": stated}
	if g.dof > 0 {
		st["dof"] = g.dof
	}
	sheet := object{"unit": "bar", "low": 0, "high": 10, "limit": object{"rule": "terms", "absolute": limit}, "standard": st,
		"decision": object{"rule": g.rule}, "readings": readings}
	if g.rule == "probability" {
		sheet["decision"] = object{"rule": g.rule, "min_probability": 0.975}
	}
	if g.step > 0 {
		sheet["resolution"] = g.step
	}
	if g.stated > 0 {
		sheet["repeatability_percent"] = g.stated
	}
	out := call("gauge", sheet)
	p := list(out["points"])[middle].(object)
	got := one{verdict: p["verdict"].(string)}
	hold := func(at, truth, u float64) {
		got.of++
		if math.Abs(at-truth) <= u {
			got.inside++
		}
	}
	expanded := number(p["expanded"])
	if x, ok := p["expanded_reading"]; ok {
		expanded = number(x)
		hold(number(p["error"]), (truth(middle, true)+truth(middle, false))/2, number(p["expanded"]))
		if g.cycles == 1 {
			hold(number(p["error_down"]), truth(middle, false), expanded)
		}
	}
	if g.cycles == 1 {
		hold(number(p["error_up"]), truth(middle, true), expanded)
		return got
	}
	// with more than one cycle: a reading of the first, less its point
	for _, r := range readings {
		if r["series"] == "0" && r["point"] == rounded(10*float64(middle)/float64(g.points-1), 0) {
			x, _ := strconv.ParseFloat(r["indicated"].(string), 64)
			at, _ := strconv.ParseFloat(r["point"].(string), 64)
			hold(x-at, truth(middle, r["direction"] == "up"), expanded)
		}
	}
	return got
}

var gauges = []condition{
	{
		kind: "gauge", name: "one cycle, its repeatability stated", most: 2.5,
		run: gauge{points: 6, cycles: 1, scatter: 0.005, step: 0.001, stated: 0.2, rule: "guarded-four"}.run,
	},
	{
		kind: "gauge", name: "two cycles, six points", most: 2.5,
		run: gauge{points: 6, cycles: 2, scatter: 0.01, step: 0.001, rule: "guarded-four"}.run,
	},
	{
		kind: "gauge", name: "three cycles, eleven points", most: 2.5,
		run: gauge{points: 11, cycles: 3, scatter: 0.01, step: 0.001, rule: "guarded-four"}.run,
	},
	{
		kind: "gauge", name: "two rises of three points", most: 2.5,
		run: gauge{points: 3, cycles: 2, rises: true, scatter: 0.01, step: 0.001, rule: "guarded-four"}.run,
	},
	{
		kind: "gauge", name: "hysteresis of two fifths of the limit", most: 2.5,
		run: gauge{points: 6, cycles: 2, scatter: 0.005, step: 0.001, hysteresis: 0.04, rule: "guarded-four"}.run,
	},
	{
		kind: "gauge", name: "read to a fifth of the limit", most: 2.5,
		run: gauge{points: 6, cycles: 2, scatter: 0.004, step: 0.02, hysteresis: 0.03, rule: "guarded-four"}.run,
	},
	{
		kind: "gauge", name: "standard of 3 degrees of freedom", most: 2.5,
		run: gauge{points: 6, cycles: 2, scatter: 0.001, step: 0.001, dof: 3, rule: "guarded-four"}.run,
	},
	{
		kind: "gauge", name: "the same, by a probability of 97.5 %", most: 2.5, noReject: true,
		run: gauge{points: 6, cycles: 2, scatter: 0.001, step: 0.001, dof: 3, rule: "probability"}.run,
	},
}
