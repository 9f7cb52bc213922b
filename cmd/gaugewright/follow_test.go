package main

import (
	"context"
	"fmt"
	"testing"
	"time"
)

// TestAHubHearsTheOffice: what is written at the office is at a hub at once. Three changes, one
// after the other, arrive in less time than passes between two of the hub's own polls.
func TestAHubHearsTheOffice(t *testing.T) {
	office := newPlace(t, nil)
	hub := newPlace(t, office)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); hub.f.run(ctx) }()
	defer func() { stop(); <-done }()
	arrives := func(n int, by time.Time) {
		t.Helper()
		for hub.size() != n {
			if time.Now().After(by) {
				t.Fatalf("change %d has not arrived", n)
			}
			time.Sleep(5 * time.Millisecond)
		}
	}
	office.push("an", by("an", "c0", "r1", "visit", "remark.0"))
	arrives(1, time.Now().Add(20*time.Second))
	time.Sleep(200 * time.Millisecond) // until the stream is open
	begun := time.Now()
	for i := 1; i <= 3; i++ {
		office.push("an", by("an", fmt.Sprintf("c%d", i), "r1", "visit", fmt.Sprintf("remark.%d", i)))
		arrives(i+1, begun.Add(calmForward*3/4))
	}
	t.Logf("three changes in %v", time.Since(begun))
}
