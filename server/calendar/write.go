package calendar

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"

	ics "github.com/arran4/golang-ical"
)

const (
	behind   = 31  // past days in a calendar
	ahead    = 400 // days to come
	mostSaid = 40  // tags that an event lists
)

// texts are the sentences of a calendar.
type texts struct {
	round, oneRound, due, oneDue, standard, more, untitled string
}

var sentences = map[string]texts{
	"en": {
		round: "%s (%d stops)", oneRound: "%s (1 stop)", due: "Due: %d instruments",
		oneDue: "Due: 1 instrument", standard: "Calibration of %s is due", more: "and %d more",
		untitled: "Round",
	},
	"de": {
		round: "%s (%d Halte)", oneRound: "%s (1 Halt)", due: "Fällig: %d Geräte",
		oneDue: "Fällig: 1 Gerät", standard: "Kalibrierung von %s ist fällig", more: "und %d weitere",
		untitled: "Rundgang",
	},
}

// sheet is a calendar being written.
type sheet struct {
	*ics.Calendar
	feed     *Feed
	say      texts
	base     string
	from, to string // days
	host     string // the end of the UIDs: this plant's id
	made     time.Time
}

// write writes the calendar of a feed.
func (k *Feeds) write(f *Feed, base string) ([]byte, error) {
	now := k.now()
	s := &sheet{
		Calendar: ics.NewCalendarFor("gaugewright"), feed: f, say: sentences[f.Language], base: base,
		from: now.AddDate(0, 0, -behind).Format(time.DateOnly), to: now.AddDate(0, 0, ahead).Format(time.DateOnly),
		host: k.store.StoreID(), made: f.Made,
	}
	s.SetMethod(ics.MethodPublish)
	s.SetName(f.Name)            // RFC 7986, 5.1
	s.SetRefreshInterval("PT1H") // RFC 7986, 5.7
	s.SetProductId("-//gaugewright//rounds and due dates//EN")
	if f.Rounds {
		if err := k.rounds(s); err != nil {
			return nil, err
		}
	}
	if f.Due {
		if err := k.due(s); err != nil {
			return nil, err
		}
	}
	var b bytes.Buffer
	if err := s.SerializeTo(&b, ics.WithNewLineWindows); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// day adds an event that lasts a day.
func (s *sheet) day(uid, date, summary string, lines []string, path string, at time.Time) {
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return // an unreadable date is in no calendar
	}
	e := s.AddEvent(uid + "@" + s.host)
	e.SetDtStampTime(at)
	e.SetModifiedAt(at)
	e.SetAllDayStartAt(day)
	e.SetAllDayEndAt(day.AddDate(0, 0, 1))
	e.SetSummary(summary)
	if len(lines) > mostSaid {
		lines = append(lines[:mostSaid:mostSaid], fmt.Sprintf(s.say.more, len(lines)-mostSaid))
	}
	if len(lines) > 0 {
		e.SetDescription(strings.Join(lines, "\n"))
	}
	if s.base != "" {
		e.SetURL(s.base + path)
	}
	e.SetTimeTransparency(ics.TransparencyTransparent)
}

// newest returns when a record was last changed.
func newest(s *merge.State, otherwise time.Time) time.Time {
	wall := ""
	for i := range s.Fields {
		for k := range s.Fields[i].Heads {
			wall = max(wall, s.Fields[i].Heads[k].Wall)
		}
	}
	at, err := time.Parse(time.RFC3339, wall)
	if err != nil {
		return otherwise
	}
	return at
}

// rounds adds the rounds, each with the tags of its stops.
func (k *Feeds) rounds(s *sheet) error {
	states, err := k.store.ByKind("round", "", 0)
	if err != nil {
		return err
	}
	for i := range states {
		r, err := plant.ReadRound(states[i])
		if err != nil {
			continue // the office sees it as damaged
		}
		back, written := states[i].Value("taken_back")
		if written && string(back) != "null" || r.Date < s.from || r.Date > s.to ||
			s.feed.Person != "" && r.Person != s.feed.Person {
			continue
		}
		var lines []string
		for _, stop := range r.Stops {
			one, err := k.office.Listed(stop.Instrument)
			if err != nil {
				continue // a standard, or an instrument that has not arrived
			}
			lines = append(lines, strings.TrimRight(one.Tag+", "+one.Place, ", "))
		}
		name := cmp.Or(r.Title, s.say.untitled)
		title := fmt.Sprintf(s.say.round, name, len(r.Stops))
		if len(r.Stops) == 1 {
			title = fmt.Sprintf(s.say.oneRound, name)
		}
		s.day("round-"+r.ID, r.Date, title, lines, "/round", newest(&states[i], s.made))
	}
	return nil
}

// due adds an event for each day on which something falls due, and one for each standard.
func (k *Feeds) due(s *sheet) error {
	t, err := k.office.Table(office.Query{
		Due: s.to, Only: map[string][]string{"status": {office.InService}}, Most: -1,
	})
	if err != nil {
		return err
	}
	days := map[string][]string{}
	stamps := map[string]time.Time{}
	for _, g := range t.Rows {
		if g.Due < s.from {
			continue
		}
		state, ok, err := k.store.Record(g.ID)
		if err != nil || !ok || s.feed.Site != "" && state.Site != s.feed.Site {
			continue
		}
		days[g.Due] = append(days[g.Due], strings.TrimRight(g.Tag+", "+cmp.Or(g.Place, g.Area), ", "))
		if at := newest(&state, s.made); at.After(stamps[g.Due]) {
			stamps[g.Due] = at
		}
	}
	for _, date := range slices.Sorted(maps.Keys(days)) {
		uid := "due-" + date
		if s.feed.Site != "" {
			uid += "-" + s.feed.Site
		}
		title := fmt.Sprintf(s.say.due, len(days[date]))
		if len(days[date]) == 1 {
			title = s.say.oneDue
		}
		s.day(uid, date, title, days[date], "/office/register", stamps[date])
	}
	if s.feed.Site != "" {
		return nil // standards belong to no site
	}
	states, err := k.store.ByKind("standard", "", 0)
	if err != nil {
		return err
	}
	for i := range states {
		v, err := plant.ReadStandard(states[i])
		if err != nil || v.Status != "" && v.Status != office.InService || v.Due < s.from || v.Due > s.to {
			continue
		}
		s.day(
			"standard-"+v.ID, v.Due, fmt.Sprintf(s.say.standard, v.Name), nil, "/office/standards",
			newest(&states[i], s.made),
		)
	}
	return nil
}
