package dcc

import (
	"math/big"
	"slices"
	"strings"

	"gaugewright/calc/units"
)

// series finds the series of points in the results of a certificate.
type series struct {
	to      units.Unit
	tables  []Series
	single  *element // the list whose members gave one point each, which the last table gathers
	strange []string // units that could not be turned into to
}

// column is a quantity over some points, in one unit; expanded and factors are of its length or
// empty.
type column struct{ values, expanded, factors []string }

// what quantities are called; of each, the first that is there counts.
var (
	references = []string{"basic_referenceValue", "basic_nominalValue"}
	measured   = []string{"basic_measuredValue"}
	deviations = []string{"basic_measurementError", "basic_deviation"}
)

// search looks into an element and all below, but for what is said about quantities.
func (r *series) search(e *element, name string) {
	if e == nil || e.name == "measurementMetaData" {
		return
	}
	if own := e.said("name", "content"); own != "" {
		name = own
	}
	var quantities []*element
	for _, k := range e.kids {
		if k.name == "quantity" {
			quantities = append(quantities, k)
		}
	}
	of := func(refTypes []string) *column {
		for _, q := range quantities {
			if q.is(refTypes...) {
				return r.column(q)
			}
		}
		return nil
	}
	if reference := of(references); reference != nil {
		r.add(name, reference, of(measured), of(deviations))
	}
	for _, k := range e.kids {
		before := len(r.tables)
		r.search(k, name)
		if k.name != "list" || len(r.tables) != before+1 || len(r.tables[before].Points) != 1 {
			continue
		}
		if r.single == e { // one list for each point
			last := &r.tables[before-1]
			last.Points = append(last.Points, r.tables[before].Points...)
			r.tables = r.tables[:before]
			last.sort()
			continue
		}
		r.single = e
	}
}

// column reads a quantity in the entry that is in the wanted unit, else in one that can be turned
// into it; nil where none can.
func (r *series) column(q *element) *column {
	var entries []*element
	for _, k := range q.kids {
		if k.name == "hybrid" {
			entries = append(entries, k.kids...)
			continue
		}
		entries = append(entries, k)
	}
	var best *column
	for _, e := range entries {
		if e.name != "real" && e.name != "realListXMLList" {
			continue
		}
		unit := e.said("unit") + e.said("unitXMLList")
		from, ok := unitOf(unit)
		if !ok || from.Kind != r.to.Kind || from.Shift != r.to.Shift {
			if !slices.Contains(r.strange, unit) {
				r.strange = append(r.strange, unit)
			}
			continue
		}
		if best == nil || from.Name == r.to.Name {
			best = columnOf(e, &notation{from: from, to: r.to, recorded: from.Name})
		}
		if from.Name == r.to.Name {
			break
		}
	}
	return best
}

// unitOf finds the unit that D-SI writes so, or that was declared behind a vertical bar.
func unitOf(si string) (units.Unit, bool) {
	if name, ok := strings.CutPrefix(si, "|"); ok {
		return units.Find(name)
	}
	for _, list := range []map[string]string{plain, beside} {
		for name, is := range list {
			if is == si {
				return units.Find(name)
			}
		}
	}
	return units.Unit{}, false
}

// columnOf takes the numbers of a real or of a list of them.
func columnOf(e *element, n *notation) *column {
	texts := func(paths ...[]string) []string {
		for _, p := range paths {
			if x := e.child(p...); x != nil {
				return strings.Fields(x.text)
			}
		}
		return nil
	}
	const one, many = "measurementUncertaintyUnivariate", "measurementUncertaintyUnivariateXMLList"
	c := &column{values: texts([]string{"value"}, []string{"valueXMLList"})}
	c.expanded = texts([]string{one, "expandedMU", "valueExpandedMU"},
		[]string{many, "expandedMUXMLList", "valueExpandedMUXMLList"},
		[]string{"expandedUnc", "uncertainty"}, []string{"expandedUncXMLList", "uncertaintyXMLList"})
	c.factors = texts([]string{one, "expandedMU", "coverageFactor"},
		[]string{many, "expandedMUXMLList", "coverageFactorXMLList"},
		[]string{"expandedUnc", "coverageFactor"}, []string{"expandedUncXMLList", "coverageFactorXMLList"})
	if c.expanded == nil {
		c.expanded = texts([]string{one, "standardMU", "valueStandardMU"},
			[]string{many, "standardMUXMLList", "valueStandardMUXMLList"})
		c.factors = []string{"1"}
	}
	c.expanded, c.factors = spread(c.expanded, len(c.values)), spread(c.factors, len(c.values))
	if n.from.Name != n.to.Name {
		c.values, c.expanded = n.convertAll(c.values), n.convertAll(c.expanded)
	}
	return c
}

// spread gives a list as many members as there are points, of which one holds for all; nil where
// it has another number of them.
func spread(list []string, n int) []string {
	switch len(list) {
	case n:
		return list
	case 1:
		return slices.Repeat(list, n)
	}
	return nil
}

// add keeps a series of points, as far as its columns are of one length and its numbers are numbers.
func (r *series) add(name string, reference, value, deviation *column) {
	n := len(reference.values)
	if deviation != nil && len(deviation.values) != n {
		deviation = nil
	}
	if value != nil && len(value.values) != n || n == 0 || value == nil && deviation == nil {
		return
	}
	t := Series{Name: name, Unit: r.to.Name}
	for i, applied := range reference.values {
		p := IncomingPoint{Applied: applied}
		at, ok := rational(applied)
		if !ok {
			continue
		}
		if deviation != nil {
			if _, ok := rational(deviation.values[i]); !ok {
				continue
			}
			p.Error = deviation.values[i]
		} else if x, ok := rational(value.values[i]); ok {
			p.Error = new(big.Rat).Sub(x, at).FloatString(max(decimals(applied), decimals(value.values[i])))
		} else {
			continue
		}
		for _, c := range []*column{deviation, value, reference} {
			if c != nil && len(c.expanded) == n {
				p.Expanded, p.K = c.expanded[i], "2"
				if len(c.factors) == n {
					p.K = c.factors[i]
				}
				break
			}
		}
		t.Points = append(t.Points, p)
	}
	if len(t.Points) > 0 {
		t.sort()
		r.tables = append(r.tables, t)
	}
}

// sort puts the points in the order of what was applied.
func (t *Series) sort() {
	slices.SortStableFunc(t.Points, func(a, b IncomingPoint) int {
		x, _ := rational(a.Applied)
		y, _ := rational(b.Applied)
		return x.Cmp(y)
	})
}

func decimals(text string) int {
	_, after, _ := strings.Cut(text, ".")
	return len(after)
}

// why names the units that could not be used.
func (r *series) why() string {
	if len(r.strange) == 0 {
		return ""
	}
	return "; it has " + strings.Join(r.strange, ", ")
}
