package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
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
)

// officeLine is the line to the office: it logs in with the hub's account, and again when the log-in has run out.
type officeLine struct {
	client         *http.Client
	base           *url.URL
	name, password string
	token          string
}

var errNotThere = errors.New("it is not there")

func newLine(a above) (*officeLine, error) {
	base, err := url.Parse(a.address)
	if err != nil || base.Host == "" || base.Scheme != "https" && base.Scheme != "http" {
		return nil, fmt.Errorf("%s is no address of an office", a.address)
	}
	if ip := net.ParseIP(base.Hostname()); base.Scheme == "http" && base.Hostname() != "localhost" && (ip == nil || !ip.IsLoopback()) {
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
	answer, status, err := l.send(ctx, http.MethodPost, "api/login", "application/json", body)
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

func (l *officeLine) send(ctx context.Context, method, path, kind string, body []byte) (answer []byte, status int, err error) {
	r, err := http.NewRequestWithContext(ctx, method, l.base.JoinPath(path).String(), bytes.NewReader(body))
	if err != nil {
		return nil, 0, err
	}
	r.Header.Set("Content-Type", kind)
	if l.token != "" {
		r.Header.Set("Authorization", "Bearer "+l.token)
	}
	a, err := l.client.Do(r)
	if err != nil {
		return nil, 0, err
	}
	defer func() { err = errors.Join(err, a.Body.Close()) }()
	answer, err = io.ReadAll(io.LimitReader(a.Body, maxAnswer))
	return answer, a.StatusCode, err
}

// ask sends a request with the log-in, which it renews once.
func (l *officeLine) ask(ctx context.Context, method, path, kind string, body []byte) ([]byte, error) {
	for again := false; ; again = true {
		if l.token == "" {
			if err := l.logIn(ctx); err != nil {
				return nil, err
			}
		}
		answer, status, err := l.send(ctx, method, path, kind, body)
		switch {
		case err != nil:
			return nil, err
		case status == http.StatusUnauthorized && !again:
			l.token = ""
			continue
		case status == http.StatusNotFound:
			return nil, errNotThere
		case status/100 != 2:
			return nil, fmt.Errorf("%s %s: the office answers %d", method, path, status)
		}
		return answer, nil
	}
}

// Exchange sends one request of the sync.
func (l *officeLine) Exchange(ctx context.Context, body []byte) ([]byte, error) {
	return l.ask(ctx, http.MethodPost, "api/sync", "application/json", body)
}

// HasBlob asks whether the office has a blob.
func (l *officeLine) HasBlob(ctx context.Context, name string) (bool, error) {
	_, err := l.ask(ctx, http.MethodHead, "api/blobs/"+name, "", nil)
	if errors.Is(err, errNotThere) {
		return false, nil
	}
	return err == nil, err
}

// PutBlob sends a blob.
func (l *officeLine) PutBlob(ctx context.Context, name string, b []byte) error {
	_, err := l.ask(ctx, http.MethodPut, "api/blobs/"+name, "application/octet-stream", b)
	return err
}

// forwarder runs a hub: soon after something came in, from time to time, and ever more rarely while there is no line.
type forwarder struct {
	hub      *hub.Hub
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
	return &forwarder{hub: hub.New(s, line, nil), upstream: a.address, wake: make(chan struct{}, 1)}, nil
}

func (f *forwarder) nudge([]change.Change) {
	select {
	case f.wake <- struct{}{}:
	default:
	}
}

func (f *forwarder) run(ctx context.Context) {
	wait := firstForward
	for {
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
			if err != nil { // what comes in does not make an absent line come back
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
