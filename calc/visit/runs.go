package visit

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
)

// Labels of a run.
const (
	AsFound = "as found"
	AsLeft  = "as left"
)

// Pass holds the facts of a run that decide whether it is reported.
type Pass struct {
	Label  string
	Begun  string // stamp of its first change
	Closed bool
	Whole  bool // its finding covers a complete run
}

// Reported returns the indices of the two reported runs of a visit, as found and as left; -1 if
// there is none. Runs are in the order in which they began.
//
// returned tells whether the office has sent the visit back at least once; reopened is the stamp of
// the last time that it reopened the visit after an approval, "" if never.
//
// As found: the first complete as-found run before any adjustment; after a return by the office the
// last complete one; after an approved visit was reopened the last complete one begun since. As
// left: the last complete one since the adjustment. If none is complete, the last one closed.
func Reported(returned bool, reopened string, runs []Pass) (found, left int) {
	var before, after []int
	for i := range runs {
		switch {
		case !runs[i].Closed:
		case runs[i].Label == AsLeft || len(after) > 0:
			after = append(after, i)
		default:
			before = append(before, i)
		}
	}
	found = -1
	if !returned {
		if at := slices.IndexFunc(before, func(i int) bool { return runs[i].Label == AsFound && runs[i].Whole }); at >= 0 {
			found = before[at]
		}
	}
	for _, i := range before {
		if reopened != "" && runs[i].Begun > reopened && runs[i].Whole {
			found = i
		}
	}
	if found < 0 {
		found = lastWhole(runs, before)
	}
	return found, lastWhole(runs, after)
}

func lastWhole(runs []Pass, among []int) int {
	for _, i := range slices.Backward(among) {
		if runs[i].Whole {
			return i
		}
	}
	if len(among) > 0 {
		return among[len(among)-1]
	}
	return -1
}

// Begun returns the stamp of a run's first label, which is its first change; "" if it has none.
func Begun(run *Record) string {
	if f := run.field("label"); f != nil {
		return f.Heads[len(f.Heads)-1].Stamp
	}
	return ""
}

// InOrder returns the runs among records in the order in which they began.
func InOrder(records []Record) []*Record {
	var list []*Record
	for i := range records {
		if records[i].Kind == "run" {
			list = append(list, &records[i])
		}
	}
	slices.SortStableFunc(list, func(a, b *Record) int { return strings.Compare(Begun(a), Begun(b)) })
	return list
}

func passOf(run *Record) Pass {
	return Pass{
		Label:  text(run.Value("label")),
		Begun:  Begun(run),
		Closed: run.has("closed"),
		Whole:  yes(part(run.Value("finding"), "complete")),
	}
}

// Superseding is a capture that names itself and the one that it replaces, "" if none.
type Superseding interface {
	Names() (id, supersedes string)
}

// Effective returns the captures that no other has superseded, in the order written.
func Effective[C Superseding](captures []C) []C {
	gone := map[string]bool{}
	for _, c := range captures {
		if _, old := c.Names(); old != "" {
			gone[old] = true
		}
	}
	var kept []C
	for _, c := range captures {
		if id, _ := c.Names(); !gone[id] {
			kept = append(kept, c)
		}
	}
	return kept
}

// capture is one value of a run, by its ids.
type capture struct{ id, supersedes string }

// Names implements Superseding.
func (c capture) Names() (id, supersedes string) { return c.id, c.supersedes }

func capturesOf(run *Record) []capture {
	var list []capture
	for _, f := range run.many("capture") {
		v := f.Heads[0].value()
		if v.Kind == document.Object {
			list = append(list, capture{strings.TrimPrefix(f.Name, "capture."), text(part(v, "supersedes"))})
		}
	}
	return list
}

// earlier lists the captures that one has replaced, the latest first.
func earlier(all []capture, of capture) []string {
	var list []string
	for old := of.supersedes; old != "" && old != of.id && !slices.Contains(list, old); {
		at := slices.IndexFunc(all, func(c capture) bool { return c.id == old })
		if at < 0 {
			break
		}
		list = append(list, old)
		old = all[at].supersedes
	}
	return list
}
