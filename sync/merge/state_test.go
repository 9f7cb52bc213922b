package merge

import (
	"reflect"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// FuzzState: both readers of a state agree, and whatever is read comes back byte for byte.
func FuzzState(f *testing.F) {
	c := change.Change{ID: "c1", Device: "d1", Seq: 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(0, 0, "d1"), Record: "r1", Kind: "visit",
		Set: []change.Setting{
			{Field: "a", Value: []byte(`{"x":["2.50",1e3,null]}`), Sees: []string{"x1", "x2"}},
			{Field: "b", Value: []byte(`"µ\n"`)},
		}}
	one, err := Apply(State{}, c)
	if err != nil {
		f.Fatal(err)
	}
	c.ID, c.Device, c.Stamp, c.Set[0].Value = "c2", "d2", clock.Next(0, 0, "d2"), []byte(`2`)
	two, err := Apply(one, c)
	if err != nil {
		f.Fatal(err)
	}
	for _, s := range []State{{}, one, two} {
		b := s.Bytes()
		if _, ok := quick(b); !ok {
			f.Errorf("it is not read quickly: %s", b)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		fast, ok := quick(b)
		s, err := parse(b)
		if ok && (err != nil || !reflect.DeepEqual(fast, s)) {
			t.Fatalf("quickly %+v, at length %+v, %v", fast, s, err)
		}
		if err == nil && string(s.Bytes()) != string(b) {
			t.Fatalf("it comes back as %s", s.Bytes())
		}
	})
}
