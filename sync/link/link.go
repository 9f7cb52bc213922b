// Package link is one exchange between two sides: what one pushes, what the other lacks, in bounded pieces; the transport is given to it.
package link

import (
	"context"
	"errors"
	"slices"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// Request is what a device sends.
type Request struct {
	Store   string // the store its cursor belongs to; "" if it has none
	Epoch   string // the store's epoch at that time
	Root    string // the root that came with the cursor; "" if it kept none
	Cursor  uint64 // the last journal number it has
	Nonce   string // echoed, so that a captive portal's page is not taken for a reply
	Device  string
	Changes []Sent
	Limit   int      // how many changes it takes at once
	Kinds   []string // only changes to records of these kinds; empty for all
	Scope   *string  // the scope that its records are of; nil from a program that knows of none
	Brief   bool     // where nothing is new, the reply need not say again what the request says
	Last    *string  // the nonce of the last reply that it took, "" for none; nil from a program that does not say
	About   *About   // how it stands with the device; nil where it does not say
}

// About is what a device says of itself with a request; nothing is decided by it.
type About struct {
	Wall    string // its clock, RFC 3339
	Version string // of its program
	Waiting int    // changes that it has not sent
	Photos  int
	Oldest  string // since when the oldest of them waits, RFC 3339; "" for none
	Was     string // the id that it went by before it met a copy of itself; "" for none
}

// Sent is one change as it came: either read, or with what is wrong with it. One bad change does not hold up the others.
type Sent struct {
	ID     string // where it could be read
	Bytes  []byte
	Change change.Change
	Fault  error
}

// Held names a change that went to quarantine, and why.
type Held struct{ ID, Reason string }

// Response is what goes back.
type Response struct {
	Store        string
	Epoch        string
	Root         string // of the journal up to the cursor: 128 bits of it, in hexadecimal
	Nonce        string
	Same         bool // nothing is new and the request was brief: store, epoch, root, cursor and scope are as it said
	Again        bool // the cursor was of another store, epoch or journal: offer all changes of your own again, and take all from 0
	Cursor       uint64
	More         bool
	Acknowledged []string // on stable storage: the device may forget that it is waiting
	Quarantined  []Held   // on stable storage as well, but not in the journal
	Changes      []change.Change
	Time         string // the server's clock, RFC 3339
	Twin         bool   // somebody else goes by this device's id: take another one
	Scope        string // names what the device is given; "" for everything
	Sites        []string
	Limited      bool // the scope is that of Sites
}

// ReadRequest reads the body of a request.
//
// Refuses: a Fault naming the field. A change that cannot be read is no fault of the request: it is kept with its own. A field that this
// program does not know is passed over, since a newer one may send it.
func ReadRequest(body []byte) (Request, error) {
	if len(body) <= document.MaxBytes {
		if rest, items, changes, ok := quickly(body, MaxPush); ok {
			q, err := readRequest(rest)
			if err != nil {
				return Request{}, err
			}
			for i := range changes {
				q.Changes = append(q.Changes, Sent{ID: changes[i].ID, Bytes: items[i], Change: changes[i]})
			}
			return q, nil
		}
	}
	return readRequest(body)
}

func readRequest(body []byte) (Request, error) {
	v, err := document.Parse(body)
	if err != nil {
		return Request{}, err
	}
	r := document.Open(v)
	q := Request{Store: r.TextOr("store", ""), Epoch: r.TextOr("epoch", ""), Root: r.TextOr("root", ""), Cursor: uint64(r.WholeOr("cursor", 0, 1<<50, 0)), Nonce: r.Text("nonce"), Device: r.Text("device"),
		Limit: r.WholeOr("limit", 1, MaxPull, MaxPull)}
	if r.Err() == nil && (len(q.Nonce) == 0 || len(q.Nonce) > maxNonce) {
		r.Fail(document.CodeRange, "nonce", "needs from 1 to 64 characters")
	}
	if r.Err() == nil && !change.IsID(q.Device) {
		r.Fail(document.CodeShape, "device", "is not an id")
	}
	if r.Has("kinds") {
		q.Kinds = r.Texts("kinds")
	}
	q.Brief = r.Flag("brief", false)
	q.Scope, q.Last = given(r, "scope"), given(r, "last")
	if a, has := r.OptionalObject("about"); has {
		q.About = &About{Wall: a.TextOr("wall", ""), Version: a.TextOr("version", ""), Waiting: a.WholeOr("waiting", 0, 1<<40, 0), Photos: a.WholeOr("photos", 0, 1<<40, 0),
			Oldest: a.TextOr("oldest", ""), Was: a.TextOr("was", "")}
	}
	items := r.Values("changes")
	if r.Err() == nil && len(items) > MaxPush {
		r.Fail(document.CodeRange, "changes", "carries too many changes at once")
	}
	if err := r.Err(); err != nil {
		return Request{}, err
	}
	for i := range items {
		s := Sent{Bytes: document.AppendValue(nil, &items[i])}
		if id, ok := items[i].Get("id"); ok && id.Kind == document.String {
			s.ID = id.Text
		}
		s.Change, s.Fault = change.Parse(s.Bytes)
		q.Changes = append(q.Changes, s)
	}
	return q, nil
}

func given(r *document.Reader, name string) *string {
	if !r.Has(name) {
		return nil
	}
	text := r.Text(name)
	return &text
}

// Bytes returns the body of a response.
func (p *Response) Bytes() []byte {
	size := 1024 + 32*len(p.Acknowledged) + 128*len(p.Quarantined)
	for i := range p.Changes {
		size += 400
		for k := range p.Changes[i].Set {
			size += 64 + len(p.Changes[i].Set[k].Value)
		}
	}
	w := document.NewWriter(make([]byte, 0, size))
	w.Begin()
	if p.Same {
		w.Flag("same", true)
		w.Text("nonce", p.Nonce)
		w.End()
		return w.Bytes()
	}
	w.Text("store", p.Store)
	w.Text("epoch", p.Epoch)
	w.Text("root", p.Root)
	w.Text("nonce", p.Nonce)
	if p.Again {
		w.Flag("again", true)
	}
	if p.Twin {
		w.Flag("twin", true)
	}
	if p.Scope != "" {
		w.Text("scope", p.Scope)
	}
	if p.Limited {
		w.BeginList("sites")
		for _, id := range p.Sites {
			w.TextItem(id)
		}
		w.EndList()
	}
	w.Whole("cursor", int(p.Cursor))
	w.Flag("more", p.More)
	w.BeginList("acknowledged")
	for _, id := range p.Acknowledged {
		w.TextItem(id)
	}
	w.EndList()
	w.BeginList("quarantined")
	for _, h := range p.Quarantined {
		w.Begin()
		w.Text("id", h.ID)
		w.Text("reason", h.Reason)
		w.End()
	}
	w.EndList()
	w.BeginList("changes")
	var one []byte
	for i := range p.Changes {
		one = p.Changes[i].Append(one[:0])
		w.RawItem(one)
	}
	w.EndList()
	w.Text("time", p.Time)
	w.End()
	return w.Bytes()
}

// Side is the answering side of an exchange.
type Side struct {
	Store *store.Store
	// MayWrite returns why the sender may not write a change, or nil.
	MayWrite func(*change.Change) error
	// InScope says whether a change belongs to what the sender holds.
	InScope func(*change.Change) (bool, error)
	// Scope names what InScope says yes to, "" for everything. A device whose records are of another scope is given all from the beginning of the
	// journal, and is told the Sites where the scope is that of sites (Limited), so that it can drop the others.
	Scope   string
	Sites   []string
	Limited bool
	// OnAccepted is told of new changes after they are on stable storage; nil if nobody wants to know.
	OnAccepted func([]change.Change)
}

// Serve answers a request: first it takes what was pushed, then it gives what comes after the cursor.
//
// What may not be written, cannot be read, is forged or does not fit its record is kept in quarantine with the reason and named. A cursor of
// another store or epoch, one beyond this journal, or one whose journal had another root (a restored backup) is answered with Again and cursor
// 0, so that nothing is silently missing on either side.
// The sender's own changes come back to it too: they are known there, and a device that was wiped gets them again.
func (s *Side) Serve(ctx context.Context, q Request, now string) (Response, error) {
	p := Response{Store: s.Store.StoreID(), Epoch: s.Store.Epoch(), Nonce: q.Nonce, Time: now}
	var good []change.Change
	var held []store.Held
	hold := func(id string, bytes []byte, reason error) {
		held = append(held, store.Held{Reason: reason.Error(), Bytes: bytes})
		p.Quarantined = append(p.Quarantined, Held{id, reason.Error()})
	}
	for i := range q.Changes {
		one := &q.Changes[i]
		err := one.Fault
		if err == nil {
			err = s.MayWrite(&one.Change)
		}
		if err == nil {
			good = append(good, one.Change)
		} else {
			hold(one.ID, one.Bytes, err)
		}
	}
	result, err := s.Store.Add(ctx, good)
	if err != nil {
		return Response{}, err
	}
	p.Acknowledged = append(append(p.Acknowledged, result.Accepted...), result.Known...)
	var fresh []change.Change
	accepted := map[string]bool{}
	for _, id := range result.Accepted {
		accepted[id] = true
	}
	for i := range good {
		c := &good[i]
		if accepted[c.ID] {
			fresh = append(fresh, *c)
			accepted[c.ID] = false
		}
		if reason := result.Refused[c.ID]; reason != nil {
			hold(c.ID, c.Bytes(), reason)
		}
	}
	if len(held) > 0 && planted != "what is refused is dropped" {
		if err := s.Store.Quarantine(held...); err != nil {
			return Response{}, errors.Join(errors.New("what was refused could not be kept"), err)
		}
	}
	if s.OnAccepted != nil && len(fresh) > 0 {
		s.OnAccepted(fresh)
	}
	if err := s.pull(&p, q); err != nil {
		return Response{}, err
	}
	p.Same = q.Brief && len(q.Changes) == 0 && p.says(&q)
	return p, nil
}

func (s *Side) pull(p *Response, q Request) error {
	last, err := s.Store.Last()
	if err != nil {
		return err
	}
	if p.Again, err = s.foreign(q, last); err != nil {
		return err
	}
	if !p.Again {
		cursor := q.Cursor
		p.Scope = s.Scope
		moved := q.Scope != nil && *q.Scope != s.Scope
		if moved {
			p.Sites, p.Limited = s.Sites, s.Limited
		}
		if q.Store == "" || moved {
			cursor = 0
		}
		bounds := store.Bounds{Changes: q.Limit, Bytes: maxPullBytes, Scan: maxScan}
		wanted := func(c *change.Change) (bool, error) {
			if len(q.Kinds) > 0 && !slices.Contains(q.Kinds, c.Kind) {
				return false, nil
			}
			return s.InScope(c)
		}
		entries, seen, err := s.Store.Piece(cursor, bounds, wanted)
		if err != nil {
			return err
		}
		p.Cursor = seen
		if planted == "the cursor runs ahead" {
			p.Cursor = last
		}
		for _, e := range entries {
			p.Changes = append(p.Changes, e.Change)
		}
	}
	p.More = p.Cursor < last
	root, err := s.Store.Root(p.Cursor)
	if err != nil {
		return err
	}
	p.Root = root[:placeDigits]
	return nil
}

// says says whether a response tells the device nothing but what its request said.
func (p *Response) says(q *Request) bool {
	return !p.Again && !p.More && len(p.Changes) == 0 && p.Store == q.Store && p.Epoch == q.Epoch && p.Root == q.Root && p.Cursor == q.Cursor && q.Scope != nil && p.Scope == *q.Scope
}

// foreign says whether a cursor is not one of this journal as it is now.
func (s *Side) foreign(q Request, last uint64) (bool, error) {
	switch {
	case q.Store == "" || planted == "a restored office says nothing":
		return false, nil
	case q.Store != s.Store.StoreID() || q.Epoch != s.Store.Epoch() || q.Cursor > last:
		return true, nil
	case q.Root == "":
		return false, nil
	}
	root, err := s.Store.Root(q.Cursor)
	return err == nil && (len(q.Root) < placeDigits || !strings.HasPrefix(root, q.Root)), err // earlier programs gave all the digits
}
