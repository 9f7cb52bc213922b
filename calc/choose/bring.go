package choose

import (
	"cmp"
	"slices"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/visit"
)

// stop is an instrument with the method for its test.
type stop struct {
	id, own, area, medium, connection string
	method, instrument                *document.Value // nil if no method is known
	oxygen                            bool
	minutes                           int // at the instrument; 0 if the method has no plan
}

// need is one standard that a stop needs. A stop has a need for its pressure, a second for its
// signal, and one for the air if a gauge standard measures an absolute pressure.
type need struct {
	stop    int
	role    string   // "meter" or "barometer", "" for its pressure
	serving []string // ids of the standards without an objection
	covered bool
}

// calculateBring is the calculation bring: the stops of a day and the standards at hand → the
// standards to take along.
//
// It picks few standards that together serve every stop: each time the one that serves most of the
// remaining needs, and of equal ones the first by name. Each stop counts once for its pressure, and
// a transmitter once more for its signal. An absolute pressure that no standard measures alone
// counts once for a gauge standard and once for the barometer beside it.
//
// Takes:   {today, stops: [{id, method?, instrument?, own?, area?, medium?, connection?, cautions?}],
// standards as in choose}.
// Gives:   {minutes, unknown, standards: [{standard, stops}], unserved: [{stop, meter?, barometer?}], areas:
// [{area, stops, minutes, connections: [{name, stops}], media: [{name, stops}], oxygen}], stops:
// [{id, minutes?}]}; unknown counts the stops whose time is not known.
// Refuses: a today that is no date.
// Source:  the greedy rule for covering a set; Chvátal, Mathematics of Operations Research 4 (1979)
// 233, from memory: at most 1 + ln n times as many as are needed.
func (c chooser) calculateBring(in *document.Reader, out *document.Writer) error {
	today := readToday(in)
	var all []*standard
	for _, r := range in.List("standards") {
		s := readStandard(r, today)
		all = append(all, &s)
	}
	var stops []stop
	for _, r := range in.List("stops") {
		stops = append(stops, readStop(r))
	}
	if err := in.Err(); err != nil {
		return err
	}
	slices.SortStableFunc(all, func(a, b *standard) int {
		return cmp.Or(strings.Compare(a.name, b.name), strings.Compare(a.id, b.id))
	})
	needs := c.needs(stops, all, today)
	minutes, unknown := 0, 0
	for i := range stops {
		minutes += stops[i].minutes
		if stops[i].minutes == 0 {
			unknown++
		}
	}
	out.Whole("minutes", minutes)
	out.Whole("unknown", unknown)
	writeCover(out, stops, all, needs)
	writeAreas(out, stops)
	out.BeginList("stops")
	for i := range stops {
		out.Begin()
		out.Text("id", stops[i].id)
		if stops[i].minutes > 0 {
			out.Whole("minutes", stops[i].minutes)
		}
		out.End()
	}
	out.EndList()
	return nil
}

func readStop(r *document.Reader) stop {
	s := stop{
		id: r.Text("id"), own: r.TextOr("own", ""), area: r.TextOr("area", ""),
		medium: oneSpaced(r.TextOr("medium", "")), connection: oneSpaced(r.TextOr("connection", "")),
	}
	var cautions []string
	if r.Has("cautions") {
		cautions = r.Texts("cautions")
	}
	s.oxygen = visit.Oxygen(s.medium, cautions)
	method, ok := r.Raw("method")
	instrument, ok2 := r.Raw("instrument")
	if ok && ok2 && method.Kind == document.Object && instrument.Kind == document.Object {
		s.method, s.instrument = method, instrument
	}
	return s
}

// oneSpaced returns a text with single spaces and none at its ends.
func oneSpaced(s string) string { return strings.Join(strings.Fields(s), " ") }

// asked is the answer for one method on one instrument. Several stops of a day may share it.
type asked struct {
	about   string
	oxygen  bool
	minutes int
	serving []string // alone
	beside  []string // with a barometer
	meters  []string
	airs    []string // as that barometer
	sends   bool
}

// needs finds the needs of every stop, the standards that serve them, and how long each stop takes.
func (c chooser) needs(stops []stop, all []*standard, today string) []need {
	var answers []*asked
	var list []need
	for i := range stops {
		s := &stops[i]
		if s.method == nil {
			continue
		}
		about := string(document.AppendValue(document.AppendValue(nil, s.method), s.instrument))
		var a *asked
		for _, one := range answers {
			if one.about == about && one.oxygen == s.oxygen {
				a = one
			}
		}
		if a == nil {
			a = c.ask(s, all, today)
			a.about, a.oxygen = about, s.oxygen
			answers = append(answers, a)
		}
		s.minutes = a.minutes
		alone, beside := without(a.serving, s.own), without(a.beside, s.own)
		if len(alone) == 0 && len(beside) > 0 {
			list = append(list,
				need{stop: i, serving: beside},
				need{stop: i, role: barometer, serving: without(a.airs, s.own)})
		} else {
			list = append(list, need{stop: i, serving: alone})
		}
		if a.sends {
			list = append(list, need{stop: i, role: meter, serving: without(a.meters, s.own)})
		}
	}
	return list
}

func without(ids []string, own string) []string {
	var list []string
	for _, id := range ids {
		if id != own {
			list = append(list, id)
		}
	}
	return list
}

// ask finds the answer for one method on one instrument.
func (c chooser) ask(s *stop, all []*standard, today string) *asked {
	a := &asked{minutes: c.minutes(s.method, s.instrument)}
	w := work{method: s.method, instrument: s.instrument, today: today, oxygen: s.oxygen}
	a.sends = c.reads(&w)
	for _, one := range all {
		alone, beside := c.fits(&w, one)
		switch {
		case alone:
			a.serving = append(a.serving, one.id)
		case beside:
			a.beside = append(a.beside, one.id)
		}
	}
	if w.role = meter; a.sends {
		a.meters = c.suiting(&w, all)
	}
	if w.role = barometer; len(a.beside) > 0 {
		a.airs = c.suiting(&w, all)
	}
	return a
}

// suiting lists the standards that have a range with no objection.
func (c chooser) suiting(w *work, all []*standard) (list []string) {
	for _, one := range all {
		if alone, _ := c.fits(w, one); alone {
			list = append(list, one.id)
		}
	}
	return list
}

// fits reports whether a standard has a range without an objection: alone, or only with a barometer
// beside it.
func (c chooser) fits(w *work, s *standard) (alone, beside bool) {
	for i := range s.ranges {
		switch one := c.candidate(w, s, i); {
		case len(one.objections) > 0:
		case one.beside:
			beside = true
		default:
			return true, false
		}
	}
	return false, beside
}

// minutes returns how long a run takes by its plan, rounded up to minutes; 0 if there is no plan.
func (c chooser) minutes(method, instrument *document.Value) int {
	w := document.NewWriter(nil)
	w.Begin()
	w.Value("method", method)
	w.Value("instrument", instrument)
	w.Text("label", "as found")
	w.End()
	said := reply(c.expand(w.Bytes()))
	seconds, ok := number(&said, "duration_s")
	if !ok {
		return 0
	}
	return int(seconds+59) / 60
}

// writeCover writes the standards to take along and the needs that none serves.
func writeCover(out *document.Writer, stops []stop, all []*standard, needs []need) {
	out.BeginList("standards")
	for {
		best, most := -1, 0
		for i := range all {
			if n := len(left(needs, all[i].id)); n > most {
				best, most = i, n
			}
		}
		if best < 0 {
			break
		}
		out.Begin()
		out.Text("standard", all[best].id)
		out.BeginList("stops")
		last := -1
		for _, at := range left(needs, all[best].id) {
			needs[at].covered = true
			if needs[at].stop != last {
				out.TextItem(stops[needs[at].stop].id)
			}
			last = needs[at].stop
		}
		out.EndList()
		out.End()
	}
	out.EndList()
	out.BeginList("unserved")
	for i := range needs {
		if needs[i].covered {
			continue
		}
		out.Begin()
		out.Text("stop", stops[needs[i].stop].id)
		if needs[i].role != "" {
			out.Flag(needs[i].role, true)
		}
		out.End()
	}
	out.EndList()
}

// left lists the uncovered needs that a standard serves.
func left(needs []need, standard string) []int {
	var list []int
	for i := range needs {
		if !needs[i].covered && slices.Contains(needs[i].serving, standard) {
			list = append(list, i)
		}
	}
	return list
}

// tally counts the stops that share a name.
type tally struct {
	name  string
	stops int
}

// count adds one to a name's tally. The first spelling is kept.
func count(list []tally, name string) []tally {
	if name == "" {
		return list
	}
	for i := range list {
		if strings.EqualFold(list[i].name, name) {
			list[i].stops++
			return list
		}
	}
	return append(list, tally{name, 1})
}

// writeAreas writes what each area needs, in the order in which the stops reach it.
func writeAreas(out *document.Writer, stops []stop) {
	var areas []string
	for i := range stops {
		if !slices.Contains(areas, stops[i].area) {
			areas = append(areas, stops[i].area)
		}
	}
	out.BeginList("areas")
	for _, area := range areas {
		minutes, oxygen := 0, false
		var connections, media []tally
		out.Begin()
		out.Text("area", area)
		out.BeginList("stops")
		for i := range stops {
			s := &stops[i]
			if s.area != area {
				continue
			}
			out.TextItem(s.id)
			minutes += s.minutes
			oxygen = oxygen || s.oxygen
			connections, media = count(connections, s.connection), count(media, s.medium)
		}
		out.EndList()
		out.Whole("minutes", minutes)
		writeTallies(out, "connections", connections)
		writeTallies(out, "media", media)
		out.Flag("oxygen", oxygen)
		out.End()
	}
	out.EndList()
}

func writeTallies(out *document.Writer, name string, list []tally) {
	out.BeginList(name)
	for _, t := range list {
		out.Begin()
		out.Text("name", t.name)
		out.Whole("stops", t.stops)
		out.End()
	}
	out.EndList()
}
