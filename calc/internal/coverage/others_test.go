package coverage

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
)

// contact is a rising contact of 2 ± 0.02 bar on a ramp of 0.01 bar/s, by a standard of u 0.001.
type contact struct {
	cycles  int
	typed   bool
	step    float64 // between two samples, in tolerances
	noise   float64 // of the record, bar
	scatter float64 // of the contact itself
}

func answered(step, value string) object {
	return object{"step": step, "of": "answer", "value": value, "at": "2026-03-04T10:00:00Z"}
}

func (c contact) run(random *rand.Rand, share float64, quiet bool) one {
	const nominal, tolerance, rate, u = 2.0, 0.02, 0.01, 0.001
	noise, scatter, step := c.noise, c.scatter, c.step*tolerance
	if quiet {
		noise, scatter = 0.1*noise, 0.1*scatter
	}
	common := u * random.NormFloat64() // common error of the standard
	truths := make([]float64, c.cycles)
	highest := 0.0
	for k := range truths {
		truths[k] = nominal + share*tolerance - scatter*math.Abs(random.NormFloat64())
		if k == 0 {
			truths[k] = nominal + share*tolerance
		}
		highest = max(highest, truths[k])
	}
	sheet := object{"method": object{
		"kind": "switch", "cycles": c.cycles, "rate": rate, "decision": object{"rule": "guarded-four"},
	},
		"instrument": object{"low": "0", "high": "4", "unit": "bar", "mode": "gauge", "particulars": object{
			"contacts": []any{object{"acts": "rising", "nominal": nominal, "tolerance": tolerance}},
		}},
		"standard": object{"u": u}, "complete": true}
	captures := []any{answered("ready", "yes")}
	if c.typed {
		for k, p := range truths {
			cycle := "c" + strconv.Itoa(k+1) + ".k1"
			shown := rounded(p+common+noise*random.NormFloat64(), 0.001)
			captures = append(captures, object{
				"step": cycle + ".set", "of": "applied", "unit": "bar", "value": shown[:5],
			},
				object{"step": cycle + ".reset", "of": "applied", "unit": "bar", "value": rounded(p-0.1, 0.001)[:5]})
		}
	} else {
		delete(sheet["method"].(object), "rate")
		var t, p []float64
		var state strings.Builder
		on, k, rising := false, 0, true
		x := 1.85 - step*random.Float64()
		for i := 0; k < c.cycles; i++ {
			if k < len(truths) && x >= truths[k] {
				on = true
			}
			if x < truths[k]-0.1 {
				on = false
			}
			t, p = append(t, float64(i)*step/rate), append(p, x+common+noise*random.NormFloat64())
			state.WriteByte("01"[b(on)])
			if rising {
				if x += step; x > 2.1 {
					rising = false
				}
			} else if x -= step; x < 1.8 {
				rising = true
				k++
			}
		}
		sheet["traces"] = []any{object{"step": "k1.trace", "unit": "bar", "t_s": t, "p": p, "contact": state.String()}}
	}
	sheet["captures"] = captures
	out := call("evaluate", sheet)
	got := one{verdict: out["verdict"].(string)}
	for _, r := range list(out["results"]) {
		if r := r.(object); strings.HasSuffix(r["name"].(string), ": set point, maximum") {
			got.of++
			if math.Abs(number(r["value"])-highest) <= number(r["expanded"]) {
				got.inside++
			}
		}
	}
	return got
}

func b(on bool) int {
	if on {
		return 1
	}
	return 0
}

// disc is one of 5 ± 0.25 bar on a ramp of 0.1 bar/s read 20 times a second, by a standard of u
// 0.001.
type disc struct{ noise float64 }

func (d disc) run(random *rand.Rand, share float64, quiet bool) one {
	const marked, tolerance, rate, interval, u = 5.0, 0.25, 0.1, 0.05, 0.001
	noise := d.noise
	if quiet {
		noise *= 0.1
	}
	truth := marked + share*tolerance
	common := u * random.NormFloat64()
	var t, p []float64
	at := truth - 2.5 - rate*interval*random.Float64()
	for i := 0; at < truth+0.3; i++ {
		x := at
		if at > truth {
			x = 0.05 * marked
		}
		t, p = append(t, float64(i)*interval), append(p, x+common+noise*random.NormFloat64())
		at += rate * interval
	}
	out := call("evaluate", object{"method": object{
		"kind": "burst", "rate": rate, "interval_s": interval, "decision": object{"rule": "guarded-four"},
	},
		"instrument": object{
			"low": 0, "high": 10, "unit": "bar", "mode": "gauge", "particulars": object{"marked": marked},
		}, "standard": object{"u": u},
		"captures": []any{
			answered("ready", "yes"), answered("d1.disc", "A"), answered("d1.shield", "yes"),
			answered("d1.temp", "22"),
		},
		"traces": []any{object{"step": "d1", "unit": "bar", "t_s": t, "p": p}}, "complete": true})
	got := one{verdict: out["verdict"].(string)}
	for _, r := range list(out["results"]) {
		if r := r.(object); strings.HasPrefix(r["name"].(string), "disc 1") {
			got.of++
			if math.Abs(number(r["value"])-truth) <= number(r["expanded"]) {
				got.inside++
			}
		}
	}
	return got
}

// Why half the limit is not accepted.
const coarse = "between two samples the pressure goes on by three tolerances, and the contact may have changed anywhere " +
	"there. That is more than the two tolerances between the limits, so for every place of the samples a contact outside them " +
	"gives the same record: no rule can accept it without accepting that one."

var others = []condition{
	{kind: "switch", name: "typed, one cycle", most: 2.5, run: contact{cycles: 1, typed: true, noise: 0.0002}.run},
	{
		kind: "switch", name: "typed, two cycles", most: 2.5,
		run: contact{cycles: 2, typed: true, noise: 0.0002, scatter: 0.002}.run,
	},
	{
		kind: "switch", name: "typed, three cycles", most: 2.5,
		run: contact{cycles: 3, typed: true, noise: 0.0002, scatter: 0.002}.run,
	},
	{
		kind: "switch", name: "a record, a step of a twentieth of the tolerance", most: 2.5,
		run: contact{cycles: 3, step: 0.05, noise: 0.0002, scatter: 0.002}.run,
	},
	{
		kind: "switch", name: "a record, a step of three tolerances", most: 2.5,
		run: contact{cycles: 1, step: 3}.run, cannot: coarse,
	},
	{kind: "burst", name: "a quiet record", most: 2.5, run: disc{}.run},
	{kind: "burst", name: "noise of three tenths of a sample's step", most: 2.5, run: disc{noise: 0.0015}.run},
	{kind: "burst", name: "noise of two of its steps", most: 2.5, run: disc{noise: 0.01}.run},
	{kind: "burst", name: "noise of four of its steps", most: 2.5, run: disc{noise: 0.02}.run},
}
