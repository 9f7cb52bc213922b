package office

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"

	"github.com/google/go-cmp/cmp"
)

// TestFirstReadingGoesOn checks that a first reading goes on where the last one stopped: it does not
// read again what is kept, and ends with the same register as one that was not stopped.
func TestFirstReadingGoesOn(t *testing.T) {
	s := scratch(t)
	now := func() time.Time { return time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC) }
	p := plant.Drafter{Device: "ph0ne", Author: "techn1c1an", Random: rand.NewChaCha8([32]byte{7})}
	var changes []change.Change
	add := func(kind, parent string, sets ...plant.Set) string {
		c, state, err := p.New(kind, "", parent, now(), sets...)
		if err != nil {
			t.Fatal(err)
		}
		changes = append(changes, c)
		return state.ID
	}
	var first string
	for i := range 3 * piece / 2 {
		id := add("instrument", "", plant.Set{Field: "tag", Value: fmt.Sprintf("PI-%d", i)})
		if i == 0 {
			first = id
		}
		add("visit", id, plant.Set{Field: "started", Value: plant.Stamp(now().Add(time.Duration(i) * time.Hour))})
	}
	if r, err := s.Add(t.Context(), changes); err != nil || len(r.Refused) > 0 {
		t.Fatal(err, r.Refused)
	}
	want, err := NewIndex(s, now).table(Query{Most: -1})
	if err != nil {
		t.Fatal(err)
	}
	lines := s.Private(keptHere)
	if err := lines.Delete(keptName); err != nil {
		t.Fatal(err)
	}

	stopped := NewIndex(s, now)
	if stopped.cursor, err = s.Last(); err != nil {
		t.Fatal(err)
	}
	stopped.after = map[string]string{}
	states, err := s.ByKind("instrument", "", piece)
	if err != nil {
		t.Fatal(err)
	}
	var put []func()
	for _, state := range states {
		put = append(put, stopped.read(state))
	}
	stopped.take("instrument", states[piece-1].ID, put)
	stopped.write()
	// The kept line of the first instrument says what its record does not.
	b, err := lines.Get(gaugeLine + first)
	if err != nil || b == nil {
		t.Fatal("the first instrument is not kept:", err)
	}
	if err := lines.Put(gaugeLine+first, []byte(strings.Replace(string(b), `"PI-0"`, `"PI-K"`, 1))); err != nil {
		t.Fatal(err)
	}

	for _, start := range []string{"goes on", "finds all of it kept"} {
		x := NewIndex(s, now)
		got, err := x.table(Query{Most: -1})
		if err != nil {
			t.Fatal(err)
		}
		kept := false
		for i := range got.Rows {
			if got.Rows[i].Tag == "PI-K" {
				got.Rows[i].Tag, kept = "PI-0", true
			}
		}
		if !kept {
			t.Error(start, ": the first instrument was read again")
		}
		byTag := func(l []Gauge) map[string]Gauge {
			of := map[string]Gauge{}
			for _, g := range l {
				of[g.Tag] = g
			}
			return of
		}
		if diff := cmp.Diff(byTag(want.Rows), byTag(got.Rows)); diff != "" {
			t.Error(start, diff)
		}
		if int(x.visits.count) != 3*piece/2 || x.after != nil {
			t.Errorf("%s: %d visits, %v", start, x.visits.count, x.after)
		}
	}
}

// TestFirstReadingSaysHowFarItIs checks what is said to who asks meanwhile, and that the lists are
// there when it is done.
func TestFirstReadingSaysHowFarItIs(t *testing.T) {
	s := scratch(t)
	x := NewIndex(s, time.Now)
	x.patience = time.Nanosecond
	l := &loading{done: make(chan struct{})}
	l.part.Store(34)
	x.loading = l
	if _, err := x.table(Query{}); !errors.Is(err, ErrReading) || !strings.Contains(err.Error(), "; 34 per cent of it are done") {
		t.Error("it says", err)
	}
	x.loadAside(l)
	if _, err := x.table(Query{}); err != nil {
		t.Error(err)
	}
}

// TestWriterCatchesUp checks that the office's writer counts a long journal in parts, goes on from the
// last one after a stop, and refuses a decision meanwhile.
func TestWriterCatchesUp(t *testing.T) {
	s := scratch(t)
	p := plant.Drafter{Device: "ph0ne", Author: "techn1c1an", Random: rand.NewChaCha8([32]byte{8})}
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	var changes []change.Change
	for range farBehind + keptPart + 1 {
		c, _, err := p.New("note", "", "", at, plant.Set{Field: "text", Value: "n"})
		if err != nil {
			t.Fatal(err)
		}
		changes = append(changes, c)
	}
	if r, err := s.Add(t.Context(), changes); err != nil || len(r.Refused) > 0 {
		t.Fatal(err, len(r.Refused))
	}
	w := NewWriter(s)
	w.catching = true
	if err := w.follow(); !errors.Is(err, ErrReading) || !strings.Contains(err.Error(), "; 0 per cent") {
		t.Error("it says", err)
	}
	if end, err := w.someMore(); end || err != nil {
		t.Fatal(end, err)
	}
	device := w.kept.Device
	again := NewWriter(s) // after a stop
	if err := again.load(); err != nil || again.kept.Cursor < keptPart || again.kept.Device != device {
		t.Errorf("it goes on from %d with %s, was %s: %v", again.kept.Cursor, again.kept.Device, device, err)
	}
	if err := again.catchUp(); err != nil {
		t.Fatal(err)
	}
	if last := uint64(len(changes)); again.kept.Cursor != last || again.kept.Count != changes[len(changes)-1].Stamp.Count {
		t.Errorf("at %d of %d it counts %d", again.kept.Cursor, last, again.kept.Count)
	}
	if err := again.follow(); err != nil || again.catching {
		t.Error(err, again.catching)
	}
}
