package store_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

func setOf(n int, record, field, value string) change.Change {
	return change.Change{ID: fmt.Sprintf("c%d", n), Device: "d1", Seq: uint64(n), Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Stamp{Count: uint64(n), Device: "d1"},
		Record: record, Kind: "visit", Set: []change.Setting{{Field: field, Value: []byte(value)}}}
}

// TestJudgedInTheTransaction: a judge sees what was taken earlier in the same call, and does not
// judge again what the journal has.
func TestJudgedInTheTransaction(t *testing.T) {
	s, err := opened(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	twice := errors.New("written already")
	asked := 0
	judge := func(v store.View, c *change.Change) error {
		asked++
		state, _, err := v.Record(c.Record)
		if err != nil {
			return err
		}
		if _, ok := state.Field(c.Set[0].Field); ok {
			return twice
		}
		return nil
	}
	list := []change.Change{setOf(1, "v1", "a", "1"), setOf(2, "v1", "a", "2"), setOf(3, "v1", "b", "3")}
	r, err := s.AddJudged(context.Background(), list, judge)
	if err != nil || len(r.Accepted) != 2 || !errors.Is(r.Refused["c2"], twice) {
		t.Fatalf("%+v %v", r, err)
	}
	asked = 0
	r, err = s.AddJudged(context.Background(), list, func(v store.View, c *change.Change) error {
		_, first, _ := v.Change("c1")
		if _, second, err := v.Change("c2"); v.Count() != 3 || !first || second || err != nil {
			t.Error(v.Count(), first, second, err)
		}
		return judge(v, c)
	})
	if err != nil || len(r.Known) != 2 || len(r.Refused) != 1 || asked != 1 {
		t.Errorf("%+v %v, asked %d times", r, err, asked)
	}
}

// TestARecordHasABound: a change that would make its record too large is refused; the others of the
// same call are taken.
func TestARecordHasABound(t *testing.T) {
	s, err := opened(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	text := `"` + strings.Repeat("x", 500_000) + `"`
	var full int
	for n := 1; n <= 12; n++ {
		r, err := s.Add(
			context.Background(),
			[]change.Change{
				setOf(2*n, "v1", fmt.Sprintf("remark.%d", n), text),
				setOf(2*n+1, "v2", fmt.Sprintf("remark.%d", n), `"short"`),
			},
		)
		if err != nil {
			t.Fatal(err)
		}
		if reason := r.Refused[fmt.Sprintf("c%d", 2*n)]; reason != nil {
			full++
			if !errors.Is(reason, store.ErrRecordFull) || len(r.Accepted) != 1 {
				t.Errorf("%v %+v", reason, r)
			}
		}
	}
	state, _, err := s.Record("v1")
	if err != nil || len(state.Bytes()) > store.MaxRecord || full != 4 {
		t.Errorf("%d bytes, %d refused, %v", len(state.Bytes()), full, err)
	}
}

// TestADamagedRecordHidesNoOther: a record whose bytes cannot be read is named in lists and stops
// no other write.
func TestADamagedRecordHidesNoOther(t *testing.T) {
	dir := t.TempDir()
	s, err := opened(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(context.Background(), []change.Change{setOf(1, "v1", "a", "1"), setOf(2, "v2", "a", "2"), setOf(3, "v1", "b", "3")}); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := bbolt.Open(dir+"/"+store.File, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(
		func(tx *bbolt.Tx) error { return tx.Bucket([]byte("records")).Put([]byte("v1"), []byte(`{"id":"v1`)) },
	)
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	if s, err = opened(dir); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	list, err := s.ByKind("visit", "", 0)
	if err != nil || len(list) != 2 || list[0].ID != "v1" || list[0].Damaged == "" || list[1].Damaged != "" {
		t.Errorf("%+v %v", list, err)
	}
	if _, _, err := s.Record("v1"); !errors.Is(err, store.ErrDamaged) {
		t.Error(err)
	}
	r, err := s.Add(context.Background(), []change.Change{setOf(4, "v1", "c", "4"), setOf(5, "v2", "c", "5")})
	if err != nil || len(r.Accepted) != 1 || !errors.Is(r.Refused["c4"], store.ErrDamaged) {
		t.Errorf("%+v %v", r, err)
	}
}

// TestTheQuarantineIsCounted: the amount held is known without reading it all, also for a file that
// did not record it.
func TestTheQuarantineIsCounted(t *testing.T) {
	dir := t.TempDir()
	s, err := opened(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Quarantine(store.Held{Reason: "r", Bytes: []byte("12345")}, store.Held{Reason: "r", Bytes: []byte("123")}, store.Held{Reason: "r", Bytes: []byte("123")}); err != nil {
		t.Fatal(err)
	}
	look := func(count, bytes int64) {
		t.Helper()
		if n, size, err := s.HeldSize(); n != count || size != bytes || err != nil {
			t.Error(n, size, err)
		}
	}
	look(2, 12)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := bbolt.Open(dir+"/"+store.File, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bbolt.Tx) error { return tx.Bucket([]byte("meta")).Delete([]byte("held")) })
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	if s, err = opened(dir); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	look(2, 12)
	if err := s.Quarantine(store.Held{Reason: "r", Bytes: []byte("1")}); err != nil {
		t.Fatal(err)
	}
	look(3, 15)
	if list, rest, err := s.HeldAfter(0, 9, 8, false); err != nil || len(list) != 2 || rest != 1 {
		t.Error(list, rest, err)
	}
}
