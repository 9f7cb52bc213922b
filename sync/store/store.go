// Package store keeps a journal of changes and the records they make in one bbolt file, through power cuts.
package store

import (
	"context"
	"crypto/ed25519"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"time"

	"gaugewright/sync/change"

	"go.etcd.io/bbolt"
)

// Error says what could not be done with which file.
type Error struct {
	Op, Path string
	Err      error
	Hint     string
}

// Error returns the sentence, with a hint where there is one.
func (e *Error) Error() string {
	s := e.Op + " " + e.Path + ": " + e.Err.Error()
	if e.Hint != "" {
		s += " (" + e.Hint + ")"
	}
	return s
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

var (
	// ErrClosed is returned when the store was closed.
	ErrClosed = errors.New("the store is closed")
	// ErrForged is returned when a change has the id of a known one and other bytes.
	ErrForged = errors.New("another change has this id")
	// ErrNewer is returned when the file was written by a newer version of the program.
	ErrNewer = errors.New("the file was written by a newer version")
)

// File is the name of the database inside the data folder.
const File = "gaugewright.db"

var (
	bucketMeta       = []byte("meta")
	bucketJournal    = []byte("journal")    // sequence → change bytes
	bucketIDs        = []byte("ids")        // change id → sequence
	bucketRecords    = []byte("records")    // record id → state bytes, or the number of the one change that makes it
	bucketKinds      = []byte("kinds")      // kind, 0, sequence of the change that began it → record id
	bucketParents    = []byte("parents")    // parent, 0, record id → nothing
	bucketLookup     = []byte("lookup")     // kind, 0, field, 0, value, 0, record id → nothing
	bucketHistory    = []byte("history")    // record id, 0, sequence → nothing
	bucketQuarantine = []byte("quarantine") // sequence → reason, 0, change bytes
	bucketHeld       = []byte("held")       // SHA-256 of a quarantined value → its sequence
	bucketPrivate    = []byte("private")    // the server's own, by bucket name
	bucketTree       = []byte("tree")       // position → hash of a whole subtree of the journal
	bucketHeads      = []byte("heads")      // size → signed head of the tree
)

// Store is an open data folder.
type Store struct {
	db             *bbolt.DB
	dir, id, epoch string
	key            ed25519.PrivateKey
	options        Options
	queue          chan *batch
	done           chan struct{}
	mu             sync.RWMutex // held for reading while a batch is handed over, for writing by Close
	closed         bool
	pieces         sync.Mutex // one piece of a blob at a time
}

// Options are what a simulation replaces.
type Options struct {
	Now    func() time.Time // the clock of the tree's heads; nil: the machine's
	NoSync bool             // writes without fsync: for simulations only, since what was acknowledged may then be lost
	// OpenFile opens the database's file; nil: os.OpenFile.
	OpenFile func(name string, flag int, mode os.FileMode) (*os.File, error)
	// Wrote is told of every transaction that was written; nil if nobody wants to know.
	Wrote func()
}

// update writes one transaction.
func (s *Store) update(work func(*bbolt.Tx) error) error {
	err := s.db.Update(work)
	if err == nil && s.options.Wrote != nil {
		s.options.Wrote()
	}
	return err
}

// Open opens the data folder, making it if it is not there. A new database is made under another name, synced and renamed, so that a power
// cut leaves either none or a whole one.
func Open(dir string) (*Store, error) { return OpenWith(dir, Options{}) }

// OpenWith is Open with another clock or without fsync.
func OpenWith(dir string, o Options) (*Store, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if err := os.MkdirAll(filepath.Join(dir, "blobs"), 0o700); err != nil {
		return nil, &Error{"make", dir, err, ""}
	}
	path := filepath.Join(dir, File)
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
		if err := create(dir, path, o); err != nil {
			return nil, err
		}
	}
	db, err := bbolt.Open(path, 0o600, o.bolt())
	if err != nil {
		hint := ""
		if errors.Is(err, bbolt.ErrTimeout) {
			hint = "is another gaugewright using this folder?"
		}
		return nil, &Error{"open", path, err, hint}
	}
	s := &Store{db: db, dir: dir, options: o, queue: make(chan *batch, maxWaiting), done: make(chan struct{})}
	if err := errors.Join(s.migrate(), removeHalves(dir)); err != nil {
		return nil, errors.Join(&Error{"migrate", path, err, ""}, db.Close())
	}
	go s.write()
	return s, nil
}

func (o Options) bolt() *bbolt.Options {
	return &bbolt.Options{Timeout: 3 * time.Second, FreelistType: bbolt.FreelistMapType, NoSync: o.NoSync, OpenFile: o.OpenFile}
}

func create(dir, path string, o Options) error {
	temporary := path + ".new"
	if planted == "a half-made database is taken" {
		if info, err := os.Stat(temporary); err == nil && info.Size() > 0 {
			return os.Rename(temporary, path)
		}
	}
	if err := os.Remove(temporary); err != nil && !errors.Is(err, os.ErrNotExist) {
		return &Error{"remove", temporary, err, ""}
	}
	db, err := bbolt.Open(temporary, 0o600, o.bolt())
	if err != nil {
		return &Error{"create", temporary, err, ""}
	}
	s := &Store{db: db, options: o}
	if err := s.migrate(); err != nil {
		return errors.Join(&Error{"create", temporary, err, ""}, db.Close())
	}
	if err := errors.Join(db.Sync(), db.Close()); err != nil {
		return &Error{"create", temporary, err, ""}
	}
	if err := os.Rename(temporary, path); err != nil {
		return &Error{"rename", temporary, err, ""}
	}
	return syncFolder(dir)
}

func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return &Error{"open", dir, err, ""}
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return &Error{"sync", dir, err, ""}
	}
	return nil
}

// Close waits for what was handed in and closes the file.
func (s *Store) Close() error {
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return nil
	}
	s.closed = true
	close(s.queue)
	s.mu.Unlock()
	<-s.done
	if err := s.db.Close(); err != nil {
		return &Error{"close", s.dir, err, ""}
	}
	return nil
}

// StoreID names this store; a cursor of another store is worth nothing here.
func (s *Store) StoreID() string { return s.id }

// Epoch names the life of this store: bringing back a backup begins a new one, so that devices offer again what the backup lacks.
func (s *Store) Epoch() string { return s.epoch }

// Dir returns the data folder.
func (s *Store) Dir() string { return s.dir }

func number(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

func key(parts ...string) []byte {
	var b []byte
	for i, p := range parts {
		if i > 0 {
			b = append(b, 0)
		}
		b = append(b, p...)
	}
	return b
}

// Result says which changes are now in the journal: those accepted by this call and those it had already.
type Result struct {
	Accepted, Known []string
	Refused         map[string]error // by change id: forged, or not of their record
}

// Add puts changes into the journal and merges them into their records, in one synced transaction that may carry other callers' changes too.
// When it returns without an error, every change that is not in Refused survives a power cut.
func (s *Store) Add(ctx context.Context, changes []change.Change) (Result, error) {
	if len(changes) == 0 {
		return Result{}, nil
	}
	b := &batch{changes: changes, reply: make(chan error, 1)}
	if err := s.hand(ctx, b); err != nil {
		return Result{}, err // it may still be written; sending it again is the same as once
	}
	return b.result, nil
}

// hand gives the one writer something to write and waits until it is synced.
func (s *Store) hand(ctx context.Context, b *batch) error {
	s.mu.RLock()
	if s.closed {
		s.mu.RUnlock()
		return ErrClosed
	}
	select {
	case s.queue <- b:
		s.mu.RUnlock()
	case <-ctx.Done():
		s.mu.RUnlock()
		return ctx.Err()
	}
	select {
	case err := <-b.reply:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// together writes something beside the journal, in a transaction that may carry other callers' work too.
func (s *Store) together(work func(*bbolt.Tx) error) error {
	return s.hand(context.Background(), &batch{work: work, reply: make(chan error, 1)})
}
