package office

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
)

const (
	// mostDigested is how many rows each list of a digest has, so that people read it to the end.
	mostDigested = 20
	// DigestDays is how many days ahead a digest looks.
	DigestDays = 14
)

// DigestRow is a visit, an instrument or a standard in a digest.
type DigestRow struct {
	ID, Tag, Place string
	Date           string // when it was signed, or is due
	Verdict        string // as found
}

// DigestList is a list that names its first rows.
type DigestList struct {
	Rows []DigestRow
	All  int
}

func (l *DigestList) add(r DigestRow) {
	if l.All++; len(l.Rows) < mostDigested {
		l.Rows = append(l.Rows, r)
	}
}

// Digest is what a person needs to know of a day.
type Digest struct {
	Waiting   DigestList // signed visits that wait for the office, the longest waiting first
	Failed    DigestList // failed as found since the last digest
	Returned  DigestList // the person's own that the office returned
	Rounds    DigestList // the person's own, today
	Overdue   DigestList
	Due       DigestList // within DigestDays
	Standards DigestList // within DigestDays or overdue
}

// Empty reports whether there is nothing to tell.
func (d *Digest) Empty() bool {
	for _, l := range []*DigestList{
		&d.Waiting, &d.Failed, &d.Returned, &d.Rounds, &d.Overdue, &d.Due, &d.Standards,
	} {
		if l.All > 0 {
			return false
		}
	}
	return true
}

// Digest gathers what a person needs to know: for office staff what waits, failed and falls due;
// for a technician their rounds and the visits returned to them.
func (o *Office) Digest(user auth.User, since time.Time) (d Digest, err error) {
	if user.Role == auth.Technician {
		return d, o.digestOwn(user.ID, &d)
	}
	if err := o.digestVisits(since, &d); err != nil {
		return d, err
	}
	return d, o.digestDue(&d)
}

// opened lists the visits of a status that need attention, ordered by signature.
func (x *Index) opened(status plant.Status) (list []visitCard, err error) {
	err = x.following(func() {
		for _, c := range x.open {
			if c.status == status {
				list = append(list, *c)
			}
		}
	})
	return bySignature(list), err
}

// failed lists the visits signed since a moment that found their instrument out, ordered by
// signature.
func (x *Index) failed(since time.Time) (list []visitCard, err error) {
	err = x.following(func() {
		for n, e := range x.visits.all() {
			if ms, ok := x.words.ms(e.signed); !ok || ms < since.UnixMilli() {
				continue
			}
			if was, known := in(x.words.texts[e.verdict]); known && !was {
				list = append(list, *x.visit(n))
			}
		}
	})
	return bySignature(list), err
}

func bySignature(list []visitCard) []visitCard {
	slices.SortFunc(list, func(a, b visitCard) int {
		return cmp.Or(strings.Compare(a.signed, b.signed), strings.Compare(a.id, b.id))
	})
	return list
}

// digested adds visits to a list, with their instruments.
func (o *Office) digested(l *DigestList, cards []visitCard, takes func(*plant.Visit) bool) error {
	for _, c := range cards {
		if takes == nil && l.All >= mostDigested {
			l.All++
			continue
		}
		v, err := plant.LoadVisit(o.store, c.id)
		if err != nil && !Unreadable(err) {
			return err
		}
		if takes == nil || takes(&v) {
			l.add(DigestRow{c.id, v.Item.Tag, v.Item.Place, o.index.date(c.signed), c.verdict})
		}
	}
	return nil
}

func (o *Office) digestVisits(since time.Time, d *Digest) error {
	waiting, err := o.index.opened(plant.Signed)
	if err != nil {
		return err
	}
	failed, err := o.index.failed(since)
	if err != nil {
		return err
	}
	return cmp.Or(o.digested(&d.Waiting, waiting, nil), o.digested(&d.Failed, failed, nil))
}

func (o *Office) digestDue(d *Digest) error {
	today := o.now().Format(time.DateOnly)
	to := o.now().AddDate(0, 0, DigestDays).Format(time.DateOnly)
	q := Query{Due: to, Only: map[string][]string{"status": {InService}}, Sort: "due", Most: -1}
	t, err := o.Table(q)
	if err != nil {
		return err
	}
	for _, g := range t.Rows {
		l := &d.Due
		if g.Due < today {
			l = &d.Overdue
		}
		l.add(DigestRow{g.ID, g.Tag, cmp.Or(g.Place, g.Area), g.Due, ""})
	}
	states, err := o.store.ByKind("standard", "", 0)
	if err != nil {
		return err
	}
	for _, s := range states {
		v, err := plant.ReadStandard(s)
		if err == nil && (v.Status == "" || v.Status == InService) && v.Due != "" && v.Due <= to {
			d.Standards.add(DigestRow{v.ID, v.Name, "", v.Due, ""})
		}
	}
	return nil
}

func (o *Office) digestOwn(person string, d *Digest) error {
	back, err := o.index.opened(plant.Returned)
	if err != nil {
		return err
	}
	err = o.digested(&d.Returned, back, func(v *plant.Visit) bool { return v.Person == person })
	if err != nil {
		return err
	}
	today := o.now().Format(time.DateOnly)
	states, err := o.store.ByKind("round", "", 0)
	if err != nil {
		return err
	}
	for i := range states {
		r, err := plant.ReadRound(states[i])
		gone, written := states[i].Value("taken_back")
		if err == nil && r.Date == today && r.Person == person && (!written || string(gone) == "null") {
			d.Rounds.add(DigestRow{r.ID, r.Title, "", r.Date, ""})
		}
	}
	return nil
}
