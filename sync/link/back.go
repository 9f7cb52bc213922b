package link

import (
	"context"
	"errors"
	"slices"

	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// Back is a group of changes that a side gave in one response, with its signature over them. Who
// kept it brings it back when that side has lost them.
type Back struct {
	Given   string
	Changes []Sent
}

// maxBack caps the groups of one request; each is as long as a response.
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
		q.Back = append(q.Back, b)
	}
	return r.Err()
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
		w.End()
	}
	w.EndList()
}

// returned is what came back: what was missing here and is taken, and what is judged as anything
// that is sent, since nothing shows that it was here.
type returned struct {
	fresh []change.Change
	sent  []Sent
}

// takeBack takes what this journal has had. Its own signature shows that: it was judged when it
// came for the first time, and whoever brings it back did not write it.
func (s *Side) takeBack(ctx context.Context, groups []Back, p *Response) (out returned, err error) {
	for _, g := range groups {
		if !s.Store.Gave(bytesOf(g.Changes), g.Given) {
			out.sent = append(out.sent, g.Changes...)
			continue
		}
		var list []change.Change
		for i := range g.Changes {
			if one := &g.Changes[i]; one.Fault != nil {
				out.sent = append(out.sent, *one) // a program that was brought back too may not read it
			} else {
				list = append(list, one.Change)
			}
		}
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

func bytesOf(list []Sent) [][]byte {
	all := make([][]byte, len(list))
	for i := range list {
		all[i] = list[i].Bytes
	}
	return all
}

// give signs what a response gives, to a sender that may keep it.
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
// passes them on; an office names them, and their sender keeps them.
func (s *Side) newer(list []Sent, q *Request, p *Response) (rest []Sent, err error) {
	var pass []store.Passing
	for _, one := range list {
		switch {
		case !one.Newer || one.ID == "" || q.Protocol < 2:
			// Who speaks less knows no such answer: what they send is put aside.
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

// writerOf returns whom a change names, and which device, where it says so as the changes of now do.
func writerOf(b []byte) (author, device string) {
	v, err := document.Parse(b)
	if err != nil {
		return "", ""
	}
	r := document.Open(v)
	return r.TextOr("author", ""), r.TextOr("device", "")
}

// passOn gives a sender that reads later forms what waits here in such a form. Nobody here can tell
// of which site that is, so that people with sites are not given it.
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
