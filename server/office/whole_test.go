package office_test

import (
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"time"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// TestListsKeepNoWholeChanges checks that the register keeps a line of a visit with a long remark,
// and not the remark.
func TestListsKeepNoWholeChanges(t *testing.T) {
	const visits, long = 1000, 30 << 10
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	dir := t.TempDir()
	s, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	drafter := plant.Drafter{Device: "b00k", Author: reviewer, Random: rand.NewChaCha8([32]byte{3})}
	for range visits / 100 {
		var list []change.Change
		for range 100 {
			c, _, err := drafter.New("visit", "", "g4ge", at, set("started", plant.Stamp(at)),
				set("remark.r", doc{"text": strings.Repeat("read at rest ", long/13)}))
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, c)
		}
		if r, err := s.Add(t.Context(), list); err != nil || len(r.Refused) > 0 {
			t.Fatal(err, r.Refused)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = store.Open(dir); err != nil { // what the writer keeps in memory is gone
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	heap := func() uint64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.GC()
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	before := heap()
	o := office.New(s, nil, func() time.Time { return at })
	if err := o.Warm(); err != nil {
		t.Fatal(err)
	}
	after := heap()
	if grown := int64(after) - int64(before); grown > visits*long/4 {
		t.Errorf("%d visits of %d bytes take %d bytes", visits, long, grown)
	}
	runtime.KeepAlive(o)
}
