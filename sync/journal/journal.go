// Package journal hashes a list of changes into a tree whose root later proves that nothing in it
// was altered, left out or moved.
package journal

import (
	"crypto/sha256"
	"errors"
	"math/bits"
)

// Hash is a node of the tree.
type Hash = [sha256.Size]byte

var (
	// ErrRange is returned when a proof is asked for a leaf or size that the tree does not have.
	ErrRange = errors.New("the tree has no such leaf or size")
	// ErrProof is returned when a proof does not lead to the root.
	ErrProof = errors.New("the proof does not lead to the root")
)

// Leaf returns the hash of one entry, the canonical bytes of a change.
//
// Source: RFC 6962 §2.1.
func Leaf(entry []byte) Hash {
	h := sha256.New()
	h.Write([]byte{0})
	h.Write(entry)
	return Hash(h.Sum(nil))
}

// Node returns the hash over two subtrees.
//
// Source: RFC 6962 §2.1.
func Node(left, right Hash) Hash {
	var b [1 + 2*sha256.Size]byte
	b[0] = 1
	copy(b[1:], left[:])
	copy(b[1+sha256.Size:], right[:])
	return sha256.Sum256(b[:])
}

// split returns the largest power of two below n, which is at least 2.
func split(n int) int { return 1 << (bits.Len(uint(n-1)) - 1) }

// Root returns the hash of the whole tree. With no leaves, it is the hash of nothing.
//
// Source: RFC 6962 §2.1.
func Root(leaves []Hash) Hash {
	switch len(leaves) {
	case 0:
		return sha256.Sum256(nil)
	case 1:
		return leaves[0]
	}
	k := split(len(leaves))
	return Node(Root(leaves[:k]), Root(leaves[k:]))
}

// Inclusion returns the proof that leaf i is in the tree, nearest node first.
//
// Refuses: ErrRange if there is no leaf i.
// Source:  RFC 6962 §2.1.1.
func Inclusion(leaves []Hash, i int) ([]Hash, error) {
	if i < 0 || i >= len(leaves) {
		return nil, ErrRange
	}
	return path(leaves, i), nil
}

func path(leaves []Hash, i int) []Hash {
	if len(leaves) == 1 {
		return nil
	}
	k := split(len(leaves))
	if i < k {
		return append(path(leaves[:k], i), Root(leaves[k:]))
	}
	return append(path(leaves[k:], i-k), Root(leaves[:k]))
}

// Consistency returns the proof that the tree of the first m leaves is the beginning of the whole
// one.
//
// Refuses: ErrRange unless m is from 1 to the number of leaves.
// Source:  RFC 6962 §2.1.2.
func Consistency(leaves []Hash, m int) ([]Hash, error) {
	if m < 1 || m > len(leaves) {
		return nil, ErrRange
	}
	return beginning(leaves, m, true), nil
}

// beginning is SUBPROOF of the RFC. whole says that the first m leaves are a tree whose root the
// reader already has.
func beginning(leaves []Hash, m int, whole bool) []Hash {
	if m == len(leaves) {
		if whole {
			return nil
		}
		return []Hash{Root(leaves)}
	}
	k := split(len(leaves))
	if m <= k {
		return append(beginning(leaves[:k], m, whole), Root(leaves[k:]))
	}
	return append(beginning(leaves[k:], m-k, false), Root(leaves[:k]))
}

// CheckInclusion checks that leaf is entry i of the tree with this size and root.
//
// Refuses: ErrRange for an i that size does not have; ErrProof for a proof that is too short, too
// long or leads elsewhere.
// Source:  RFC 6962 §2.1.1, read from the root down.
func CheckInclusion(leaf Hash, i, size int, proof []Hash, root Hash) error {
	if i < 0 || i >= size {
		return ErrRange
	}
	got, ok := climb(leaf, i, size, proof)
	if !ok || got != root {
		return ErrProof
	}
	return nil
}

func climb(leaf Hash, i, size int, proof []Hash) (Hash, bool) {
	if size == 1 {
		return leaf, len(proof) == 0
	}
	if len(proof) == 0 {
		return Hash{}, false
	}
	k, last := split(size), len(proof)-1
	if i < k {
		left, ok := climb(leaf, i, k, proof[:last])
		return Node(left, proof[last]), ok
	}
	right, ok := climb(leaf, i-k, size-k, proof[:last])
	return Node(proof[last], right), ok
}

// CheckConsistency checks that the tree of m leaves with root old is the beginning of the tree of n
// leaves with root root.
//
// Refuses: ErrRange unless 1 ≤ m ≤ n; ErrProof for a proof that is too short, too long or leads
// elsewhere.
// Source:  RFC 6962 §2.1.2, read from the root down.
func CheckConsistency(m, n int, old, root Hash, proof []Hash) error {
	if m < 1 || m > n {
		return ErrRange
	}
	gotOld, gotRoot, ok := rebuild(m, n, old, true, proof)
	if !ok || gotOld != old || gotRoot != root {
		return ErrProof
	}
	return nil
}

// rebuild returns the roots that a proof implies for the first m leaves and for all n of a subtree.
func rebuild(m, n int, old Hash, whole bool, proof []Hash) (first, all Hash, ok bool) {
	if m == n {
		if whole {
			return old, old, len(proof) == 0
		}
		if len(proof) != 1 {
			return Hash{}, Hash{}, false
		}
		return proof[0], proof[0], true
	}
	if len(proof) == 0 {
		return Hash{}, Hash{}, false
	}
	k, last := split(n), len(proof)-1
	if m <= k {
		first, all, ok = rebuild(m, k, old, whole, proof[:last])
		return first, Node(all, proof[last]), ok
	}
	first, all, ok = rebuild(m-k, n-k, old, false, proof[:last])
	return Node(proof[last], first), Node(proof[last], all), ok
}
