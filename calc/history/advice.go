package history

import (
	"math"

	"gaugewright/calc/numeric"
)

// What the advice does to an interval.
const (
	Extend = "extend"
	Keep   = "keep"
	Reduce = "reduce"
	Sooner = "sooner" // it stays, but this once a test or an adjustment is due earlier
)

// The methods by which an interval is advised.
const (
	ByForecast = "forecast" // the drift of the instrument itself: ILAC-G24 method 2, a control chart
	ByGroup    = "group"    // results of instruments like it: ILAC-G24 method 5, a statistical approach
	ByLast     = "last"     // its latest result alone: ILAC-G24 method 1, the staircase
)

const (
	// leastDOF is the least number of degrees of freedom for a forecast to rule. With fewer, its
	// band is so wide that it reflects the few results more than the instrument. Chosen here.
	leastDOF = 3
	// stepDown is the factor of an interval after an error outside the limit; leastStep bounds the
	// factor of a reduction to the safe interval, mostStep that of an extension. Chosen here:
	// ILAC-G24 names no figures for the steps of its staircase.
	stepDown, leastStep, mostStep = 2.0 / 3, 0.5, 2.0
	// closeTo is the fraction of the limit from which an interval is not made longer: ILAC-G24:2007,
	// method 1 (restated).
	closeTo = 0.8
	// mostMonths is the longest advised interval. Chosen here: ten years.
	mostMonths = 120
)

// Evidence is everything that advice on an interval rests on.
type Evidence struct {
	Months   float64 // the present interval
	Found    float64 // the largest error of the latest test, as a fraction of its limit; below 0 if not known
	Forecast Bears   // of the instrument itself
	Group    Bears   // of instruments like it
}

// Bears is how long an interval may be for the risk aimed at.
type Bears struct {
	Known  bool
	Months float64 // from an adjustment, or for a group, until the probability of being out reaches the bound
	Sure   float64 // the same, by the cautious end of what is known
	Now    float64 // the same from the latest result as left
	Left   int     // days from the day asked about until then; for a forecast only
}

// Advised is the advice on an interval, with its grounds.
type Advised struct {
	Action string // Extend, Keep, Reduce or Sooner
	Months int    // the interval that is advised, whole months
	Method string // the method that ruled: ByForecast, ByGroup or ByLast
	Reason string // outside, bound, now, close, room, borne, alone, little or shortest
}

// Advise gives the advice on an interval. The method that allows the shortest one rules: the drift
// of the instrument says nothing about sudden failures, and the results of similar instruments
// nothing about its own drift. So the advice agrees with both: no interval stays or becomes longer
// if a probability of being out passes its bound before the due date.
//
//	reduce: the last error was outside the limit (to two thirds of the interval, or to the safe one
//	        if that is less), or a bound is passed before an interval ends; at most to half at once
//	sooner: the interval is safe after an adjustment, but as the instrument is now, a bound is
//	        passed before the day asked about
//	extend: both methods allow half an interval more for sure, and the last error was within 80 % of
//	        the limit; at most to twice the interval at once
//	keep:   else. Reason alone: the forecast allows more, but there are too few similar instruments
//	        to confirm it.
//
// Source:  methods 1, 2 and 5 of ILAC-G24 / OIML D 10 (restated, from memory); which rules and the
// steps: chosen here, and tried in COVERAGE.md beside this file.
func Advise(e Evidence) Advised {
	a := Advised{Action: Keep, Months: int(e.Months), Method: ByLast, Reason: "little"}
	least, sure := math.Inf(1), math.Inf(1)
	for _, by := range []struct {
		Bears
		method string
	}{{e.Forecast, ByForecast}, {e.Group, ByGroup}} {
		if !by.Known {
			continue
		}
		sure = min(sure, by.Sure)
		if by.Months < least {
			least, a.Method = by.Months, by.method
		}
	}
	step := max(least, float64(leastStep*e.Months))
	switch {
	case e.Found > 1:
		if months := float64(stepDown * e.Months); step > months {
			step, a.Method = months, ByLast
		}
		return a.to(Reduce, step, e.Months, "outside")
	case a.Method == ByLast:
	case least < e.Months:
		return a.to(Reduce, step, e.Months, "bound")
	case e.Forecast.Known && e.Forecast.Left < 0:
		a.Action, a.Method, a.Reason = Sooner, ByForecast, "now"
	case e.Found > closeTo:
		a.Method, a.Reason = ByLast, "close"
	case sure < float64((1+spare)*e.Months) || e.Months >= mostMonths:
		a.Reason = "room"
	case !e.Group.Known:
		a.Reason = "alone"
	default:
		return a.to(Extend, min(sure, float64(mostStep*e.Months), mostMonths), e.Months, "borne")
	}
	return a
}

// to completes an advice with its interval in whole months, rounded down and at least one.
func (a Advised) to(action string, months, present float64, reason string) Advised {
	a.Action, a.Months, a.Reason = action, max(1, int(months)), reason
	if float64(a.Months) >= present && action == Reduce {
		a.Action, a.Months, a.Reason = Keep, int(present), "shortest"
	}
	return a
}

// BearsOf returns the interval that the forecasts of an instrument's points allow; a point without
// a forecast is nil. It is known if all points of the latest test have enough degrees of freedom to
// rule.
func BearsOf(list []*Ahead, at int) Bears {
	var b Bears
	latest := 0
	for _, a := range list {
		if a != nil && a.Limited {
			latest = max(latest, a.last)
		}
	}
	for _, a := range list {
		if a == nil || !a.Limited || a.last < latest {
			continue
		}
		fresh, now := float64(a.Fresh)/daysPerMonth, float64(a.Due-a.last)/daysPerMonth
		if a.DOF < leastDOF {
			return Bears{}
		}
		if !b.Known || fresh < b.Months {
			b.Months = fresh
		}
		if !b.Known || now < b.Now {
			b.Now, b.Left = now, a.Due-at
		}
		b.Known = true
	}
	b.Sure = min(b.Months, b.Now)
	return b
}

// Trials are instruments tested after the same time without a test, with the numbers found in and
// out.
type Trials struct {
	Days    int // above 0
	In, Out int
}

// Decay is the reliability of a group of instruments that go out of limits by chance, at a constant
// rate.
type Decay struct {
	In, Out   int
	PerDay    float64 // the rate; its upper bound if none was found out
	Low, High float64 // the bounds of its interval at 95 %
	Sure      float64 // its upper bound at one-sided 95 %
}

// enoughTrials is the least number of results for a group's reliability. Chosen here: with fewer,
// its bounds are too wide to derive an interval from.
const enoughTrials = 20

// FitDecay fits R(t) = exp(−λt) to the results by maximum likelihood:
//
//	Σ_out t/(exp(λt) − 1) = Σ_in t;  bounds: 2(ln L(λ̂) − ln L(λ)) = χ²₁ of 95 % (90 % for the one-sided one)
//
// If none was found out, λ is 0, and its one-sided 95 % bound −ln(0.05)/Σt is used instead.
//
// Takes:   trials, each of a time above 0.
// Gives:   the Decay; ok is false with fewer than 20 results, or if none was found in.
// Source:  reliability by binary results with exponential decay: NCSLI RP-1 (from memory); greatest
// likelihood and likelihood ratio: textbook.
func FitDecay(trials []Trials) (d Decay, ok bool) {
	in, all := 0.0, 0.0
	for _, t := range trials {
		d.In, d.Out = d.In+t.In, d.Out+t.Out
		in += float64(float64(t.Days) * float64(t.In))
		all += float64(float64(t.Days) * float64(t.In+t.Out))
	}
	if d.In+d.Out < enoughTrials || d.In == 0 {
		return d, false
	}
	if d.Out == 0 {
		d.Sure = -numeric.Log(0.05) / all
		d.PerDay, d.High = d.Sure, -numeric.Log(0.025)/all
		return d, true
	}
	slope := func(rate float64) float64 {
		sum := -in
		for _, t := range trials {
			if t.Out > 0 {
				sum += float64(float64(t.Out) * float64(float64(t.Days)/numeric.Expm1(float64(rate*float64(t.Days)))))
			}
		}
		return sum
	}
	// ln L falls where its slope is below 0: the rate lies between these.
	low, high := float64(float64(d.Out)/all/64), 1.0
	for slope(low) < 0 {
		low = float64(low / 64)
	}
	for slope(high) > 0 {
		high *= 2
	}
	d.PerDay = cross(low, high, slope)
	top := likelihood(trials, d.PerDay)
	above := func(chi, to float64) float64 {
		return cross(d.PerDay, to, func(rate float64) float64 {
			return chi - float64(2*(top-likelihood(trials, rate)))
		})
	}
	both, one := numeric.ChiSquareQuantile(0.95, 1), numeric.ChiSquareQuantile(0.90, 1)
	up := float64(d.PerDay * 2)
	for float64(2*(top-likelihood(trials, up))) < both {
		up *= 2
	}
	down := float64(d.PerDay / 2)
	for float64(2*(top-likelihood(trials, down))) < both {
		down /= 2
	}
	d.High, d.Sure = above(both, up), above(one, up)
	d.Low = cross(down, d.PerDay, func(rate float64) float64 {
		return float64(2*(top-likelihood(trials, rate))) - both
	})
	return d, true
}

// likelihood returns ln L of a rate.
func likelihood(trials []Trials, rate float64) float64 {
	sum := 0.0
	for _, t := range trials {
		x := float64(rate * float64(t.Days))
		sum -= float64(float64(t.In) * x)
		if t.Out > 0 {
			sum += float64(float64(t.Out) * numeric.Log(-numeric.Expm1(-x)))
		}
	}
	return sum
}

// cross finds by bisection where f, positive at low and negative at high, changes its sign.
func cross(low, high float64, f func(float64) float64) float64 {
	for {
		mid := low + float64((high-low)/2)
		if mid <= low || mid >= high {
			return mid
		}
		if f(mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
}

// OutAfter returns the probability of being out after some months.
func (d *Decay) OutAfter(months float64) float64 {
	return -numeric.Expm1(-float64(d.PerDay * float64(months*daysPerMonth)))
}

// LikeMonths returns the trials after a time close to an interval: half of it to three times. One
// rate does not hold for all times: a drift that puts all instruments out after years says nothing
// about a month. Chosen here.
func LikeMonths(trials []Trials, months float64) (list []Trials) {
	days := float64(months * daysPerMonth)
	for _, t := range trials {
		if n := float64(t.Days); n >= float64(0.5*days) && n <= float64(3*days) {
			list = append(list, t)
		}
	}
	return list
}

// Bears returns how long an interval may be so that a share is still in: −ln(target)/λ.
func (d *Decay) Bears(target float64) Bears {
	of := func(rate float64) float64 {
		return min(-numeric.Log(target)/rate/daysPerMonth, math.MaxInt32)
	}
	return Bears{Known: true, Months: of(d.PerDay), Sure: of(d.Sure), Now: of(d.PerDay)}
}

// BearsAt returns the same for the two bounds of the rate, as low and high; high is infinite if
// none was found out.
func (d *Decay) BearsAt(target float64) (low, high float64) {
	of := func(rate float64) float64 { return -numeric.Log(target) / rate / daysPerMonth }
	return of(d.High), of(d.Low)
}
