package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"time"

	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

const (
	// maxRecent is how many of the latest entries are kept in memory for those who wait for news.
	maxRecent = 1000
	// maxListeners bounds the open streams; clients without a place poll instead.
	maxListeners = 500
	// maxTouched bounds the records that one piece of news names.
	maxTouched = 100
	// newsEvery spaces the news of one stream: what comes together is sent together.
	newsEvery = 100 * time.Millisecond
	// newsBeat keeps a quiet stream open, and ends it soon after its log-in ends.
	newsBeat = 20 * time.Second
	// newsPatience is how long a reader may take for one piece of news.
	newsPatience = 30 * time.Second
)

var errListeners = errors.New("too many wait for news; ask from time to time")

// news keeps the latest entries of the journal in memory, so that they are read once and not by
// every listener.
type news struct {
	store     *store.Store
	mu        sync.Mutex
	listeners int
	recent    []store.Entry // without their values
	end       uint64        // the last entry that was read
}

// enter counts a listener; the first one starts at the journal's end.
func (n *news) enter() (end uint64, err error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.listeners >= maxListeners {
		return 0, errListeners
	}
	if n.listeners == 0 {
		n.recent = nil
		if n.end, err = n.store.Last(); err != nil {
			return 0, err
		}
	}
	n.listeners++
	return n.end, nil
}

func (n *news) leave() {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.listeners--
}

// since returns the entries after one, and the last. all is false if some of them are no longer in
// memory.
func (n *news) since(seq uint64) (list []store.Entry, end uint64, all bool, err error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	for {
		more, last, err := n.store.Piece(n.end, store.Bounds{Changes: maxRecent, Bytes: 1 << 20}, nil)
		if err != nil {
			return nil, 0, false, err
		}
		if len(more) == 0 {
			break
		}
		for i := range more {
			more[i].Change.Set = nil
		}
		n.recent, n.end = append(n.recent, more...), last
		n.recent = slices.Clone(n.recent[max(len(n.recent)-maxRecent, 0):]) // others may be reading the previous one
	}
	at, there := slices.BinarySearchFunc(n.recent, seq+1, func(e store.Entry, seq uint64) int {
		switch {
		case e.Seq < seq:
			return -1
		case e.Seq > seq:
			return 1
		}
		return 0
	})
	return n.recent[at:], n.end, there || seq >= n.end, nil
}

// piece is one piece of news: the journal's last entry, and the records written since the piece
// before.
type piece struct {
	Seq     uint64   `json:"seq"`
	Records []string `json:"records"`        // touched, with the visits of touched runs
	Many    bool     `json:"many,omitempty"` // there are more than these
}

// sendNews reports new entries of the journal as they come, as far as the log-in may see them. It
// is a stream of server-sent events (HTML Living Standard, 9.2) that ends with the log-in.
func (s *server) sendNews(c echo.Context) error {
	token, _ := bearer(c)
	seen, err := s.news.enter()
	if err != nil {
		return err
	}
	defer s.news.leave()
	out, control := c.Response(), http.NewResponseController(c.Response().Writer)
	out.Header().Set(echo.HeaderContentType, "text/event-stream")
	out.Header().Set("X-Accel-Buffering", "no") // a proxy would buffer it
	send := func(text string) error {
		// A writer without deadlines, as in tests, waits as long as it takes.
		if err := control.SetWriteDeadline(time.Now().Add(newsPatience)); err != nil &&
			!errors.Is(err, http.ErrNotSupported) {
			return err
		}
		if _, err := out.Write([]byte(text)); err != nil {
			return err
		}
		return control.Flush()
	}
	tell := func(p piece) error {
		b, err := json.Marshal(p)
		if err != nil {
			return err
		}
		return send(fmt.Sprintf("data: %s\n\n", b))
	}
	if err := tell(piece{Seq: seen, Records: []string{}}); err != nil {
		return nil // the reader has gone
	}
	beat := time.NewTicker(newsBeat)
	defer beat.Stop()
	for {
		grown := s.Store.Grown()
		user, err := s.Keeper.Who(token)
		if err != nil {
			return nil // the log-in has ended, and with it the stream
		}
		list, end, all, err := s.news.since(seen)
		if err != nil {
			failed(c, err)
			return nil
		}
		if end > seen {
			p, err := s.touched(user, list, end, all)
			if err != nil {
				failed(c, err)
				return nil
			}
			seen = end
			if p.Many || len(p.Records) > 0 {
				if err := tell(p); err != nil {
					return nil // the reader has gone
				}
			}
			select {
			case <-time.After(newsEvery):
				continue
			case <-c.Request().Context().Done():
				return nil
			case <-s.Stopping:
				return nil
			}
		}
		select {
		case <-grown:
		case <-beat.C:
			if err := send(": \n\n"); err != nil {
				return nil // the reader has gone
			}
		case <-c.Request().Context().Done():
			return nil
		case <-s.Stopping:
			return nil
		}
	}
}

// touched names the records in some entries that a user may see.
func (s *server) touched(user auth.User, list []store.Entry, end uint64, all bool) (p piece, err error) {
	p = piece{Seq: end, Records: []string{}, Many: !all}
	sees := func(*change.Change) (bool, error) { return true, nil }
	if user.Role == auth.Technician || user.Limited() {
		if sees, err = s.scope.Of(user, s.Now()); err != nil {
			return p, err
		}
	}
	known := map[string]bool{}
	for i := range list {
		one := &list[i].Change
		if yes, err := sees(one); err != nil || !yes {
			if err != nil {
				return p, err
			}
			continue
		}
		for _, id := range []string{one.Record, one.Parent} {
			switch {
			case id == "" || known[id] || id == one.Parent && one.Kind != "run":
			case len(p.Records) == maxTouched:
				p.Many = true
			default:
				known[id] = true
				p.Records = append(p.Records, id)
			}
		}
	}
	return p, nil
}
