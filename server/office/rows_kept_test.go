package office

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// TestRowsAreBounded checks that rows that nobody has looked at for long leave memory, with what they
// were made from, and that the others stay.
func TestRowsAreBounded(t *testing.T) {
	x := newRows()
	for i := range 2 * maxRows {
		visit := fmt.Sprint("visit", i)
		x.put(visit, &madeRow{from: []string{visit, "key"}, used: uint64(i)})
		x.shrink()
		if len(x.made) > maxRows || len(x.of) != len(x.made)+1 || len(x.of["key"]) != len(x.made) {
			t.Fatalf("%d rows, %d records, %d with the key", len(x.made), len(x.of), len(x.of["key"]))
		}
	}
	if x.made[fmt.Sprint("visit", 2*maxRows-1)] == nil || x.made["visit0"] != nil {
		t.Error("the wrong ones have left")
	}
	if x.moved("key"); len(x.made)+len(x.of) != 0 {
		t.Errorf("%d rows, %d records after their key moved", len(x.made), len(x.of))
	}
}

// TestFirstOf compares the first few of some visits with those of all of them sorted.
func TestFirstOf(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	order := func(a, b *visitCard) int { return strings.Compare(a.id, b.id) }
	for size := range 60 {
		var all []*visitCard
		for _, i := range random.Perm(size) {
			all = append(all, &visitCard{id: fmt.Sprintf("v%02d", i)})
		}
		sorted := slices.SortedFunc(slices.Values(all), order)
		for _, n := range []int{1, 2, 7, 30, 100} {
			got := firstOf(slices.Values(all), n, order)
			if len(got) != min(n, size) {
				t.Fatalf("%d of %d: %d", n, size, len(got))
			}
			for i := range got {
				if got[i].id != sorted[i].id {
					t.Errorf("%d of %d: %s at %d, want %s", n, size, got[i].id, i, sorted[i].id)
				}
			}
		}
	}
}
