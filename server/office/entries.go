package office

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
)

// namedBy are the members by which an entry of a list is known to people, the first that it has.
var namedBy = []string{
	"name", "label", "title", "tag", "instrument", "serial", "number", "code", "point", "applied", "at",
}

// entriesNamed names the entries of lists on the path of a member: by the path of each, what people
// know it by. What has no name, or shares it with another entry of its list, is left out.
func entriesNamed(path string, a, b any, call func(string) string) map[string]string {
	var named map[string]string
	at := ""
	for part := range strings.SplitSeq(path, ".") {
		at = strings.TrimPrefix(at+"."+part, ".")
		p, isA := a.([]any)
		q, isB := b.([]any)
		if !isA || !isB {
			a, b = memberOf(a, part), memberOf(b, part)
			continue
		}
		n, err := strconv.Atoi(part)
		if err != nil || n < 1 {
			break
		}
		names := []string{entryName(p, n-1, call)}
		if len(p) == len(q) && n <= len(p) {
			a, b = p[n-1], q[n-1]
		} else {
			names = unlikeNames(p, q, call)
			a, b = nil, nil
		}
		if !slices.Contains(names, "") && len(names) > 0 {
			if named == nil {
				named = map[string]string{}
			}
			named[at] = strings.Join(names, ", ")
		}
	}
	return named
}

func memberOf(v any, name string) any {
	of, _ := v.(map[string]any)
	return of[name]
}

// unlikeNames names the entries between what two lists have alike at the beginning and the end, each
// once, those that were there first.
func unlikeNames(p, q []any, call func(string) string) (names []string) {
	from, to := alikeEnds(p, q)
	for _, list := range [][]any{p, q} {
		for i := from; i < len(list)-to; i++ {
			if name := entryName(list, i, call); !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	return names
}

// entryName is what people know an entry of a list by, "" where nothing tells it from the others.
func entryName(list []any, n int, call func(string) string) string {
	if n >= len(list) {
		return ""
	}
	name := nameOfEntry(list[n], call)
	for i := range list {
		if i != n && nameOfEntry(list[i], call) == name {
			return ""
		}
	}
	return name
}

func nameOfEntry(v any, call func(string) string) string {
	text := func(name string) string {
		switch x := memberOf(v, name).(type) {
		case string:
			return call(x)
		case json.Number:
			return x.String()
		}
		return ""
	}
	for _, name := range namedBy {
		if said := text(name); said != "" {
			return said
		}
	}
	if low, high := text("low"), text("high"); low != "" && high != "" {
		return strings.TrimSpace(low + " … " + high + " " + text("unit"))
	}
	return ""
}

// alikeEnds counts the entries that two lists have alike at the beginning and at the end.
func alikeEnds(p, q []any) (from, to int) {
	for from < min(len(p), len(q)) && alike(p[from], q[from]) {
		from++
	}
	for to < min(len(p), len(q))-from && alike(p[len(p)-1-to], q[len(q)-1-to]) {
		to++
	}
	return from, to
}
