package api

import (
	"slices"
	"sync"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/sync/link"

	"github.com/labstack/echo/v4"
)

const (
	// maxListed bounds the remembered lists of phones, in units: some 20 MB. A phone whose list was
	// forgotten is asked for it.
	maxListed = 500_000
	// maxHeldBytes bounds a reply with units, except for the last unit, so that a slow line makes
	// progress.
	maxHeldBytes = 1 << 20
	// maxEntries is how many instruments of the register one reply has: some 600 kB, 100 kB in
	// gzip.
	maxEntries = 2000
)

// lists remembers, by device, which units a phone says it holds.
type lists struct {
	mu   sync.Mutex
	of   map[string]link.Hold // by device and person
	size int
}

// list returns the units that a phone holds, and whether they are known.
func (l *lists) list(device string, h *link.Hold) ([]string, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	known, ok := l.of[device]
	if h.Units == nil {
		return known.Units, ok && known.Name == h.Name
	}
	if l.size+len(h.Units) > maxListed || l.of == nil {
		l.of, l.size, known.Units = map[string]link.Hold{}, 0, nil
	}
	l.size += len(h.Units) - len(known.Units)
	l.of[device] = *h
	return h.Units, true
}

// part turns an exchange into that of a phone that holds a part of the plant, if the plant is too
// large for it. finish adds the rest to the reply.
func (s *server) part(
	side *link.Side, q *link.Request, u auth.User,
) (finish func(*link.Response) error, err error) {
	tell := func(part link.Part) func(*link.Response) error {
		return func(p *link.Response) error {
			p.Part, p.Same = &part, false
			if q.Scope != nil {
				p.Scope = *q.Scope // the phone's position stays
			}
			return nil
		}
	}
	parts, err := s.holdings.Parts(q.Hold.Name != "")
	if err != nil || !parts {
		return func(*link.Response) error { return nil }, err
	}
	if q.Hold.Name == "" || q.Scope != nil && *q.Scope != side.Scope {
		side.Nothing = true
		return tell(link.Part{Begin: true}), nil
	}
	units, known := s.lists.list(q.Device+" "+u.ID, q.Hold)
	if !known {
		side.Nothing = true
		return tell(link.Part{Send: true}), nil
	}
	follows, err := s.holdings.Follow(u, units)
	if err != nil {
		return nil, err
	}
	side.InScope = follows.InScope
	return func(p *link.Response) error {
		part := link.Part{}
		var err error
		if part.Entries, err = follows.Entries(); err != nil {
			return err
		}
		if !p.More { // at the end, once
			planned, err := s.holdings.Planned(u)
			if err != nil {
				return err
			}
			part.Wanted = slices.DeleteFunc(planned, func(id string) bool { return slices.Contains(units, id) })
		}
		p.Part = &part
		p.Same = p.Same && len(part.Entries)+len(part.Wanted) == 0
		return nil
	}, nil
}

// held gives a phone what it is to hold: the base, a piece of the register, or units. The position
// in the reply is from before anything was read, so that the changes after it miss nothing.
func (s *server) held(c echo.Context) error {
	b, err := body(c)
	if err != nil {
		return err
	}
	v, err := document.Parse(b)
	if err != nil {
		return err
	}
	r := document.Open(v)
	part := r.Text("part")
	from := r.WholeOr("from", 0, 1<<40, 0)
	rounds := r.Flag("rounds", false)
	var units []string
	if r.Has("units") {
		units = r.Texts("units")
	}
	if r.Err() == nil && len(units) > link.MaxUnits {
		r.Fail(document.CodeRange, "units", "asks for too many units at once")
	}
	if r.Err() == nil && !slices.Contains([]string{"base", "plan", "register", "units"}, part) {
		r.Fail(document.CodeRange, "part", "is none of base, plan, register and units")
	}
	if err := r.Err(); err != nil {
		return err
	}
	user, _ := c.Get("user").(auth.User)
	g := giving{server: s, user: user, w: document.NewWriter(nil)}
	g.w.Begin()
	if err := g.place(); err != nil {
		return err
	}
	switch part {
	case "base":
		err = g.base(rounds)
	case "plan":
		err = g.plan()
	case "register":
		err = g.register(from)
	case "units":
		err = g.units(units)
	}
	if err != nil {
		return err
	}
	g.w.Text("count", countText(g.count))
	g.w.End()
	return s.packed(c, g.w.Bytes())
}

// scopeOf names the sites that a user receives, as in an exchange.
func scopeOf(u auth.User) string {
	if !u.Limited() {
		return ""
	}
	return office.ScopeName(u.Sites)
}
