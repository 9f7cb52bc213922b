package coverage

import (
	"math"
	"math/rand/v2"

	"gaugewright/calc/leak"
	"gaugewright/calc/uncertainty"
)

// decay is a litre that loses gas, read every 10 s; 0.1 Pa/s is allowed.
type decay struct {
	readings    int
	correlation float64 // of the scatter of neighbouring readings
	independent bool    // stated for the sensor
	every       float64 // s; 0 is 10
	filter      float64 // s, of a first-order filter in the sensor
	scatter     float64 // Pa; 0 is 1
	step        float64 // of the sensor, Pa
	drift       float64 // unmeasured drift, K over the time, standard deviation
	allowed     float64 // Pa/s; 0 is 0.1
	planned     int     // readings of the planned time; the test continues while undecided
	live        bool    // looks from the third reading on
}

const litre = 1e-3

func (d decay) run(random *rand.Rand, share float64, quiet bool) one {
	every, sigma, allowed := d.every, d.scatter, d.allowed
	if every == 0 {
		every = 10
	}
	if sigma == 0 {
		sigma = 1
	}
	if allowed == 0 {
		allowed = 0.1
	}
	if quiet {
		sigma *= 0.02
	}
	keep := d.correlation
	if d.filter > 0 {
		keep = math.Exp(-every / d.filter)
	}
	limit := allowed * litre
	rate := share * limit
	x := leak.Test{Volume: litre, ReferenceK: 293.15, Independent: d.independent}
	if d.planned > 0 {
		x.Planned, x.Every = every*float64(d.planned-1), every
	}
	e := random.NormFloat64()
	span := every * float64(d.readings-1)
	warming := 0.0
	if d.drift > 0 {
		warming = 6e5 * d.drift / 293.15 / span * random.NormFloat64()
	}
	for i := range d.readings {
		if i > 0 {
			e = keep*e + math.Sqrt(1-keep*keep)*random.NormFloat64()
		}
		s := every * float64(i)
		p := 6e5 - rate/litre*s + warming*s + sigma*e
		if d.step > 0 {
			p = math.Round(p/d.step) * d.step
		}
		x.T, x.P, x.Absolute = append(x.T, s), append(x.P, p), append(x.Absolute, p)
	}
	if d.step > 0 || d.drift > 0 {
		x.Unseen = func(x *leak.Test, f *leak.Fit) (terms []uncertainty.Term) {
			if d.drift > 0 {
				terms = leak.Drift(6e5, 293.15, f.Elapsed, litre, leak.UsualDriftK, 0)
			}
			if d.step > 0 {
				terms = append(terms, leak.Term(nil, "resolution", leak.Step(d.step, x, f))...)
			}
			return terms
		}
	}
	look := func(n int) (leak.Fit, leak.Decision) {
		y := x
		y.T, y.P, y.Absolute = x.T[:n], x.P[:n], x.Absolute[:n]
		f, decision, err := leak.Judge(y, limit)
		if err != nil {
			panic(err)
		}
		return f, decision
	}
	first := d.readings
	if d.planned > 0 {
		first = d.planned
	}
	if d.live {
		first = 3
	}
	var got one
	for n := first; n <= d.readings; n++ {
		f, decision := look(n)
		if n == max(d.planned, first) || d.planned == 0 && n == d.readings {
			got.of++
			if math.Abs(f.Rate-rate) <= f.Expanded {
				got.inside++
			}
		}
		got.verdict = decision.Verdict
		if decision.Certain {
			if got.of == 0 {
				f, _ = look(max(d.planned, n))
				if got.of++; math.Abs(f.Rate-rate) <= f.Expanded {
					got.inside++
				}
			}
			break
		}
	}
	return got
}

// Why half the limit is not accepted.
const (
	stepped = "the limit allows 12 Pa in the time, half of it is 6 Pa, one step of the sensor. One step in the middle of the " +
		"readings gives a line that is half as steep again, 9 Pa in the time, and each end may be off by half a step: u = 6/√6 Pa, " +
		"U = 4.9 Pa; 9 + 4.9 > 12. It stays undecided: a finer sensor, or a longer time. A rule that used the moments of the steps " +
		"could decide more; there is none here."
	unseen = "the temperature that nobody measured moves the rate by 6e5 Pa · 0.2 K/293.15 K/600 s = 0.68 Pa/s (standard " +
		"deviation), against a margin of 0.1 Pa/s between half the limit and the limit. Any rule that accepts at most 2.5 % at " +
		"the limit accepts at most Φ(−1.96 + 0.1/0.68) = 3.5 % at half of it (Neyman and Pearson)."
)

var leaks = []condition{
	{
		kind: "leak", name: "3 readings, independent", most: 2.5, light: true,
		run: decay{readings: 3, independent: true}.run,
	},
	{
		kind: "leak", name: "4 readings, independent", most: 2.5, light: true,
		run: decay{readings: 4, independent: true}.run,
	},
	{
		kind: "leak", name: "5 readings, independent", most: 2.5, light: true,
		run: decay{readings: 5, independent: true}.run,
	},
	{
		kind: "leak", name: "7 readings, independent", most: 2.5, light: true,
		run: decay{readings: 7, independent: true}.run,
	},
	{
		kind: "leak", name: "13 readings, independent", most: 2.5, light: true,
		run: decay{readings: 13, independent: true}.run,
	},
	{
		kind: "leak", name: "61 readings, independent", most: 2.5, light: true,
		run: decay{readings: 61, independent: true}.run,
	},
	{kind: "leak", name: "3 readings, nothing said of the sensor", most: 2.5, light: true, run: decay{readings: 3}.run},
	{
		kind: "leak", name: "3 readings, correlation 0.5", most: 5, light: true,
		run: decay{readings: 3, correlation: 0.5}.run,
	},
	{
		kind: "leak", name: "3 readings, correlation 0.8", most: 5, light: true,
		run: decay{readings: 3, correlation: 0.8}.run,
	},
	{kind: "leak", name: "13 readings, nothing said of the sensor", most: 2.5, run: decay{readings: 13}.run},
	{kind: "leak", name: "61 readings, nothing said of the sensor", most: 2.5, run: decay{readings: 61}.run},
	{
		kind: "leak", name: "13 readings, correlation 0.5", most: 5,
		run: decay{readings: 13, correlation: 0.5}.run,
	},
	{
		kind: "leak", name: "13 readings, correlation 0.8", most: 5,
		run: decay{readings: 13, correlation: 0.8}.run,
	},
	{
		kind: "leak", name: "31 readings, correlation 0.8", most: 5,
		run: decay{readings: 31, correlation: 0.8}.run,
	},
	{
		kind: "leak", name: "61 readings, correlation 0.5", most: 5,
		run: decay{readings: 61, correlation: 0.5}.run,
	},
	{
		kind: "leak", name: "61 readings, correlation 0.8", most: 5,
		run: decay{readings: 61, correlation: 0.8}.run,
	},
	{
		kind: "leak", name: "600 readings at 10 Hz, filter of 1 s", most: 5,
		run: decay{readings: 600, every: 0.1, filter: 1, allowed: 0.5}.run,
	},
	{
		kind: "leak", name: "steps of half of what may be lost", most: 2.5,
		run:    decay{readings: 13, scatter: 0.5, step: 6, independent: true}.run,
		cannot: stepped,
	},
	{
		kind: "leak", name: "no thermometer, 0.2 K of drift", most: 2.5,
		run:    decay{readings: 61, drift: 0.2, allowed: 0.2}.run,
		cannot: unseen,
	},
	{
		kind: "leak", name: "no thermometer, a limit that bears it", most: 2.5,
		run: decay{readings: 61, drift: 0.2, allowed: 8}.run,
	},
	{
		kind: "leak", name: "going on from 5 to 25 readings while undecided", most: 5, heavy: true,
		run: decay{readings: 25, planned: 5, independent: true}.run,
	},
	{
		kind: "leak", name: "going on from 13 to 61 readings while undecided", most: 5, heavy: true,
		run: decay{readings: 61, planned: 13, independent: true}.run,
	},
	{
		kind: "leak", name: "live looks and the closing one, 13 readings", most: 5, heavy: true,
		run: decay{readings: 13, planned: 13, live: true, independent: true}.run,
	},
	{
		kind: "leak", name: "live looks, going on to 61 readings", most: 5, heavy: true,
		run: decay{readings: 61, planned: 13, live: true, independent: true}.run,
	},
}
