package store

import (
	"crypto/ed25519"
	"encoding/base64"
	"fmt"
)

// Schema is the number of the file's form that this program writes.
var Schema = len(migrations)

// SetHeldSize sets another number of bytes in quarantine, as if so much had come.
func (s *Store) SetHeldSize(bytes uint64) error {
	return s.Keep(Step{func(_ *Store, tx *transaction) error {
		return tx.Bucket(bucketMeta).Put(metaHeld, append(number(1), number(bytes)...))
	}})
}

// GivenEarlier signs as programs did before leaves could stand for changes.
func GivenEarlier(s *Store, list [][]byte) string {
	said := fmt.Appendf(nil, "gaugewright given 1\n%s\n%s\n", s.id, digestOf(list))
	return base64.StdEncoding.EncodeToString(ed25519.Sign(s.key, said))
}
