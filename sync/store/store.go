package store

import (
	"context"
	"crypto/ed25519"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/engine"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// Error says what could not be done with which file.
type Error struct {
	Op, Path string
	Err      error
	Hint     string
}

// Error returns the sentence, with a hint if there is one.
func (e *Error) Error() string {
	s := e.Op + " " + e.Path + ": " + e.Err.Error()
	if e.Hint != "" && !strings.Contains(e.Path, "://") { // hints are about folders
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
	// ErrDamaged is wrapped when the bytes of a stored record cannot be read.
	ErrDamaged = errors.New("the stored record is damaged")
	// ErrRecordFull is returned for a change that would make its record too large.
	ErrRecordFull = errors.New("the record is full")
	// ErrHeldFull is returned when the quarantine has no room. Nothing of that call is then kept,
	// so its sender keeps it.
	ErrHeldFull = errors.New("too much waits in the quarantine; the office looks through it first")
	// ErrNewer is returned when the file was written by a newer version of the program.
	ErrNewer = errors.New("the file was written by a newer version")
)

// File is the name of the database inside the data folder.
const File = "gaugewright.db"

var (
	bucketMeta       = []byte("meta")
	bucketJournal    = []byte("journal")    // sequence → change bytes
	bucketIDs        = []byte("ids")        // change id → sequence
	bucketRecords    = []byte("records")    // record id → the number of the one change that makes it, or the state after some of its changes (state.go)
	bucketKinds      = []byte("kinds")      // kind, 0, sequence of the change that began it → record id
	bucketParents    = []byte("parents")    // parent, 0, record id → nothing
	bucketLookup     = []byte("lookup")     // kind, 0, field, 0, value, 0, record id → nothing
	bucketHistory    = []byte("history")    // record id, 0, sequence → nothing
	bucketQuarantine = []byte("quarantine") // sequence → reason, 0, change bytes
	bucketHeld       = []byte("held")       // SHA-256 of a quarantined value → its sequence
	bucketSlips      = []byte("slips")      // sequence in the quarantine → who brought it, how it was closed
	bucketHeldBy     = []byte("held by")    // author, 0, sequence in the quarantine → open or rejected; others have no line
	bucketHeldAs     = []byte("held as")    // change id, 0, sequence in the quarantine → nothing
	bucketPrivate    = []byte("private")    // the server's own, by bucket name
	bucketTree       = []byte("tree")       // position → hash of a whole subtree of the journal
	bucketHeads      = []byte("heads")      // size → signed head of the tree
)

// Store is an open data folder.
type Store struct {
	db        *bbolt.DB // nil with another engine
	other     engine.DB // nil with bbolt
	dir       string    // the data folder; with another engine, the engine's name for the database
	folder    string    // where the blobs are
	id, epoch string
	key       ed25519.PrivateKey
	options   Options
	queue     chan *batch
	done      chan struct{}
	warm      warm   // of the one writer
	ahead     *ahead // the write-ahead log, used by the one writer; nil if each transaction is synced by itself
	failed    atomic.Pointer[error]
	mapped    int          // bytes of address space that the database has
	copied    string       // a copy that was opened instead of a database with a log, "" if none was
	mu        sync.RWMutex // held for reading while a batch is handed over, and for writing by Close
	closed    bool
	reading   bool           // opened by OpenToRead
	pieces    sync.Mutex     // one piece of a blob at a time
	announced atomic.Uint64  // the journal's length that was announced last
	ends      chan struct{}  // closed with the store, for another engine
	following sync.WaitGroup // counts what follows other programs
	growing   sync.Mutex
	grown     chan struct{} // closed when the journal grows; nil while nobody waits
	// readers counts who reads most of the store now.
	readers struct {
		sync.Mutex
		count int
	}
}

// Options are settings that only simulations change.
type Options struct {
	Now    func() time.Time // the clock of the tree's heads; nil: the machine's
	NoSync bool             // writes without fsync: only for simulations, since acknowledged changes may then be lost
	// NoLog syncs each transaction by itself, as on systems without a write-ahead log.
	NoLog bool
	// MaxLog is how many bytes of writes the write-ahead log may have before everything is synced
	// and a new one begins; 0 means the usual number.
	MaxLog int64
	// Patience is how long a transaction may take before the log's moment is released for it; 0
	// means the usual time. Room is how many bytes of address space the database gets; 0 means the
	// usual number.
	Patience time.Duration
	Room     int
	// OpenFile opens the database's file, and the log's; nil: os.OpenFile.
	OpenFile func(name string, flag int, mode os.FileMode) (*os.File, error)
	// SyncFolder makes sure that the names in a folder are on the disk; nil: fsync of the folder.
	SyncFolder func(dir string) error
	// FallBack opens a database with one broken first page at the last transaction of the other
	// one, a database with a damaged log at the last transaction before the damage, and a database
	// whose log is missing.
	FallBack bool
	// Blobs keeps blobs outside the folder; nil keeps them in it.
	Blobs Blobs
	// Wrote is called after every written transaction. It may be nil.
	Wrote func()
	// Synced is called when the whole database is on the disk. It may be nil.
	Synced func()
}

func (o *Options) open(name string, flag int, mode os.FileMode) (*os.File, error) {
	if o.OpenFile != nil {
		return o.OpenFile(name, flag, mode)
	}
	return os.OpenFile(name, flag, mode)
}

// Open opens the data folder, making it if it is missing. A new database is made under another
// name, synced and renamed, so that a power cut leaves either none or a complete one.
func Open(dir string) (*Store, error) { return OpenWith(dir, Options{}) }

// OpenWith is Open with another clock or without fsync.
func OpenWith(dir string, o Options) (*Store, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.SyncFolder == nil {
		o.SyncFolder = SyncFolder
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
	s, found, broken, err := openLocked(dir, path, o)
	if err != nil {
		return nil, err
	}
	if found != nil {
		err = s.replay(found)
	} else {
		err = s.view(func(tx *transaction) error {
			meta := tx.Bucket(bucketMeta)
			if meta == nil || meta.Get(metaLog) == nil {
				return nil
			}
			if _, err := checkPages(path); err != nil || !o.FallBack {
				return fmt.Errorf("%w: %w", ErrBroken, errors.Join(errNoLog, err))
			}
			return nil
		})
	}
	if err != nil {
		return nil, errors.Join(&Error{"open", path, err, lookHint + dir}, s.db.Close())
	}
	mended := error(nil)
	if broken != "" {
		mended = s.update(func(*transaction) error { return nil }) // a transaction replaces the broken first page
	}
	if err := errors.Join(mended, s.migrate(), removeHalves(dir)); err != nil {
		return nil, errors.Join(&Error{"migrate", path, err, ""}, s.db.Close())
	}
	if keepsLog && !o.NoLog {
		if err := s.begin(); err != nil {
			return nil, errors.Join(&Error{"begin the log of", path, err, "is the disk full?"}, s.ahead.letGo(), s.db.Close())
		}
	}
	go s.write()
	return s, nil
}

// openLocked opens the database's file. If a log is beside it, it first puts the database back to
// the log's moment, under the lock. found is that log.
func openLocked(dir, path string, o Options) (s *Store, found *logged, broken string, err error) {
	b := o.bolt()
	s = &Store{dir: dir, folder: dir, options: o, queue: make(chan *batch, maxWaiting), done: make(chan struct{})}
	rooms := []int{0}
	if info, err := os.Stat(path); err == nil && keepsLog {
		size := int(info.Size())
		rooms = []int{max(mapLeast, mapTimes*size), size + 2*mapReserve} // the second for a process with a limit
		if o.Room > 0 {
			rooms = []int{o.Room}
		}
	}
	hint := ""
	opened := false
	b.OpenFile = func(name string, flag int, mode os.FileMode) (*os.File, error) {
		f, err := o.open(name, flag, mode)
		if err != nil || opened {
			return f, err
		}
		opened = true
		if found, broken, err = whole(dir, f, &o); err != nil {
			if hint = lookHint + dir; errors.Is(err, bolterrors.ErrTimeout) {
				hint = ""
			}
			return nil, errors.Join(err, f.Close())
		}
		return f, nil
	}
	for _, s.mapped = range rooms {
		b.InitialMmapSize, opened = s.mapped, false
		if s.db, err = bbolt.Open(path, 0o600, b); !errors.Is(err, syscall.ENOMEM) {
			break
		}
	}
	if err != nil {
		if errors.Is(err, bolterrors.ErrTimeout) {
			hint = "is another gaugewright using this folder?"
		}
		return nil, nil, "", &Error{"open", path, err, hint}
	}
	return s, found, broken, nil
}

// whole makes sure that an open file is a complete database, and puts it back to the moment of its
// log.
func whole(dir string, f *os.File, o *Options) (found *logged, broken string, err error) {
	if _, err := os.Stat(filepath.Join(dir, Log)); err == nil {
		if err := lock(f, 3*time.Second); err != nil {
			return nil, "", err
		}
		if found, err = readLog(dir); err == nil && found != nil {
			err = found.putBack(f, o.NoSync, o.FallBack)
		}
		if errors.Is(err, errLog) || errors.Is(err, errOtherLog) {
			err = fmt.Errorf("%w: %w", ErrBroken, err)
		}
		if err != nil {
			return nil, "", err
		}
	}
	broken, err = look(filepath.Join(dir, File))
	if err == nil && broken != "" && !o.FallBack {
		err = fmt.Errorf("%w: %s", ErrBroken, broken)
	}
	return found, broken, err
}

// OpenToRead opens a data folder of this version without writing to it. Every write returns
// ErrClosed.
func OpenToRead(dir string) (*Store, error) {
	path := filepath.Join(dir, File)
	if _, err := os.Stat(path); err != nil {
		return nil, &Error{"read", path, err, "is this a data folder?"}
	}
	o := Options{Now: time.Now}
	b := o.bolt()
	b.ReadOnly = true
	copied, _, err := copyWhole(dir)
	if err != nil {
		return nil, &Error{"read", path, err, lookHint + dir}
	}
	if copied != "" {
		path = copied
	}
	db, err := bbolt.Open(path, 0o600, b)
	if err != nil {
		hint := ""
		if errors.Is(err, bolterrors.ErrTimeout) {
			hint = "is another gaugewright using this folder?"
		}
		return nil, &Error{"open", path, err, hint}
	}
	s := &Store{db: db, dir: dir, folder: dir, options: o, queue: make(chan *batch), reading: true, copied: copied}
	err = s.view(func(tx *transaction) error {
		if schema := tx.Bucket(bucketMeta).Get(metaSchema); len(schema) != 8 ||
			binary.BigEndian.Uint64(schema) != uint64(len(migrations)) {
			return errOlder
		}
		if tx.Bucket(bucketMeta).Get(metaLog) != nil {
			return errNoLog
		}
		return s.become(tx)
	})
	if err != nil {
		return nil, errors.Join(&Error{"read", path, err, ""}, db.Close(), removed(copied))
	}
	return s, nil
}

func (o Options) bolt() *bbolt.Options {
	noSync := o.NoSync || planted == "the database is not synced"
	return &bbolt.Options{
		Timeout: 3 * time.Second, FreelistType: bbolt.FreelistMapType, NoSync: noSync,
		OpenFile: o.OpenFile,
	}
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
	return o.SyncFolder(dir)
}

// SyncFolder makes sure that the names in a folder are on the disk.
func SyncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return &Error{"open", dir, err, ""}
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return &Error{"sync", dir, err, ""}
	}
	return nil
}

// Close waits for work that was handed in and closes the file.
func (s *Store) Close() error {
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return nil
	}
	s.closed = true
	close(s.queue)
	s.mu.Unlock()
	if !s.reading {
		<-s.done
	}
	err := error(nil)
	if s.other != nil {
		close(s.ends)
		s.following.Wait()
		err = s.other.Close()
	} else {
		if s.ahead != nil {
			err = s.end()
		}
		err = errors.Join(err, s.db.Close(), removed(s.copied))
	}
	if err != nil {
		return &Error{"close", s.dir, err, ""}
	}
	return nil
}

// StoreID identifies this store. A cursor of another store is not valid here.
func (s *Store) StoreID() string { return s.id }

// Epoch identifies the life of this store. Restoring a backup begins a new epoch, so that devices
// offer again what the backup lacks.
func (s *Store) Epoch() string { return s.epoch }

// Dir returns the data folder.
func (s *Store) Dir() string { return s.folder }

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

// Result says which changes are now in the journal: those accepted by this call and those that were
// there already.
type Result struct {
	Accepted, Known []string
	Refused         map[string]error // by change id: forged, or for another record
}

// Add puts changes into the journal and merges them into their records, in one synced transaction
// that may carry other callers' changes too. When it returns without an error, every change that is
// not in Refused survives a power cut.
func (s *Store) Add(ctx context.Context, changes []change.Change) (Result, error) {
	return s.AddJudged(ctx, changes, nil)
}

// AddJudged is Add with a judge. Each change is judged before it is taken, in the same transaction:
// the judge sees the records that the change will be merged into, with everything taken before it.
// Refused has what it refuses. A change that the journal has is not judged again.
func (s *Store) AddJudged(ctx context.Context, changes []change.Change, judge Judge) (Result, error) {
	return s.AddWith(ctx, changes, judge)
}

// AddArrived is AddJudged for changes with their canonical bytes as they came, which change.Parse
// or change.Quick accepted. The bytes are stored without being encoded again, and must not be
// altered any more.
func (s *Store) AddArrived(ctx context.Context, changes []change.Change, entries [][]byte, judge Judge) (Result, error) {
	if len(changes) == 0 {
		return Result{}, nil
	}
	b := &batch{changes: changes, entries: entries, judge: judge, reply: make(chan error, 1)}
	if err := s.hand(ctx, b); err != nil {
		return Result{}, err // it may still be written; sending it again is harmless
	}
	return b.result, nil
}

// AddWith is AddJudged with further steps, which are written if none of the changes is refused.
func (s *Store) AddWith(ctx context.Context, changes []change.Change, judge Judge, more ...Step) (Result, error) {
	if len(changes)+len(more) == 0 {
		return Result{}, nil
	}
	b := &batch{changes: changes, judge: judge, reply: make(chan error, 1)}
	b.work = func(tx *transaction) error {
		if len(b.result.Refused) > 0 {
			return nil
		}
		return s.steps(tx, more)
	}
	if err := s.hand(ctx, b); err != nil {
		return Result{}, err // it may still be written; sending it again is harmless
	}
	return b.result, nil
}

// hand gives the one writer a batch and waits until it is synced.
func (s *Store) hand(ctx context.Context, b *batch) error {
	s.mu.RLock()
	if s.closed || s.reading {
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

// together writes something beside the journal, in a transaction that may also carry other callers'
// work.
func (s *Store) together(work func(*transaction) error) error {
	return s.hand(context.Background(), &batch{work: work, reply: make(chan error, 1)})
}
