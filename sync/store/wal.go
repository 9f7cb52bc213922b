package store

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"time"

	"go.etcd.io/bbolt"
)

// The write-ahead log takes what a transaction writes, is synced, and only then is the transaction
// given to the database and answered for. The database itself is not synced with each transaction:
// its pages reach the disk in any order. What holds them together is the log's head. It has the two
// first pages of the database as they were when all of it was last synced, and until the next such
// moment no page that they lead to is written on. Whoever opens the database after a cut puts those
// two pages back, and does again what the log's records say.
//
// A log begins with a head: mark, id, page size, stamp, the two pages, SHA-256 of all that. Records
// follow: number from 1, length, checksum over the log's id, number and writes, then the writes
// (transaction.go). A new log is written under another name, synced and renamed.
const (
	// Log is the name of the write-ahead log inside the data folder. It belongs to the database: one
	// without the other is not whole.
	Log = "gaugewright.wal"

	logMark    = "gaugewright wal 1\n"
	logID      = 16
	recordHead = 8 + 4 + 4
	maxRecord  = 1 << 30
)

var (
	crcTable = crc32.MakeTable(crc32.Castagnoli)
	// errLog is wrapped where a log is not as it was written.
	errLog = errors.New("the write-ahead log is damaged")
	// errOtherLog is returned where a log and a database do not belong together.
	errOtherLog = errors.New("the write-ahead log is of another database, or of another moment of this one")
	// errNoLog is returned where a database was in use and its log is gone.
	errNoLog = errors.New("the database was in use when its program ended, and its write-ahead log " + Log + " is missing")
)

// base is a moment at which all of the database was on the disk.
type base struct {
	page  int    // bytes of a page
	metas []byte // the two first pages
	stamp [sha256.Size]byte
}

// baseOf reads the moment that a database file is at.
func baseOf(f io.ReaderAt, page int) (b base, err error) {
	b = base{page: page, metas: make([]byte, 2*page)}
	if _, err := f.ReadAt(b.metas, 0); err != nil {
		return base{}, err
	}
	b.stamp, err = b.stampOn(f)
	return b, err
}

// stampOn returns the hash of the pages that the newer of the two first pages names. They differ
// with every transaction, so that a log tells its own database.
func (b *base) stampOn(f io.ReaderAt) (sum [sha256.Size]byte, err error) {
	var m metas
	for at := range 2 {
		if one, ok := metaAt(bytes.NewReader(b.metas), uint64(at*b.page)); ok && (m.size == 0 || one.tx > m.tx) {
			m = one
		}
	}
	if m.size != uint64(b.page) {
		return sum, errPages
	}
	h := sha256.New()
	p := &pages{file: f, size: m.size, high: m.high, seen: map[uint64]bool{}}
	for _, id := range []uint64{m.root, m.freelist} {
		one, err := p.read(id)
		if err != nil {
			return sum, err
		}
		h.Write(one)
	}
	return [sha256.Size]byte(h.Sum(nil)), nil
}

func headBytes(page int) int { return len(logMark) + logID + 4 + sha256.Size + 2*page + sha256.Size }

// wal is an open log.
type wal struct {
	file   *os.File
	id     []byte
	size   int64  // where the next record begins
	number uint64 // of the last record
	noSync bool
}

// newLog makes the log that follows a moment, in the place of the one that is there.
func newLog(dir string, b *base, o *Options) (w *wal, err error) {
	w = &wal{id: make([]byte, logID), noSync: o.NoSync}
	if _, err := rand.Read(w.id); err != nil {
		return nil, err
	}
	head := append([]byte(logMark), w.id...)
	head = binary.BigEndian.AppendUint32(head, uint32(b.page))
	head = append(append(head, b.stamp[:]...), b.metas...)
	sum := sha256.Sum256(head)
	head = append(head, sum[:]...)
	path := filepath.Join(dir, Log)
	if w.file, err = o.open(path+".new", os.O_CREATE|os.O_TRUNC|os.O_RDWR, 0o600); err != nil {
		return nil, err
	}
	_, err = w.file.WriteAt(head, 0)
	if err == nil && !o.NoSync && planted != "a new log is not synced" {
		err = w.file.Sync()
	}
	if err == nil {
		err = os.Rename(path+".new", path)
	}
	if err != nil {
		return nil, errors.Join(err, w.file.Close())
	}
	w.size = int64(len(head))
	return w, nil
}

// errSync is wrapped where a sync failed: what is on the disk is not known from then on.
var errSync = errors.New("the disk did not take what was written; start the program again")

// append writes a record and syncs it. After an error that wraps errSync nothing more may be
// written; after another one, the next record takes the place of this one.
func (w *wal) append(r *redo) error {
	if len(r.b) > maxRecord {
		return fmt.Errorf("a transaction has %d bytes, and may have %d", len(r.b), maxRecord)
	}
	w.head(r.b, w.number+1)
	if _, err := w.file.WriteAt(r.b, w.size); err != nil {
		return err
	}
	if w.noSync || planted == "the log is not synced" {
		return nil
	}
	if err := w.file.Sync(); err != nil {
		return fmt.Errorf("%w: %w", errSync, err)
	}
	return nil
}

// took goes on behind a record that the database has.
func (w *wal) took(r *redo) {
	w.size += int64(len(r.b))
	w.number++
}

func (w *wal) head(b []byte, number uint64) {
	binary.BigEndian.PutUint64(b, number)
	binary.BigEndian.PutUint32(b[8:], uint32(len(b)-recordHead))
	binary.BigEndian.PutUint32(b[12:], sumOf(w.id, b[:12], b[recordHead:]))
}

func sumOf(parts ...[]byte) (sum uint32) {
	for _, p := range parts {
		sum = crc32.Update(sum, crcTable, p)
	}
	return sum
}

// logged is what a log was found to hold.
type logged struct {
	base
	id      []byte
	records [][]byte // the writes of each
	torn    int      // bytes behind the last whole record: one that was not answered for
}

// readLog reads a log.
//
// Gives: nil where there is none. Refuses: an error that wraps errLog for one whose head is not
// whole, or where a record is not whole and a later one is.
func readLog(dir string) (*logged, error) {
	b, err := os.ReadFile(filepath.Join(dir, Log))
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return parseLog(b)
}

func parseLog(b []byte) (*logged, error) {
	fixed := len(logMark) + logID + 4
	if len(b) < fixed || string(b[:len(logMark)]) != logMark {
		return nil, fmt.Errorf("%w: it has no head", errLog)
	}
	l := &logged{id: b[len(logMark) : fixed-4]}
	l.page = int(binary.BigEndian.Uint32(b[fixed-4:]))
	if l.page < 1024 || l.page > 65536 || len(b) < headBytes(l.page) {
		return nil, fmt.Errorf("%w: its head is cut short", errLog)
	}
	at := headBytes(l.page)
	if sum := sha256.Sum256(b[:at-sha256.Size]); !bytes.Equal(sum[:], b[at-sha256.Size:at]) {
		return nil, fmt.Errorf("%w: its head is not as it was written", errLog)
	}
	l.stamp = [sha256.Size]byte(b[fixed : fixed+sha256.Size])
	l.metas = b[fixed+sha256.Size : at-sha256.Size]
	for b = b[at:]; len(b) > 0; {
		writes, ok := l.record(b, uint64(len(l.records)+1))
		if !ok {
			break
		}
		l.records = append(l.records, writes)
		b = b[recordHead+len(writes):]
	}
	l.torn = len(b)
	next := uint64(len(l.records) + 1)
	for i := 1; i+recordHead <= len(b) && planted != "a damaged log is cut"; i++ {
		n := binary.BigEndian.Uint64(b[i:])
		if n <= next || n-next > uint64(len(b)) {
			continue
		}
		if _, whole := l.record(b[i:], n); whole {
			return nil, fmt.Errorf("%w: record %d is not as it was written, and record %d behind it is", errLog, next, n)
		}
	}
	return l, nil
}

// record returns the writes of a whole record at the beginning of some bytes.
func (l *logged) record(b []byte, number uint64) (writes []byte, ok bool) {
	if len(b) < recordHead || binary.BigEndian.Uint64(b) != number {
		return nil, false
	}
	size := uint64(binary.BigEndian.Uint32(b[8:]))
	if size == 0 || size > uint64(len(b)-recordHead) {
		return nil, false
	}
	writes = b[recordHead : recordHead+size]
	return writes, sumOf(l.id, b[:12], writes) == binary.BigEndian.Uint32(b[12:])
}

// putBack writes the two first pages of a log's moment into its database. Refuses: errOtherLog
// where the pages that they lead to are others.
func (l *logged) putBack(f *os.File, noSync bool) error {
	if err := l.belongs(f); err != nil {
		return err
	}
	if _, err := f.WriteAt(l.metas, 0); err != nil {
		return err
	}
	if noSync {
		return nil
	}
	return f.Sync()
}

func (l *logged) belongs(f io.ReaderAt) error {
	if sum, err := l.stampOn(f); err != nil || sum != l.stamp {
		return errors.Join(errOtherLog, err)
	}
	return nil
}

// copyWhole copies the database of a folder with a log that nobody uses, and does again in the copy
// what the log says.
//
// Gives: the copy, which the caller removes, and what the log had; "" where there is no log.
func copyWhole(dir string) (path string, found *logged, err error) {
	if _, err := os.Stat(filepath.Join(dir, Log)); err != nil {
		return "", nil, nil
	}
	from, err := os.Open(filepath.Join(dir, File))
	if err != nil {
		return "", nil, err
	}
	defer from.Close() // it was only read
	if err := lock(from, 3*time.Second); err != nil {
		return "", nil, err
	}
	if found, err = readLog(dir); err != nil || found == nil {
		return "", nil, err
	}
	to, err := os.CreateTemp(dir, halfBackup+"*")
	if err != nil { // a folder that cannot be written to
		to, err = os.CreateTemp("", halfBackup+"*")
	}
	if err != nil {
		return "", nil, err
	}
	_, err = io.Copy(to, from)
	if err == nil {
		err = found.putBack(to, true)
	}
	if err = errors.Join(err, to.Close()); err == nil {
		err = found.doneIn(to.Name())
	}
	if err != nil {
		return "", nil, errors.Join(err, removed(to.Name()))
	}
	return to.Name(), found, nil
}

// doneIn does in a database at a log's moment what the log says.
func (l *logged) doneIn(path string) error {
	db, err := bbolt.Open(path, 0o600, Options{NoSync: true}.bolt())
	if err != nil {
		return err
	}
	for i, writes := range l.records {
		if err := db.Update(func(tx *bbolt.Tx) error { return again(tx, writes) }); err != nil {
			return errors.Join(fmt.Errorf("record %d: %w", i+1, err), db.Close())
		}
	}
	err = db.Update(func(tx *bbolt.Tx) error {
		if meta := tx.Bucket(bucketMeta); meta != nil {
			return meta.Delete(metaLog)
		}
		return nil
	})
	return errors.Join(err, db.Close())
}

// removed removes a copy, where one was made.
func removed(copied string) error {
	if copied == "" {
		return nil
	}
	return os.Remove(copied)
}
