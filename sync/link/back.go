package link

import (
	"context"
	"encoding/hex"
	"errors"
	"slices"

	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// Back is a group of changes that a side sent in one response, with its signature over them. A
// device that kept the group brings it back when that side has lost the changes.
type Back struct {
	Given   string
	Changes []Sent
	Was     []Was // of those that are not brought as they were given
}

// Was names the leaf of a change as it was given. What is brought of it, if anything, is what is
// left since values of it were erased.
type Was struct {
	Change string
	Leaf   journal.Hash
}

// IsLeft says whether a change of the group is brought as what is left of it.
func (b *Back) IsLeft(id string) bool {
	return slices.ContainsFunc(b.Was, func(w Was) bool { return w.Change == id })
}

// maxBack caps the groups of one request. Each group is as long as a response.
const maxBack = 16

func readBack(r *document.Reader, q *Request) error {
	q.Reads, q.Passing = r.WholeOr("reads", 1, 1<<30, 0), uint64(r.WholeOr("passing", 0, 1<<50, 0))
	if !r.Has("back") {
		return r.Err()
	}
	groups := r.List("back")
	if r.Err() == nil && len(groups) > maxBack {
		r.Fail(document.CodeRange, "back", "carries too many groups at once")
	}
	for _, g := range groups {
		b := Back{Given: g.Text("given")}
		items := g.Values("changes")
		if r.Err() == nil && len(items) > MaxPull {
			g.Fail(document.CodeRange, "changes", "carries too many changes at once")
		}
		for i := range items {
			b.Changes = append(b.Changes, sent(&items[i]))
		}
		if g.Has("was") {
			readWas(g, &b)
		}
		q.Back = append(q.Back, b)
	}
	return r.Err()
}

func readWas(g *document.Reader, b *Back) {
	list := g.List("was")
	if g.Err() == nil && len(list) > MaxPull {
		g.Fail(document.CodeRange, "was", "names too many changes at once")
	}
	for i := range list {
		one := Was{Change: list[i].Text("change")}
		leaf, err := hex.DecodeString(list[i].Text("leaf"))
		if list[i].Err() == nil && (err != nil || len(leaf) != len(one.Leaf)) {
			list[i].Fail(document.CodeShape, "leaf", "is no SHA-256 in hexadecimal digits")
		}
		if list[i].Err() != nil {
			return
		}
		one.Leaf = journal.Hash(leaf)
		b.Was = append(b.Was, one)
	}
}

func (q *Request) writeBack(w *document.Writer) {
	if len(q.Back) == 0 {
		return
	}
	w.BeginList("back")
	for i := range q.Back {
		w.Begin()
		w.Text("given", q.Back[i].Given)
		w.BeginList("changes")
		for k := range q.Back[i].Changes {
			w.RawItem(q.Back[i].Changes[k].Bytes)
		}
		w.EndList()
		if len(q.Back[i].Was) > 0 {
			w.BeginList("was")
			for _, one := range q.Back[i].Was {
				w.Begin()
				w.Text("change", one.Change)
				w.Text("leaf", hex.EncodeToString(one.Leaf[:]))
				w.End()
			}
			w.EndList()
		}
		w.End()
	}
	w.EndList()
}

// returned is what came back. fresh was missing here and is taken. sent is judged as any pushed
// change is, since nothing shows that it was here before.
type returned struct {
	fresh []change.Change
	sent  []Sent
}

// takeBack takes what this journal has had. Its own signature shows that: it was judged when it
// came for the first time, and whoever brings it back did not write it. Of what is left of a change
// an erasure shows it, which is brought before.
func (s *Side) takeBack(ctx context.Context, groups []Back, p *Response) (out returned, err error) {
	for _, g := range groups {
		if !s.Store.Gave(g.asGiven(), g.leaves(), g.Given) {
			out.sent = append(out.sent, g.Changes...)
			continue
		}
		var list []change.Change
		for i := range g.Changes {
			one := &g.Changes[i]
			proven := true
			if one.Fault == nil && g.IsLeft(one.ID) {
				if proven, err = s.Store.Vouches(&one.Change); err != nil {
					return out, err
				}
			}
			if one.Fault != nil || !proven {
				out.sent = append(out.sent, *one) // a program that was brought back too may not read it
			} else {
				list = append(list, one.Change)
			}
		}
		// What is left of a change goes into the tree by the leaf of what it was, which its erasure names.
		slices.SortStableFunc(list, func(a, b change.Change) int {
			switch x, y := merge.IsErasure(&a), merge.IsErasure(&b); {
			case x == y:
				return 0
			case x:
				return -1
			}
			return 1
		})
		r, err := s.Store.AddBack(ctx, list, s.Sender)
		if err != nil {
			return out, err
		}
		p.Acknowledged = slices.Concat(p.Acknowledged, r.Accepted, r.Known)
		accepted := map[string]bool{}
		for _, id := range r.Accepted {
			accepted[id] = true
		}
		for i := range list {
			c := &list[i]
			switch {
			case accepted[c.ID]:
				out.fresh = append(out.fresh, *c)
				accepted[c.ID] = false
			case r.Refused[c.ID] != nil:
				out.sent = append(out.sent, Sent{ID: c.ID, Bytes: c.Bytes(), Change: *c})
			}
		}
	}
	return out, nil
}

// vouched says whether a change that was sent is what was left of one that this journal had. Whoever
// sends it need not be allowed to write it: it was judged when it came for the first time.
func (s *Side) vouched(one *Sent) (bool, error) {
	if !merge.ShowsErasure(one.Bytes) {
		return false, nil
	}
	return s.Store.Vouches(&one.Change)
}

// timely leaves out what is left of a change where its erasure is not here and the sender does not know
// yet that an older copy was restored: the answer asks for everything again, and what was given, the
// erasure too, is brought before.
func (s *Side) timely(list []Sent, q *Request) ([]Sent, error) {
	early := func(one *Sent) (bool, error) {
		if one.Fault != nil || !merge.ShowsErasure(one.Bytes) {
			return false, nil
		}
		if there, err := s.Store.Has([]string{one.ID}); err != nil || len(there) > 0 {
			return false, err
		}
		vouched, err := s.vouched(one)
		if err != nil || vouched {
			return false, err
		}
		last, err := s.Store.Last()
		if err != nil {
			return false, err
		}
		return s.foreign(*q, last)
	}
	var rest []Sent
	for i := range list {
		wait, err := early(&list[i])
		if err != nil {
			return nil, err
		}
		if !wait {
			rest = append(rest, list[i])
		}
	}
	return rest, nil
}

// takeLeft takes what was left of changes that this journal had.
func (s *Side) takeLeft(
	ctx context.Context, left []change.Change, p *Response, hold func(id string, bytes []byte, why error),
) (fresh []change.Change, err error) {
	if len(left) == 0 {
		return nil, nil
	}
	r, err := s.Store.AddBack(ctx, left, s.Sender)
	if err != nil {
		return nil, err
	}
	p.Acknowledged = slices.Concat(p.Acknowledged, r.Accepted, r.Known)
	for i := range left {
		if slices.Contains(r.Accepted, left[i].ID) {
			fresh = append(fresh, left[i])
		}
		if why := r.Refused[left[i].ID]; why != nil {
			hold(left[i].ID, left[i].Bytes(), why)
		}
	}
	return fresh, nil
}

// asGiven returns the changes of a group that are brought as they were given.
func (b *Back) asGiven() (all [][]byte) {
	for i := range b.Changes {
		if !b.IsLeft(b.Changes[i].ID) {
			all = append(all, b.Changes[i].Bytes)
		}
	}
	return all
}

// leaves returns those of the others.
func (b *Back) leaves() (all []journal.Hash) {
	for i := range b.Was {
		all = append(all, b.Was[i].Leaf)
	}
	return all
}

// give signs the changes of a response, for a sender that may keep it.
func (s *Side) give(p *Response, q *Request) {
	if len(p.Changes) == 0 || q.Protocol < 2 || planted == "what is given is not signed" {
		return
	}
	all := make([][]byte, len(p.Changes))
	for i := range p.Changes {
		all[i] = p.Changes[i].Bytes()
	}
	p.Given = s.Store.Given(all)
}

// newer takes the changes of newer programs out of what was sent. A hub keeps them as bytes and
// passes them on. An office names them, and their sender keeps them.
func (s *Side) newer(list []Sent, q *Request, p *Response) (rest []Sent, err error) {
	var pass []store.Passing
	for _, one := range list {
		switch {
		case !one.Newer || one.ID == "" || q.Protocol < 2:
			// A sender with a lower protocol does not know this answer, so its change is
			// quarantined.
			rest = append(rest, one)
		case s.Passes != nil && !s.Nothing && s.Passes(writerOf(one.Bytes)):
			pass = append(pass, store.Passing{ID: one.ID, From: s.Sender, Bytes: one.Bytes})
		default:
			p.Newer = append(p.Newer, one.ID)
		}
	}
	for i := range pass {
		switch err := s.Store.Pass(pass[i]); {
		case errors.Is(err, store.ErrForged), errors.Is(err, store.ErrHeldFull): // its sender keeps it
			p.Newer = append(p.Newer, pass[i].ID)
		case err != nil:
			return nil, err
		default:
			p.Acknowledged = append(p.Acknowledged, pass[i].ID)
		}
	}
	return rest, nil
}

// writerOf returns the author and the device that a change names, if it names them as today's
// changes do.
func writerOf(b []byte) (author, device string) {
	v, err := document.Parse(b)
	if err != nil {
		return "", ""
	}
	r := document.Open(v)
	return r.TextOr("author", ""), r.TextOr("device", "")
}

// passOn gives a sender that reads later forms the changes kept here in such a form. Nobody here
// can tell which site they belong to, so people limited to sites do not get them.
func (s *Side) passOn(p *Response, q *Request) error {
	if s.Passes == nil || s.Nothing || s.Limited || q.Reads <= change.Version {
		return nil
	}
	list, err := s.Store.PassingAfter(q.Passing, MaxPush, maxPullBytes)
	p.Passed = q.Passing
	for i := range list {
		p.Passing = append(p.Passing, Sent{ID: list[i].ID, Bytes: list[i].Bytes, Newer: true})
		p.Passed = list[i].Seq
	}
	return err
}

func (p *Response) writePassing(w *document.Writer) {
	if len(p.Passing) == 0 {
		return
	}
	w.BeginList("passing")
	for i := range p.Passing {
		w.RawItem(p.Passing[i].Bytes)
	}
	w.EndList()
	w.Whole("passed", int(p.Passed))
}
