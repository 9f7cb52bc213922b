package merge_test

import (
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/merge"

	"pgregory.net/rapid"
)

// erasing is a change that erases a name from another one.
func erasing(id, of string, count uint64) change.Change {
	value := `{"values":[{"field":"signature","members":["name","strokes"],"digest":"0f"}],"why":"asked for"}`
	return change.Change{
		ID: id, Device: "d9", Seq: 1, Author: "em", Wall: wall, Stamp: clock.Next(count, 0, "d9"),
		Record: "v1", Kind: "visit",
		Set: []change.Setting{{Field: "erased." + of, Value: []byte(value), Sees: []string{}}},
	}
}

func signed(id, name string, count uint64, sees ...string) change.Change {
	return change.Change{
		ID: id, Device: "d1", Seq: count, Author: "an", Wall: wall, Stamp: clock.Next(count, 0, "d1"),
		Record: "v1", Kind: "visit", Set: []change.Setting{
			{Field: "place", Value: []byte(`"boiler"`), Sees: []string{}},
			{
				Field: "signature", Value: []byte(`{"name":"` + name + `","strokes":[[1,2]],"at":"t"}`),
				Sees: append([]string{}, sees...),
			},
		},
	}
}

// TestErasedInAnyOrder: the changes come in any order, once or twice, as written or already without
// what was erased. All end in the same state, in which nothing of the erased text is left.
func TestErasedInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		first, second := signed("c1", "Sefa", 1), signed("c2", "Jorin", 2)
		list := []change.Change{first, second, erasing("e1", "c1", 3), erasing("e2", "c2", 4)}
		left := merge.Without(first, merge.ReadErased(list[2].Set[0].Value))
		if !merge.SameButErased(&left, &first) || merge.SameButErased(&left, &second) ||
			merge.SameButErased(&first, &second) {
			t.Fatalf("%s of %s", left.Bytes(), first.Bytes())
		}
		again := merge.Without(left, merge.ReadErased(list[2].Set[0].Value))
		if string(again.Bytes()) != string(left.Bytes()) {
			t.Fatal("erasing once more leaves something else")
		}
		want := apply(t, merge.State{}, list...)
		order := rapid.Permutation(append(list, list...)).Draw(t, "order")
		for i := range order {
			if order[i].ID == "c1" && rapid.Bool().Draw(t, "left") {
				order[i] = left
			}
		}
		var got merge.State
		for _, c := range order {
			got = apply(t, got, c)
		}
		a, b := string(got.Bytes()), string(want.Bytes())
		if a != b {
			t.Fatalf("%s\n%s", a, b)
		}
		if strings.Contains(a, "Sefa") || strings.Contains(a, "Jorin") || strings.Contains(a, "strokes\":[[") {
			t.Fatal(a)
		}
		if strings.Count(a, `{"at":"t","erased":"0f"}`) != 2 || !strings.Contains(a, `"boiler"`) {
			t.Fatal(a)
		}
	})
}
