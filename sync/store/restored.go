package store

// metaRestored holds the epoch that began with the latest restore of a backup.
var metaRestored = []byte("restored")

// Restored returns the epoch that began when a backup was restored here, "" if none was. What was
// written between the backup and that moment is unknown here.
func (s *Store) Restored() (epoch string) {
	err := s.view(func(tx *transaction) error {
		epoch = string(tx.Bucket(bucketMeta).Get(metaRestored))
		return nil
	})
	if err != nil {
		return s.epoch // the store is closing: name an epoch rather than none
	}
	return epoch
}
