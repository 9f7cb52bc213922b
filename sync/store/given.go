package store

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
)

// cameBack is the private part that records which changes were brought back, by the id of the
// change.
var cameBack = []byte("came back")

// Back says that a change was in this journal before an older copy was restored, and who brought it
// back.
type Back struct {
	ID   string `json:"-"`
	At   string `json:"at"`
	From string `json:"from,omitempty"` // the id of a user
}

// Given signs that the journal here has had these changes: the leaves of their canonical bytes, in
// any order. An older copy that is restored knows its own signature, and takes the changes back from
// whoever kept them. A leaf is that of a change of which values were erased since, so that those
// given with it come back all the same.
func (s *Store) Given(list [][]byte) string {
	return base64.StdEncoding.EncodeToString(ed25519.Sign(s.key, s.giving(leavesOf(list))))
}

// Gave says whether a signature is one that Given made here of these changes and of others, of which
// there are the leaves alone. Earlier programs signed the changes themselves.
func (s *Store) Gave(list [][]byte, others []journal.Hash, signature string) bool {
	b, err := base64.StdEncoding.DecodeString(signature)
	if err != nil || len(list) == 0 {
		return false
	}
	key := s.key.Public().(ed25519.PublicKey)
	if ed25519.Verify(key, s.giving(append(leavesOf(list), others...)), b) {
		return true
	}
	earlier := fmt.Appendf(nil, "gaugewright given 1\n%s\n%s\n", s.id, digestOf(list))
	return len(others) == 0 && ed25519.Verify(key, earlier, b)
}

func (s *Store) giving(leaves []journal.Hash) []byte {
	return fmt.Appendf(nil, "gaugewright given 2\n%s\n%s\n", s.id, digest(leaves))
}

func leavesOf(list [][]byte) []journal.Hash {
	leaves := make([]journal.Hash, len(list))
	for i := range list {
		leaves[i] = journal.Leaf(list[i])
	}
	return leaves
}

// digestOf returns the SHA-256, in hexadecimal, of the sorted SHA-256 of some texts.
func digestOf(list [][]byte) string {
	sums := make([]journal.Hash, len(list))
	for i := range list {
		sums[i] = sha256.Sum256(list[i])
	}
	return digest(sums)
}

// digest is the SHA-256 in hexadecimal of some hashes, which it sorts.
func digest(sums []journal.Hash) string {
	slices.SortFunc(sums, func(a, b journal.Hash) int { return bytes.Compare(a[:], b[:]) })
	all := sha256.New()
	for i := range sums {
		all.Write(sums[i][:])
	}
	return hex.EncodeToString(all.Sum(nil))
}

// Vouch signs that records of this journal had these states when it had so many entries, or later:
// their canonical bytes, in any order. root is the tree's at that size.
func (s *Store) Vouch(size uint64, root string, states [][]byte) string {
	return base64.StdEncoding.EncodeToString(ed25519.Sign(s.key, vouching(s.id, size, root, states)))
}

// Vouched reports whether a signature of Vouch is by a key (in base64) and of these states.
func Vouched(key, store string, size uint64, root string, states [][]byte, signature string) bool {
	public, err := base64.StdEncoding.DecodeString(key)
	if err != nil || len(public) != ed25519.PublicKeySize {
		return false
	}
	b, err := base64.StdEncoding.DecodeString(signature)
	return err == nil && ed25519.Verify(public, vouching(store, size, root, states), b)
}

func vouching(store string, size uint64, root string, states [][]byte) []byte {
	return fmt.Appendf(nil, "gaugewright states 1\n%s\n%d\n%s\n%s\n", store, size, root, digestOf(states))
}

// AddBack adds changes that this journal has had, as Gave says. They were judged then. It records
// which of them were missing, in the same transaction.
func (s *Store) AddBack(ctx context.Context, changes []change.Change, from string) (Result, error) {
	if len(changes) == 0 {
		return Result{}, nil
	}
	b := &batch{changes: changes, reply: make(chan error, 1)}
	b.work = func(tx *transaction) error {
		if len(b.result.Accepted) == 0 {
			return nil
		}
		notes, err := tx.Bucket(bucketPrivate).CreateBucketIfNotExists(cameBack)
		if err != nil {
			return err
		}
		note, err := json.Marshal(Back{At: s.options.Now().UTC().Format(time.RFC3339), From: from})
		if err != nil {
			return err
		}
		for _, id := range b.result.Accepted {
			if err := notes.Put([]byte(id), note); err != nil {
				return err
			}
		}
		return nil
	}
	if err := s.hand(ctx, b); err != nil {
		return Result{}, err
	}
	return b.result, nil
}

// CameBack calls f with each change that was brought back, in the order of the journal, until f
// returns an error.
func (s *Store) CameBack(f func(Back, *change.Change) error) error {
	type line struct {
		seq  []byte
		back Back
	}
	err := s.view(func(tx *transaction) error {
		notes := tx.Bucket(bucketPrivate).Bucket(cameBack)
		if notes == nil {
			return nil
		}
		var list []line
		err := notes.ForEach(func(k, v []byte) error {
			b := Back{ID: string(k)}
			list = append(list, line{tx.Bucket(bucketIDs).Get(k), b})
			return json.Unmarshal(v, &list[len(list)-1].back)
		})
		if err != nil {
			return err
		}
		slices.SortFunc(list, func(a, b line) int { return bytes.Compare(a.seq, b.seq) })
		for _, l := range list {
			c, err := change.Parse(tx.Bucket(bucketJournal).Get(l.seq))
			if err != nil {
				return err
			}
			if err := f(l.back, &c); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return &Error{"read what came back to", s.dir, err, ""}
	}
	return nil
}
