package store_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"pgregory.net/rapid"
)

func made(id, record, kind, parent, field, value string, count uint64, sees ...string) change.Change {
	return change.Change{ID: id, Device: "d1", Seq: count + 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(count, 0, "d1"),
		Record: record, Kind: kind, Parent: parent, Set: []change.Setting{
			{Field: field, Value: []byte(value), Sees: sees},
		}}
}

func open(t testing.TB, dir string) *store.Store {
	t.Helper()
	s, err := opened(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func add(t testing.TB, s *store.Store, changes ...change.Change) store.Result {
	t.Helper()
	r, err := s.Add(context.Background(), changes)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestAgainstMap runs random adds and reopenings beside a plain list of changes. After each,
// records, journal and history must agree.
func TestAgainstMap(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		dir, err := os.MkdirTemp(t.TempDir(), "s")
		if err != nil {
			rt.Fatal(err)
		}
		quick := store.Options{NoSync: true}
		s, err := openedWith(dir, quick)
		if err != nil {
			rt.Fatal(err)
		}
		defer func() {
			if err := s.Close(); err != nil {
				rt.Error(err)
			}
		}()
		var model []change.Change
		rt.Repeat(map[string]func(*rapid.T){
			"add": func(rt *rapid.T) {
				n := rapid.IntRange(1, 4).Draw(rt, "n")
				var batch []change.Change
				for range n {
					k := len(model) + len(batch)
					c := made(fmt.Sprintf("c%d", k), fmt.Sprintf(
						"r%d", rapid.IntRange(0, 3).Draw(rt, "record"),
					), "instrument", "", "tag",
						fmt.Sprintf("%q", rapid.StringMatching(`[A-Z]{1,3}`).Draw(rt, "tag")), uint64(k))
					batch = append(batch, c)
				}
				again := slices.Clone(batch)
				if len(model) > 0 && rapid.Bool().Draw(rt, "again") {
					again = append(again, model[rapid.IntRange(0, len(model)-1).Draw(rt, "which")])
				}
				r, err := s.Add(context.Background(), again)
				if err != nil {
					rt.Fatal(err)
				}
				if len(r.Accepted) != len(batch) || len(r.Known) != len(again)-len(batch) || len(r.Refused) != 0 {
					rt.Fatalf("sent %d new of %d: %+v", len(batch), len(again), r)
				}
				model = append(model, batch...)
			},
			"reopen": func(rt *rapid.T) {
				id := s.StoreID()
				if err := s.Close(); err != nil {
					rt.Fatal(err)
				}
				if s, err = openedWith(dir, quick); err != nil {
					rt.Fatal(err)
				}
				if s.StoreID() != id {
					rt.Fatal("another store id after reopening")
				}
			},
			"": func(rt *rapid.T) {
				entries, last, err := s.Since(0, 1<<20, nil)
				if err != nil {
					rt.Fatal(err)
				}
				if len(entries) != len(model) || last != uint64(len(model)) {
					rt.Fatalf("%d entries up to %d, want %d", len(entries), last, len(model))
				}
				for i, e := range entries {
					if string(e.Change.Bytes()) != string(model[i].Bytes()) {
						rt.Fatalf("entry %d differs", i)
					}
				}
				for r := range 4 {
					id := fmt.Sprintf("r%d", r)
					want := merge.State{}
					n := 0
					for _, c := range model {
						if c.Record == id {
							n++
							if want, err = merge.Apply(want, c); err != nil {
								rt.Fatal(err)
							}
						}
					}
					got, ok, err := s.Record(id)
					if err != nil || ok != (n > 0) {
						rt.Fatalf("%s: there %v, %v", id, ok, err)
					}
					if ok && string(got.Bytes()) != string(want.Bytes()) {
						rt.Fatalf("%s differs", id)
					}
					if h, err := s.History(id); err != nil || len(h) != n {
						rt.Fatalf("%s: history of %d, want %d, %v", id, len(h), n, err)
					}
				}
			},
		})
	})
}

func TestForgedChangeIsNamed(t *testing.T) {
	s := open(t, t.TempDir())
	add(t, s, made("c1", "r1", "instrument", "", "tag", `"A"`, 0))
	r := add(
		t, s, made("c1", "r1", "instrument", "", "tag", `"B"`, 0),
		made("c2", "r1", "visit", "", "tag", `"C"`, 1),
		made("c3", "r2", "instrument", "", "tag", `"D"`, 2),
	)
	if !errors.Is(r.Refused["c1"], store.ErrForged) || r.Refused["c2"] == nil || len(r.Accepted) != 1 {
		t.Errorf("%+v", r)
	}
	if list, err := s.Lookup("instrument", "tag", "A"); err != nil || len(list) != 1 {
		t.Errorf("the first value is gone: %v, %v", list, err)
	}
}

func TestLookupFollowsTheValue(t *testing.T) {
	s := open(t, t.TempDir())
	add(
		t, s, made("c1", "r1", "instrument", "", "tag", `"PI-1"`, 0),
		made("c2", "r2", "run", "r1", "label", `"as found"`, 1),
	)
	add(t, s, made("c3", "r1", "instrument", "", "tag", `"PI-2"`, 2, "c1"))
	for tag, want := range map[string]int{"PI-1": 0, "PI-2": 1, "PI": 0} {
		if list, err := s.Lookup("instrument", "tag", tag); err != nil || len(list) != want {
			t.Errorf("%s: %d, want %d, %v", tag, len(list), want, err)
		}
	}
	if kids, err := s.Children("r1"); err != nil || len(kids) != 1 || kids[0].ID != "r2" {
		t.Errorf("children %v, %v", kids, err)
	}
	if list, err := s.ByKind("instrument", "", 0); err != nil || len(list) != 1 {
		t.Errorf("by kind %v, %v", list, err)
	}
}

// TestChildrenOfAKind checks that the children of a kind are those of all children, in their order,
// whether one change made them or several.
func TestChildrenOfAKind(t *testing.T) {
	s := open(t, t.TempDir())
	kinds := []string{"run", "certificate", "certificates"}
	var list []change.Change
	for i := range 60 {
		id, kind, parent := fmt.Sprintf("r%d", i*7%60), kinds[i%3], fmt.Sprintf("v%d", i/5%4)
		list = append(list, made(fmt.Sprintf("c%d", i), id, kind, parent, "label", `"A"`, uint64(2*i)))
		if i%2 == 0 {
			list = append(list, made(fmt.Sprintf("d%d", i), id, kind, parent, "note", `"B"`, uint64(2*i+1)))
		}
	}
	add(t, s, list...)
	found := 0
	for _, parent := range []string{"v0", "v1", "v2", "v3", "v", "r1", ""} {
		all, err := s.Children(parent)
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range append(kinds, "cert", "") {
			want := slices.DeleteFunc(slices.Clone(all), func(x merge.State) bool { return x.Kind != kind })
			got, err := s.ChildrenOf(parent, kind)
			if err != nil || len(got) != len(want) {
				t.Fatalf("%s of %s: %d, want %d, %v", kind, parent, len(got), len(want), err)
			}
			for i := range got {
				if found++; !bytes.Equal(got[i].Bytes(), want[i].Bytes()) {
					t.Errorf("%s of %s: %s, want %s", kind, parent, got[i].Bytes(), want[i].Bytes())
				}
			}
		}
	}
	if found != 60 {
		t.Errorf("%d found of 60", found)
	}
}

func TestManyCallersAtOnce(t *testing.T) {
	s := open(t, t.TempDir())
	const callers, each = 40, 5
	var wait sync.WaitGroup
	for c := range callers {
		wait.Go(func() {
			for i := range each {
				id := fmt.Sprintf("c%dx%d", c, i)
				if r, err := s.Add(context.Background(), []change.Change{made(id, fmt.Sprintf("r%d", c), "visit", "", "f"+fmt.Sprint(i), "1", uint64(i))}); err != nil || len(r.Accepted) != 1 {
					t.Errorf("%s: %+v, %v", id, r, err)
				}
			}
		})
	}
	wait.Wait()
	if entries, _, err := s.Since(0, 1000, nil); err != nil || len(entries) != callers*each {
		t.Errorf("%d entries, %v", len(entries), err)
	}
}

// TestHalfMadeFileIsNoHarm: a power cut during the first creation leaves the temporary file, and
// opening makes the store all the same.
func TestHalfMadeFileIsNoHarm(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, store.File+".new"), []byte("torn"), 0o600); err != nil {
		t.Fatal(err)
	}
	s := open(t, dir)
	add(t, s, made("c1", "r1", "instrument", "", "tag", `"A"`, 0))
	if _, err := os.Stat(filepath.Join(dir, store.File+".new")); !errors.Is(err, os.ErrNotExist) {
		t.Error("the temporary file is still there")
	}
}

func TestBlobs(t *testing.T) {
	s := open(t, t.TempDir())
	b := []byte("photo")
	sum := sha256.Sum256(b)
	name := hex.EncodeToString(sum[:])
	if err := s.PutBlob(name, []byte("other")); !errors.Is(err, store.ErrBlobHash) {
		t.Errorf("wrong bytes: %v", err)
	}
	for _, bad := range []string{"", "../../etc/passwd", name[:63] + "G"} {
		if err := s.PutBlob(bad, b); !errors.Is(err, store.ErrBlobName) {
			t.Errorf("%q: %v", bad, err)
		}
	}
	for range 2 {
		if err := s.PutBlob(name, b); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := s.Blob(name); err != nil || string(got) != "photo" {
		t.Errorf("%q, %v", got, err)
	}
	if has, err := s.HasBlob(name[1:] + name[:1]); err != nil || has {
		t.Errorf("a blob that never came: %v, %v", has, err)
	}
}

func TestQuarantineKeepsOnce(t *testing.T) {
	s := open(t, t.TempDir())
	for range 3 {
		if err := s.Quarantine(store.Held{Reason: "revoked", Bytes: []byte(`{"x":1}`)}); err != nil {
			t.Fatal(err)
		}
	}
	if list, err := s.Quarantined(); err != nil || len(list) != 1 || list[0].Reason != "revoked" ||
		string(list[0].Bytes) != `{"x":1}` {
		t.Errorf("%v, %v", list, err)
	}
}

func TestPrivateAndClosed(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	p := s.Private("users")
	if err := p.Put("an", []byte("1")); err != nil {
		t.Fatal(err)
	}
	if v, err := p.Get("an"); err != nil || string(v) != "1" {
		t.Errorf("%q, %v", v, err)
	}
	if err := p.Delete("an"); err != nil {
		t.Error(err)
	}
	if v, err := p.Get("an"); err != nil || v != nil {
		t.Errorf("%q, %v", v, err)
	}
	if _, err := opened(dir); err == nil {
		t.Error("two programs opened one folder")
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(context.Background(), []change.Change{made("c1", "r1", "visit", "", "f", "1", 0)}); !errors.Is(err, store.ErrClosed) {
		t.Errorf("after Close: %v", err)
	}
}

func BenchmarkAddOne(b *testing.B) {
	s := open(b, b.TempDir())
	for i := range b.N {
		add(b, s, made(fmt.Sprintf("c%d", i), fmt.Sprintf("r%d", i), "visit", "", "f", "1", uint64(i)))
	}
}

func BenchmarkAddFiftyCallers(b *testing.B) {
	s := open(b, b.TempDir())
	b.SetParallelism(25)
	var mu sync.Mutex
	n := 0
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			mu.Lock()
			n++
			i := n
			mu.Unlock()
			add(b, s, made(fmt.Sprintf("c%d", i), fmt.Sprintf("r%d", i), "visit", "", "f", "1", uint64(i)))
		}
	})
}

// TestHistoryOfOneChangeAndMore: the history of a record is complete while one change makes it,
// when more come in the same transaction, and when they come later.
func TestHistoryOfOneChangeAndMore(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	add(
		t, s, made("a1", "ra", "instrument", "", "note", `"1"`, 1),
		made("b1", "rb", "instrument", "", "note", `"1"`, 2),
		made("b2", "rb", "instrument", "", "tag", `"2"`, 3),
	)
	want := func(record string, ids ...string) {
		t.Helper()
		h, err := s.History(record)
		if err != nil || len(h) != len(ids) {
			t.Fatalf("%s: %v, %v", record, h, err)
		}
		for i, id := range ids {
			if h[i].Change.ID != id {
				t.Errorf("%s: change %d is %s, not %s", record, i, h[i].Change.ID, id)
			}
		}
	}
	want("ra", "a1")
	want("rb", "b1", "b2")
	want("rc")
	add(t, s, made("a2", "ra", "instrument", "", "tag", `"2"`, 4))
	add(t, s, made("a3", "ra", "instrument", "", "serial", `"3"`, 5))
	want("ra", "a1", "a2", "a3")
	add(
		t, s, made("a4", "ra", "visit", "", "note", `"of another kind"`, 6),
		made("b3", "rb", "visit", "", "note", `"likewise"`, 7),
	) // refused
	want("ra", "a1", "a2", "a3")
	add(t, s, made("d1", "0d", "instrument", "", "note", `"1"`, 8), made("e1", "re", "visit", "", "note", `"1"`, 9))
	order := ""
	for after := ""; ; {
		list, err := s.ByKind("instrument", after, 1)
		if err != nil {
			t.Fatal(err)
		}
		if len(list) == 0 {
			break
		}
		after = list[0].ID
		order += after + " "
	}
	if order != "ra rb 0d " {
		t.Errorf("the instruments come as %q, not in the order in which they began", order)
	}
	if list, err := s.Names("instrument"); err != nil || !slices.Equal(list, []string{"ra", "rb", "0d"}) {
		t.Errorf("the names of the instruments: %v, %v", list, err)
	}
	if list, err := s.ByKind("instrument", "never", 0); err != nil || len(list) != 0 {
		t.Errorf("after an unknown one: %v, %v", list, err)
	}
	end := s.ReadsAll()
	defer s.ReadsAll()() // a second reader, which outlives the store
	merged, pieces := "", 0
	for after := ""; ; pieces++ {
		ids, last, err := s.Merged(after, 3)
		if err != nil {
			t.Fatal(err)
		}
		merged += strings.Join(ids, " ") + " "
		if after = last; last == "" {
			break
		}
	}
	if end(); strings.TrimSpace(merged) != "ra rb" || pieces != 1 {
		t.Errorf("several changes made %q, in %d pieces and the last", merged, pieces)
	}
	for id, want := range map[string]uint64{"ra": 1, "rb": 2, "re": 7, "never": 0} {
		if got, err := s.Began(id); err != nil || got != want {
			t.Errorf("%s began with %d, want %d: %v", id, got, want, err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if r := check(t, dir); len(r.Damage) != 0 || r.Changes != 7 || r.Records != 4 {
		t.Errorf("%+v", r)
	}
}
