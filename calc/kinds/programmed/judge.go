package programmed

import (
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/programme"
	"gaugewright/calc/work"
)

// progRead is one value of a run, with the limits that came nearest to it.
type progRead struct {
	at        *programme.Instance
	value     float64
	verdict   string
	low, high float64
	hasLow    bool
	hasHigh   bool
}

type progJudged struct {
	reads     []progRead
	results   []work.Result
	unread    []string
	failed    int
	first     string // why the first one failed
	undecided string
	counted   int
}

func (j *progJudged) verdict() (verdict, reason string) {
	switch {
	case j.failed > 0:
		return conformity.Fail, j.first
	case j.undecided != "":
		return conformity.Undecided, j.undecided
	case j.counted == 0:
		return conformity.Undecided, "nothing is judged: the programme has no rule for what was read"
	}
	return conformity.Pass, ""
}

// judgeProgramme checks every value against the rules of its name, then the conditions with the
// last values of the run.
func judgeProgramme(m *progMethod, c *programme.Course) progJudged {
	j := progJudged{}
	used := make([]bool, len(m.rules))
	for i := range c.Steps {
		one := &c.Steps[i]
		x, ok := one.Number()
		if !ok {
			continue
		}
		r := progRead{at: one, value: x.Float()}
		row := work.Result{Name: one.Name, Value: r.value, Unit: one.Unit}
		if one.Name == "" {
			row.Name = one.Text
		}
		for k := range m.rules {
			rule := &m.rules[k]
			if rule.when != nil || rule.name != one.Name {
				continue
			}
			used[k] = true
			j.counted++
			row.Source = "the programme's rule for " + one.Name
			verdict, low, high := rule.judge(x, one.Unit)
			if r.verdict != conformity.Fail {
				r.verdict = verdict
				r.low, r.hasLow, r.high, r.hasHigh = low.Float(), rule.low != nil, high.Float(), rule.high != nil
			}
			if verdict == conformity.Fail {
				j.fail(one.Name + " lies outside " + rule.span())
			}
		}
		row.Verdict, row.Low, row.High, row.HasLow, row.HasHigh = r.verdict, r.low, r.high, r.hasLow, r.hasHigh
		j.reads = append(j.reads, r)
		j.results = append(j.results, row)
	}
	for k := range m.rules {
		switch rule := &m.rules[k]; {
		case rule.when != nil:
			j.condition(rule, c)
		case !used[k]:
			j.unread = append(j.unread, rule.name)
		}
	}
	return j
}

func (j *progJudged) fail(why string) {
	if j.failed == 0 {
		j.first = why
	}
	j.failed++
}

func (r *progRule) span() string {
	unit := ""
	if r.unit != "" {
		unit = " " + r.unit
	}
	switch {
	case r.low == nil:
		return "at most " + r.highText + unit
	case r.high == nil:
		return "at least " + r.lowText + unit
	}
	return r.lowText + " to " + r.highText + unit
}

// condition adds a row whose value is 1 if the condition holds, and 0 if it does not or cannot be
// known.
func (j *progJudged) condition(r *progRule, c *programme.Course) {
	j.counted++
	row := work.Result{Name: r.name, Source: r.when.String(), Condition: "does not hold"}
	why, holds, err := r.when.Explain(c.Value)
	switch {
	case err != nil:
		row.Verdict, row.Reason, row.Condition = conformity.Undecided, document.AsFault(err).Message, "not known"
		if j.undecided == "" {
			j.undecided = r.name + ": " + row.Reason
		}
	case holds:
		row.Value, row.Verdict, row.Reason, row.Condition = 1, conformity.Pass, why, "holds"
	default:
		row.Verdict, row.Reason = conformity.Fail, why
		if r.text != "" {
			row.Reason = r.text + ": " + why
		}
		j.fail(r.name + ": " + row.Reason)
	}
	j.results = append(j.results, row)
}

func writeProgramme(out *document.Writer, m *progMethod, c *programme.Course, j *progJudged) {
	out.BeginObject("programme")
	out.Text("unit", m.unit)
	if m.mode != "" {
		out.Text("mode", m.mode)
	}
	out.Flag("ended", c.Ended)
	if c.Stop != "" {
		out.Text("stop", c.Stop)
	}
	out.BeginList("reads")
	for i := range j.reads {
		r := &j.reads[i]
		out.Begin()
		out.Text("step", r.at.ID)
		out.Text("name", r.at.Name)
		out.Text("unit", r.at.Unit)
		out.Number("value", r.value)
		if at, ok := r.at.Moment(); ok {
			out.Number("t_s", seconds(at, c))
		}
		if r.hasLow {
			out.Number("low", r.low)
		}
		if r.hasHigh {
			out.Number("high", r.high)
		}
		if r.verdict != "" {
			out.Text("verdict", r.verdict)
		}
		out.End()
	}
	out.EndList()
	programme.PutBranches(out, c.Branches)
	out.End()
}

// seconds returns the seconds since the first moment of the run.
func seconds(at int64, c *programme.Course) float64 {
	for i := range c.Steps {
		if first, ok := c.Steps[i].Moment(); ok {
			return float64(at-first) / 1000
		}
	}
	return 0
}
