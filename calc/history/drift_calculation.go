package history

import (
	"math"
	"slices"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

const (
	mostVisits   = 1000
	mostPoints   = 200
	usualBand    = 0.95
	usualRiskOut = 0.05 // common practice, no source: nineteen of twenty in tolerance when due
	methodText   = "results since the last adjustment, with one slope from all stretches between adjustments; least squares, prediction by Student's t"
)

// course is the history of one point.
type course struct {
	point numeric.Exact
	list  []Result
	limit float64
	has   bool // a limit is known
}

type visit struct {
	day     int
	in      *document.Reader
	limit   float64
	limited bool
}

// readCourses takes a history: visits in any order, each with its as-found errors, whether it was
// adjusted then, and its as-left errors.
func readCourses(in *document.Reader) []course {
	list := in.List("history")
	if in.Err() == nil && (len(list) == 0 || len(list) > mostVisits) {
		in.Fail(document.CodeRange, "history", "from 1 to 1000 visits are needed")
	}
	var visits []visit
	for _, r := range list {
		v := visit{day: readDate(r, "date"), in: r}
		v.limit, v.limited = r.Optional("limit")
		if in.Err() == nil && v.limited && !(v.limit > 0) {
			r.Fail(document.CodeRange, "limit", "must be above zero")
		}
		visits = append(visits, v)
	}
	slices.SortStableFunc(visits, func(a, b visit) int { return a.day - b.day })
	var courses []course
	segment := 0
	for _, v := range visits {
		courses = v.take(courses, "errors", segment)
		adjusted := v.in.Flag("adjusted", false)
		if adjusted {
			segment++
		}
		if v.in.Has("left") {
			if in.Err() == nil && !adjusted {
				v.in.Fail(document.CodeConflict, "left", "there is no as-left result without an adjustment")
			}
			courses = v.take(courses, "left", segment)
		}
		if in.Err() != nil {
			return nil
		}
	}
	return courses
}

func (v *visit) take(courses []course, field string, segment int) []course {
	list := v.in.List(field)
	for _, r := range list {
		d := r.Decimal("point")
		p, ok := numeric.ParseExact(d.Text)
		one := Result{Day: v.day, Segment: segment, Error: r.Number("error"), U: r.NumberOr("u", 0)}
		limit, limited := r.Optional("limit")
		switch {
		case v.in.Err() != nil:
			return courses
		case !ok:
			r.Fail(document.CodeRange, "point", "the number is too long or its exponent too large")
		case one.U < 0:
			r.Fail(document.CodeRange, "u", "must not be below zero")
		case limited && !(limit > 0):
			r.Fail(document.CodeRange, "limit", "must be above zero")
		}
		k, known := slices.BinarySearchFunc(courses, p, func(c course, p numeric.Exact) int { return c.point.Cmp(p) })
		if !known {
			if len(courses) == mostPoints {
				r.Fail(document.CodeRange, "point", "more than 200 points")
				return courses
			}
			courses = slices.Insert(courses, k, course{point: p})
		}
		c := &courses[k]
		c.list = append(c.list, one)
		if limited {
			c.limit, c.has = limit, true
		} else if v.limited {
			c.limit, c.has = v.limit, true
		}
	}
	return courses
}

// forecast is what is said of one point.
type forecast struct {
	drift               Drift
	predicted, low, top float64
	out                 float64
	due                 int
	never               bool
}

func (c *course) ahead(at int, coverage, most float64) (forecast, error) {
	d, err := Follow(c.list)
	if err != nil {
		return forecast{}, err
	}
	f := forecast{drift: d}
	e, sd := d.At(float64(at))
	half := float64(sd * numeric.StudentTQuantile(float64((1+coverage)/2), float64(d.DOF)))
	f.predicted, f.low, f.top = e, e-half, e+half
	if c.has {
		f.out = d.Out(float64(at), c.limit)
		day, ok := d.Due(c.limit, most)
		f.due, f.never = day, !ok
	}
	return f, nil
}

func calculateDrift(in *document.Reader, out *document.Writer) error {
	courses := readCourses(in)
	at := readDate(in, "at")
	coverage, most := in.NumberOr("coverage", usualBand), in.NumberOr("max_probability_out", usualRiskOut)
	months, advise := in.Optional("interval_months")
	found := in.NumberOr("found_fraction", 0)
	switch {
	case in.Err() != nil:
	case !(coverage > 0.5 && coverage < 0.9999):
		in.Fail(document.CodeRange, "coverage", "must be between 0.5 and 0.9999")
	case !(most > 0 && most < 0.5):
		in.Fail(document.CodeRange, "max_probability_out", "must be between 0 and 0.5")
	case advise && !(months > 0 && months <= 240):
		in.Fail(document.CodeRange, "interval_months", "must be above 0 and at most 240")
	}
	if err := in.Err(); err != nil {
		return err
	}
	forecasts := make([]*forecast, len(courses))
	worst, first := -1, -1
	var refused error
	for i := range courses {
		f, err := courses[i].ahead(at, coverage, most)
		if err != nil {
			refused = err
			continue
		}
		forecasts[i] = &f
		if worst < 0 || f.out > forecasts[worst].out || f.out == forecasts[worst].out &&
			math.Abs(f.predicted) > math.Abs(forecasts[worst].predicted) {
			worst = i
		}
		if courses[i].has && (first < 0 || f.due < forecasts[first].due) {
			first = i
		}
	}
	if worst < 0 {
		return refused
	}
	out.Number("point", courses[worst].point.Float())
	forecasts[worst].write(out, courses[worst].has)
	if first >= 0 {
		f := forecasts[first]
		out.Text("due", written(f.due))
		out.Number("due_point", courses[first].point.Float())
		if advise {
			action, reason := Advice(math.Abs(found), f.due-at, float64(months*daysPerMonth))
			out.Text("advice", action)
			out.Text("advice_reason", reason)
		}
	}
	out.Text("method", methodText)
	out.BeginList("points")
	for i := range courses {
		c := &courses[i]
		out.Begin()
		out.Number("point", c.point.Float())
		out.Whole("n", len(c.list))
		if f := forecasts[i]; f != nil {
			out.Whole("segments", f.drift.Segments)
			out.Whole("dof", f.drift.DOF)
			out.Number("slope_u_per_year", f.drift.SlopeU)
			f.write(out, c.has)
			if c.has {
				out.Text("due", written(f.due))
			}
		} else {
			out.Text("reason", "too little history")
		}
		out.End()
	}
	out.EndList()
	out.BeginList("warnings")
	warn(out, courses, forecasts, at)
	out.EndList()
	return nil
}

func (f *forecast) write(out *document.Writer, limited bool) {
	out.Number("slope_per_year", f.drift.SlopePerYear)
	out.Number("predicted", f.predicted)
	out.Number("predicted_low", f.low)
	out.Number("predicted_high", f.top)
	if limited {
		out.Number("probability_out", f.out)
	}
}

func warn(out *document.Writer, courses []course, forecasts []*forecast, at int) {
	little, few, never, unlimited, past := false, false, false, false, false
	for i, f := range forecasts {
		if f == nil {
			little = true
			continue
		}
		few = few || f.drift.DOF < 3
		never = never || f.never
		unlimited = unlimited || !courses[i].has
		past = past || at < f.drift.last
	}
	for _, w := range []struct {
		said          bool
		code, message string
	}{
		{little, "little_history", "some points have too few results for a slope and are left out"},
		{few, "few", "fewer than three degrees of freedom: the bands are wide and a slope may be chance"},
		{
			never, "horizon",
			"within twenty years some points do not come to the limit; their due date stands at that horizon",
		},
		{unlimited, "no_limit", "points without a limit have no probability of being out and no due date"},
		{past, "past", "the day asked for lies before the latest result"},
	} {
		if w.said {
			out.Warn(w.code, "history", w.message)
		}
	}
}
