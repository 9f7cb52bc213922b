package office

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/calc/rounds"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// workDays are the days of a week for which rounds are planned: Monday to Friday.
const workDays = 5

// BoardRound is a round on the board of a week: a planned one or, without an id, a proposed one.
type BoardRound struct {
	ID        string       `json:"id"`
	Date      string       `json:"date"` // "" for a proposal that fits on no day
	Person    string       `json:"person"`
	Title     string       `json:"title"`
	Areas     []string     `json:"areas"` // in the order of its stops
	Stops     []plant.Stop `json:"stops"`
	Tags      []string     `json:"tags"`
	Done      int          `json:"done"` // stops done
	Now       string       `json:"now"`  // the area of the first stop that is not done
	Minutes   int          `json:"minutes"`
	Standards []string     `json:"standards"` // names of those it needs
	Unfit     []string     `json:"unfit"`     // kinds of work in it that its person has no authorisation for on the day
	Urgent    int          `json:"urgent"`    // stops that a work order calls urgent
	kinds     []string     // of work
	needs     []string     // ids, for each stop: the only standard that serves it, or the one planned with it
	only      []string     // ids of standards that nothing can stand in for
}

// Clash is a standard that two rounds of a day both need.
type Clash struct {
	Date     string    `json:"date"`
	Standard string    `json:"standard"` // name
	Rounds   [2]string `json:"rounds"`   // titles
	IDs      [2]string `json:"ids"`
	Free     string    `json:"free"` // the next day of the week on which the second could have it; "" if none
}

// Board is a week of rounds.
type Board struct {
	Start   string       `json:"start"`
	Days    []string     `json:"days"`
	People  []Colleague  `json:"people"`
	Minutes int          `json:"minutes"` // that a person has in a day
	Rounds  []BoardRound `json:"rounds"`
	Ideas   []BoardRound `json:"ideas"` // proposed
	Clashes []Clash      `json:"clashes"`
	Away    []string     `json:"away"` // names of standards away for their own calibration
}

// Board returns the rounds in the week of a date, and proposes rounds for what is due then and in
// no round yet: area by area in walking order, each with a standard that no other round of the day
// needs.
//
// Refuses: ErrDate.
func (o *Office) Board(date string) (b Board, err error) {
	day, ok := document.ParseDate(date)
	if !ok {
		return b, ErrDate
	}
	y, err := o.layYearOut()
	if err != nil {
		return b, err
	}
	monday := mondayOf(day)
	week := (monday - y.monday) / 7
	b = Board{Start: dateOf(monday), People: y.people, Minutes: int(y.settings.Hours * 60 / workDays),
		Rounds: []BoardRound{}, Ideas: []BoardRound{}, Clashes: []Clash{}, Away: []string{}}
	if b.People == nil {
		b.People = []Colleague{}
	}
	for i := range workDays {
		b.Days = append(b.Days, dateOf(monday+i))
	}
	for _, own := range y.own {
		if b.Start >= own.Send && b.Start < own.Back {
			b.Away = append(b.Away, own.Name)
		}
	}
	in, err := o.roundsOf(&b, y)
	if err != nil {
		return b, err
	}
	b.clash()
	if monday < y.monday || week >= weeksAhead {
		return b, nil
	}
	var due []*job
	for _, j := range y.jobs {
		if j.week == week && j.why == "" && !in[j.c.ID] {
			due = append(due, j)
		}
	}
	today := o.now().Format(time.DateOnly)
	b.propose(due, y, today)
	return b, nil
}

// roundsOf reads the rounds of a week. It returns the instruments that are in a round from the week
// before to the end of the week after.
func (o *Office) roundsOf(b *Board, y *year) (in map[string]bool, err error) {
	in = map[string]bool{}
	states, err := o.store.ByKind("round", "", 0)
	if err != nil {
		return nil, err
	}
	jobs := map[string]*job{}
	for _, j := range y.jobs {
		if jobs[j.c.ID] == nil {
			jobs[j.c.ID] = j
		}
	}
	monday, _ := document.ParseDate(b.Start)
	o.index.mu.Lock()
	defer o.index.mu.Unlock()
	for _, s := range states {
		if back, ok := s.Value("taken_back"); ok && string(back) != "null" {
			continue
		}
		r, err := plant.ReadRound(s)
		day, ok := document.ParseDate(r.Date)
		if err != nil || !ok || day < monday-7 || day >= monday+14 {
			continue
		}
		for _, stop := range r.Stops {
			in[stop.Instrument] = true
		}
		if day < monday || day >= monday+7 {
			continue
		}
		one := BoardRound{ID: r.ID, Date: r.Date, Person: r.Person, Title: r.Title, Stops: r.Stops}
		for _, stop := range r.Stops {
			c := o.index.gauges[stop.Instrument]
			if c == nil {
				continue
			}
			done := slices.ContainsFunc(o.index.of[c.ID], func(n uint32) bool {
				e := o.index.visits.at(n)
				return e.signed != 0 && int(e.begun) >= day
			})
			if done {
				one.Done++
			} else if one.Now == "" {
				one.Now = c.Area
			}
			minutes, _ := o.index.takes(c)
			one.take(c, minutes, jobs[c.ID], y)
		}
		one.Unfit = slices.DeleteFunc(slices.Clone(one.kinds), func(kind string) bool { return y.able(one.Person, kind, one.Date) })
		b.Rounds = append(b.Rounds, one)
	}
	slices.SortFunc(b.Rounds, func(a, b BoardRound) int {
		return cmp.Or(strings.Compare(a.Date, b.Date), strings.Compare(a.Title, b.Title), strings.Compare(a.ID, b.ID))
	})
	return in, nil
}

// take adds a stop to the round.
func (r *BoardRound) take(c *card, minutes int, j *job, y *year) {
	r.Tags = append(r.Tags, c.Tag)
	r.Minutes += minutes
	if slices.ContainsFunc(c.Orders, func(o plant.Ordered) bool { return o.Priority == "urgent" }) {
		r.Urgent++
	}
	if j != nil && !slices.Contains(r.kinds, j.kind) {
		r.kinds = append(r.kinds, j.kind)
	}
	if !slices.Contains(r.Areas, c.Area) {
		r.Areas = append(r.Areas, c.Area)
	}
	if j == nil || j.standard == "" || slices.Contains(r.needs, j.standard) {
		return
	}
	if len(j.serves) == 1 {
		r.only = append(r.only, j.standard)
	} else if slices.ContainsFunc(j.serves, func(s string) bool { return slices.Contains(r.needs, s) }) {
		return // a standard that is carried anyway serves it
	}
	r.needs = append(r.needs, j.standard)
	r.Standards = append(r.Standards, y.names[j.standard])
}

// clash finds the standards that two rounds of a day both need, and the next day on which the
// second round could have it.
func (b *Board) clash() {
	for i := range b.Rounds {
		for k := i + 1; k < len(b.Rounds); k++ {
			one, two := &b.Rounds[i], &b.Rounds[k]
			if one.Date != two.Date || one.Person == two.Person {
				continue
			}
			for n, s := range one.needs {
				if !slices.Contains(two.needs, s) || !slices.Contains(one.only, s) || !slices.Contains(two.only, s) {
					continue
				}
				free := ""
				for _, day := range b.Days {
					taken := slices.ContainsFunc(b.Rounds, func(r BoardRound) bool {
						return r.Date == day && slices.Contains(r.needs, s)
					})
					if day > one.Date && !taken {
						free = day
						break
					}
				}
				b.Clashes = append(b.Clashes, Clash{one.Date, one.Standards[n], [2]string{one.Title, two.Title},
					[2]string{one.ID, two.ID}, free})
			}
		}
	}
}

// propose makes rounds of the work that is due.
func (b *Board) propose(due []*job, y *year, today string) {
	slices.SortStableFunc(due, func(a, c *job) int {
		if a.urgent != c.urgent {
			return map[bool]int{true: -1, false: 1}[a.urgent]
		}
		return cmp.Or(y.walk(a.c.Area, c.c.Area), strings.Compare(a.standard, c.standard),
			strings.Compare(natural(a.c.Place), natural(c.c.Place)), strings.Compare(a.c.order, c.c.order))
	})
	var ideas []BoardRound
	for _, j := range due {
		n := len(ideas) - 1
		if n < 0 || ideas[n].Minutes+j.minutes > b.Minutes || len(ideas[n].Stops) == rounds.MostStops ||
			len(ideas[n].needs) > 1 && !slices.Contains(ideas[n].needs, j.standard) ||
			!b.anybody(y, append(slices.Clone(ideas[n].kinds), j.kind)) {
			ideas = append(ideas, BoardRound{})
			n++
		}
		ideas[n].Stops = append(ideas[n].Stops, plant.Stop{Instrument: j.c.ID})
		ideas[n].take(j.c, j.minutes, j, y)
	}
	days := map[string]*booked{}
	for i := range b.Rounds {
		book(days, &b.Rounds[i])
	}
	for i := range ideas {
		idea := &ideas[i]
		idea.Title = strings.Join(idea.Areas, ", ")
		if len(idea.Title) > rounds.LongestTitle || strings.TrimSpace(idea.Title) == "" {
			idea.Title = fmt.Sprintf("%s … (%d)", idea.Tags[0], len(idea.Stops))
		}
		b.place(idea, y, today, days)
		book(days, idea)
		b.Ideas = append(b.Ideas, *idea)
	}
}

// anybody reports whether one person is authorised for all the kinds of work within the week.
func (b *Board) anybody(y *year, kinds []string) bool {
	return len(b.People) == 0 || slices.ContainsFunc(b.People, func(p Colleague) bool {
		return !slices.ContainsFunc(kinds, func(kind string) bool { return !y.able(p.ID, kind, b.Days[len(b.Days)-1]) })
	})
}

// booked is what the rounds of a day take: the minutes of each person, and who has which standard.
type booked struct {
	minutes map[string]int
	holders map[string][]string
}

// book counts a round in on its day.
func book(days map[string]*booked, r *BoardRound) {
	at := days[r.Date]
	if at == nil {
		at = &booked{minutes: map[string]int{}, holders: map[string][]string{}}
		days[r.Date] = at
	}
	at.minutes[r.Person] += r.Minutes
	for _, s := range r.needs {
		if !slices.Contains(at.holders[s], r.Person) {
			at.holders[s] = append(at.holders[s], r.Person)
		}
	}
}

// place finds a day and a person with time and authorised for all of it, on which no other round needs
// the same standard.
func (b *Board) place(idea *BoardRound, y *year, today string, days map[string]*booked) {
	for _, day := range b.Days {
		if day < today {
			continue
		}
		for _, p := range b.People {
			if slices.ContainsFunc(idea.kinds, func(kind string) bool { return !y.able(p.ID, kind, day) }) {
				continue
			}
			minutes, taken := 0, false
			if at := days[day]; at != nil {
				minutes = at.minutes[p.ID]
				taken = slices.ContainsFunc(idea.needs, func(s string) bool {
					return slices.ContainsFunc(at.holders[s], func(who string) bool { return who != p.ID })
				})
			}
			if !taken && (minutes == 0 || minutes+idea.Minutes <= b.Minutes) {
				idea.Date, idea.Person = day, p.ID
				return
			}
		}
	}
}

// NewRound is a round to make from a proposal.
type NewRound struct {
	Date   string       `json:"date"`
	Person string       `json:"person"`
	Title  string       `json:"title"`
	Stops  []plant.Stop `json:"stops"`
}

// MakeRounds writes rounds, all of them or none.
//
// Refuses: a Fault that names the field.
func (o *Office) MakeRounds(ctx context.Context, user string, list []NewRound) error {
	if len(list) == 0 || len(list) > rounds.MostStops {
		return document.Refuse(document.CodeRange, "rounds", "from 1 to 200")
	}
	return o.planned(ctx, user, func(drafter *plant.Drafter) (drafts []change.Change, err error) {
		for _, r := range list {
			c, _, err := drafter.New("round", "", "", o.now(), plant.Set{Field: "date", Value: r.Date},
				plant.Set{Field: "person", Value: r.Person}, plant.Set{Field: "title", Value: r.Title},
				plant.Set{Field: "stops", Value: r.Stops})
			if err != nil {
				return nil, err
			}
			drafts = append(drafts, c)
		}
		return drafts, nil
	})
}

// MoveRound moves a round to another day and person.
//
// Refuses: plant.ErrNotFound; ErrStale if it was moved since it was shown; a Fault that names the
// field.
func (o *Office) MoveRound(ctx context.Context, user, id, date, person, shown string) error {
	state, err := o.Record(id)
	if err != nil {
		return err
	}
	if state.Kind != "round" {
		return fmt.Errorf("the round %q %w", id, plant.ErrNotFound)
	}
	if was := valueOf(&state, "date") + " " + valueOf(&state, "person"); was != shown {
		return ErrStale
	}
	return o.planned(ctx, user, func(drafter *plant.Drafter) ([]change.Change, error) {
		c, _, err := drafter.Edit(state, o.now(), plant.Set{Field: "date", Value: date}, plant.Set{Field: "person", Value: person})
		return []change.Change{c}, err
	})
}

func valueOf(s *merge.State, field string) string {
	b, _ := s.Value(field)
	return textOf(b)
}

// planned writes rounds, all of them or none, under the same rules as a push.
func (o *Office) planned(ctx context.Context, user string, draft func(*plant.Drafter) ([]change.Change, error)) error {
	judged := func(drafter *plant.Drafter) ([]change.Change, error) {
		list, err := draft(drafter)
		if err != nil {
			return nil, err
		}
		for i := range list { // check all first: the store refuses one by one
			if err := o.ofRound(o.store, &list[i]); err != nil {
				return nil, document.Refuse(document.CodeRange, "round", err.Error())
			}
		}
		return list, nil
	}
	return o.writer.WriteIf(ctx, user, judged, asSeen)
}
