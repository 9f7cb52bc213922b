package link

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strconv"
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
	Limit   int      // how many changes it takes in one response
	Kinds   []string // only changes to records of these kinds; empty for all
	Scope   *string  // the scope that its records belong to; nil from a program that knows no scopes
	Brief   bool     // if nothing is new, the reply need not repeat what the request says
	Last    *string  // the nonce of the last reply that it took in this lane, "" for none; nil from an older program
	Lane    int      // the lane of the request; in each lane a device waits for one reply at a time
	After   string   // the nonce of a request of the other lane that must be taken before this one; "" for none
	About   *About   // the state of the device; nil if it does not report it
	Refused *string  // names the refusals that it knows, "" for none; nil from a program that shows none
	Has     []string // ids of changes of which it asks whether they are there
	// Protocol is what the sender speaks: 1 if it does not say.
	Protocol int
	Back     []Back // what the answering side once sent and has lost since
	Reads    int    // the latest form of a change that the sender reads; 0 if it does not say
	Passing  uint64 // the number of the last change of a newer program that it has
	Hold     *Hold  // what a phone holds of the plant; nil from a program that holds all of it
}

// About is a device's report on itself with a request. It decides nothing.
type About struct {
	Wall    string // its clock, RFC 3339
	Version string // of its program
	Waiting int    // changes that it has not sent
	Photos  int
	Oldest  string // since when the oldest of them waits, RFC 3339; "" for none
	Was     string // its former id, before it met a copy of itself; "" for none
}

// Sent is one change as it came: either read, or with its error. One bad change does not hold up
// the others.
type Sent struct {
	ID     string // if it could be read
	Bytes  []byte
	Change change.Change
	Fault  error
	Newer  bool // a newer program wrote it; this one cannot read it
}

// Held names a change that was quarantined, and the reason.
type Held struct{ ID, Reason string }

// Response is the answer to a request.
type Response struct {
	Store string
	Epoch string
	Root  string // of the journal up to the cursor: 128 bits of it, in hexadecimal
	Nonce string
	Same  bool // nothing is new and the request was brief: store, epoch, root, cursor and scope are as it said
	// Again says that the cursor was of another store, epoch or journal: offer all changes of your
	// own again, and take all from 0.
	Again        bool
	Cursor       uint64
	More         bool
	Acknowledged []string // on stable storage: the device no longer needs to send it
	Quarantined  []Held   // on stable storage as well, but not in the journal
	Changes      []change.Change
	Time         string // the server's clock, RFC 3339
	Twin         bool   // another device uses this device's id: take another one
	Ended        bool   // the sender's account has ended: the device keeps nothing but unsent work
	Scope        string // names what the device gets; "" for everything
	Sites        []string
	Limited      bool // the scope is that of Sites
	// Refusals are what the sender has to know of changes that were acknowledged or held before, if
	// that is news to it.
	Refusals []Held
	Refused  string   // names those; "" for none
	News     bool     // the list of refusals differs from the one that the request names
	Had      []string // of the ids that the request asked for, those that are there
	Protocol int      // the protocol of the answering side
	Newer    []string // changes that a newer program wrote: nothing of them is kept here, so the sender keeps them
	Unread   []Sent   // changes of the reply that a newer program wrote
	Given    string   // signs the changes of this response, in case an older copy is restored
	Passing  []Sent   // changes of newer programs that this side passes on without reading them
	Passed   uint64   // the number of the last of these
	Part     *Part    // set if the phone holds, or is to hold, a part of the plant
}

// ReadRequest reads the body of a request.
//
// Refuses: a Fault naming the field. A change that cannot be read is no fault of the request: it is
// kept with its own. A field that this program does not know is passed over, since a newer one may
// send it.
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
	q := Request{
		Store: r.TextOr("store", ""), Epoch: r.TextOr("epoch", ""), Root: r.TextOr("root", ""),
		Cursor: uint64(r.WholeOr("cursor", 0, 1<<50, 0)), Nonce: r.Text("nonce"),
		Device: r.Text("device"), Limit: r.WholeOr("limit", 1, MaxPull, MaxPull),
	}
	if r.Err() == nil && (len(q.Nonce) == 0 || len(q.Nonce) > maxNonce) {
		r.Fail(document.CodeRange, "nonce", "needs from 1 to 64 characters")
	}
	if r.Err() == nil && !change.IsID(q.Device) {
		r.Fail(document.CodeShape, "device", "is not an id")
	}
	if r.Has("kinds") {
		q.Kinds = r.Texts("kinds")
	}
	q.Lane, q.After = r.WholeOr("lane", 0, Lanes-1, 0), r.TextOr("after", "")
	q.Brief, q.Protocol = r.Flag("brief", false), r.WholeOr("protocol", 1, 1<<30, 1)
	q.Scope, q.Last, q.Refused = given(r, "scope"), given(r, "last"), given(r, "refused")
	if r.Has("has") {
		q.Has = r.Texts("has")
		if r.Err() == nil && len(q.Has) > MaxPush {
			r.Fail(document.CodeRange, "has", "asks for too many changes at once")
		}
	}
	if a, has := r.OptionalObject("about"); has {
		q.About = &About{
			Wall: a.TextOr("wall", ""), Version: a.TextOr("version", ""),
			Waiting: a.WholeOr("waiting", 0, 1<<40, 0), Photos: a.WholeOr("photos", 0, 1<<40, 0),
			Oldest: a.TextOr("oldest", ""), Was: a.TextOr("was", ""),
		}
	}
	items := r.Values("changes")
	if r.Err() == nil && len(items) > MaxPush {
		r.Fail(document.CodeRange, "changes", "carries too many changes at once")
	}
	if err := r.Err(); err != nil {
		return Request{}, err
	}
	for i := range items {
		q.Changes = append(q.Changes, sent(&items[i]))
	}
	if q.Hold, err = readHold(r); err != nil {
		return Request{}, err
	}
	return q, readBack(r, &q)
}

func sent(item *document.Value) Sent {
	s := Sent{Bytes: document.AppendValue(nil, item), Newer: newer(item)}
	if id, ok := item.Get("id"); ok && id.Kind == document.String {
		s.ID = id.Text
	}
	s.Change, s.Fault = change.Parse(s.Bytes)
	return s
}

// newer reports whether a change is of a later version than this program reads.
func newer(item *document.Value) bool {
	v, ok := item.Get("v")
	if !ok || v.Kind != document.Number {
		return false
	}
	n, err := strconv.Atoi(v.Text)
	return err == nil && n > change.Version
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
	w.Whole("protocol", Protocol)
	if p.Again {
		w.Flag("again", true)
	}
	writeIDs(w, "newer", p.Newer)
	if p.Twin {
		w.Flag("twin", true)
	}
	if p.Ended {
		w.Flag("ended", true)
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
	if p.News {
		w.Text("refused", p.Refused)
		writeHeld(w, "refusals", p.Refusals)
	}
	writeIDs(w, "had", p.Had)
	w.Whole("cursor", int(p.Cursor))
	w.Flag("more", p.More)
	w.BeginList("acknowledged")
	for _, id := range p.Acknowledged {
		w.TextItem(id)
	}
	w.EndList()
	writeHeld(w, "quarantined", p.Quarantined)
	p.writePassing(w)
	p.Part.write(w)
	if p.Given != "" {
		w.Text("given", p.Given)
	}
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

// writeIDs writes a list of ids, if there are any.
func writeIDs(w *document.Writer, name string, list []string) {
	if len(list) == 0 {
		return
	}
	w.BeginList(name)
	for _, id := range list {
		w.TextItem(id)
	}
	w.EndList()
}

func writeHeld(w *document.Writer, name string, list []Held) {
	w.BeginList(name)
	for _, h := range list {
		w.Begin()
		w.Text("id", h.ID)
		w.Text("reason", h.Reason)
		w.End()
	}
	w.EndList()
}

// Side is the answering side of an exchange.
type Side struct {
	Store *store.Store
	// MayWrite returns why the sender may not write a change, or nil. It is nil if Judge decides
	// everything.
	MayWrite func(*change.Change) error
	// Judge does the same within the transaction that takes the change, where it sees the records
	// that the change is merged into. It is nil if nothing depends on them. Changes that the
	// journal has are not judged.
	Judge store.Judge
	// InScope reports whether a change belongs to what the sender holds.
	InScope func(*change.Change) (bool, error)
	// Scope names what InScope accepts, "" for everything. A device whose records are of another
	// scope gets everything from the beginning of the journal. If the scope is limited to sites
	// (Limited), the response also names the Sites, so that the device can drop the others.
	Scope   string
	Sites   []string
	Limited bool
	// OnAccepted is called with new changes once they are on stable storage. It may be nil.
	OnAccepted func([]change.Change)
	// Sender is the id of the user who brings the changes. It is recorded with held changes.
	Sender string
	// Nothing is true if the sender gets nothing. Its place then stays where it is, so that it
	// misses nothing if it gets something again.
	Nothing bool
	// Refusals returns what the sender has to know of changes that were acknowledged or held
	// before. It may be nil.
	Refusals func() ([]Held, error)
	// Bytes bounds a response to about so many bytes of changes; 0 means a bound that suits a slow
	// line.
	Bytes int
	// Passes reports whether a newer program's change that names this author and device is kept as
	// bytes and passed on. Only a hub sets it.
	Passes func(author, device string) bool
	again  bool // judge rejected changes again
}

// Serve answers a request: first it takes what was pushed, then it gives what follows the cursor.
//
// A change that may not be written, cannot be read, is forged or does not fit its record is
// quarantined with the reason and named. If the cursor is of another store or epoch, is beyond this
// journal, or is of a journal with another root (a restored backup), the answer is Again with
// cursor 0, so that nothing is silently missing on either side. The sender also gets its own
// changes back: it knows them already, and a wiped device needs them.
func (s *Side) Serve(ctx context.Context, q Request, now string) (Response, error) {
	p := Response{Store: s.Store.StoreID(), Epoch: s.Store.Epoch(), Nonce: q.Nonce, Time: now}
	returned, err := s.takeBack(ctx, q.Back, &p)
	if err != nil {
		return Response{}, err
	}
	sent, err := s.newer(slices.Concat(q.Changes, returned.sent), &q, &p)
	if err != nil {
		return Response{}, err
	}
	if sent, err = s.timely(sent, &q); err != nil {
		return Response{}, err
	}
	fresh, err := s.take(ctx, sent, &p)
	if err != nil {
		return Response{}, err
	}
	fresh = append(returned.fresh, fresh...)
	if s.OnAccepted != nil && len(fresh) > 0 {
		s.OnAccepted(fresh)
	}
	if err := s.pull(&p, q); err != nil {
		return Response{}, err
	}
	if err := s.answerAsked(&p, q); err != nil {
		return Response{}, err
	}
	if err := s.passOn(&p, &q); err != nil {
		return Response{}, err
	}
	p.Same = q.Brief && len(q.Changes)+len(q.Back) == 0 && p.unchanged(&q)
	return p, nil
}

// take keeps what was sent: in the journal, or in quarantine with the reason. A change that is in
// the journal is acknowledged for any sender, since it was judged once. A change that the office
// has rejected stays rejected.
func (s *Side) take(ctx context.Context, sent []Sent, p *Response) (fresh []change.Change, err error) {
	list := make([]change.Change, len(sent))
	for i := range sent {
		list[i] = sent[i].Change // one that cannot be read has no id
	}
	known, err := s.Store.Standings(list)
	if err != nil {
		return nil, err
	}
	var good []change.Change
	var entries [][]byte // of the good ones
	var before []bool    // of the good ones: known before
	var left []change.Change
	var held []store.Held
	hold := func(id string, bytes []byte, reason error) {
		held = append(held, store.Held{Reason: reason.Error(), Bytes: bytes, From: s.Sender})
		p.Quarantined = append(p.Quarantined, Held{id, reason.Error()})
	}
	for i := range sent {
		one := &sent[i]
		if known[i].Rejected != "" && !s.again {
			p.Quarantined = append(p.Quarantined, Held{one.ID, known[i].Rejected})
			continue
		}
		err := one.Fault
		if err == nil && !known[i].Known {
			vouched, err := s.vouched(one)
			if err != nil {
				return nil, err
			}
			if vouched {
				left = append(left, one.Change)
				continue
			}
		}
		if err == nil && !known[i].Known && s.MayWrite != nil {
			err = s.MayWrite(&one.Change)
		}
		if err == nil {
			good, before = append(good, one.Change), append(before, known[i].Known)
			entries = append(entries, one.Bytes) // canonical, or the change would not have been read
		} else {
			hold(one.ID, one.Bytes, err)
		}
	}
	fresh, err = s.takeLeft(ctx, left, p, hold)
	if err != nil {
		return nil, err
	}
	result, err := s.Store.AddArrived(ctx, good, entries, s.Judge)
	if err != nil {
		return nil, err
	}
	p.Acknowledged = append(append(p.Acknowledged, result.Accepted...), result.Known...)
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
		if reason := result.Refused[c.ID]; reason != nil && !before[i] {
			hold(c.ID, entries[i], reason)
		}
	}
	if len(held) > 0 && planted != "what is refused is dropped" {
		if err := s.Store.Quarantine(held...); err != nil {
			return nil, errors.Join(errors.New("what was refused could not be kept"), err)
		}
	}
	return fresh, nil
}

// Reconsider judges held changes again. It takes in those that may be written now; the others stay,
// with today's reason.
func (s *Side) Reconsider(ctx context.Context, list []store.Held) (p Response, err error) {
	for len(list) > 0 {
		var sent []Sent
		n := 0
		for size := 0; n < len(list) && n < MaxPush && size < maxPullBytes; n++ {
			size += len(list[n].Bytes)
			c, fault := change.Parse(list[n].Bytes)
			sent = append(sent, Sent{ID: list[n].Change, Bytes: list[n].Bytes, Change: c, Fault: fault})
		}
		from := list[0].From
		for i := range n {
			if list[i].From != from {
				n, sent = i, sent[:i]
				break
			}
		}
		one := *s
		one.again = true
		one.Sender = from // the person who looks at it again did not bring it
		fresh, err := one.take(ctx, sent, &p)
		if err != nil {
			return p, err
		}
		if s.OnAccepted != nil && len(fresh) > 0 {
			s.OnAccepted(fresh)
		}
		list = list[n:]
	}
	return p, nil
}

// answerAsked answers what the sender asks about changes that it or others brought before.
func (s *Side) answerAsked(p *Response, q Request) (err error) {
	if len(q.Has) > 0 {
		if p.Had, err = s.Store.Has(q.Has); err != nil {
			return err
		}
	}
	if s.Refusals == nil || q.Refused == nil {
		return nil
	}
	if p.Refusals, err = s.Refusals(); err != nil {
		return err
	}
	p.Refused = name(p.Refusals)
	p.News = p.Refused != *q.Refused
	return nil
}

// name returns a name for a list of refusals, "" for none.
func name(list []Held) string {
	if len(list) == 0 {
		return ""
	}
	sum := sha256.New()
	for _, h := range list {
		fmt.Fprintf(sum, "%q %q\n", h.ID, h.Reason)
	}
	return hex.EncodeToString(sum.Sum(nil)[:6])
}

func (s *Side) pull(p *Response, q Request) error {
	last, err := s.Store.Last()
	if err != nil {
		return err
	}
	if p.Again, err = s.foreign(q, last); err != nil {
		return err
	}
	switch {
	case p.Again:
	case s.Nothing:
		if q.Store != "" {
			p.Cursor = q.Cursor
		}
	default:
		cursor := q.Cursor
		p.Scope = s.Scope
		moved := q.Scope != nil && *q.Scope != s.Scope
		if moved {
			p.Sites, p.Limited = s.Sites, s.Limited
		}
		if q.Store == "" || moved {
			cursor = 0
		}
		bounds := store.Bounds{Changes: q.Limit, Bytes: cmp.Or(s.Bytes, maxPullBytes), Scan: maxScan}
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
		s.give(p, &q)
	}
	p.More = p.Cursor < last && (p.Again || !s.Nothing)
	root, err := s.Store.Root(p.Cursor)
	if err != nil {
		return err
	}
	p.Root = root[:placeDigits]
	return nil
}

// unchanged reports whether a response adds nothing to what the request said.
func (p *Response) unchanged(q *Request) bool {
	nothing := !p.Again && !p.More && !p.News && len(p.Had)+len(p.Changes)+len(p.Passing) == 0
	place := p.Store == q.Store && p.Epoch == q.Epoch && p.Root == q.Root && p.Cursor == q.Cursor
	return nothing && place && q.Scope != nil && p.Scope == *q.Scope
}

// foreign reports whether a cursor does not belong to this journal as it is now.
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
	// Older programs sent all the digits.
	return err == nil && (len(q.Root) < placeDigits || !strings.HasPrefix(root, q.Root)), err
}
