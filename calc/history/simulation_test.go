package history_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"gaugewright/calc/history"
)

var update = flag.Bool("update", false, "write COVERAGE.md")

// world is a way in which made-up instruments go out of limits; the limit is ± 1 at each point.
type world struct {
	name    string
	size    int     // instruments of a group
	start   float64 // their interval before any advice, months
	target  float64
	points  int
	drift   float64 // standard deviation of the slope at full scale, limits a year
	noise   float64 // standard deviation of a reading, limits
	walk    float64 // of a random walk, limits for the square root of a year
	perYear float64 // rate of failures that come at once
	beyond  bool    // no model behind the advice holds: the result is shown and not tested
}

const (
	groups    = 10
	tests     = 20 // of each instrument
	beginning = 8  // number of these before the intervals have settled
	perMonth  = 365.2425 / 12
)

// made is a simulated instrument, whose truth is known.
type made struct {
	slope, years, walked float64 // since it was adjusted
	months, last         float64
	next                 float64 // months to the next test
	day, segment         int
	courses              []history.Course
}

// test lets the interval pass, tests the instrument, and adjusts it if it is close to its limit or
// beyond.
func (m *made) test(w *world, r *rand.Rand) (days int, out bool) {
	days = int(m.next * perMonth)
	years := float64(days) / 365.25
	m.day, m.years = m.day+days, m.years+years
	m.walked += r.NormFloat64() * w.walk * math.Sqrt(years)
	failed := 0.0
	if r.Float64() > math.Exp(-w.perYear*years) {
		failed = 3
	}
	read := func(k int, truth float64) (e float64) {
		e = truth + r.NormFloat64()*w.noise
		m.courses[k].Results = append(m.courses[k].Results,
			history.Result{Day: m.day, Segment: m.segment, Error: e, U: w.noise / 2})
		return e
	}
	m.last = 0
	for k := range m.courses {
		at := float64(k+1) / float64(w.points)
		m.last = max(m.last, math.Abs(read(k, m.slope*at*m.years+m.walked+failed)))
	}
	if m.last > 0.8 {
		m.segment++
		m.years, m.walked = 0, 0
		for k := range m.courses {
			read(k, 0)
		}
	}
	return days, m.last > 1
}

// bears returns how long an interval the instrument's forecast allows on its next due date.
func (m *made) bears(tails *history.Tails) history.Bears {
	at := m.day + int(m.months*perMonth)
	list := make([]*history.Ahead, len(m.courses))
	for k := range m.courses {
		if a, err := m.courses[k].Ahead(at, tails); err == nil {
			list[k] = &a
		}
	}
	return history.BearsOf(list, at)
}

// outcome is what was found once the intervals had settled.
type outcome struct {
	months float64   // mean interval
	in     []float64 // share found in, by group
}

func (w *world) play(r *rand.Rand) (sum outcome) {
	tails, n := history.NewTails(0.95, 1-w.target), 0
	for range groups {
		list := make([]*made, w.size)
		for i := range list {
			list[i] = &made{slope: r.NormFloat64() * w.drift, months: w.start, next: w.start, courses: make([]history.Course, w.points)}
			for k := range list[i].courses {
				list[i].courses[k].Limit = 1
			}
		}
		trials := map[int]history.Trials{}
		found, in := 0, 0
		for turn := range tests {
			for _, m := range list {
				days, out := m.test(w, r)
				t := trials[days]
				t.Days = days
				if out {
					t.Out++
				} else {
					t.In++
				}
				trials[days] = t
				if turn < beginning {
					continue
				}
				found, n, sum.months = found+1, n+1, sum.months+float64(days)/perMonth
				if !out {
					in++
				}
			}
			var all []history.Trials
			for _, t := range trials {
				all = append(all, t)
			}
			slices.SortFunc(all, func(a, b history.Trials) int { return a.Days - b.Days })
			groups := map[float64]history.Bears{}
			for _, m := range list {
				group, known := groups[m.months]
				if !known {
					if d, ok := history.FitDecay(history.LikeMonths(all, m.months)); ok {
						group = d.Bears(w.target)
					}
					groups[m.months] = group
				}
				own := m.bears(tails)
				a := history.Advise(history.Evidence{Months: m.months, Found: m.last, Forecast: own, Group: group})
				m.months, m.next = float64(a.Months), float64(a.Months)
				if a.Action == history.Sooner {
					m.next = max(1, math.Floor(own.Now))
				}
			}
		}
		sum.in = append(sum.in, float64(in)/float64(found))
	}
	sum.months /= float64(n)
	return sum
}

// TestAdviceKeepsWhatIsAimedAt: simulated instruments follow the advice on their intervals. The
// share found in tolerance must reach the target, within the chance that the number of groups
// leaves.
func TestAdviceKeepsWhatIsAimedAt(t *testing.T) {
	var b strings.Builder
	b.WriteString(coverageHead)
	for i, w := range []world{
		{name: "steady drift, one point", size: 20, start: 12, target: 0.95, points: 1, drift: 0.3, noise: 0.1},
		{name: "steady drift, five points", size: 20, start: 12, target: 0.95, points: 5, drift: 0.3, noise: 0.1},
		{name: "the same, begun at four years", size: 20, start: 48, target: 0.95, points: 5, drift: 0.3, noise: 0.1},
		{name: "noise alone", size: 20, start: 12, target: 0.95, points: 5, noise: 0.2},
		{name: "failures at once, 2 % a year", size: 20, start: 12, target: 0.95, points: 2, noise: 0.1, perYear: 0.02},
		{name: "failures at once, 20 % a year", size: 20, start: 12, target: 0.95, points: 2, noise: 0.1, perYear: 0.2},
		{name: "both, 5 % a year", size: 20, start: 12, target: 0.95, points: 5, drift: 0.2, noise: 0.1, perYear: 0.05},
		{name: "both, at 90 %", size: 20, start: 24, target: 0.90, points: 5, drift: 0.2, noise: 0.1, perYear: 0.05},
		{name: "a random walk", size: 20, start: 12, target: 0.95, points: 5, noise: 0.1, walk: 0.4, beyond: true},
	} {
		o := w.play(rand.New(rand.NewPCG(19, uint64(i))))
		mean, square := 0.0, 0.0
		for _, x := range o.in {
			mean += x / groups
		}
		for _, x := range o.in {
			square += (x - mean) * (x - mean) / (groups - 1)
		}
		se := math.Sqrt(square / groups)
		met := "yes"
		if mean < w.target-2*se {
			met = "no"
			if !w.beyond {
				t.Errorf("%s: %.4f ± %.4f found in, aimed at %.2f", w.name, mean, se, w.target)
			}
		}
		fmt.Fprintf(&b, "| %s | %.0f | %.0f | %.1f ± %.1f | %.0f | %s |\n", w.name, w.start, 100*w.target, 100*mean,
			100*se, o.months, met)
	}
	fmt.Fprint(&b, coverageFoot)
	if *update {
		if err := os.WriteFile("COVERAGE.md", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile("COVERAGE.md")
	if err != nil {
		t.Fatal(err)
	}
	if string(kept) != b.String() {
		t.Errorf("COVERAGE.md is not what is simulated now; run with -args -update:\n%s", b.String())
	}
}

const coverageHead = `# What the advice on intervals keeps

Made-up instruments whose truth is known follow each advice of ` + "`Advise`" + `; written by ` + "`go test\n./calc/history -args -update`" + `, seeds fixed. Ten groups of twenty instruments, twenty tests each, of
which the first eight do not count. Found in: the share in tolerance as found, in per cent, with the
standard error between groups. Met: not below what is aimed at by more than two standard errors.
Drift is a straight line with a slope of its own for each instrument; failures come at once and at a
rate that time does not change: these are the models behind the advice.

| instruments | months before | aimed at | found in | months after | met |
|---|---:|---:|---:|---:|---|
`

const coverageFoot = `
A random walk is no model behind the advice: what is found there is shown, and nothing is claimed.
`
