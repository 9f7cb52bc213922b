package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// metaLog is there while a log belongs to the database.
var metaLog = []byte("wal")

const (
	// maxLog is how many bytes a log may have, or the database may grow, before all is synced and a
	// new log begins.
	maxLog   = 8 << 20
	patience = 5 * time.Second
	// mapLeast and mapTimes say how much address space a database gets to grow into; mapReserve is what
	// must be left of it for a last transaction.
	mapLeast   = 4 << 30
	mapTimes   = 4
	mapReserve = 256 << 20
)

var errNoReserve = errors.New("the database has outgrown the space it was mapped into")

// ahead is the log of an open store, with what holds the moment that it follows.
type ahead struct {
	log   *wal
	grown int64 // bytes of the database at that moment
	most  int64
	// patience is how long a transaction may take before the moment of the log is let go, so that the
	// database can be mapped anew; then all is synced right after it.
	patience time.Duration
	anew     bool  // a new log is to begin after this transaction
	stuck    error // nothing is written any more
	first    base  // of the log

	mu      sync.Mutex
	pin     *bbolt.Tx // a reader of that moment: while it reads, none of its pages is written on
	writing *bbolt.Tx // the transaction that is being written
}

func (a *ahead) hold(db *bbolt.DB) error {
	tx, err := db.Begin(false)
	if err != nil {
		return err
	}
	size := tx.Size()
	if planted == "pages of the last moment are written on" {
		_ = tx.Rollback()
	}
	a.grown = size
	db.AllocSize = int(min(max(a.grown, 64<<10), 16<<20))
	a.mu.Lock()
	defer a.mu.Unlock()
	a.pin = tx
	return nil
}

func (a *ahead) held() bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.pin != nil
}

func (a *ahead) writes(tx *bbolt.Tx) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.writing = tx
}

// giveWay lets the moment go for a transaction that is still being written. It has its pages since
// it began; the next one begins after all was synced.
func (a *ahead) giveWay(tx *bbolt.Tx) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.writing == tx {
		_ = a.drop() // an error would say that it was let go
	}
}

func (a *ahead) letGo() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.drop()
}

func (a *ahead) drop() error {
	if a.pin == nil {
		return nil
	}
	err := a.pin.Rollback()
	a.pin = nil
	if errors.Is(err, bolterrors.ErrTxClosed) && planted != "" {
		return nil
	}
	return err
}

// begin makes the first log of an open database, in which nothing is that is not on the disk.
func (s *Store) begin() error {
	s.ahead = &ahead{most: s.options.MaxLog, patience: patience}
	if s.options.Patience > 0 {
		s.ahead.patience = s.options.Patience
	}
	if s.ahead.most == 0 {
		s.ahead.most = maxLog
	}
	s.db.NoSync = true
	if err := s.checkpoint(); err != nil {
		return err
	}
	return s.update(func(tx *transaction) error { return tx.Bucket(bucketMeta).Put(metaLog, []byte{1}) })
}

// checkpoint syncs all of the database and begins a new log. After an error the old one goes on,
// unless the store is stuck.
func (s *Store) checkpoint() error {
	a := s.ahead
	if err := s.syncAll(); err != nil {
		return err
	}
	f, err := os.Open(filepath.Join(s.dir, File))
	if err != nil {
		return err
	}
	b, err := baseOf(f, s.db.Info().PageSize)
	if a.log != nil && planted == "a later log begins at an earlier moment" {
		b.metas, b.stamp = a.first.metas, a.first.stamp
	}
	a.first = b
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	next, err := newLog(s.dir, &b, &s.options)
	if err != nil {
		return err
	}
	if !s.options.NoSync && planted != "the folder of a new log is not synced" {
		err = s.options.SyncFolder(s.dir)
	}
	if err != nil { // which of the two is there after a cut is not known
		a.stuck = fmt.Errorf("%w: %w", errSync, err)
		return errors.Join(a.stuck, next.file.Close())
	}
	if a.log != nil {
		err = a.log.file.Close()
	}
	a.log = next
	if err = errors.Join(err, a.letGo(), a.hold(s.db)); err != nil {
		a.stuck = err
	}
	return err
}

func (s *Store) syncAll() error {
	if !s.options.NoSync && planted != "the database is not synced before a new log" {
		if err := s.db.Sync(); err != nil {
			s.ahead.stuck = fmt.Errorf("%w: %w", errSync, err)
			return s.ahead.stuck
		}
	}
	if s.options.Synced != nil {
		s.options.Synced()
	}
	return nil
}

// update writes one transaction. When it returns without an error, a power cut does not undo it.
func (s *Store) update(work func(*transaction) error) (err error) {
	if s.ahead == nil {
		err = s.db.Update(func(tx *bbolt.Tx) error { return work(&transaction{tx, nil}) })
	} else {
		err = s.ahead.update(s, work)
	}
	if err == nil && s.options.Wrote != nil {
		s.options.Wrote()
	}
	return err
}

func (a *ahead) update(s *Store, work func(*transaction) error) (err error) {
	if a.stuck != nil {
		return a.stuck
	}
	if !a.held() {
		if err := s.checkpoint(); err != nil {
			return err
		}
	}
	tx, err := s.db.Begin(true)
	if err != nil {
		return err
	}
	a.writes(tx)
	late := time.AfterFunc(a.patience, func() { a.giveWay(tx) })
	defer func() {
		late.Stop()
		a.writes(nil)
		if err != nil {
			_ = tx.Rollback() // of a transaction that may have ended
		}
	}()
	r := newRedo()
	if err := work(&transaction{tx, r}); err != nil {
		return err
	}
	if r.empty() {
		return tx.Rollback()
	}
	if err := a.log.append(r); err != nil {
		if errors.Is(err, errSync) {
			a.stuck = err
		}
		return err
	}
	size := tx.Size()
	if err := tx.Commit(); err != nil {
		return err
	}
	a.log.took(r)
	a.writes(nil)
	if a.held() && !a.anew && a.log.size < a.most && size-a.grown < a.most {
		return nil
	}
	// What was written stands in the old log, if this fails; where that cannot go on, the next
	// transaction is refused.
	a.anew = s.checkpoint() != nil
	return nil
}

// end brings all to the database and removes the log. One that cannot be removed is read at the
// next start.
func (s *Store) end() error {
	a := s.ahead
	if full := s.db.View(func(tx *bbolt.Tx) error {
		if tx.Size()+mapReserve > int64(s.mapped) {
			return errNoReserve // the database could not be mapped anew while its moment is held
		}
		return nil
	}); a.stuck != nil || full != nil || !a.held() {
		return errors.Join(a.letGo(), a.log.file.Close())
	}
	err := s.db.Update(func(tx *bbolt.Tx) error { return tx.Bucket(bucketMeta).Delete(metaLog) })
	if err == nil {
		err = s.syncAll()
	}
	err = errors.Join(err, a.log.file.Close())
	if err == nil {
		err = os.Remove(filepath.Join(s.dir, Log))
	}
	if err == nil && !s.options.NoSync {
		err = s.options.SyncFolder(s.dir)
	}
	return errors.Join(err, a.letGo())
}

// replay does again what a log says, on its moment, and removes it. The log stays until all of that
// is on the disk.
func (s *Store) replay(l *logged) error {
	s.ahead = &ahead{}
	defer func() { s.ahead, s.db.NoSync = nil, s.options.NoSync }()
	s.db.NoSync = true
	if err := s.ahead.hold(s.db); err != nil {
		return err
	}
	for i, writes := range l.records {
		if err := s.db.Update(func(tx *bbolt.Tx) error { return again(tx, writes) }); err != nil {
			return errors.Join(fmt.Errorf("record %d: %w", i+1, err), s.ahead.letGo())
		}
	}
	f, err := os.Open(filepath.Join(s.dir, Log))
	if err != nil {
		return errors.Join(err, s.ahead.letGo())
	}
	s.ahead.log = &wal{file: f}
	return s.end()
}
