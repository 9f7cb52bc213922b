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
	"math"
	"os"
	"path/filepath"
	"time"

	"go.etcd.io/bbolt"
)

// The write-ahead log takes a transaction's writes and is synced; only then does the database get
// the transaction, and its callers their answer. The database itself is not synced with each
// transaction, so its pages reach the disk in any order. The log's head makes that safe: it has the
// two first pages of the database as they were when all of it was last synced, and until the next
// such moment no page that they lead to is overwritten. After a power cut, the next opening puts
// those two pages back and redoes the log's records.
//
// A log begins with a head: mark, id, page size, stamp, the two pages, SHA-256 of all that. Records
// follow: number from 1, length, checksum over the log's id, number and writes, then the writes
// (transaction.go). A new log is written under another name, synced and renamed.
const (
	// Log is the name of the write-ahead log inside the data folder. It belongs to the database;
	// neither is complete without the other.
	Log = "gaugewright.wal"

	logMark    = "gaugewright wal 1\n"
	logID      = 16
	recordHead = 8 + 4 + 4
	maxRecord  = 1 << 30
)

var (
	crcTable = crc32.MakeTable(crc32.Castagnoli)
	// errLog is wrapped when a log is damaged.
	errLog = errors.New("the write-ahead log is damaged")
	// errOtherLog is returned when a log and a database do not belong together.
	errOtherLog = errors.New("the write-ahead log is of another database, or of another moment of this one")
	// errNoLog is returned when a database was in use and its log is gone.
	errNoLog = errors.New("the database was in use when its program ended, and its write-ahead log " + Log + " is missing")
)

// base is a moment at which the whole database was on the disk.
type base struct {
	page  int    // bytes of a page
	metas []byte // the two first pages
	stamp [sha256.Size]byte
}

// baseOf reads the moment of a database file.
func baseOf(f io.ReaderAt, page int) (b base, err error) {
	b = base{page: page, metas: make([]byte, 2*page)}
	if _, err := f.ReadAt(b.metas, 0); err != nil {
		return base{}, err
	}
	b.stamp, err = b.stampOn(f)
	return b, err
}

// stampOn returns the hash of the pages that the newer of the two first pages names. They differ
// with every transaction, so that a log recognizes its own database.
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

// newLog makes the log that follows a moment, replacing the present one.
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

// errSync is wrapped when a sync failed: from then on it is unknown what is on the disk.
var errSync = errors.New("the disk did not take what was written; start the program again")

// append writes a record and syncs it. After an error that wraps errSync nothing more may be
// written. After any other error, the next record replaces this one.
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

// took moves past a record that the database has.
func (w *wal) took(r *redo) {
	w.size += int64(len(r.b))
	w.number++
}

// undo takes back a record that the database did not take.
func (w *wal) undo() error {
	_, err := w.file.WriteAt(make([]byte, recordHead), w.size)
	if err == nil && !w.noSync {
		err = w.file.Sync()
	}
	if err != nil {
		return fmt.Errorf("%w: %w", errSync, err)
	}
	return nil
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

// logged is the content of a log.
type logged struct {
	base
	id      []byte
	records [][]byte // the writes of each
	end     int64    // where the last one ends
	torn    int      // bytes behind the last intact record: a record that was never answered for
	damage  error    // a record was damaged after it was answered for; records has those before it
}

// readLog reads a log.
//
// Gives: nil if there is none; with damage if a record is damaged and a later one is intact.
// Refuses: an error that wraps errLog if the head is damaged.
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
	all := len(b)
	for b = b[at:]; len(b) > 0; {
		writes, ok := l.record(b, uint64(len(l.records)+1))
		if !ok {
			break
		}
		l.records = append(l.records, writes)
		b = b[recordHead+len(writes):]
	}
	l.torn, l.end = len(b), int64(all-len(b))
	next := uint64(len(l.records) + 1)
	for i := 1; i+recordHead <= len(b) && planted != "a damaged log is cut"; i++ {
		n := binary.BigEndian.Uint64(b[i:])
		if n <= next || n-next > uint64(len(b)) {
			continue
		}
		if _, whole := l.record(b[i:], n); whole {
			l.damage = fmt.Errorf("%w: record %d is not as it was written, and record %d behind it is", errLog, next, n)
			break
		}
	}
	return l, nil
}

// record returns the writes of a complete record at the beginning of some bytes.
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

// newest returns the number of a database's newest transaction: the greater one that an intact one
// of its two first pages names.
func newest(f io.ReaderAt, page int) (tx uint64) {
	for at := range uint64(2) {
		if m, ok := metaAt(f, at*uint64(page)); ok {
			tx = max(tx, m.tx)
		}
	}
	return tx
}

// fits refuses a log of another database (errOtherLog) and a damaged one (errLog). A log that lacks
// the record of a transaction that the database has had is damaged too: each record was synced
// first, so its last record was not torn but altered since.
func (l *logged) fits(f io.ReaderAt) error {
	if sum, err := l.stampOn(f); err != nil || sum != l.stamp {
		return errors.Join(errOtherLog, err)
	}
	if l.damage != nil {
		return l.damage
	}
	has := newest(f, l.page) - newest(bytes.NewReader(l.metas), l.page)
	if n := uint64(len(l.records)); has > n && has < math.MaxInt64 && planted != "a damaged log is cut" {
		return fmt.Errorf("%w: it ends at record %d, and the database has had %d", errLog, n, has)
	}
	return nil
}

// putBack writes the two first pages of a log's moment into its database. Refuses: as fits; if the
// damaged part is to be left out, errOtherLog only.
func (l *logged) putBack(f *os.File, noSync, fallBack bool) error {
	if err := l.fits(f); err != nil && (!fallBack || !errors.Is(err, errLog)) {
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

// copyWhole copies the database of a folder with a log that nobody uses, and redoes the log's
// records in the copy.
//
// Gives: the copy, which the caller removes, and the content of the log; "" if there is no log.
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
	if err != nil { // the folder cannot be written to
		to, err = os.CreateTemp("", halfBackup+"*")
	}
	if err != nil {
		return "", nil, err
	}
	_, err = io.Copy(to, from)
	if err == nil {
		err = found.putBack(to, true, false)
	}
	if err = errors.Join(err, to.Close()); err == nil {
		err = found.doneIn(to.Name())
	}
	if err != nil {
		return "", nil, errors.Join(err, removed(to.Name()))
	}
	return to.Name(), found, nil
}

// doneAgain does again what the log says, many records to a transaction: each would write the pages of
// the one before once more.
func (l *logged) doneAgain(db *bbolt.DB) error {
	for from := 0; from < len(l.records); {
		i := from
		err := db.Update(func(tx *bbolt.Tx) error {
			for size := 0; i < len(l.records) && size < maxLog; i++ {
				if err := again(tx, l.records[i]); err != nil {
					return fmt.Errorf("record %d: %w", i+1, err)
				}
				size += len(l.records[i])
			}
			return nil
		})
		if err != nil {
			return err
		}
		from = i
	}
	return nil
}

// doneIn does in a database at a log's moment what the log says.
func (l *logged) doneIn(path string) error {
	db, err := bbolt.Open(path, 0o600, Options{NoSync: true}.bolt())
	if err != nil {
		return err
	}
	if err := l.doneAgain(db); err != nil {
		return errors.Join(err, db.Close())
	}
	err = db.Update(func(tx *bbolt.Tx) error {
		if meta := tx.Bucket(bucketMeta); meta != nil {
			return meta.Delete(metaLog)
		}
		return nil
	})
	return errors.Join(err, db.Close())
}

// removed removes a copy, if one was made.
func removed(copied string) error {
	if copied == "" {
		return nil
	}
	return os.Remove(copied)
}
