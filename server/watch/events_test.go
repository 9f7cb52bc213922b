package watch_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"strconv"
	"sync"
	"testing"
	"time"

	"gaugewright/server/watch"
	"gaugewright/sync/store"
)

// lines is a log that is safe for concurrent use.
type lines struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lines) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(b)
}

// details are the details of the events that were logged, in order.
func (l *lines) details(t *testing.T) (list []string) {
	t.Helper()
	l.mu.Lock()
	defer l.mu.Unlock()
	for in := bufio.NewScanner(bytes.NewReader(l.b.Bytes())); in.Scan(); {
		var line struct{ Msg, Level, Kind, By, Detail string }
		if err := json.Unmarshal(in.Bytes(), &line); err != nil {
			t.Fatal(err)
		}
		if line.Msg != "event" || line.Kind != "role" || line.By != "somebody" {
			t.Errorf("logged: %s", in.Text())
		}
		list = append(list, line.Detail)
	}
	return list
}

// TestEventsGoIntoTheLog checks that entries of the event log are copied in order, once each,
// including those from a time without a copier.
func TestEventsGoIntoTheLog(t *testing.T) {
	s := opened(t)
	n := 0
	note := func(many int) {
		for range many {
			n++
			if err := s.Note(store.Event{Kind: "role", By: "somebody", Detail: strconv.Itoa(n)}); err != nil {
				t.Fatal(err)
			}
		}
	}
	note(3) // before copying starts
	var out lines
	w := watch.New(watch.Options{Store: s, Log: slog.New(slog.NewJSONHandler(&out, nil))})
	run := func(work func()) {
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { defer close(done); w.Events(ctx) }()
		time.Sleep(100 * time.Millisecond)
		work()
		time.Sleep(1500 * time.Millisecond) // more than one interval
		cancel()
		<-done
	}
	run(func() { note(2) })
	note(250) // while nobody copies
	run(func() { note(1) })
	got := out.details(t)
	if len(got) != 253 {
		t.Fatalf("%d events are logged, of 253", len(got))
	}
	for i, d := range got {
		if d != strconv.Itoa(i+4) {
			t.Fatalf("event %d says %s", i, d)
		}
	}
}
