package journal_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"gaugewright/sync/journal"
)

// TestStoredTreeAgreesWithTheList: roots and proofs from stored subtrees equal those of the plain
// recursion over all leaves.
func TestStoredTreeAgreesWithTheList(t *testing.T) {
	var kept []journal.Hash
	nodes := func(level, index int) (journal.Hash, error) {
		p := journal.Position(level, index)
		if p >= len(kept) {
			return journal.Hash{}, fmt.Errorf("subtree %d of level %d is not there yet", index, level)
		}
		return kept[p], nil
	}
	var leaves []journal.Hash
	for n := range 70 {
		leaf := journal.Leaf(fmt.Appendf(nil, "entry %d", n))
		done, err := journal.Grow(nodes, n, leaf)
		if err != nil {
			t.Fatal(err)
		}
		if at := journal.Position(0, n); at != len(kept) {
			t.Fatalf("leaf %d goes to %d, but %d subtrees are there", n, at, len(kept))
		}
		kept, leaves = append(kept, done...), append(leaves, leaf)
		root, err := journal.RootOf(nodes, n+1)
		if err != nil || root != journal.Root(leaves) {
			t.Fatalf("root of %d: %v", n+1, err)
		}
		for i := range n + 1 {
			got, err := journal.InclusionOf(nodes, i, n+1)
			if err != nil {
				t.Fatal(err)
			}
			want, err := journal.Inclusion(leaves, i)
			if err != nil || !slices.Equal(got, want) {
				t.Fatalf("proof of %d in %d differs, %v", i, n+1, err)
			}
			if err := journal.CheckInclusion(leaves[i], i, n+1, got, root); err != nil {
				t.Fatal(err)
			}
		}
		for m := 1; m <= n+1; m++ {
			got, err := journal.ConsistencyOf(nodes, m, n+1)
			if err != nil {
				t.Fatal(err)
			}
			want, err := journal.Consistency(leaves, m)
			if err != nil || !slices.Equal(got, want) {
				t.Fatalf("proof from %d to %d differs, %v", m, n+1, err)
			}
		}
	}
	if root, err := journal.RootOf(nodes, 0); err != nil || root != journal.Root(nil) {
		t.Errorf("the empty tree: %v", err)
	}
	for _, i := range []int{-1, 70} {
		if _, err := journal.InclusionOf(nodes, i, 70); !errors.Is(err, journal.ErrRange) {
			t.Errorf("leaf %d: %v", i, err)
		}
	}
	for _, m := range []int{0, 71} {
		if _, err := journal.ConsistencyOf(nodes, m, 70); !errors.Is(err, journal.ErrRange) {
			t.Errorf("from %d: %v", m, err)
		}
	}
}
