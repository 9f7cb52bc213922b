package visit

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// MostTogether is the largest number of gauges on one manifold: as many as a person can read before
// the pressure moves. Common practice, no source.
const MostTogether = 6

// Reasons why an instrument cannot share a manifold.
const (
	apartFew      = "few"  // of all: there are fewer than two
	apartMany     = "many" // of all: there are more than MostTogether
	apartTwice    = "twice"
	apartBegun    = "begun"       // it has an open visit
	apartSince    = "since"       // it is tested after a failure of its safety function
	apartKind     = "kind"        // it is no gauge
	apartPointer  = "pointer_set" // its pointer is set to each point; no other pointer is then
	apartRemount  = "remount"     // it is dismounted between series
	apartMode     = "mode"
	apartOxygen   = "oxygen" // only one of the two is in oxygen service
	apartPoints   = "points" // other pressures, or another order of work
	apartOver     = "over"   // a pressure of the set is above its range
	remountSuffix = ".remount"
)

// member is a candidate for a manifold, with its plan as found.
type member struct {
	id, kind, mode, high string
	unit                 units.Unit
	spelling             string
	pointer, begun       bool
	since, oxygen        bool
	steps                []document.Value
}

func readMember(r *document.Reader) member {
	m := member{
		id: r.Text("id"), kind: r.Text("kind"), mode: r.ChoiceOr("mode", "gauge", "absolute", "differential"),
		high: r.Decimal("high").Text, unit: units.Of(r, "unit", units.Pressure), spelling: r.Text("unit"),
		pointer: r.TextOr("way", "") == "pointer-set", begun: r.Flag("begun", false), since: r.Flag("since", false),
	}
	var cautions []string
	if r.Has("cautions") {
		cautions = r.Texts("cautions")
	}
	m.oxygen = Oxygen(r.TextOr("medium", ""), cautions)
	m.steps = r.Values("steps")
	return m
}

// calculateTogether is the calculation together: gauges with their plans → why they cannot share a
// manifold, and how high the pressure may rise there.
//
// On a manifold every gauge is under every pressure. So all need the same steps at the same
// pressures, in one mode but in any units, and no pressure may exceed the lowest upper range limit.
// Gauges in oxygen service share no line with others, which may hold oil.
//
// Takes:   {instruments: [{id, kind, way?, mode?, high, unit, medium?, cautions?, begun?, since?,
// steps}]}, steps as expand gives them for a run as found.
// Gives:   {high?, unit?, wrong: [{id?, code, with?}]}, with is the instrument that it does not
// suit.
func calculateTogether(in *document.Reader, out *document.Writer) error {
	var list []member
	for _, r := range in.List("instruments") {
		list = append(list, readMember(r))
	}
	if err := in.Err(); err != nil {
		return err
	}
	var lowest *member
	for i := range list {
		m := &list[i]
		if lowest == nil {
			lowest = m
		} else if order, ok := units.Compare(m.high, m.unit, lowest.high, lowest.unit); ok && order < 0 {
			lowest = m
		}
	}
	if lowest != nil {
		out.Text("high", lowest.high)
		out.Text("unit", lowest.spelling)
	}
	wrong := func(id, code, with string) {
		out.Begin()
		for _, f := range [...][2]string{{"id", id}, {"code", code}, {"with", with}} {
			if f[1] != "" {
				out.Text(f[0], f[1])
			}
		}
		out.End()
	}
	out.BeginList("wrong")
	if len(list) < 2 {
		wrong("", apartFew, "")
	}
	if len(list) > MostTogether {
		wrong("", apartMany, "")
	}
	for i := range list {
		m := &list[i]
		if code := m.alone(list[:i]); code != "" {
			wrong(m.id, code, "")
		} else if code := m.beside(&list[0]); code != "" {
			wrong(m.id, code, list[0].id)
		}
	}
	if lowest != nil {
		for i := range list {
			if list[i].passes(lowest) {
				wrong(lowest.id, apartOver, list[i].id)
				break
			}
		}
	}
	out.EndList()
	return nil
}

// alone returns why an instrument cannot be on any manifold, "" if it can; before are those chosen
// earlier.
func (m *member) alone(before []member) string {
	remount := func(s document.Value) bool { return strings.HasSuffix(text(part(&s, "id")), remountSuffix) }
	switch {
	case slices.ContainsFunc(before, func(b member) bool { return b.id == m.id }):
		return apartTwice
	case m.begun:
		return apartBegun
	case m.since:
		return apartSince
	case m.kind != "gauge":
		return apartKind
	case m.pointer:
		return apartPointer
	case slices.ContainsFunc(m.steps, remount):
		return apartRemount
	}
	return ""
}

// beside returns why an instrument cannot share a manifold with another one, "" if it can.
func (m *member) beside(first *member) string {
	switch {
	case m.mode != first.mode:
		return apartMode
	case m.oxygen != first.oxygen:
		return apartOxygen
	case !slices.EqualFunc(m.steps, first.steps, func(a, b document.Value) bool { return sameStep(&a, &b) }):
		return apartPoints
	}
	return ""
}

// passes reports whether a pressure of a plan is above the range of an instrument. An exercise does
// not count, since it goes no higher than the manifold allows.
func (m *member) passes(lowest *member) bool {
	for i := range m.steps {
		s := &m.steps[i]
		if do := text(part(s, "do")); do == "exercise" || !slices.Contains(pressurising, do) {
			continue
		}
		u, ok := units.Find(text(part(s, "unit")))
		if !ok {
			continue
		}
		if order, ok := units.Compare(text(part(s, "target")), u, lowest.high, lowest.unit); ok && order > 0 {
			return true
		}
	}
	return false
}

// sameStep reports whether two steps are the same work at the same pressure.
func sameStep(a, b *document.Value) bool {
	for _, name := range []string{"id", "do", "screen", "seconds", "count", "of", "direction"} {
		if text(part(a, name)) != text(part(b, name)) {
			return false
		}
	}
	ta, tb := text(part(a, "target")), text(part(b, "target"))
	if ta == "" || tb == "" || text(part(a, "do")) == "exercise" {
		return (ta == "") == (tb == "")
	}
	ua, ok1 := units.Find(text(part(a, "unit")))
	ub, ok2 := units.Find(text(part(b, "unit")))
	if !ok1 || !ok2 {
		return false
	}
	order, ok := units.Compare(ta, ua, tb, ub)
	return ok && order == 0
}
