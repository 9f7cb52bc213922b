package register

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Point is a line of a standard's certificate: the applied value, the error there, its expanded
// uncertainty and coverage factor, as decimal texts.
type Point struct{ Applied, Error, Expanded, K string }

// pointHeads are the possible headings for a certificate's points.
var pointHeads = []struct {
	name  string
	heads []string
}{
	{"applied", []string{"applied", "reference", "ref", "nominal"}},
	{"error", []string{"error", "deviation"}},
	{"expanded", []string{"expanded", "u", "uncertainty"}},
	{"k", []string{"k"}},
}

// Points reads the points of a standard's certificate from a table with a header: applied, error,
// expanded and, if it is not 2, k. A column's unit may follow its name, as in applied_kPa or "error
// (kPa)"; without one it is the wanted unit.
//
// Refuses: ErrFile, ErrColumns, and a value that is not a number, with its line and column.
func Points(data []byte, unit string) ([]Point, error) {
	t, err := cut(data, look{header: -1})
	if err != nil {
		return nil, err
	}
	to, ok := units.Find(unit)
	if !ok {
		return nil, fmt.Errorf("%w: nothing is known of the unit %q", ErrColumns, unit)
	}
	var m marks
	for _, l := range t.lines {
		for _, c := range l.cells {
			m.note(c)
		}
	}
	mark := byte('.')
	if m.comma > m.point {
		mark = ','
	}
	at, from := map[string]int{}, map[string]units.Unit{}
	for i, head := range t.header {
		name, behind := pointHead(head)
		if name == "" {
			continue
		}
		if _, twice := at[name]; twice {
			return nil, fmt.Errorf("%w: two columns are %q", ErrColumns, name)
		}
		at[name], from[name] = i, to
		if behind == "" || name == "k" {
			continue
		}
		u, ok := units.Find(behind)
		if !ok || u.Kind != to.Kind || u.Shift != to.Shift {
			return nil, fmt.Errorf("%w: the unit of %q cannot be turned into %s", ErrColumns, head, unit)
		}
		from[name] = u
	}
	for _, p := range pointHeads[:3] {
		if _, ok := at[p.name]; !ok {
			return nil, fmt.Errorf(
				"%w: there is no column %q; the header needs applied, error and expanded", ErrColumns, p.name,
			)
		}
	}
	var list []Point
	for _, l := range t.lines {
		p := Point{K: "2"}
		for n, into := range []*string{&p.Applied, &p.Error, &p.Expanded, &p.K} {
			name := pointHeads[n].name
			i, ok := at[name]
			if !ok || name == "k" && (i >= len(l.cells) || l.cells[i] == "") {
				continue
			}
			text := ""
			if i < len(l.cells) {
				text = l.cells[i]
			}
			value, err := number(text, mark)
			if err == nil {
				value, err = turned(value, from[name], to)
			}
			if err != nil {
				return nil, fmt.Errorf("%w: line %d, %s: %w", ErrFile, l.number, t.header[i], err)
			}
			*into = value
		}
		list = append(list, p)
	}
	slices.SortStableFunc(list, func(a, b Point) int {
		x, _ := strconv.ParseFloat(a.Applied, 64)
		y, _ := strconv.ParseFloat(b.Applied, 64)
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	return list, nil
}

// pointHead returns what a heading names, and the unit after it.
func pointHead(head string) (name, unit string) {
	word, behind := strings.TrimSpace(head), ""
	if i := strings.IndexAny(word, "_([{,"); i > 0 {
		word, behind = word[:i], strings.Trim(word[i:], "_()[]{}, ")
	} else if i := strings.LastIndexByte(word, ' '); i > 0 {
		word, behind = word[:i], word[i+1:]
	}
	for _, p := range pointHeads {
		if slices.Contains(p.heads, strings.ToLower(strings.TrimSpace(word))) {
			return p.name, behind
		}
	}
	return "", ""
}

// turned converts a number to another unit, with two more digits than it has.
func turned(value string, from, to units.Unit) (string, error) {
	if from.Name == to.Name {
		return value, nil
	}
	x, ok := numeric.ParseExact(value)
	if !ok {
		return "", fmt.Errorf("%q is no number", value)
	}
	digits := max(2, len(strings.TrimLeft(strings.NewReplacer(".", "", "-", "").Replace(value), "0"))+2)
	f, err := strconv.ParseFloat(to.ExactFromSI(from.ExactSI(x)).Decimal(12), 64)
	if err != nil {
		return "", err
	}
	return strconv.FormatFloat(numeric.RoundSignificant(f, digits), 'f', -1, 64), nil
}
