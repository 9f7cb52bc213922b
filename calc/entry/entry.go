package entry

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/work"
)

// Calculations returns the calculation of the package.
func Calculations(kinds work.Kinds) []document.Calculation {
	return []document.Calculation{
		{
			Name: "entry",
			Call: func(in *document.Reader, out *document.Writer) error { return calculate(kinds, in, out) },
		},
	}
}

// calculate is the calculation entry: a value that is about to be kept in a run, with the values
// kept before → the doubts about it.
//
// For a logger's record (of: trace) the value is its first pressure.
func calculate(kinds work.Kinds, in *document.Reader, out *document.Writer) error {
	k := kinds.Of(in)
	var e work.Entry
	e.Height, e.HasHeight = in.Optional("height_m")
	r := in.Object("entry")
	e.Step, e.Of, e.Unit = r.Text("step"), r.Choice(
		"of", "applied", "indicated", "before_tap", "answer", "settle", "trace",
	), r.TextOr("unit", "")
	if v, ok := r.Raw("value"); ok {
		e.Text = v.Text
	} else {
		r.Fail(document.CodeMissing, "value", "this field is missing")
	}
	if document.IsDecimal(e.Text) {
		x, ok := numeric.ParseExact(e.Text)
		e.X, e.Number = x.Float(), ok
	}
	e.Sure = r.Flag("sure", false)
	var kept []work.Entry
	for _, c := range in.List("captures") {
		one := work.Entry{Step: c.Text("step"), Of: c.Text("of"), Unit: c.TextOr("unit", "")}
		if v, ok := c.Raw("value"); ok {
			one.Text = v.Text
		}
		c.Raw("at")
		if document.IsDecimal(one.Text) {
			x, ok := numeric.ParseExact(one.Text)
			one.X, one.Number = x.Float(), ok
		}
		kept = append(kept, one)
	}
	if err := in.Err(); err != nil {
		return err
	}
	list, err := speaks(k, in, &e, kept)
	if err != nil {
		return err
	}
	out.BeginList("findings")
	for _, a := range list {
		out.Begin()
		out.Text("level", a.Level)
		out.Text("code", a.Code)
		out.Text("message", a.Message)
		if a.Suggest != "" {
			out.Text("suggest", a.Suggest)
		}
		out.End()
	}
	out.EndList()
	return nil
}

// speaks lays out the method and returns the doubts about the value. A value that may have strained
// something stops the work, ahead of any other doubt, once the reader has confirmed it. Until then
// that doubt is raised only if there is no other.
func speaks(k *work.Kind, in *document.Reader, e *work.Entry, kept []work.Entry) ([]work.Doubt, error) {
	list, err := doubts(k, in, e, kept)
	if err != nil {
		return nil, err
	}
	strained := work.Strained(in, e)
	if !e.Sure && len(list) > 0 || k.Unlike != nil && k.Unlike(e.Step) {
		strained = nil
	}
	return append(strained, list...), in.Err()
}

func doubts(k *work.Kind, in *document.Reader, e *work.Entry, kept []work.Entry) ([]work.Doubt, error) {
	if k.Doubts != nil {
		return k.Doubts(in, e, kept)
	}
	if e.Of == "answer" && (e.Step == "field" || e.Step == "after.field") && e.Number {
		if why := work.NoPressure(e.X, e.Height, e.HasHeight); why != "" {
			work.Skim(in.Object("method"))
			work.Skim(in.Object("instrument"))
			return work.DoubtOf(work.LevelRefuse, work.StopPlace, why), in.Err()
		}
	}
	return work.MistypedOrAway(k.Expand)(in, e, kept)
}
