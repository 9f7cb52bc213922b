package dcc

import (
	"math/big"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc/units"
)

// series finds the series of points in the results of a certificate.
type series struct {
	to      units.Unit
	tables  []Series
	single  *element // the list whose members gave one point each, gathered in the last table
	strange []string // units that do not convert to to
}

// column is a quantity over some points, in one unit; expanded and factors have its length or are
// empty.
type column struct{ values, expanded, factors []string }

// The names of quantities; of each, the first one found counts.
var (
	references = []string{"basic_referenceValue", "basic_nominalValue"}
	measured   = []string{"basic_measuredValue"}
	deviations = []string{"basic_measurementError", "basic_deviation"}
)

// search looks through an element and everything below it, except statements about quantities.
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

// column reads the entry of a quantity that is in the wanted unit, else one that converts to it;
// nil if there is none.
func (r *series) column(q *element) *column {
	var entries []*element
	for _, k := range q.kids {
		switch k.name {
		case "hybrid":
			entries = append(entries, k.kids...)
		case "list":
			for _, one := range k.kids {
				if one.name == "realList" {
					one = members(one)
				}
				if one != nil {
					entries = append(entries, one)
				}
			}
		default:
			entries = append(entries, k)
		}
	}
	var best *column
	for _, e := range entries {
		if e.name != "real" && e.name != "realListXMLList" {
			continue
		}
		unit := e.said("unit") + e.said("unitXMLList")
		from, power, ok := unitOf(unit)
		if !ok || from.Kind != r.to.Kind || from.Shift != r.to.Shift {
			if !slices.Contains(r.strange, unit) {
				r.strange = append(r.strange, unit)
			}
			continue
		}
		if best == nil || from.Name == r.to.Name {
			best = columnOf(e, &notation{from: from, to: r.to, recorded: from.Name}, power)
		}
		if from.Name == r.to.Name {
			break
		}
	}
	return best
}

// columnOf takes the numbers of a real or of a list of them, without exponents, multiplied by a
// power of ten.
func columnOf(e *element, n *notation, power int) *column {
	texts := func(paths ...[]string) []string {
		for _, p := range paths {
			if x := e.child(p...); x != nil {
				return strings.Fields(x.text)
			}
		}
		return nil
	}
	c := &column{values: texts([]string{"value"}, []string{"valueXMLList"})}
	for _, way := range uncertainties {
		if c.expanded = texts(way.one, way.many); c.expanded == nil {
			continue
		}
		c.factors = []string{"1"}
		if !way.standard {
			c.factors = texts(
				append(slices.Clone(way.one[:len(way.one)-1]), "coverageFactor"),
				append(slices.Clone(way.many[:len(way.many)-1]), "coverageFactorXMLList"),
			)
		}
		break
	}
	c.expanded, c.factors = spread(c.expanded, len(c.values)), spread(c.factors, len(c.values))
	for _, list := range [][]string{c.values, c.expanded} {
		for i, text := range list {
			list[i] = plainly(text, power)
		}
	}
	if n.from.Name != n.to.Name {
		c.values, c.expanded = n.convertAll(c.values), n.convertAll(c.expanded)
	}
	return c
}

// spread gives a list as many members as there are points, repeating a single one; nil if it has
// another number of them.
func spread(list []string, n int) []string {
	switch len(list) {
	case n:
		return list
	case 1:
		return slices.Repeat(list, n)
	}
	return nil
}

// add adds a series of points if its columns have one length and its numbers are numbers.
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

// sort sorts the points by the applied value.
func (t *Series) sort() {
	slices.SortStableFunc(t.Points, func(a, b IncomingPoint) int {
		x, _ := rational(a.Applied)
		y, _ := rational(b.Applied)
		return x.Cmp(y)
	})
}

// decimals counts the decimals of a decimal text: 1.25E-1 has three.
func decimals(text string) int {
	text, exponent, _ := strings.Cut(strings.ToLower(text), "e")
	power, err := strconv.Atoi(exponent)
	if err != nil {
		power = 0
	}
	_, after, _ := strings.Cut(text, ".")
	return max(0, len(after)-power)
}

// why names the units that could not be used.
func (r *series) why() string {
	if len(r.strange) == 0 {
		return ""
	}
	return "; it has " + strings.Join(r.strange, ", ")
}
