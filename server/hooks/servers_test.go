//go:build unix

package hooks_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/postgres"
	"gaugewright/sync/postgres/pgtest"
	"gaugewright/sync/store"
)

// TestOneOfTwoServersSends: each message once, whoever made it happen; where one server ends, the
// other goes on, at once or when the turn is over. What the other one is asked to send again is sent.
func TestOneOfTwoServersSends(t *testing.T) {
	pg := pgtest.Start(t, "fsync=off")
	address, folder := pg.Plant(), t.TempDir()
	now := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	var servers [2]*site
	for i, device := range []string{"ph0ne", "tab1et"} {
		db, err := postgres.Open(context.Background(), address, postgres.Options{Unsafe: true})
		if err != nil {
			t.Fatal(err)
		}
		s, err := store.OpenOn(db, folder, store.Options{})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = s.Close() })
		servers[i] = &site{t: t, store: s, now: now,
			drafter: plant.Drafter{Device: device, Author: "techn1", Random: rand.NewChaCha8([32]byte{byte(i)})}}
		servers[i].open(loopback)
	}
	a, b, r := servers[0], servers[1], newReceiver(t)
	steps := func() {
		b.step()
		a.step()
	}
	received := func(when string, want ...string) []got {
		t.Helper()
		kinds, all := r.kinds()
		if !slices.Equal(kinds, want) {
			t.Errorf("%s: told %v, want %v", when, kinds, want)
		}
		return all
	}
	a.step() // the first one has the turn
	b.endpoint(r.URL, "visit.signed")
	a.signed("pass")
	b.signed("pass")
	steps()
	sent := received("one has the turn", "visit.signed", "visit.signed")

	log, _, err := b.hooks.Log("", "", 10)
	if err != nil || len(log) != 2 {
		t.Fatal(log, err)
	}
	if err := b.hooks.Again(log[0].Key, noted("hook_again")); err != nil {
		t.Fatal(err)
	}
	steps()
	if again := received("asked for once more at the other", "visit.signed"); len(again) == 1 &&
		!slices.ContainsFunc(sent, func(g got) bool { return g.id == again[0].id }) {
		t.Error("it has another id")
	}

	a.signed("pass")
	b.step() // the first one was killed, and its turn is not over
	received("the turn is not over")
	b.now = now.Add(3 * time.Minute)
	b.step()
	received("the turn is over", "visit.signed")
	a.now = b.now
	a.signed("pass")
	a.step() // it comes back, and the other one has the turn
	received("the other one has the turn")

	ending, end := context.WithCancel(context.Background())
	end()
	b.hooks.Run(ending) // it ends, and says so
	received("at the end")
	a.step()
	received("the turn was given up", "visit.signed")
}
