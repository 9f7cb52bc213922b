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

// readTests reads a history: visits in any order, each with its as-found errors, whether the
// instrument was adjusted, and its as-left errors.
func readTests(in *document.Reader) []Test {
	list := in.List("history")
	if in.Err() == nil && (len(list) == 0 || len(list) > mostVisits) {
		in.Fail(document.CodeRange, "history", "from 1 to 1000 visits are needed")
	}
	var tests []Test
	var points []numeric.Exact // ordered
	for _, r := range list {
		t := Test{Day: readDate(r, "date"), Adjusted: r.Flag("adjusted", false)}
		limit, limited := r.Optional("limit")
		if in.Err() == nil && limited && !(limit > 0) {
			r.Fail(document.CodeRange, "limit", "must be above zero")
		}
		t.Found = readErrors(r, "errors", limit, &points)
		if r.Has("left") {
			if in.Err() == nil && !t.Adjusted {
				r.Fail(document.CodeConflict, "left", "there is no as-left result without an adjustment")
			}
			t.Left = readErrors(r, "left", limit, &points)
		}
		tests = append(tests, t)
	}
	return tests
}

func readErrors(in *document.Reader, field string, limit float64, points *[]numeric.Exact) (errors []PointError) {
	for _, r := range in.List(field) {
		d := r.Decimal("point")
		p, ok := numeric.ParseExact(d.Text)
		one := PointError{Point: p, Error: r.Number("error"), U: r.NumberOr("u", 0), Limit: limit}
		own, limited := r.Optional("limit")
		switch {
		case in.Err() != nil:
			return errors
		case !ok:
			r.Fail(document.CodeRange, "point", "the number is too long or its exponent too large")
		case one.U < 0:
			r.Fail(document.CodeRange, "u", "must not be below zero")
		case limited && !(own > 0):
			r.Fail(document.CodeRange, "limit", "must be above zero")
		}
		if in.Err() != nil {
			return errors
		}
		if k, known := slices.BinarySearchFunc(*points, p, numeric.Exact.Cmp); !known {
			if len(*points) == mostPoints {
				r.Fail(document.CodeRange, "point", "more than 200 points")
				return errors
			}
			*points = slices.Insert(*points, k, p)
		}
		if limited {
			one.Limit = own
		}
		errors = append(errors, one)
	}
	return errors
}

func calculateDrift(in *document.Reader, out *document.Writer) error {
	tests := readTests(in)
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
	case advise && !(months > 0 && months <= mostAsked):
		in.Fail(document.CodeRange, "interval_months", "must be above 0 and at most 240")
	}
	if err := in.Err(); err != nil {
		return err
	}
	courses := Join(tests)
	forecasts := make([]*Ahead, len(courses))
	tails := NewTails(coverage, most)
	var refused error
	for i := range courses {
		f, err := courses[i].Ahead(at, tails)
		if err != nil {
			refused = err
			continue
		}
		forecasts[i] = &f
	}
	worst, first := Worst(forecasts)
	if worst < 0 {
		return refused
	}
	out.Number("point", courses[worst].Point.Float())
	forecasts[worst].write(out)
	if first >= 0 {
		out.Text("due", written(forecasts[first].Due))
		out.Number("due_point", courses[first].Point.Float())
		if advise {
			a := Advise(Evidence{Months: months, Found: math.Abs(found), Forecast: BearsOf(forecasts, at)})
			out.Text("advice", a.Action)
			out.Whole("advice_months", a.Months)
			out.Text("advice_method", a.Method)
			out.Text("advice_reason", a.Reason)
		}
	}
	out.Text("method", methodText)
	out.BeginList("points")
	for i := range courses {
		c := &courses[i]
		out.Begin()
		out.Number("point", c.Point.Float())
		out.Whole("n", len(c.Results))
		if f := forecasts[i]; f != nil {
			out.Whole("segments", f.Segments)
			out.Whole("dof", f.DOF)
			out.Number("slope_u_per_year", f.SlopeU)
			f.write(out)
			if f.Limited {
				out.Text("due", written(f.Due))
			}
		} else {
			out.Text("reason", "too little history")
		}
		out.End()
	}
	out.EndList()
	out.BeginList("warnings")
	warn(out, forecasts, at)
	out.EndList()
	return nil
}

func (a *Ahead) write(out *document.Writer) {
	out.Number("slope_per_year", a.SlopePerYear)
	out.Number("predicted", a.Predicted)
	out.Number("predicted_low", a.Low)
	out.Number("predicted_high", a.High)
	if a.Limited {
		out.Number("probability_out", a.Out)
	}
}

func warn(out *document.Writer, forecasts []*Ahead, at int) {
	little, few, never, unlimited, past := false, false, false, false, false
	for _, f := range forecasts {
		if f == nil {
			little = true
			continue
		}
		few = few || f.DOF < leastDOF
		never = never || f.Never
		unlimited = unlimited || !f.Limited
		past = past || at < f.last
	}
	for _, w := range []struct {
		said          bool
		code, message string
	}{
		{little, "little_history", "some points have too few results for a slope and are left out"},
		{few, "few", "fewer than three degrees of freedom: the bands are wide and a slope may be chance"},
		{
			never, "horizon",
			"within twenty years some points do not come to the limit; their due date is set there",
		},
		{unlimited, "no_limit", "points without a limit have no probability of being out and no due date"},
		{past, "past", "the day asked for lies before the latest result"},
	} {
		if w.said {
			out.Warn(w.code, "history", w.message)
		}
	}
}
