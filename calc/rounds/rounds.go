// Package rounds finds which methods fit an instrument, warns about the stops of a round, and
// checks a planned round before it is written.
//
// A warning forbids nothing: the planner decides. A fault keeps a round from being written, on the
// phone and in the office. The package knows no people and no permissions.
package rounds

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
)

const (
	// MostStops and LongestTitle (in bytes) limit a round to what a person can do and read.
	MostStops, LongestTitle = 200, 200
	// nearDays is within how many days another round with the same instrument causes a warning.
	nearDays = 7
	// earlyDays is how many days before the due date a stop counts as early.
	earlyDays = 60
)

// Fits reports whether a method can be used on an instrument, by their kinds: both are of the same
// kind, or the method is a programme, or the instrument's kind is unknown.
func Fits(method, instrument string) bool {
	return method != "" && (instrument == "" || method == programme || method == instrument)
}

// programme is the kind of work that a person writes for any instrument.
const programme = "programme"

// Calculations returns the calculations fitting and round.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "fitting", Call: calculateFitting}, {Name: "round", Call: calculateRound}}
}

// calculateFitting is the calculation fitting: methods and kinds of instrument → the methods that
// can be used on one of the kinds. A draft has no kind, and a withdrawn method fits nothing.
//
// Takes:   {methods: [{id, kind, status}], kinds}.
// Gives:   {methods}, the ids in their order.
func calculateFitting(in *document.Reader, out *document.Writer) error {
	kinds := in.Texts("kinds")
	out.BeginList("methods")
	for _, m := range in.List("methods") {
		id, kind, status := m.Text("id"), m.TextOr("kind", ""), m.TextOr("status", "")
		if status == "withdrawn" {
			continue
		}
		if slices.ContainsFunc(kinds, func(k string) bool { return Fits(kind, k) }) {
			out.TextItem(id)
		}
	}
	out.EndList()
	return in.Err()
}

// planned is the round being planned, or another one for comparison.
type planned struct {
	id, date, person, title string
	stops                   []string
	back                    bool // withdrawn
}

// texts reads a list that may be absent.
func texts(r *document.Reader, name string) []string {
	if !r.Has(name) {
		return nil
	}
	return r.Texts(name)
}

func readPlanned(r *document.Reader) planned {
	return planned{
		id: r.TextOr("id", ""), date: r.TextOr("date", ""), person: r.TextOr("person", ""),
		title: r.TextOr("title", ""), stops: texts(r, "stops"), back: r.Flag("taken_back", false),
	}
}

// stop is an instrument of a round.
type stop struct {
	id, site, due, status string
	contested             []string
	method                bool // a method is known for it
}

func readStop(r *document.Reader) stop {
	return stop{
		id: r.Text("id"), site: r.TextOr("site", ""), due: r.TextOr("due", ""), status: r.TextOr("status", ""),
		contested: texts(r, "contested"), method: r.Flag("method", true),
	}
}

// calculateRound is the calculation round: a planned round, its instruments and the other rounds →
// the faults of the round, and the warnings about each stop.
//
// Takes:   {round: {id?, date, person, title}, stops, rounds, sites}; sites are those whose records
// the person receives; none means all.
// Gives:   {wrong: [{field, code, most?}], stops: [{id, warnings: [{code, …}]}]}.
func calculateRound(in *document.Reader, out *document.Writer) error {
	r := readPlanned(in.Object("round"))
	var stops []stop
	for _, s := range in.List("stops") {
		stops = append(stops, readStop(s))
	}
	var others []planned
	if in.Has("rounds") {
		for _, o := range in.List("rounds") {
			others = append(others, readPlanned(o))
		}
	}
	sites := texts(in, "sites")
	if err := in.Err(); err != nil {
		return err
	}
	writeWrong(out, &r, stops)
	out.BeginList("stops")
	for i := range stops {
		out.Begin()
		out.Text("id", stops[i].id)
		out.BeginList("warnings")
		stops[i].warn(out, &r, others, sites)
		out.EndList()
		out.End()
	}
	out.EndList()
	return nil
}

func writeWrong(out *document.Writer, r *planned, stops []stop) {
	wrong := func(field, code string, most int) {
		out.Begin()
		out.Text("field", field)
		out.Text("code", code)
		if most > 0 {
			out.Whole("most", most)
		}
		out.End()
	}
	out.BeginList("wrong")
	if _, ok := document.ParseDate(r.date); !ok || len(r.date) != len("2006-01-02") {
		wrong("date", "missing", 0)
	}
	if r.person == "" {
		wrong("person", "missing", 0)
	}
	switch title := strings.TrimSpace(r.title); {
	case title == "":
		wrong("title", "missing", 0)
	case len(title) > LongestTitle:
		wrong("title", "long", LongestTitle)
	}
	switch {
	case len(stops) == 0:
		wrong("stops", "missing", 0)
	case len(stops) > MostStops:
		wrong("stops", "many", MostStops)
	case slices.ContainsFunc(stops, func(s stop) bool { return !s.method }):
		wrong("stops", "methods", 0)
	}
	out.EndList()
}

// warn writes the warnings about a stop.
func (s *stop) warn(out *document.Writer, r *planned, others []planned, sites []string) {
	warning := func(code string, facts ...[2]string) {
		out.Begin()
		out.Text("code", code)
		for _, f := range facts {
			out.Text(f[0], f[1])
		}
		out.End()
	}
	day, dated := document.ParseDate(r.date)
	for i := range others {
		o := &others[i]
		at, ok := document.ParseDate(o.date)
		if o.id == r.id || o.back || !slices.Contains(o.stops, s.id) {
			continue
		}
		if dated && ok && at-day <= nearDays && day-at <= nearDays {
			warning("elsewhere", [2]string{"title", o.title}, [2]string{"date", o.date})
		}
	}
	if due, ok := document.ParseDate(s.due); dated && ok && due-day > earlyDays {
		warning("early", [2]string{"date", s.due[:len("2006-01-02")]})
	}
	if len(s.contested) > 0 {
		warning("contested", [2]string{"fields", strings.Join(s.contested, ", ")})
	}
	if s.status != "" && s.status != "in service" {
		warning("service", [2]string{"status", s.status})
	}
	if len(sites) > 0 && s.site != "" && !slices.Contains(sites, s.site) {
		warning("site")
	}
}
