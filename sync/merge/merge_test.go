package merge_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/merge"

	"pgregory.net/rapid"
)

const wall = "2026-03-04T05:06:07.089Z"

// edits makes changes that a few devices write to one record. Each device has seen a random part of
// the others' work.
func edits(t *rapid.T) []change.Change {
	n := rapid.IntRange(1, 14).Draw(t, "changes")
	var all []change.Change
	for i := range n {
		device := fmt.Sprintf("d%d", rapid.IntRange(1, 3).Draw(t, "device"))
		seen := merge.State{}
		var count uint64
		for _, c := range all {
			if rapid.Bool().Draw(t, "seen") {
				var err error
				if seen, err = merge.Apply(seen, c); err != nil {
					t.Fatal(err)
				}
				count = max(count, c.Stamp.Count)
			}
		}
		field := rapid.SampledFrom([]string{"place", "note"}).Draw(t, "field")
		value := rapid.SampledFrom([]string{`"a"`, `"b"`, `{"x":"2.50"}`}).Draw(t, "value")
		c, _, err := merge.Draft(seen, merge.Intent{Record: "r1", Kind: "instrument", Device: device, Seq: uint64(i + 1), Author: "an", Wall: wall,
			WallMS: rapid.Int64Range(-1e12, 4e12).Draw(t, "clock"), Count: count, ChangeID: fmt.Sprintf("c%d", i), Set: []change.Setting{{Field: field, Value: []byte(value)}}})
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, c)
	}
	return all
}

func apply(t *rapid.T, s merge.State, c ...change.Change) merge.State {
	before := string(s.Bytes())
	next, err := merge.Apply(s, c...)
	if err != nil {
		t.Fatal(err)
	}
	if string(s.Bytes()) != before {
		t.Fatal("Apply altered its input")
	}
	return next
}

func TestAnyOrderAnyNumberOneState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := edits(t)
		want := apply(t, merge.State{}, all...)
		shuffled := slices.Clone(all)
		seed := rapid.Uint64().Draw(t, "order")
		r := rand.New(rand.NewPCG(seed, 1))
		r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		shuffled = append(shuffled, shuffled[:len(shuffled)/2]...)
		got := merge.State{}
		for len(shuffled) > 0 {
			n := 1 + r.IntN(len(shuffled))
			got = apply(t, got, shuffled[:n]...)
			shuffled = shuffled[n:]
		}
		if string(got.Bytes()) != string(want.Bytes()) {
			t.Fatalf("in another order:\n%s\nwant\n%s", got.Bytes(), want.Bytes())
		}
		back, err := merge.ParseState(want.Bytes())
		if err != nil || string(back.Bytes()) != string(want.Bytes()) {
			t.Fatalf("bytes: %v", err)
		}
	})
}

// TestEveryUnseenEditStands: a change is a head exactly if no other change has seen it, so nothing
// is lost or resolved silently.
func TestEveryUnseenEditStands(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := edits(t)
		seen := map[string]bool{}
		for _, c := range all {
			for _, s := range c.Set {
				for _, id := range s.Sees {
					seen[id] = true
				}
			}
		}
		s := apply(t, merge.State{}, all...)
		heads := map[string]bool{}
		for _, f := range s.Fields {
			for i, h := range f.Heads {
				heads[h.Change] = true
				if i > 0 && clock.Compare(f.Heads[i-1].Stamp, h.Stamp) < 0 {
					t.Fatal("heads are not latest first")
				}
			}
		}
		for _, c := range all {
			if heads[c.ID] == seen[c.ID] {
				t.Fatalf("%s: head %v, seen %v", c.ID, heads[c.ID], seen[c.ID])
			}
		}
	})
}

func draft(t *testing.T, s merge.State, id, device, value string, count uint64) (change.Change, merge.State) {
	t.Helper()
	c, next, err := merge.Draft(s, merge.Intent{Record: "r1", Kind: "instrument", Device: device, Seq: 1, Author: "an", Wall: wall, Count: count, ChangeID: id,
		Set: []change.Setting{{Field: "place", Value: []byte(value)}}})
	if err != nil {
		t.Fatal(err)
	}
	return c, next
}

func TestContestedUntilChosen(t *testing.T) {
	_, base := draft(t, merge.State{}, "c0", "d1", `"north"`, 0)
	c1, one := draft(t, base, "c1", "d1", `"east"`, 1)
	c2, _ := draft(t, base, "c2", "d2", `"west"`, 1)
	both, err := merge.Apply(one, c2)
	if err != nil {
		t.Fatal(err)
	}
	f, _ := both.Field("place")
	if !f.Contested() || len(f.Heads) != 2 {
		t.Fatalf("not contested: %s", both.Bytes())
	}
	// Two people choose differently at once: the field is contested again between the two choices,
	// and a third choice settles it for all.
	c3, _ := draft(t, both, "c3", "d3", `"east"`, 2)
	c4, _ := draft(t, both, "c4", "d4", `"west"`, 2)
	all, err := merge.Apply(merge.State{}, c4, c3, c2, c1)
	if err != nil {
		t.Fatal(err)
	}
	if f, _ := all.Field("place"); len(f.Heads) != 2 || !f.Contested() {
		t.Fatalf("two choices: %s", all.Bytes())
	}
	_, settled := draft(t, all, "c5", "d1", `"west"`, 3)
	if f, _ := settled.Field("place"); f.Contested() || string(f.Heads[0].Value) != `"west"` {
		t.Fatalf("settled: %s", settled.Bytes())
	}
}

func TestSameValueTwiceIsSettled(t *testing.T) {
	_, one := draft(t, merge.State{}, "c1", "d1", `"east"`, 0)
	c2, _ := draft(t, merge.State{}, "c2", "d2", `"east"`, 0)
	both, err := merge.Apply(one, c2)
	if err != nil {
		t.Fatal(err)
	}
	if f, _ := both.Field("place"); f.Contested() || len(f.Heads) != 2 {
		t.Errorf("%s", both.Bytes())
	}
}

// TestMoreHeadsThanOneChangeMaySee: a field with more current values than MaxSees can still be
// settled, in several choices.
func TestMoreHeadsThanOneChangeMaySee(t *testing.T) {
	var s merge.State
	for i := range change.MaxSees + 10 {
		c, _ := draft(t, merge.State{}, fmt.Sprintf("c%d", i), "d1", fmt.Sprintf(`"place %d"`, i), 0)
		var err error
		if s, err = merge.Apply(s, c); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 2 {
		_, s = draft(t, s, fmt.Sprintf("e%d", i), "d2", `"north"`, uint64(i+1))
	}
	if f, _ := s.Field("place"); f.Contested() || string(f.Heads[0].Value) != `"north"` {
		t.Fatalf("%d values stand", len(f.Heads))
	}
}

func TestCall(t *testing.T) {
	doc := `{"record":null,"id":"r1","kind":"instrument","site":"","parent":"","device":"d1","seq":1,"author":"an","wall":"` + wall + `","wall_ms":1772600767089,"count":4,"change_id":"c1","set":[{"field":"place","value":"north"}]}`
	var drafted struct {
		Change, Record json.RawMessage
		Count          int
		Error          any
	}
	if err := json.Unmarshal(merge.Call("draft", []byte(doc)), &drafted); err != nil || drafted.Error != nil {
		t.Fatal(err, drafted.Error)
	}
	if drafted.Count != 5 {
		t.Errorf("count %d", drafted.Count)
	}
	var merged struct {
		Records []json.RawMessage
		Error   any
	}
	if err := json.Unmarshal(merge.Call("merge", []byte(`{"records":[],"changes":[`+string(drafted.Change)+`]}`)), &merged); err != nil || merged.Error != nil {
		t.Fatal(err, merged.Error)
	}
	if len(merged.Records) != 1 || string(merged.Records[0]) != string(drafted.Record) {
		t.Errorf("merge %s, draft %s", merged.Records, drafted.Record)
	}
	for _, bad := range []string{`{`, `{}`, `{"records":[],"changes":[{}]}`, `{"records":[{}],"changes":[]}`} {
		var out struct{ Error any }
		if err := json.Unmarshal(merge.Call("merge", []byte(bad)), &out); err != nil || out.Error == nil {
			t.Errorf("%s: %v, error %v", bad, err, out.Error)
		}
	}
}

func FuzzChange(f *testing.F) {
	c, _, err := merge.Draft(merge.State{}, merge.Intent{Record: "r1", Kind: "instrument", Device: "d1", Seq: 1, Author: "an", Wall: wall, ChangeID: "c1",
		Set: []change.Setting{{Field: "place", Value: []byte(`{"x":["2.50",1e3,null]}`)}}})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(c.Bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		c, err := change.Parse(b)
		if err != nil {
			if c.ID != "" || c.Set != nil {
				t.Fatal("a change beside an error")
			}
			return
		}
		if string(c.Bytes()) != string(b) {
			t.Fatalf("%q became %q", b, c.Bytes())
		}
	})
}

func BenchmarkApply(b *testing.B) {
	c, s, err := merge.Draft(merge.State{}, merge.Intent{Record: "r1", Kind: "instrument", Device: "d1", Seq: 1, Author: "an", Wall: wall, ChangeID: "c0",
		Set: []change.Setting{{Field: "place", Value: []byte(`"north"`)}}})
	if err != nil {
		b.Fatal(err)
	}
	for i := range b.N {
		c.ID = fmt.Sprintf("c%d", i%7)
		if _, err := merge.Apply(s, c); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkMerge merges changes of 1.5 kB into 2,000 records. Every other change was written by
// somebody who had not seen the one before it.
func BenchmarkMerge(b *testing.B) {
	const records = 2000
	value := []byte(`"` + strings.Repeat("as read ", 187) + `"`)
	states := make([]merge.State, records)
	changes := make([]change.Change, records)
	for i := range states {
		in := merge.Intent{Record: fmt.Sprintf("r%d", i), Kind: "visit", Device: "d1", Seq: 1, Author: "an", Wall: wall, ChangeID: fmt.Sprintf("a%d", i),
			Set: []change.Setting{{Field: "f1", Value: value}, {Field: "f2", Value: []byte("1")}}}
		_, first, err := merge.Draft(merge.State{}, in)
		if err != nil {
			b.Fatal(err)
		}
		in.Device, in.ChangeID, in.Set = "d2", fmt.Sprintf("b%d", i), in.Set[:1]
		seen := first
		if i%2 == 0 {
			seen = merge.State{}
		}
		if changes[i], _, err = merge.Draft(seen, in); err != nil {
			b.Fatal(err)
		}
		states[i] = first
	}
	i := 0
	for b.Loop() {
		s, err := merge.Apply(states[i%records], changes[i%records])
		if err != nil {
			b.Fatal(err)
		}
		if f, _ := s.Field("f1"); len(f.Heads) != 2-i%2 {
			b.Fatalf("%d stand", len(f.Heads))
		}
		i++
	}
	b.ReportMetric(float64(i)/b.Elapsed().Seconds(), "changes/s")
}
