package hub

import (
	"context"
	"crypto/rand"
	"slices"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// opened returns a store for a test, which closes it.
func opened(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
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

// noLine is a hub's line that is down.
type noLine struct{ Line }

// TestAGroupOutlivesACut: a hub that is cut off between a group and its state does not write the next
// one over it, nor does it keep the same one twice.
func TestAGroupOutlivesACut(t *testing.T) {
	s := opened(t)
	h := New(s, noLine{}, nil)
	for _, given := range []string{"first", "first", "second"} {
		st := State{Device: "d1"} // as it was before: the cut came first
		if err := h.keepGroup(&st, &link.Response{Store: "0ne", Given: given}, true); err != nil {
			t.Fatal(err)
		}
	}
	if err := h.begin(&link.Response{Store: "0ne"}, &State{Device: "d1"}); err != nil {
		t.Fatal(err)
	}
	st, err := h.state()
	if err != nil || st.Back != 1 || st.BackTo != 2 || st.Groups != 2 {
		t.Fatal(st, err)
	}
	for _, want := range []string{"first", "second"} {
		n, g, err := h.nextGroup(&st)
		if err != nil || g.Given != want {
			t.Errorf("group %d is %q, %v", n, g.Given, err)
		}
		st.Back = n + 1
	}
}

// answering is a hub's line to an office that answers each request with the same changes.
type answering struct {
	Line
	changes []change.Change
}

func (a answering) Exchange(_ context.Context, body []byte) ([]byte, error) {
	q, err := link.ReadRequest(body)
	if err != nil {
		return nil, err
	}
	p := link.Response{Store: "0ne", Epoch: "e", Nonce: q.Nonce, Given: "signature", Changes: a.changes, Cursor: 1}
	for i := range q.Changes {
		p.Acknowledged = append(p.Acknowledged, q.Changes[i].ID)
	}
	return p.Bytes(), nil
}

// TestAGroupIsThereBeforeItsChanges: a hub that is cut off before it has taken what the office sent has
// the office's signature over it.
func TestAGroupIsThereBeforeItsChanges(t *testing.T) {
	s := opened(t)
	one := change.Change{
		ID: "c1", Device: "d1", Seq: 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(1, 0, "d1"),
		Record: "r1", Kind: "visit", Set: []change.Setting{{Field: "f", Value: []byte("1")}},
	}
	h := New(s, answering{changes: []change.Change{one}}, rand.Reader)
	cut, end := context.WithCancel(context.Background())
	end()
	for range 2 {
		if _, err := h.Once(cut); err == nil {
			t.Fatal("the changes were taken")
		}
	}
	k, v, err := h.given.From("")
	if err != nil || k != groupKey(1) || !strings.Contains(string(v), `"c1"`) {
		t.Errorf("%q %s %v", k, v, err)
	}
	if k, _, err = h.given.From(groupKey(2)); err != nil || k != "" {
		t.Errorf("kept twice: %q, %v", k, err)
	}
	if _, err := h.Once(context.Background()); err != nil {
		t.Fatal(err)
	}
	if k, _, err = h.given.From(groupKey(2)); err != nil || k != "" {
		t.Errorf("kept twice: %q, %v", k, err)
	}
}

// TestErasuresAreBroughtBefore: of a change that was given as what was left of it, the hub brings the
// erasure first, which the office gave later.
func TestErasuresAreBroughtBefore(t *testing.T) {
	s := opened(t)
	made := func(id, field, value string, count uint64) change.Change {
		return change.Change{
			ID: id, Device: "d1", Seq: count, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(count, 0, "d1"),
			Record: "r1", Kind: "visit", Set: []change.Setting{{Field: field, Value: []byte(value)}},
		}
	}
	left := made("c1", "who", `{"erased":"00","n":1}`, 1)
	erasure := made("c2", store.ErasureField("c1"), `{"change":"c1"}`, 2)
	other := made("c3", "who", `{"n":2}`, 3)
	r, err := s.Add(context.Background(), []change.Change{left, erasure, other})
	if err != nil || len(r.Accepted) != 3 {
		t.Fatal(r, err)
	}
	h := New(s, noLine{}, nil)
	for of, want := range map[string][]string{"c1": {"c2"}, "c3": nil} {
		back, erased, known, err := h.asGiven(&group{Given: "signature", IDs: []string{of}})
		if err != nil || !known || len(back.Changes) != 1 || !slices.Equal(erased, want) {
			t.Errorf("%s: %+v %v %v %v", of, back, erased, known, err)
		}
	}
}

// TestGroupsAreFoundByPlace: from a place on, the groups that an office sent are found in their
// order. Groups of other offices and dropped groups are skipped.
func TestGroupsAreFoundByPlace(t *testing.T) {
	s := opened(t)
	h := New(s, noLine{}, nil)
	st := State{Device: "d1"}
	for _, from := range []string{"0ther", "0ne", "0ne", "0ther", "0ne"} {
		if err := h.keepGroup(&st, &link.Response{Store: from, Given: "signature " + from}, true); err != nil {
			t.Fatal(err)
		}
	}
	var err error
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
	// A damaged group behind the place is not read any more.
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
