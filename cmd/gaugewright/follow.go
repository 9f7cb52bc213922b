package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"strings"
	"time"
)

const (
	// silence is how long the office may send nothing before the stream counts as broken: three of
	// its heartbeats.
	silence      = time.Minute
	firstFollow  = time.Second
	lastFollow   = 5 * time.Minute
	longestNews  = 64 << 10
	followedLong = 10 * time.Second // a stream that lasted so long was a good one
)

// follow exchanges with the office as soon as the office has something new. While there is no
// stream of news, run polls.
func (f *forwarder) follow(ctx context.Context) {
	for wait := firstFollow; ctx.Err() == nil; {
		begun := time.Now()
		// The exchange that fails with it reports why it ended.
		if err := f.news.listen(ctx, f.catchUp); err == nil || time.Since(begun) > followedLong {
			wait = firstFollow
		} else {
			wait = min(2*wait, lastFollow)
		}
		select {
		case <-ctx.Done():
		case <-time.After(wait*3/4 + rand.N(wait/2)):
		}
	}
}

// catchUp exchanges if the office's journal is longer than is known here.
func (f *forwarder) catchUp(seq uint64) {
	if at, err := f.hub.Cursor(); err != nil || seq > at {
		f.nudge(nil)
	}
}

// listen reads the office's news until the stream ends.
func (l *officeLine) listen(ctx context.Context, heard func(seq uint64)) (err error) {
	if l.token == "" {
		if err := l.logIn(ctx); err != nil {
			return err
		}
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	quiet := time.AfterFunc(silence, stop)
	defer quiet.Stop()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, l.base.JoinPath("api/news").String(), nil)
	if err != nil {
		return err
	}
	r.Header.Set("Authorization", "Bearer "+l.token)
	a, err := l.client.Do(r)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, a.Body.Close()) }()
	if a.StatusCode != http.StatusOK {
		if a.StatusCode == http.StatusUnauthorized {
			l.token = ""
		}
		return fmt.Errorf("news: the office answers %d", a.StatusCode)
	}
	lines := bufio.NewScanner(a.Body)
	lines.Buffer(nil, longestNews)
	for lines.Scan() {
		quiet.Reset(silence)
		data, is := strings.CutPrefix(lines.Text(), "data: ")
		var one struct{ Seq uint64 }
		if !is {
			continue
		}
		if err := json.Unmarshal([]byte(data), &one); err != nil {
			return err
		}
		heard(one.Seq)
	}
	l.token = "" // the token may have ended with the log-in
	return lines.Err()
}
