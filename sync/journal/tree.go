package journal

import "math/bits"

// Nodes gives the stored hash of a whole subtree of 2^level leaves. index counts the subtrees
// before it.
type Nodes func(level, index int) (Hash, error)

// Position returns the place of a whole subtree in the order in which they are completed as the
// tree grows leaf by leaf, so that storing only ever appends.
func Position(level, index int) int {
	last := (index+1)<<level - 1 // its last leaf
	return 2*last - bits.OnesCount(uint(last)) + level
}

// Grow returns the subtrees that leaf number size completes, lowest first. The first is the leaf
// itself.
//
// Takes: the leaf's number from 0, its hash, the subtrees stored so far.
func Grow(nodes Nodes, size int, leaf Hash) ([]Hash, error) {
	done := []Hash{leaf}
	for level, index := 0, size; index&1 == 1; level, index = level+1, index>>1 {
		left, err := nodes(level, index-1)
		if err != nil {
			return nil, err
		}
		done = append(done, Node(left, done[level]))
	}
	return done, nil
}

// stored returns the root over n leaves starting at leaf first, which is a multiple of the smallest
// power of two not below n.
func stored(nodes Nodes, first, n int) (Hash, error) {
	if n&(n-1) == 0 {
		level := bits.TrailingZeros(uint(n))
		return nodes(level, first>>level)
	}
	k := split(n)
	left, err := stored(nodes, first, k)
	if err != nil {
		return Hash{}, err
	}
	right, err := stored(nodes, first+k, n-k)
	if err != nil {
		return Hash{}, err
	}
	return Node(left, right), nil
}

// RootOf returns the root over the first size leaves, computed from stored subtrees.
//
// Source: RFC 6962 §2.1.
func RootOf(nodes Nodes, size int) (Hash, error) {
	if size == 0 {
		return Root(nil), nil
	}
	return stored(nodes, 0, size)
}

// InclusionOf returns the proof that leaf i, counted from 0, is in the tree of n leaves, nearest
// node first, from stored subtrees.
//
// Refuses: ErrRange unless 0 ≤ i < n.
// Source:  RFC 6962 §2.1.1.
func InclusionOf(nodes Nodes, i, n int) ([]Hash, error) {
	if i < 0 || i >= n {
		return nil, ErrRange
	}
	return pathOf(nodes, 0, i, n)
}

func pathOf(nodes Nodes, first, i, n int) ([]Hash, error) {
	if n == 1 {
		return nil, nil
	}
	k := split(n)
	in, out, rest, far := first, first+k, k, n-k
	if i >= k {
		in, out, rest, far = first+k, first, n-k, k
		i -= k
	}
	proof, err := pathOf(nodes, in, i, rest)
	if err != nil {
		return nil, err
	}
	other, err := stored(nodes, out, far)
	return append(proof, other), err
}

// ConsistencyOf returns the proof that the tree of m leaves is the beginning of that of n, from
// stored subtrees.
//
// Refuses: ErrRange unless 1 ≤ m ≤ n.
// Source:  RFC 6962 §2.1.2.
func ConsistencyOf(nodes Nodes, m, n int) ([]Hash, error) {
	if m < 1 || m > n {
		return nil, ErrRange
	}
	return beginningOf(nodes, 0, m, n, true)
}

func beginningOf(nodes Nodes, first, m, n int, whole bool) ([]Hash, error) {
	if m == n {
		if whole {
			return nil, nil
		}
		h, err := stored(nodes, first, n)
		return []Hash{h}, err
	}
	k := split(n)
	var proof []Hash
	var other Hash
	var err error
	if m <= k {
		if proof, err = beginningOf(nodes, first, m, k, whole); err == nil {
			other, err = stored(nodes, first+k, n-k)
		}
	} else if proof, err = beginningOf(nodes, first+k, m-k, n-k, false); err == nil {
		other, err = stored(nodes, first, k)
	}
	if err != nil {
		return nil, err
	}
	return append(proof, other), nil
}
