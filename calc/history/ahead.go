package history

import (
	"math"
	"slices"

	"gaugewright/calc/numeric"
)

// Course is the history of one point.
type Course struct {
	Point   numeric.Exact
	Results []Result // in order of time
	Limit   float64  // ± the limit known last; 0 if none is known
}

// Test holds the errors found on a day, and those left after an adjustment.
type Test struct {
	Day         int
	Adjusted    bool
	Found, Left []PointError
}

// PointError is an error at a point.
type PointError struct {
	Point           numeric.Exact
	Error, U, Limit float64 // U, Limit: 0 if not known
}

// Join turns tests, in any order, into the history of each point, ordered by point. An adjustment
// begins a new segment, starting with the error left.
func Join(tests []Test) (courses []Course) {
	tests = slices.Clone(tests)
	slices.SortStableFunc(tests, func(a, b Test) int { return a.Day - b.Day })
	segment := 0
	take := func(day int, errors []PointError) {
		for _, e := range errors {
			k, known := slices.BinarySearchFunc(
				courses, e.Point, func(c Course, p numeric.Exact) int { return c.Point.Cmp(p) },
			)
			if !known {
				courses = slices.Insert(courses, k, Course{Point: e.Point})
			}
			c := &courses[k]
			c.Results = append(c.Results, Result{Day: day, Segment: segment, Error: e.Error, U: e.U})
			if e.Limit > 0 {
				c.Limit = e.Limit
			}
		}
	}
	for i := range tests {
		t := &tests[i]
		take(t.Day, t.Found)
		if t.Adjusted {
			segment++
			take(t.Day, t.Left)
		}
	}
	return courses
}

// Tails caches, by degrees of freedom, the quantiles for forecasts of one coverage and one bound:
// they cost more than all the rest.
type Tails struct {
	coverage, most float64
	known          map[int]tail
}

type tail struct{ band, one, both float64 }

// NewTails returns the Tails for bands of a coverage and for due dates up to which the probability
// of being out does not exceed most.
func NewTails(coverage, most float64) *Tails {
	return &Tails{coverage, most, map[int]tail{}}
}

func (t *Tails) of(dof int) tail {
	k, known := t.known[dof]
	if !known {
		n := float64(dof)
		k = tail{
			band: numeric.StudentTQuantile(float64((1+t.coverage)/2), n),
			one:  numeric.StudentTQuantile(1-t.most, n),
			both: numeric.StudentTQuantile(1-float64(t.most/2), n),
		}
		t.known[dof] = k
	}
	return k
}

// Ahead is the forecast for one point on a day.
type Ahead struct {
	Drift
	Predicted, Low, High float64 // the error, and its band
	Limited              bool    // a limit is known; else the rest is 0
	Out                  float64 // the probability of being out on the day
	Due                  int     // the last day on which that is not above its bound
	Never                bool    // the bound is not reached within twenty years
	Fresh                int     // days after an adjustment to 0 until the bound is reached
}

// Ahead forecasts from the history of a point to a day.
//
// Refuses: as Follow.
func (c *Course) Ahead(at int, t *Tails) (Ahead, error) {
	d, err := Follow(c.Results)
	if err != nil {
		return Ahead{}, err
	}
	a := Ahead{Drift: d, Limited: c.Limit > 0}
	e, sd := d.At(float64(at))
	half := float64(sd * t.of(d.DOF).band)
	a.Predicted, a.Low, a.High = e, e-half, e+half
	if a.Limited {
		a.Out = d.Out(float64(at), c.Limit)
		days, never := d.due(c.Limit, t)
		a.Due, a.Never = d.last+days, never
		fresh := d
		fresh.level, fresh.from, fresh.n, fresh.last = 0, 0, 1, 0
		a.Fresh, _ = fresh.due(c.Limit, t)
	}
	return a, nil
}

// Worst returns the point that is most likely out, or among points without limits the one with the
// largest error; and the point that passes its bound first. It returns -1 if there is none, and
// skips nil.
func Worst(list []*Ahead) (worst, first int) {
	worst, first = -1, -1
	for i, a := range list {
		if a == nil {
			continue
		}
		if worst < 0 || a.Out > list[worst].Out || a.Out == list[worst].Out &&
			math.Abs(a.Predicted) > math.Abs(list[worst].Predicted) {
			worst = i
		}
		if a.Limited && (first < 0 || a.Due < list[first].Due) {
			first = i
		}
	}
	return worst, first
}

// horizon is how far ahead a due date is looked for: 20 years, by months of 30 days and then by
// days.
const horizon, month = 7305, 30

// apart is the relative distance from a bound at which a quick comparison is safe.
const apart = 1e-9

// due returns for how many days after the latest result the probability of being out does not
// exceed its bound; never is true if this holds for twenty years.
func (d *Drift) due(limit float64, t *Tails) (days int, never bool) {
	k := t.of(d.DOF)
	fits := func(n int) bool {
		e, sd := d.At(float64(d.last + n))
		switch e = math.Abs(e); {
		case e+float64(k.both*sd) < float64(limit*(1-apart)): // neither tail has more than half of it
			return true
		case e+float64(k.one*sd) > float64(limit*(1+apart)): // one tail has more than all of it
			return false
		}
		return d.Out(float64(d.last+n), limit) <= t.most
	}
	low := 0
	for n := month; ; n += month {
		if n > horizon {
			return horizon, true
		}
		if !fits(n) {
			high := n
			for high-low > 1 {
				if mid := (low + high) / 2; fits(mid) {
					low = mid
				} else {
					high = mid
				}
			}
			return low, false
		}
		low = n
	}
}
