package office

import (
	"bytes"
	"cmp"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
)

// methodText is the text of a version of a method.
type methodText struct {
	name       string
	definition json.RawMessage
	cautions   []string
}

// methodDiffers lists the members in which two versions of a method differ. A field is the path of
// a member of the definition, or name or cautions.
func methodDiffers(before, after methodText) ([]Differing, error) {
	list := []Differing{}
	was, err := opened(before.definition)
	if err != nil {
		return nil, err
	}
	is, err := opened(after.definition)
	if err != nil {
		return nil, err
	}
	add := func(field string, a, b any) error {
		x, err := json.Marshal(a)
		if err != nil {
			return err
		}
		y, err := json.Marshal(b)
		if err == nil && !bytes.Equal(x, y) {
			named := entriesNamed(field, was, is, func(text string) string { return text })
			list = append(list, Differing{field, named, x, y})
		}
		return err
	}
	if err := cmp.Or(
		add("name", before.name, after.name), add("cautions", orNone(before.cautions), orNone(after.cautions)),
	); err != nil {
		return nil, err
	}
	err = membersDiffer("", was, is, add)
	return list, err
}

// opened reads a JSON value and keeps its numbers as written; nil for none.
func opened(b json.RawMessage) (v any, err error) {
	if len(b) == 0 {
		return nil, nil
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	err = d.Decode(&v)
	return v, err
}

// membersDiffer calls add for the members in which two values differ. It compares lists of objects
// place by place if they are equally long. Otherwise it leaves out the beginning and the end that
// both share, and adds the rest as one difference.
func membersDiffer(path string, a, b any, add func(string, any, any) error) error {
	under := func(name string) string { return strings.TrimPrefix(path+"."+name, ".") }
	x, isA := a.(map[string]any)
	y, isB := b.(map[string]any)
	if (isA || a == nil) && (isB || b == nil) && (isA || isB) {
		names := map[string]bool{}
		for n := range x {
			names[n] = true
		}
		for n := range y {
			names[n] = true
		}
		sorted := make([]string, 0, len(names))
		for n := range names {
			sorted = append(sorted, n)
		}
		slices.Sort(sorted)
		for _, n := range sorted {
			if err := membersDiffer(under(n), x[n], y[n], add); err != nil {
				return err
			}
		}
		return nil
	}
	p, isA := a.([]any)
	q, isB := b.([]any)
	if !isA || !isB || !objects(p) || !objects(q) {
		return add(path, a, b)
	}
	if len(p) != len(q) {
		from, to := alikeEnds(p, q)
		return add(under(strconv.Itoa(from+1)), p[from:len(p)-to], q[from:len(q)-to])
	}
	for i := range p {
		if err := membersDiffer(under(strconv.Itoa(i+1)), p[i], q[i], add); err != nil {
			return err
		}
	}
	return nil
}

func objects(list []any) bool {
	return len(list) > 0 && !slices.ContainsFunc(list, func(v any) bool { _, is := v.(map[string]any); return !is })
}

func alike(a, b any) bool {
	x, err := json.Marshal(a)
	y, other := json.Marshal(b)
	return err == nil && other == nil && bytes.Equal(x, y)
}
