package store

// metaRestored holds the epoch that began with the latest restore of a backup.
var metaRestored = []byte("restored")

// Restored names the epoch that began when a backup was brought back here, "" where none was. What
// was written between the backup and then is not known here.
func (s *Store) Restored() (epoch string) {
	err := s.view(func(tx *transaction) error {
		epoch = string(tx.Bucket(bucketMeta).Get(metaRestored))
		return nil
	})
	if err != nil {
		return s.epoch // of a store that is closing: rather a part too much
	}
	return epoch
}
