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
)

// cameBack is the private part that notes what was brought back, by the id of the change.
var cameBack = []byte("came back")

// Back says of a change that it was in this journal before an older copy was restored, and who
// brought it back.
type Back struct {
	ID   string `json:"-"`
	At   string `json:"at"`
	From string `json:"from,omitempty"` // the id of a user
}

// Given signs that the journal here has had these changes: their canonical bytes, in any order. An
// older copy that is restored knows its own signature, and takes the changes back from whoever kept
// them.
func (s *Store) Given(list [][]byte) string {
	return base64.StdEncoding.EncodeToString(ed25519.Sign(s.key, s.giving(list)))
}

// Gave says whether a signature is one that Given made here of these changes.
func (s *Store) Gave(list [][]byte, signature string) bool {
	b, err := base64.StdEncoding.DecodeString(signature)
	return err == nil && len(list) > 0 && ed25519.Verify(s.key.Public().(ed25519.PublicKey), s.giving(list), b)
}

func (s *Store) giving(list [][]byte) []byte {
	sums := make([][sha256.Size]byte, len(list))
	for i := range list {
		sums[i] = sha256.Sum256(list[i])
	}
	slices.SortFunc(sums, func(a, b [sha256.Size]byte) int { return bytes.Compare(a[:], b[:]) })
	all := sha256.New()
	for i := range sums {
		all.Write(sums[i][:])
	}
	return fmt.Appendf(nil, "gaugewright given 1\n%s\n%s\n", s.id, hex.EncodeToString(all.Sum(nil)))
}

// AddBack is Add for changes that the journal here has had, as Gave says: they were judged then. It
// notes those that were missing, in the same transaction.
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

// CameBack calls f with each change that was brought back, in the order of the journal, until it
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
