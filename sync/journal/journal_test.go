package journal_test

import (
	"encoding/hex"
	"errors"
	"fmt"
	"testing"

	"gaugewright/sync/journal"
)

// Recomputed with the open library transparency-dev/merkle v0.0.2; RFC 6962 itself prints no
// values.
var (
	entries = []string{
		"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f",
	}
	roots = []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
	inclusion0of8 = []string{
		"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
		"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
		"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
	}
	consistency6of8 = []string{
		"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
		"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
	}
)

func leaves(t *testing.T) []journal.Hash {
	t.Helper()
	var list []journal.Hash
	for _, e := range entries {
		b, err := hex.DecodeString(e)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, journal.Leaf(b))
	}
	return list
}

func text(h journal.Hash) string { return hex.EncodeToString(h[:]) }

func same(t *testing.T, what string, got []journal.Hash, want []string) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d hashes, want %d", what, len(got), len(want))
	}
	for i := range got {
		if text(got[i]) != want[i] {
			t.Errorf("%s %d: %s, want %s", what, i, text(got[i]), want[i])
		}
	}
}

func TestKnownValues(t *testing.T) {
	if got, want := text(journal.Leaf([]byte("L123456"))), "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"; got != want {
		t.Errorf("leaf %s, want %s", got, want)
	}
	all := leaves(t)
	for n, want := range roots {
		if got := text(journal.Root(all[:n])); got != want {
			t.Errorf("root of %d: %s, want %s", n, got, want)
		}
	}
	in, err := journal.Inclusion(all, 0)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "inclusion", in, inclusion0of8)
	con, err := journal.Consistency(all, 6)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "consistency", con, consistency6of8)
}

// TestEveryProof makes and checks the proofs of all trees up to 20 leaves, and that no shortened,
// lengthened, altered or misplaced proof passes.
func TestEveryProof(t *testing.T) {
	var all []journal.Hash
	for n := 1; n <= 20; n++ {
		all = append(all, journal.Leaf(fmt.Append(nil, "entry ", n)))
		root := journal.Root(all)
		for i := range n {
			proof, err := journal.Inclusion(all, i)
			if err != nil {
				t.Fatal(err)
			}
			every(t, fmt.Sprintf("leaf %d of %d", i, n), proof, func(p []journal.Hash) error {
				return journal.CheckInclusion(all[i], i, n, p, root)
			})
			if n > 1 && journal.CheckInclusion(all[i], (i+1)%n, n, proof, root) == nil {
				t.Errorf("leaf %d of %d passes for its neighbour", i, n)
			}
			if journal.CheckInclusion(journal.Leaf([]byte("another")), i, n, proof, root) == nil {
				t.Errorf("another leaf passes for %d of %d", i, n)
			}
			m := i + 1
			old := journal.Root(all[:m])
			if proof, err = journal.Consistency(all, m); err != nil {
				t.Fatal(err)
			}
			every(t, fmt.Sprintf("first %d of %d", m, n), proof, func(p []journal.Hash) error {
				return journal.CheckConsistency(m, n, old, root, p)
			})
			if journal.CheckConsistency(m, n, journal.Leaf([]byte("another")), root, proof) == nil {
				t.Errorf("another beginning passes for %d of %d", m, n)
			}
		}
	}
}

func every(t *testing.T, what string, proof []journal.Hash, check func([]journal.Hash) error) {
	t.Helper()
	if err := check(proof); err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	bad := [][]journal.Hash{append(append([]journal.Hash{}, proof...), journal.Hash{})}
	for i := range proof {
		altered := append([]journal.Hash{}, proof...)
		altered[i][7] ^= 1
		bad = append(bad, altered, proof[:i])
	}
	for _, p := range bad {
		if err := check(p); !errors.Is(err, journal.ErrProof) {
			t.Errorf("%s: a wrong proof of %d hashes gives %v", what, len(p), err)
		}
	}
}

func TestRefusesWhatIsNotThere(t *testing.T) {
	all := leaves(t)
	_, before := journal.Inclusion(all, -1)
	_, after := journal.Inclusion(all, len(all))
	_, none := journal.Consistency(all, 0)
	_, more := journal.Consistency(all, len(all)+1)
	for i, err := range []error{before, after, none, more, journal.CheckInclusion(all[0], 8, 8, nil, all[0]), journal.CheckConsistency(9, 8, all[0], all[0], nil)} {
		if !errors.Is(err, journal.ErrRange) {
			t.Errorf("case %d: %v", i, err)
		}
	}
}
