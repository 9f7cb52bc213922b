package hub

import (
	"strings"
	"testing"

	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// noLine is a hub's line that is down.
type noLine struct{ Line }

// TestGroupsAreFoundByPlace: of the groups that an office gave the next one is found from its place
// on, in their order; those of other offices, and those that are dropped, are passed over.
func TestGroupsAreFoundByPlace(t *testing.T) {
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	h := New(s, noLine{}, nil)
	st := State{Device: "d1"}
	for _, from := range []string{"0ther", "0ne", "0ne", "0ther", "0ne"} {
		if err := h.keepGroup(&st, &link.Response{Store: from, Given: "signature " + from}); err != nil {
			t.Fatal(err)
		}
	}
	if err := h.begin(&link.Response{Store: "0ne"}, &st); err != nil {
		t.Fatal(err)
	}
	if st, err = h.state(); err != nil || st.Back != 1 || st.BackTo != 5 {
		t.Fatal(st, err)
	}
	if err := h.given.Delete(groupKey(3)); err != nil {
		t.Fatal(err)
	}
	var met []uint64
	for {
		n, g, err := h.nextGroup(&st)
		if err != nil {
			t.Fatal(err)
		}
		if n == 0 {
			break
		}
		if g.Store != "0ne" {
			t.Errorf("group %d is of %s", n, g.Store)
		}
		met, st.Back = append(met, n), n+1
	}
	if len(met) != 2 || met[0] != 2 || met[1] != 5 {
		t.Errorf("groups %v", met)
	}
	// A group that is damaged behind the place is not read any more.
	if err := h.given.Put(groupKey(1), []byte("{")); err != nil {
		t.Fatal(err)
	}
	st.Back = 2
	if n, _, err := h.nextGroup(&st); n != 2 || err != nil {
		t.Error(n, err)
	}
	st.Back = 1
	if _, _, err := h.nextGroup(&st); err == nil || !strings.Contains(err.Error(), "damaged") {
		t.Error(err)
	}
}
