package dcc

import (
	"strconv"
	"strings"
)

// number writes a number with its unit, in the SI with the recorded unit beside it; nil if the unit
// cannot be written.
func (w *writer) number(x Number) *node {
	n, ok := notationOf(x.Unit)
	if !ok {
		return nil
	}
	w.declare(&n)
	one := func(value, unit string, convert func(string) string) *node {
		r := el("si:real", leaf("si:value", value), leaf("si:unit", unit))
		if x.Expanded != "" {
			r.add(el("si:measurementUncertaintyUnivariate", el("si:expandedMU", leaf(
				"si:valueExpandedMU", convert(x.Expanded),
			), leaf("si:coverageFactor", x.Factor),
				leaf("si:coverageProbability", x.Probability))))
		}
		return r
	}
	first := one(n.convert(x.Value), n.si, n.convert)
	if n.recorded == "" {
		return first
	}
	return el("si:hybrid", first, one(x.Value, n.recorded, func(s string) string { return s }))
}

// list writes the numbers of a column, with their uncertainties if each has one.
func (w *writer) list(values []string, unit string, expanded, factors []string, probability string) *node {
	n, ok := notationOf(unit)
	if !ok {
		return el("dcc:noQuantity", leaf("dcc:content", strings.Join(values, " ")+" "+unit).with("lang", w.c.Language))
	}
	w.declare(&n)
	one := func(values, expanded []string, unit string) *node {
		r := el("si:realListXMLList", leaf("si:valueXMLList", strings.Join(values, " ")), leaf("si:unitXMLList", unit))
		if len(expanded) > 0 {
			r.add(el("si:measurementUncertaintyUnivariateXMLList", el("si:expandedMUXMLList", leaf(
				"si:valueExpandedMUXMLList", strings.Join(expanded, " "),
			),
				leaf("si:coverageFactorXMLList", strings.Join(factors, " ")), leaf(
					"si:coverageProbabilityXMLList", probability,
				))))
		}
		return r
	}
	first := one(n.convertAll(values), n.convertAll(expanded), n.si)
	if n.recorded == "" {
		return first
	}
	return el("si:hybrid", first, one(values, expanded, n.recorded))
}

// table writes the columns of a table as quantities of one list.
func (w *writer) table(t *Table, number int) *node {
	list := el("dcc:list", w.content("dcc:name", t.Name)).with("refType", "gp_table"+strconv.Itoa(number))
	for i := range t.Columns {
		c := &t.Columns[i]
		q := el(
			"dcc:quantity", w.content("dcc:name", c.Name),
			w.list(c.Values, c.Unit, c.Expanded, c.Factors, c.Probability),
		).with("refType", c.RefType)
		about := el("dcc:measurementMetaData")
		if len(c.Nominal) > 0 {
			about.add(el("dcc:metaData", w.content("dcc:declaration", w.say("Test point")),
				el(
					"dcc:data", el("dcc:quantity", w.list(c.Nominal, c.Unit, nil, nil, "")),
				)).with("refType", "basic_calibrationValue"))
		}
		if len(c.Conformity) > 0 || len(c.Low) > 0 {
			limits := el("dcc:data")
			for _, l := range []struct {
				refType, name string
				values        []string
			}{{"basic_toleranceLimitLower", w.say("Lower limit"), c.Low}, {"basic_toleranceLimitUpper", w.say("Upper limit"), c.High}} {
				if len(l.values) > 0 {
					limits.add(
						el(
							"dcc:quantity", w.content("dcc:name", l.name),
							w.list(l.values, c.Unit, nil, nil, ""),
						).with("refType", l.refType),
					)
				}
			}
			about.add(el("dcc:metaData", w.content(
				"dcc:declaration", w.say("Verdict of each row by the decision rule stated above"),
			),
				leaf("dcc:conformityXMLList", strings.Join(c.Conformity, " ")), limits.orNil()).with("refType", "basic_conformity"))
		}
		list.add(q.add(about.orNil()))
	}
	return list
}

// figure writes one result of a test.
func (w *writer) figure(f *Figure) *node {
	value := w.number(f.Value)
	if f.Value.Value == "" || value == nil {
		said := f.Text
		if said == "" {
			said = strings.TrimSpace(f.Value.Value + " " + f.Value.Unit)
		}
		value = w.content("dcc:noQuantity", said)
	}
	q := el("dcc:quantity", w.content("dcc:name", f.Name), value)
	limits := el("dcc:data")
	for _, l := range []struct{ refType, name, value string }{{"basic_toleranceLimitLower", w.say("Lower limit"), f.Low}, {"basic_toleranceLimitUpper", w.say("Upper limit"), f.High}} {
		if l.value == "" {
			continue
		}
		if number := w.number(Number{Value: l.value, Unit: f.Value.Unit}); number != nil {
			limits.add(el("dcc:quantity", w.content("dcc:name", l.name), number).with("refType", l.refType))
		}
	}
	if len(limits.kids) == 0 && f.Conformity == "" && f.Source == "" {
		return q
	}
	about := el(
		"dcc:metaData", w.content("dcc:declaration", f.Source), leaf("dcc:conformity", f.Conformity),
		limits.orNil(),
	)
	if f.Conformity != "" {
		about.with("refType", "basic_conformity")
	}
	return q.add(el("dcc:measurementMetaData", about))
}
