package api

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"
)

// TestAPieceFollowsTheOneBefore checks that a piece waits for the one its device sent before, even
// if it arrives first. It is refused if the other was refused, is unknown or does not come.
func TestAPieceFollowsTheOneBefore(t *testing.T) {
	o := newOrder()
	o.patience = 50 * time.Millisecond
	ctx := context.Background()
	first := o.begin("d1", "a")
	if err := o.follow(ctx, "d1", "a", false); !errors.Is(err, errEarly) {
		t.Errorf("one that may not wait, while the first is worked on: %v", err)
	}
	if err := o.follow(ctx, "d1", "a", true); !errors.Is(err, errEarly) {
		t.Errorf("the first comes to no end: %v", err)
	}
	first(true)
	for _, wait := range []bool{false, true} {
		if err := o.follow(ctx, "d1", "a", wait); err != nil {
			t.Errorf("after the first was taken: %v", err)
		}
	}
	for what, err := range map[string]error{
		"another device's":    o.follow(ctx, "d2", "a", true),
		"one that is strange": o.follow(ctx, "d1", "b", true),
	} {
		if !errors.Is(err, errEarly) {
			t.Errorf("%s: %v", what, err)
		}
	}
	o.begin("d1", "c")(false)
	if err := o.follow(ctx, "d1", "c", true); !errors.Is(err, errEarly) {
		t.Errorf("the first was refused: %v", err)
	}
	o.patience = time.Minute
	came := make(chan error)
	go func() { came <- o.follow(ctx, "d3", "late", true) }()
	last := o.begin("d3", "other")
	one := o.begin("d3", "late")
	last(false)
	one(true)
	if err := <-came; err != nil {
		t.Errorf("the second came before the first: %v", err)
	}
	for n := range 3 * mostPushing {
		o.begin(fmt.Sprint(n), "x")(true)
	}
	if len(o.known) > mostPushing {
		t.Errorf("%d devices are remembered", len(o.known))
	}
	for n := range 20 {
		o.begin("d9", fmt.Sprint(n))(true)
	}
	if n := len(o.known["d9"].list); n != mostPushes {
		t.Errorf("%d requests of one device are remembered", n)
	}
}
