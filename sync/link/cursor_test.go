package link_test

import (
	"context"
	"fmt"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// FuzzCursor asks with any place. Either the place is one of this journal, and following it to the
// end gives everything after it, each change once; or the answer says that it is not, and gives
// nothing.
func FuzzCursor(f *testing.F) {
	const entries = 23
	s, err := store.OpenWith(f.TempDir(), store.Options{NoSync: true})
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() {
		if err := s.Close(); err != nil {
			f.Error(err)
		}
	})
	var all []change.Change
	for i := range entries {
		all = append(all, made(fmt.Sprintf("c%d", i), fmt.Sprintf("r%d", i%5), uint64(i)))
	}
	if _, err := s.Add(context.Background(), all); err != nil {
		f.Fatal(err)
	}
	roots := make([]string, entries+1)
	for i := range roots {
		if roots[i], err = s.Root(uint64(i)); err != nil {
			f.Fatal(err)
		}
	}
	side := &link.Side{
		Store: s, MayWrite: func(*change.Change) error { return nil },
		InScope: func(*change.Change) (bool, error) { return true, nil },
	}
	// "=" stands for the right store, epoch or root, since those of this store differ between runs.
	f.Add("=", "=", "=", uint64(7), uint16(5))
	f.Add("=", "=", "", uint64(23), uint16(1))
	f.Add("=", "=", "=", uint64(24), uint16(1))
	f.Add("", "", "", uint64(9), uint16(2000))
	f.Add("0th3r", "=", "=", uint64(3), uint16(9))
	f.Add("=", "0th3r", "=", uint64(3), uint16(9))
	f.Add("=", "=", "00", uint64(3), uint16(9))
	f.Fuzz(func(t *testing.T, of, epoch, root string, cursor uint64, limit uint16) {
		q := link.Request{
			Store: of, Epoch: epoch, Root: root, Cursor: cursor % (1 << 50), Nonce: "n", Device: "d9",
			Limit: max(int(limit)%link.MaxPull, 1),
		}
		if of == "=" {
			q.Store = s.StoreID()
		}
		if epoch == "=" {
			q.Epoch = s.Epoch()
		}
		if root == "=" && q.Cursor <= entries {
			q.Root = roots[q.Cursor]
		}
		right := q.Store == "" || q.Store == s.StoreID() && q.Epoch == s.Epoch() && q.Cursor <= entries && (q.Root == "" || q.Root == roots[q.Cursor])
		if got, err := link.ReadRequest(q.Bytes()); err != nil || got.Cursor != q.Cursor {
			return // cannot be written as a text
		}
		next := q.Cursor
		if q.Store == "" {
			next = 0
		}
		for turn := 0; ; turn++ {
			p, err := side.Serve(context.Background(), q, "")
			if err != nil {
				t.Fatal(err)
			}
			if p.Again == right || p.Again && (p.Cursor != 0 || len(p.Changes) > 0) {
				t.Fatalf("%+v: again %v at %d, %d changes", q, p.Again, p.Cursor, len(p.Changes))
			}
			if p.Again {
				return
			}
			for i := range p.Changes {
				if p.Changes[i].ID != all[next].ID {
					t.Fatalf("%s comes where %s should", p.Changes[i].ID, all[next].ID)
				}
				next++
			}
			if p.Cursor != next || p.Root != roots[next][:32] || p.More != (next < entries) {
				t.Fatalf("after %d: %+v", next, p)
			}
			if !p.More {
				return
			}
			if turn > entries {
				t.Fatal("no end")
			}
			q.Store, q.Epoch, q.Root, q.Cursor = p.Store, p.Epoch, p.Root, p.Cursor
		}
	})
}
