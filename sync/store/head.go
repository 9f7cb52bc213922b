package store

import (
	"crypto/ed25519"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"gaugewright/sync/journal"
)

// Head is a signed statement of the journal at one moment. Anyone who kept one can show later that
// nothing before it was altered.
type Head struct {
	Store     string `json:"store"`
	Epoch     string `json:"epoch"`
	Size      uint64 `json:"size"`
	Root      string `json:"root"` // hexadecimal
	Time      string `json:"time"` // the server's clock, RFC 3339
	Signature string `json:"signature"`
}

var (
	// ErrSignature is returned when a head was not signed by the key.
	ErrSignature = errors.New("the head of the journal was not signed by this key")
	errSubtree   = errors.New("the journal's tree lacks a part")
)

func (h *Head) signed() []byte {
	return fmt.Appendf(nil, "gaugewright head 1\n%s\n%s\n%d\n%s\n%s\n", h.Store, h.Epoch, h.Size, h.Root, h.Time)
}

// Verify reports whether a head was signed by the key, which is in base64.
func (h *Head) Verify(key string) error {
	public, err := base64.StdEncoding.DecodeString(key)
	if err != nil || len(public) != ed25519.PublicKeySize {
		return ErrSignature
	}
	signature, err := base64.StdEncoding.DecodeString(h.Signature)
	if err != nil || !ed25519.Verify(public, h.signed(), signature) {
		return ErrSignature
	}
	return nil
}

// HeadKey returns the key that verifies the heads, in base64.
func (s *Store) HeadKey() string {
	return base64.StdEncoding.EncodeToString(s.key.Public().(ed25519.PublicKey))
}

func nodes(tx *transaction) journal.Nodes {
	b := tx.Bucket(bucketTree)
	return func(level, index int) (journal.Hash, error) {
		v := b.Get(number(uint64(journal.Position(level, index))))
		if len(v) != len(journal.Hash{}) {
			return journal.Hash{}, errSubtree
		}
		return journal.Hash(v), nil
	}
}

// edge has, for each level, the subtree that was completed last. The next leaves are joined to it.
type edge [64]struct {
	index int // counted from 1; 0 for none
	hash  journal.Hash
}

func (e *edge) before(kept journal.Nodes) journal.Nodes {
	return func(level, index int) (journal.Hash, error) {
		if e[level].index == index+1 {
			return e[level].hash, nil
		}
		return kept(level, index)
	}
}

func growOne(tx *transaction, size int, leaf journal.Hash) error {
	return new(edge).grow(tx, size, leaf)
}

func (e *edge) grow(tx *transaction, size int, leaf journal.Hash) error {
	done, err := journal.Grow(e.before(nodes(tx)), size, leaf)
	if err != nil {
		return err
	}
	b := filled(tx, bucketTree)
	for level, h := range done {
		e[level].index, e[level].hash = size>>level+1, h
		if err := b.Put(number(uint64(journal.Position(level, size>>level))), h[:]); err != nil {
			return err
		}
	}
	return nil
}

// grow adds the leaves of new entries, the journal's last ones, and signs a head over everything.
func (s *Store) grow(tx *transaction, leaves []journal.Hash) error {
	if len(leaves) == 0 {
		return nil
	}
	if len(leaves) > 1 && planted == "the tree takes one leaf at a time" {
		leaves = leaves[len(leaves)-1:]
	}
	size := int(tx.Bucket(bucketJournal).Sequence()) - len(leaves)
	e := new(edge)
	for i, leaf := range leaves {
		if err := e.grow(tx, size+i, leaf); err != nil {
			return err
		}
	}
	return s.putHead(tx)
}

// putHead signs a head over the journal as it is in the transaction.
func (s *Store) putHead(tx *transaction) error {
	size := tx.Bucket(bucketJournal).Sequence()
	root, err := journal.RootOf(nodes(tx), int(size))
	if err != nil {
		return err
	}
	h := Head{
		Store: s.id, Epoch: s.epoch, Size: size, Root: hex.EncodeToString(root[:]),
		Time: s.options.Now().UTC().Format(time.RFC3339Nano),
	}
	h.Signature = base64.StdEncoding.EncodeToString(ed25519.Sign(s.key, h.signed()))
	b, err := json.Marshal(&h)
	if err != nil {
		return err
	}
	return tx.Bucket(bucketHeads).Put(number(size), b)
}

// Head returns the newest signed head.
func (s *Store) Head() (h Head, err error) {
	err = s.view(func(tx *transaction) error {
		_, v := tx.Bucket(bucketHeads).Cursor().Last()
		return json.Unmarshal(v, &h)
	})
	if err != nil {
		return Head{}, &Error{"read the head of", s.dir, err, ""}
	}
	return h, nil
}

// Heads gives every signed head, oldest first, until each returns an error, which Heads returns.
func (s *Store) Heads(each func(Head) error) error {
	return s.view(func(tx *transaction) error {
		return tx.Bucket(bucketHeads).ForEach(func(_, v []byte) error {
			var h Head
			if err := json.Unmarshal(v, &h); err != nil {
				return &Error{"read a head of", s.dir, err, ""}
			}
			return each(h)
		})
	})
}

// LeafOf returns the leaf that the tree has for an entry, in hexadecimal, and whether the entry now
// has other bytes because something was erased from it. Refuses: journal.ErrRange for a missing
// entry.
func (s *Store) LeafOf(seq uint64) (leaf string, erased bool, err error) {
	err = s.view(func(tx *transaction) error {
		if seq < 1 || seq > tx.Bucket(bucketJournal).Sequence() {
			return journal.ErrRange
		}
		h, err := nodes(tx)(0, int(seq)-1)
		leaf = hex.EncodeToString(h[:])
		erased = h != journal.Leaf(tx.Bucket(bucketJournal).Get(number(seq)))
		return err
	})
	if err != nil {
		return "", false, &Error{"read the tree of", s.dir, err, ""}
	}
	return leaf, erased, nil
}

// Leaves returns the leaves that the tree has of some changes, by their id; of those that are in the
// journal alone.
func (s *Store) Leaves(ids []string) (leaves map[string]journal.Hash, err error) {
	leaves = make(map[string]journal.Hash, len(ids))
	err = s.view(func(tx *transaction) error {
		for _, id := range ids {
			seq := tx.Bucket(bucketIDs).Get([]byte(id))
			if len(seq) != 8 {
				continue
			}
			h, err := nodes(tx)(0, int(binary.BigEndian.Uint64(seq))-1)
			if err != nil {
				return err
			}
			leaves[id] = h
		}
		return nil
	})
	if err != nil {
		return nil, &Error{"read the tree of", s.dir, err, ""}
	}
	return leaves, nil
}

// Inclusion returns the proof that entry seq, counted from 1, is in the tree of the first n.
// Refuses: journal.ErrRange unless 1 ≤ seq ≤ n ≤ all.
func (s *Store) Inclusion(seq, n uint64) (proof []journal.Hash, err error) {
	err = s.view(func(tx *transaction) error {
		if n > tx.Bucket(bucketJournal).Sequence() || seq < 1 || seq > n {
			return journal.ErrRange
		}
		proof, err = journal.InclusionOf(nodes(tx), int(seq)-1, int(n))
		return err
	})
	if err != nil {
		return nil, &Error{"read the tree of", s.dir, err, ""}
	}
	return proof, nil
}

// Root returns the root over the first size entries, in hexadecimal. Refuses: journal.ErrRange for
// more entries than there are.
func (s *Store) Root(size uint64) (root string, err error) {
	err = s.view(func(tx *transaction) error {
		if size > tx.Bucket(bucketJournal).Sequence() {
			return journal.ErrRange
		}
		h, err := journal.RootOf(nodes(tx), int(size))
		root = hex.EncodeToString(h[:])
		return err
	})
	if err != nil {
		return "", &Error{"read the tree of", s.dir, err, ""}
	}
	return root, nil
}

// Consistency returns the proof that the first m entries are the beginning of the first n. Refuses:
// journal.ErrRange unless 1 ≤ m ≤ n ≤ all.
func (s *Store) Consistency(m, n uint64) (proof []journal.Hash, err error) {
	err = s.view(func(tx *transaction) error {
		if n > tx.Bucket(bucketJournal).Sequence() || m > n {
			return journal.ErrRange
		}
		proof, err = journal.ConsistencyOf(nodes(tx), int(m), int(n))
		return err
	})
	if err != nil {
		return nil, &Error{"read the tree of", s.dir, err, ""}
	}
	return proof, nil
}
