package uncertainty

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
)

// MostTerms is the largest number of terms: more than any budget on paper has.
const MostTerms = 200

// Calculations returns the calculations budget, observations, line and model.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "budget", Call: calculate}, {Name: "observations", Call: calculateObservations},
		{Name: "line", Call: calculateLine}, {Name: "model", Call: calculateModel},
	}
}

// ReadTerms reads the terms of a document's field "terms".
func ReadTerms(in *document.Reader) []Term {
	list := in.List("terms")
	if in.Err() == nil && (len(list) == 0 || len(list) > MostTerms) {
		in.Fail(document.CodeRange, "terms", "from 1 to 200 terms are needed")
	}
	terms := make([]Term, 0, len(list))
	for _, one := range list {
		terms = append(terms, readTerm(one))
	}
	for i := range terms {
		for j := range i {
			if in.Err() == nil && terms[i].Name == terms[j].Name {
				in.Fail(
					document.CodeConflict, "terms["+strconv.Itoa(i)+"].name",
					document.Quote(terms[i].Name)+" is given twice",
				)
			}
		}
	}
	return terms
}

func readTerm(in *document.Reader) Term {
	t := Term{Name: in.Text("name"), Shape: Normal, Sensitivity: in.NumberOr("sensitivity", 1), DOF: math.Inf(1)}
	if dof, ok := in.Optional("dof"); ok {
		t.DOF = dof
		if in.Err() == nil && !(dof >= 1) {
			in.Fail(document.CodeRange, "dof", "must be 1 or more; leave it out where the uncertainty is well known")
		}
	}
	u, hasU := in.Optional("u")
	half, hasHalf := in.Optional("half_width")
	expanded, hasExpanded := in.Optional("expanded")
	k, hasK := in.Optional("k")
	given := 0
	for _, has := range []bool{hasU, hasHalf, hasExpanded} {
		if has {
			given++
		}
	}
	switch {
	case in.Err() != nil:
		return t
	case given == 0:
		in.Fail(document.CodeMissing, "u", "give u, or half_width with its shape, or expanded with its k")
	case given > 1:
		in.Fail(document.CodeConflict, "u", "give one of u, half_width and expanded")
	case hasExpanded && !hasK:
		in.Fail(document.CodeMissing, "k", "an expanded uncertainty says nothing without its coverage factor")
	case hasK && !hasExpanded:
		in.Fail(document.CodeConflict, "k", "belongs to expanded")
	case hasExpanded && !(k > 0):
		in.Fail(document.CodeRange, "k", "must be above zero")
	case u < 0:
		in.Fail(document.CodeRange, "u", "must not be below zero")
	case half < 0:
		in.Fail(document.CodeRange, "half_width", "must not be below zero")
	case expanded < 0:
		in.Fail(document.CodeRange, "expanded", "must not be below zero")
	}
	switch {
	case in.Err() != nil:
	case hasHalf:
		t.Shape = Shape(in.Choice("shape", string(Rectangular), string(Triangular), string(Arcsine)))
		t.U, _ = FromHalfWidth(half, t.Shape)
	case hasExpanded:
		t.U = expanded / k
	default:
		t.U = u
	}
	if !hasHalf && in.Err() == nil {
		// if u is given, the shape only decides how trials draw
		t.Shape = Shape(in.ChoiceOr("shape", string(Normal), string(Rectangular), string(Triangular), string(Arcsine)))
	}
	return t
}

func readCorrelations(in *document.Reader, terms []Term) []Correlation {
	if !in.Has("correlations") {
		in.Raw("correlations")
		return nil
	}
	find := func(one *document.Reader, field string) int {
		name := one.Text(field)
		for i := range terms {
			if terms[i].Name == name {
				return i
			}
		}
		one.Fail(document.CodeRange, field, "there is no term called "+document.Quote(name))
		return -1
	}
	list := in.List("correlations")
	correlations := make([]Correlation, 0, len(list))
	for _, one := range list {
		correlations = append(correlations, Correlation{A: find(one, "a"), B: find(one, "b"), R: one.Number("r")})
	}
	return correlations
}

func calculate(in *document.Reader, out *document.Writer) error {
	terms := ReadTerms(in)
	correlations := readCorrelations(in, terms)
	coverage, asked := in.Optional("coverage")
	if in.Err() == nil && asked && !(coverage > 0 && coverage < 1) {
		in.Fail(document.CodeRange, "coverage", "must be between 0 and 1")
	}
	trials, wanted := in.OptionalObject("trials")
	var count, seed int
	if wanted {
		count, seed = trials.Whole("count", 100, MostTrials), trials.Whole("seed", 0, math.MaxInt32)
		if in.Err() == nil && count*len(terms) > 20*MostTrials {
			trials.Fail(document.CodeRange, "count", "so many trials of so many terms take too long on a phone")
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	b, err := Combine(terms, correlations, coverage)
	if err != nil {
		return err
	}
	b.put(out)
	out.BeginList("terms")
	for i, t := range terms {
		out.Begin()
		out.Text("name", t.Name)
		out.Number("u", t.U)
		out.Number("contribution", b.Contributions[i])
		out.Number("share", b.Shares[i])
		out.End()
	}
	out.EndList()
	if wanted {
		s, err := Trials(terms, correlations, coverage, count, uint64(seed))
		if err != nil {
			return err
		}
		out.BeginObject("trials")
		out.Number("mean", s.Mean)
		out.Number("sd", s.SD)
		out.Number("low", s.Low)
		out.Number("high", s.High)
		out.Number("shortest_low", s.ShortestLow)
		out.Number("shortest_high", s.ShortestHigh)
		out.End()
	}
	out.BeginList("warnings")
	for i, t := range terms {
		if t.U == 0 {
			out.Warn(
				"no_uncertainty", "terms["+strconv.Itoa(i)+"]",
				"an uncertainty of zero is none: the term has no part in the budget",
			)
		}
	}
	for i, c := range correlations {
		if !math.IsInf(terms[c.A].DOF, 1) || !math.IsInf(terms[c.B].DOF, 1) {
			out.Warn(
				"dof_of_correlated", "correlations["+strconv.Itoa(i)+"]",
				"the effective degrees of freedom hold for independent terms; these are correlated",
			)
		}
	}
	out.EndList()
	return nil
}

// put writes the figures of a budget. It leaves out the degrees of freedom if no term limits them.
func (b *Budget) put(out *document.Writer) {
	out.Number("u", b.U)
	if !math.IsInf(b.DOF, 1) {
		out.Number("dof", b.DOF)
		out.Number("dof_used", b.Used)
	}
	out.Number("k", b.K)
	out.Number("expanded", b.Expanded)
}
