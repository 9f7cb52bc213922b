package points

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Calculations returns the calculation points.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "points", Call: calculatePoints}}
}

func exact(in *document.Reader, name string) numeric.Exact {
	d := in.Decimal(name)
	if in.Err() != nil {
		return numeric.Exact{}
	}
	x, ok := numeric.ParseExact(d.Text)
	if !ok {
		in.Fail(document.CodeRange, name, "the number is too long or its exponent too large")
	}
	return x
}

// Read reads the points of a document: its fields low, high and one of count, values, percents.
//
// Gives:   the points as decimal texts, in the order typed for values and percents.
// Refuses: faults "range" and "conflict" on the field, such as values[3] for a repeated point.
func Read(in *document.Reader, low, high numeric.Exact) []string {
	given := 0
	for _, name := range []string{"count", "values", "percents"} {
		if in.Has(name) {
			given++
		}
	}
	if in.Err() != nil {
		return nil
	}
	if given != 1 {
		code := document.CodeConflict
		if given == 0 {
			code = document.CodeMissing
		}
		in.Fail(code, "count", "give one of count, values and percents")
		return nil
	}
	if in.Has("count") {
		count := in.Whole("count", 2, Most)
		if in.Err() != nil {
			return nil
		}
		return Equal(low, high, count)
	}
	name := "values"
	if in.Has("percents") {
		name = "percents"
	}
	typed := in.Decimals(name)
	if in.Err() != nil {
		return nil
	}
	if len(typed) == 0 || len(typed) > Most {
		in.Fail(document.CodeRange, name, "from 1 to 1000 points are needed")
		return nil
	}
	points := make([]string, len(typed))
	values := make([]numeric.Exact, len(typed))
	for i, d := range typed {
		x, ok := numeric.ParseExact(d.Text)
		if !ok {
			in.Fail(document.CodeRange, place(name, i), "the number is too long or its exponent too large")
			return nil
		}
		if name == "percents" {
			points[i] = OfSpan(low, high, x)
			x, _ = numeric.ParseExact(points[i])
		} else {
			points[i], _ = x.Text(numeric.DecimalPlaces(d.Text))
		}
		if x.Cmp(low) < 0 || x.Cmp(high) > 0 {
			in.Fail(document.CodeRange, place(name, i), "the point "+points[i]+" lies outside the range")
			return nil
		}
		for j := range i {
			if values[j].Cmp(x) == 0 {
				in.Fail(document.CodeConflict, place(name, i), "the point "+points[i]+" is given twice")
				return nil
			}
		}
		values[i] = x
	}
	return points
}

func calculatePoints(in *document.Reader, out *document.Writer) error {
	units.Of(in, "unit")
	low, high := exact(in, "low"), exact(in, "high")
	if in.Err() == nil && low.Cmp(high) >= 0 {
		in.Fail(document.CodeRange, "high", "must be above low")
	}
	points := Read(in, low, high)
	directions := in.ChoiceOr("directions", "up", "up-down")
	approach := in.ChoiceOr("approach", "up", "down")
	cycles := in.WholeOr("cycles", 1, 100, 1)
	if in.Err() == nil && len(points)*cycles*2 > 2*Most {
		in.Fail(document.CodeRange, "cycles", "this makes too many visits; at most 1000 points times cycles")
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("points")
	for _, p := range points {
		out.TextItem(p)
	}
	out.EndList()
	out.BeginList("steps")
	for _, s := range Visits(len(points), directions, approach, cycles) {
		out.Begin()
		out.Whole("series", s.Series)
		out.Text("direction", s.Direction)
		out.Whole("point", s.Point)
		out.Text("target", points[s.Point])
		out.End()
	}
	out.EndList()
	return nil
}
