package history

import (
	"math"

	"gaugewright/calc/numeric"
)

// What an interval does.
const (
	Extend = "extend"
	Keep   = "keep"
	Reduce = "reduce"
	Sooner = "sooner" // it stays; this once a test, or an adjustment, is due earlier
)

// The methods by which an interval is advised.
const (
	ByForecast = "forecast" // the drift of the instrument itself: ILAC-G24 method 2, a control chart
	ByGroup    = "group"    // results of instruments like it: ILAC-G24 method 5, a statistical approach
	ByLast     = "last"     // its latest result alone: ILAC-G24 method 1, the staircase
)

const (
	// leastDOF is how many degrees of freedom a forecast has that rules: with fewer its band is so
	// wide that it says more of the few results than of the instrument. Chosen here.
	leastDOF = 3
	// stepDown is what is left of an interval after an error outside the limit, leastStep how
	// much shorter an interval gets at once by what is borne, and mostStep how much longer. Chosen here: ILAC-G24 names no figures for the steps of its staircase.
	stepDown, leastStep, mostStep = 2.0 / 3, 0.5, 2.0
	// closeTo is the fraction of the limit from which an interval is not made longer: ILAC-G24:2007,
	// method 1 (restated).
	closeTo = 0.8
	// mostMonths is the longest interval that is advised. Chosen here: ten years.
	mostMonths = 120
)

// Evidence is what is known when an interval is advised.
type Evidence struct {
	Months   float64 // the present interval
	Found    float64 // the largest error found last, as a fraction of its limit; below 0: not known
	Forecast Bears   // of the instrument itself
	Group    Bears   // of instruments like it
}

// Bears is how long an interval may be.
type Bears struct {
	Known  bool
	Months float64 // from an adjustment, or of a group, until the probability of being out reaches what is aimed at
	Sure   float64 // the same, by the cautious end of what is known of it
	Now    float64 // the same from the latest result, as it was left
	Left   int     // days from the day looked at until then; of a forecast only
}

// Advised is the one advice on an interval, and what it rests on.
type Advised struct {
	Action string // Extend, Keep, Reduce or Sooner
	Months int    // the interval that is advised, whole months
	Method string // which ruled: ByForecast, ByGroup or ByLast
	Reason string // outside, bound, now, close, room, borne, alone, little or shortest
}

// Advise gives the advice on an interval. What bears least rules: the drift of the instrument says
// nothing of failures that come at once, and the results of instruments like it nothing of its own
// drift. So the advice agrees with both: nothing stays or becomes longer where a probability of being
// out passes its bound before the due date.
//
//	reduce: the last error was outside the limit (two thirds of the interval, or what is borne if
//	        that is less), or a bound is passed before an interval ends; at most by half at once
//	sooner: an interval is borne after an adjustment, and as it is now the bound is passed before
//	        the day looked at
//	extend: both bear half an interval more for sure, and the last error was within 80 % of the limit;
//	        at most twice the interval at once
//	keep:   else. Reason alone: the forecast bears more, and there are too few instruments like it to
//	        bear it too.
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

// to gives an advice of whole months, rounded down and at least one.
func (a Advised) to(action string, months, present float64, reason string) Advised {
	a.Action, a.Months, a.Reason = action, max(1, int(months)), reason
	if float64(a.Months) >= present && action == Reduce {
		a.Action, a.Months, a.Reason = Keep, int(present), "shortest"
	}
	return a
}

// BearsOf is what the forecasts of an instrument's points bear, nil for a point that has none. It is
// known where all of them have enough degrees of freedom to rule.
func BearsOf(list []*Ahead, at int) Bears {
	var b Bears
	for _, a := range list {
		if a == nil || !a.Limited {
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

// Trials are instruments that were found after the same time without a test.
type Trials struct {
	Days    int // above 0
	In, Out int
}

// Decay is the reliability of a group of instruments that goes out of limits by chance, at the same
// rate at all times.
type Decay struct {
	In, Out   int
	PerDay    float64 // the rate; with none found out its bound in its place
	Low, High float64 // the bounds of its interval at 95 %
	Sure      float64 // its upper bound at one-sided 95 %
}

// enoughTrials is how many results a group's reliability must rest on. Chosen here: with fewer its
// bounds say nothing that an interval could follow.
const enoughTrials = 20

// FitDecay fits R(t) = exp(−λt) to what was found, by the greatest likelihood:
//
//	Σ_out t/(exp(λt) − 1) = Σ_in t;  bounds: 2(ln L(λ̂) − ln L(λ)) = χ²₁ of 95 % (90 % for the one-sided one)
//
// With none found out λ is 0, and its one-sided 95 % bound −ln(0.05)/Σt stands in for it.
//
// Takes:   trials, each of a time above 0.
// Gives:   the Decay; ok is false with fewer than 20 results or with none found in.
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

// likelihood is ln L of a rate.
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

// cross halves until f, above 0 at low and below it at high, changes its sign.
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

// OutAfter is the probability of being out after some months.
func (d *Decay) OutAfter(months float64) float64 {
	return -numeric.Expm1(-float64(d.PerDay * float64(months*daysPerMonth)))
}

// LikeMonths picks the trials of about an interval: from half of it to three times. A drift that
// puts all out after years says nothing of a month, so that one rate does not hold for all times.
// Chosen here.
func LikeMonths(trials []Trials, months float64) (list []Trials) {
	days := float64(months * daysPerMonth)
	for _, t := range trials {
		if n := float64(t.Days); n >= float64(0.5*days) && n <= float64(3*days) {
			list = append(list, t)
		}
	}
	return list
}

// Bears is how long an interval may be so that a share is still in: −ln(target)/λ.
func (d *Decay) Bears(target float64) Bears {
	of := func(rate float64) float64 {
		return min(-numeric.Log(target)/rate/daysPerMonth, math.MaxInt32)
	}
	return Bears{Known: true, Months: of(d.PerDay), Sure: of(d.Sure), Now: of(d.PerDay)}
}
