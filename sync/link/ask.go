package link

import (
	"errors"

	"gaugewright/calc/document"
	"gaugewright/sync/change"
)

// ErrReply is wrapped when a reply is not one of an office to this request.
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
	w.Whole("limit", q.Limit)
	w.End()
	return w.Bytes()
}

// ReadResponse reads the body of a reply to a request.
//
// Refuses: ErrReply for anything that does not carry the request's nonce, whole; a network's own log-in page answers too. Fields that this
// program does not know are passed over.
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
	for _, one := range r.List("changes") {
		c, err := change.Read(one)
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
