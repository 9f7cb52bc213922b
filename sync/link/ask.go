package link

import (
	"errors"

	"gaugewright/calc/document"
	"gaugewright/sync/change"
)

// ErrReply is wrapped when a reply is not an office's reply to this request.
var ErrReply = errors.New("this is not the office's reply")

// Bytes returns the body of a request.
func (q *Request) Bytes() []byte {
	size := 1024
	for i := range q.Changes {
		size += len(q.Changes[i].Bytes) + 1
	}
	w := document.NewWriter(make([]byte, 0, size))
	w.Begin()
	w.Text("store", q.Store)
	w.Text("epoch", q.Epoch)
	w.Text("root", q.Root)
	w.Whole("cursor", int(q.Cursor))
	w.Text("nonce", q.Nonce)
	w.Text("device", q.Device)
	w.BeginList("changes")
	for i := range q.Changes {
		w.RawItem(q.Changes[i].Bytes)
	}
	w.EndList()
	q.writeBack(w)
	w.Whole("limit", q.Limit)
	if q.Protocol > 0 {
		w.Whole("protocol", q.Protocol)
	}
	if q.Lane > 0 {
		w.Whole("lane", q.Lane)
	}
	if q.After != "" {
		w.Text("after", q.After)
	}
	if q.Refused != nil {
		w.Text("refused", *q.Refused)
	}
	writeIDs(w, "has", q.Has)
	if q.Reads > 0 {
		w.Whole("reads", q.Reads)
		w.Whole("passing", int(q.Passing))
	}
	w.End()
	return w.Bytes()
}

// ReadResponse reads the body of a reply to a request.
//
// Refuses: ErrReply for anything that does not carry the request's nonce, whole: a network's own
// log-in page answers too. Fields that this program does not know are ignored.
func ReadResponse(body []byte, q *Request) (Response, error) {
	if len(body) <= document.MaxBytes {
		if rest, _, changes, ok := quickly(body, len(body)); ok {
			p, err := readResponse(rest, q)
			if err == nil && len(changes) > 0 {
				p.Changes = changes
			}
			return p, err
		}
	}
	return readResponse(body, q)
}

func readResponse(body []byte, q *Request) (Response, error) {
	v, err := document.Parse(body)
	if err != nil {
		return Response{}, errors.Join(ErrReply, err)
	}
	r := document.Open(v)
	p := Response{Nonce: r.Text("nonce"), Store: r.Text("store"), Epoch: r.TextOr("epoch", ""), Root: r.TextOr("root", ""), Time: r.TextOr("time", ""),
		Cursor: uint64(r.Whole("cursor", 0, 1<<50)), More: r.Flag("more", false), Again: r.Flag("again", false), Acknowledged: r.Texts("acknowledged")}
	if r.Err() == nil && p.Nonce != q.Nonce {
		return Response{}, ErrReply
	}
	for _, h := range r.List("quarantined") {
		p.Quarantined = append(p.Quarantined, Held{h.Text("id"), h.Text("reason")})
	}
	if r.Has("refused") {
		p.News, p.Refused = true, r.Text("refused")
		for _, h := range r.List("refusals") {
			p.Refusals = append(p.Refusals, Held{h.Text("id"), h.Text("reason")})
		}
	}
	p.Protocol = r.WholeOr("protocol", 1, 1<<30, 1)
	if r.Has("newer") {
		p.Newer = r.Texts("newer")
	}
	if r.Has("had") {
		p.Had = r.Texts("had")
	}
	p.Given, p.Passed = r.TextOr("given", ""), uint64(r.WholeOr("passed", 0, 1<<50, 0))
	if r.Has("passing") {
		passing := r.Values("passing")
		for i := range passing {
			p.Passing = append(p.Passing, sent(&passing[i]))
		}
	}
	items := r.Values("changes")
	for i := range items {
		if newer(&items[i]) {
			p.Unread = append(p.Unread, sent(&items[i]))
			continue
		}
		c, err := change.Read(document.Open(items[i]))
		if err != nil {
			return Response{}, errors.Join(ErrReply, err)
		}
		p.Changes = append(p.Changes, c)
	}
	if err := r.Err(); err != nil {
		return Response{}, errors.Join(ErrReply, err)
	}
	return p, nil
}
