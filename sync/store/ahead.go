package store

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"
	"time"

	"gaugewright/sync/engine"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// metaLog exists while a log belongs to the database.
var metaLog = []byte("wal")

const (
	// maxLog is how many bytes the log may have, or the database may grow, before everything is
	// synced and a new log begins.
	maxLog   = 8 << 20
	patience = 5 * time.Second
	// mapLeast and mapTimes set how much address space a database gets to grow into. mapReserve is
	// what must be left of it for a last transaction.
	mapLeast   = 4 << 30
	mapTimes   = 4
	mapReserve = 256 << 20
)

var errNoReserve = errors.New("the database has outgrown the space it was mapped into")

// ahead is the log of an open store, together with the read transaction that pins the moment at
// which the log begins.
type ahead struct {
	log   *wal
	grown int64 // bytes of the database at that moment
	most  int64
	// patience is how long a transaction may wait before the log's moment is released, so that the
	// database can be mapped anew. Everything is then synced right after the transaction.
	patience time.Duration
	anew     bool  // begin a new log after this transaction
	stuck    error // nothing is written any more
	first    base  // of the log
	notes    *redo // of the latest transaction

	mu      sync.Mutex
	pin     *bbolt.Tx // a reader of that moment: while it reads, none of its pages is overwritten
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

// giveWay releases the log's moment for a transaction that is still being written. Its pages were
// allocated when it began; the next transaction begins after everything was synced.
func (a *ahead) giveWay(tx *bbolt.Tx) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.writing == tx {
		_ = a.drop() // an error would mean that the moment is released already
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

// begin makes the first log of an open database, of which everything is on the disk.
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

// checkpoint syncs the whole database and begins a new log. After an error the old log continues,
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
	if err != nil { // which of the two is there after a power cut is unknown
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

// Failed returns why nothing is written any more, or nil while all is well. After a disk has
// refused a write that had to be safe, only a restart finds out what the disk has.
func (s *Store) Failed() error {
	if err := s.failed.Load(); err != nil {
		return *err
	}
	return nil
}

// update writes one transaction. When it returns without an error, a power cut does not undo it.
func (s *Store) update(work func(*transaction) error) (err error) {
	switch {
	case s.other != nil:
		err = s.other.Update(func(tx engine.Tx) error { return work(&transaction{Tx: tx}) })
	case s.ahead == nil:
		err = s.db.Update(func(tx *bbolt.Tx) error { return work(&transaction{Tx: boltTx{tx}}) })
	default:
		err = s.ahead.update(s, work)
		if s.ahead.stuck != nil {
			s.failed.Store(&s.ahead.stuck)
		}
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
			_ = tx.Rollback() // the transaction may have ended
		}
	}()
	a.notes = a.notes.reuse()
	r := a.notes
	if err := work(&transaction{Tx: boltTx{tx}, redo: r}); err != nil {
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
		if undone := a.log.undo(); undone != nil {
			a.stuck = undone
		}
		return err
	}
	a.log.took(r)
	a.writes(nil)
	if a.held() && !a.anew && a.log.size < a.most && size-a.grown < a.most {
		return nil
	}
	// If this fails, the write is safe in the old log. If the old log cannot go on, the next
	// transaction is refused.
	a.anew = s.checkpoint() != nil
	return nil
}

// end writes everything to the database and removes the log. A log that cannot be removed is read
// at the next start.
func (s *Store) end() error {
	a := s.ahead
	if full := s.db.View(func(tx *bbolt.Tx) error {
		if tx.Size()+mapReserve > int64(s.mapped) {
			return errNoReserve // the database could not be mapped anew while its moment is pinned
		}
		return nil
	}); a.stuck != nil || full != nil || !a.held() {
		return errors.Join(a.letGo(), a.log.file.Close())
	}
	err := s.update(func(tx *transaction) error { return tx.Bucket(bucketMeta).Delete(metaLog) })
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

// replay redoes what a log says, starting from its moment, and then removes it. The log stays until
// all of that is on the disk.
func (s *Store) replay(l *logged) error {
	s.ahead = &ahead{most: math.MaxInt64, patience: patience}
	defer func() { s.ahead, s.db.NoSync = nil, s.options.NoSync }()
	s.db.NoSync = true
	if err := s.ahead.hold(s.db); err != nil {
		return err
	}
	if err := l.doneAgain(s.db); err != nil {
		return errors.Join(err, s.ahead.letGo())
	}
	path := filepath.Join(s.dir, Log)
	f, err := s.options.open(path, os.O_RDWR, 0o600)
	if err != nil {
		return errors.Join(err, s.ahead.letGo())
	}
	s.ahead.log = &wal{file: f, id: l.id, size: l.end, number: uint64(len(l.records)), noSync: s.options.NoSync}
	err = s.end()
	if _, there := os.Stat(path); err == nil && there == nil {
		err = errNoReserve // the log would be taken for that of later writes
	}
	return err
}
