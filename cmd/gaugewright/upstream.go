package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"sync"
	"time"

	"gaugewright/server/api"
	"gaugewright/sync/change"
	"gaugewright/sync/hub"
	"gaugewright/sync/store"
)

// above is how the office above a hub is reached.
type above struct{ address, name, password, ca string }

const (
	maxAnswer    = 64 << 20
	calmForward  = 15 * time.Second
	firstForward = 2 * time.Second
	lastForward  = 5 * time.Minute
	oneRequest   = 2 * time.Minute
	offerEvery   = 24 * time.Hour // refused changes are offered again
)

// officeLine is the line to the office. It logs in with the hub's account, and again when the
// log-in has expired.
type officeLine struct {
	client         *http.Client
	base           *url.URL
	name, password string
	token          string
}

var asJSON = http.Header{"Content-Type": {"application/json"}}

func newLine(a above) (*officeLine, error) {
	base, err := url.Parse(a.address)
	if err != nil || base.Host == "" || base.Scheme != "https" && base.Scheme != "http" {
		return nil, fmt.Errorf("%s is no address of an office", a.address)
	}
	if ip := net.ParseIP(base.Hostname()); base.Scheme == "http" && base.Hostname() != "localhost" &&
		(ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("plain HTTP would carry the password openly: %s must begin with https", a.address)
	}
	client, err := trusting(a.ca)
	if err != nil {
		return nil, err
	}
	client.Timeout = oneRequest
	return &officeLine{client: client, base: base, name: a.name, password: a.password}, nil
}

func (l *officeLine) logIn(ctx context.Context) error {
	body, err := json.Marshal(map[string]string{"name": l.name, "password": l.password})
	if err != nil {
		return err
	}
	answer, status, _, err := l.send(ctx, http.MethodPost, "api/login", asJSON, body)
	if err != nil {
		return err
	}
	var in struct{ Access string }
	if status != http.StatusOK || json.Unmarshal(answer, &in) != nil || in.Access == "" {
		return fmt.Errorf("the office does not let %s in: %d", l.name, status)
	}
	l.token = in.Access
	return nil
}

func (l *officeLine) send(
	ctx context.Context, method, path string, more http.Header, body []byte,
) (answer []byte, status int, header http.Header, err error) {
	r, err := http.NewRequestWithContext(ctx, method, l.base.JoinPath(path).String(), bytes.NewReader(body))
	if err != nil {
		return nil, 0, nil, err
	}
	maps.Copy(r.Header, more)
	if l.token != "" {
		r.Header.Set("Authorization", "Bearer "+l.token)
	}
	a, err := l.client.Do(r)
	if err != nil {
		return nil, 0, nil, err
	}
	defer func() { err = errors.Join(err, a.Body.Close()) }()
	answer, err = io.ReadAll(io.LimitReader(a.Body, maxAnswer))
	return answer, a.StatusCode, a.Header, err
}

// try sends a request with the log-in, which it renews at most once.
func (l *officeLine) try(
	ctx context.Context, method, path string, more http.Header, body []byte,
) (answer []byte, status int, header http.Header, err error) {
	for again := false; ; again = true {
		if l.token == "" {
			if err := l.logIn(ctx); err != nil {
				return nil, 0, nil, err
			}
		}
		answer, status, header, err = l.send(ctx, method, path, more, body)
		if err != nil || status != http.StatusUnauthorized || again {
			return answer, status, header, err
		}
		l.token = ""
	}
}

// Exchange sends one request of the sync.
func (l *officeLine) Exchange(ctx context.Context, body []byte) ([]byte, error) {
	answer, status, _, err := l.try(ctx, http.MethodPost, "api/sync", asJSON, body)
	if err == nil && status/100 != 2 {
		err = fmt.Errorf("sync: the office answers %d", status)
	}
	return answer, err
}

// Arrived asks how much of a blob the office has.
func (l *officeLine) Arrived(ctx context.Context, name string) (int64, bool, error) {
	_, status, header, err := l.try(ctx, http.MethodHead, "api/blobs/"+name, nil, nil)
	switch {
	case err != nil:
		return 0, false, err
	case status/100 == 2:
		return 0, true, nil
	case status != http.StatusNotFound:
		return 0, false, fmt.Errorf("HEAD of a blob: the office answers %d", status)
	}
	n, err := strconv.ParseInt(header.Get(api.BlobArrived), 10, 64)
	if err != nil || n < 0 {
		return -1, false, nil // an office of an earlier version, which takes only whole blobs
	}
	return n, false, nil
}

// PutPiece sends a piece of a blob. A piece that is the whole blob goes as one.
func (l *officeLine) PutPiece(ctx context.Context, name string, from, total int64, b []byte) (int64, bool, error) {
	more := http.Header{"Content-Type": {"application/octet-stream"}}
	if to := from + int64(len(b)); to-from < total {
		more.Set("Content-Range", fmt.Sprintf("bytes %d-%d/%d", from, to-1, total))
	}
	_, status, header, err := l.try(ctx, http.MethodPut, "api/blobs/"+name, more, b)
	n, _ := strconv.ParseInt(header.Get(api.BlobArrived), 10, 64) // 0 if it says nothing
	switch {
	case err != nil:
		return 0, false, err
	case status == http.StatusNoContent:
		return total, true, nil
	case status == http.StatusAccepted:
		return n, false, nil
	case status == http.StatusConflict:
		return n, false, store.ErrBlobPlace
	case status == http.StatusBadRequest:
		return 0, false, store.ErrBlobHash
	}
	return 0, false, fmt.Errorf("PUT of a blob: the office answers %d", status)
}

// forwarder runs a hub. It exchanges soon after something came in, from time to time, and ever more
// rarely while there is no line.
type forwarder struct {
	hub      *hub.Hub
	fetch    *fetcher
	news     *officeLine
	upstream string
	wake     chan struct{}
	mu       sync.Mutex
	last     time.Time
	problem  error
}

func newForwarder(s *store.Store, a above) (*forwarder, error) {
	line, err := newLine(a)
	if err != nil {
		return nil, err
	}
	other, err := newLine(a)
	if err != nil {
		return nil, err
	}
	third, err := newLine(a)
	if err != nil {
		return nil, err
	}
	third.client.Timeout = 0 // a stream of news has no end
	return &forwarder{
		hub: hub.New(s, line, nil), fetch: &fetcher{line: other}, news: third, upstream: a.address,
		wake: make(chan struct{}, 1),
	}, nil
}

func (f *forwarder) nudge([]change.Change) {
	select {
	case f.wake <- struct{}{}:
	default:
	}
}

// offer offers refused changes again soon.
func (f *forwarder) offer() error {
	if err := f.hub.Offer(); err != nil {
		return err
	}
	f.nudge(nil)
	return nil
}

func (f *forwarder) run(ctx context.Context) {
	followed := make(chan struct{})
	go func() { defer close(followed); f.follow(ctx) }()
	defer func() { <-followed }()
	wait, offered := firstForward, time.Time{}
	for {
		if time.Since(offered) > offerEvery { // at the start too
			if err := f.hub.Offer(); err == nil {
				offered = time.Now()
			}
		}
		err := f.hub.Sync(ctx)
		f.mu.Lock()
		if f.problem = err; err == nil {
			f.last = time.Now()
		}
		f.mu.Unlock()
		pause := calmForward
		if err == nil {
			wait = firstForward
		} else {
			pause, wait = wait, min(2*wait, lastForward)
		}
		timer := time.NewTimer(pause*3/4 + rand.N(pause/2))
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		case <-f.wake:
			timer.Stop()
			if err != nil { // incoming work does not bring back a broken line
				select {
				case <-ctx.Done():
					return
				case <-time.After(min(pause, firstForward)):
				}
			}
		}
	}
}

func (f *forwarder) state() (api.Forwarding, error) {
	q, err := f.hub.Queue()
	if err != nil {
		return api.Forwarding{}, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	s := api.Forwarding{Upstream: f.upstream, Queue: q}
	if !f.last.IsZero() {
		s.Last = f.last.UTC().Format(time.RFC3339)
	}
	if f.problem != nil {
		s.Problem = f.problem.Error()
	}
	return s, nil
}
