package postgres

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"gaugewright/sync/engine"

	"github.com/jackc/pgx/v5"
)

// tx is a transaction. If one of its statements fails, it ends the work by a panic with failed,
// which run returns as an error: no reader must ever take a broken connection for a missing key.
type tx struct {
	db      *DB
	conn    *pgx.Conn
	number  int64 // the plant's number as the transaction sees it
	buckets map[string]*bucket
	highest int64             // number of a bucket
	read    map[string][]byte // what was read, by place; nil for a missing key
	size    int               // of read, in bytes
	writes  bool
	dropped []int64 // buckets that are deleted with everything in them
	foreign bool
}

// maxRead is how many bytes of reads a transaction keeps beside what the program remembers.
const maxRead = 16 << 20

type failed struct{ err error }

var (
	errReads  = errors.New("a transaction that reads does not write")
	errBucket = errors.New("a bucket of this name is there, or the name cannot be one")
)

// run returns the error of the work, and the error of the database.
func run(t *tx, work func(engine.Tx) error) (own, base error) {
	defer func() {
		if p := recover(); p != nil {
			f, ok := p.(failed)
			if !ok {
				panic(p)
			}
			own, base = nil, f.err
		}
	}()
	return work(t), nil
}

// begin begins the transaction and in the same piece reads the plant's number and its buckets.
func (t *tx) begin(ctx context.Context, how, lock string) error {
	t.buckets, t.read = map[string]*bucket{}, map[string][]byte{}
	var batch pgx.Batch
	batch.Queue(how)
	batch.Queue("select number from gaugewright_plants where plant = $1"+lock, t.db.plant)
	batch.Queue("select bucket, path, sequence from gaugewright_buckets where plant = $1", t.db.plant)
	all := t.conn.SendBatch(ctx, &batch)
	_, err := all.Exec()
	if err == nil {
		err = all.QueryRow().Scan(&t.number)
	}
	if err != nil {
		return errors.Join(err, all.Close())
	}
	rows, err := all.Query()
	if err != nil {
		return errors.Join(err, all.Close())
	}
	for rows.Next() {
		b := &bucket{tx: t}
		var path []byte
		if err := rows.Scan(&b.id, &path, &b.sequence); err != nil {
			rows.Close()
			return errors.Join(err, all.Close())
		}
		b.path = string(path)
		t.buckets[b.path] = b
		t.highest = max(t.highest, b.id)
	}
	return errors.Join(rows.Err(), all.Close())
}

func (t *tx) query(sql string, args ...any) pgx.Rows {
	ctx, cancel := context.WithTimeout(t.db.ending, statementTime)
	rows, err := t.conn.Query(ctx, sql, args...)
	if err != nil {
		cancel()
		panic(failed{err})
	}
	return timed{rows, cancel}
}

// timed ends the time limit of a statement together with its rows.
type timed struct {
	pgx.Rows
	cancel context.CancelFunc
}

func (t timed) Close() { t.Rows.Close(); t.cancel() }

// Foreign reports whether another program may have written since this one did.
func (t *tx) Foreign() bool { return t.foreign }

func (t *tx) at(path string) engine.Bucket {
	if b := t.buckets[path]; b != nil {
		return b
	}
	return nil
}

// Bucket returns a bucket by its name, or nil if there is none.
func (t *tx) Bucket(name []byte) engine.Bucket { return t.at(string(name)) }

// CreateBucket makes a bucket.
func (t *tx) CreateBucket(name []byte) (engine.Bucket, error) { return t.create("", name) }

func (t *tx) create(in string, name []byte) (engine.Bucket, error) {
	path := in + string(name)
	if !t.writes {
		return nil, errReads
	}
	if t.buckets[path] != nil || len(name) == 0 || bytes.IndexByte(name, 0) >= 0 {
		return nil, fmt.Errorf("%w: %q", errBucket, name)
	}
	t.highest++
	b := &bucket{tx: t, id: t.highest, path: path, made: true, changed: true}
	t.buckets[path] = b
	return b, nil
}

// DeleteBucket removes a bucket with everything in it.
func (t *tx) DeleteBucket(name []byte) error {
	if !t.writes {
		return errReads
	}
	if t.buckets[string(name)] == nil {
		return fmt.Errorf("there is no bucket %q", name)
	}
	for path, b := range t.buckets {
		if path == string(name) || strings.HasPrefix(path, string(name)+"\x00") {
			if !b.made {
				t.dropped = append(t.dropped, b.id)
			}
			delete(t.buckets, path)
		}
	}
	return nil
}

// Each calls f with every bucket at the top.
func (t *tx) Each(f func(name []byte, b engine.Bucket) error) error {
	for _, path := range slices.Sorted(maps.Keys(t.buckets)) {
		if strings.Contains(path, "\x00") {
			continue
		}
		if err := f([]byte(path), t.buckets[path]); err != nil {
			return err
		}
	}
	return nil
}

// known returns a value that was read before.
func (t *tx) known(at string) (v []byte, known bool) {
	if v, known = t.read[at]; !known {
		v, known = t.db.remember.get(t.number, at)
	}
	return v, known
}

func (t *tx) keep(found map[string][]byte) {
	t.db.remember.took(t.number, found)
	if t.size > maxRead {
		t.read, t.size = map[string][]byte{}, 0
	}
	for at, v := range found {
		t.read[at] = v
		t.size += len(at) + len(v)
	}
}

type bucket struct {
	tx       *tx
	id       int64
	path     string // its names, with a 0 between two
	sequence int64
	changed  bool // the sequence, or the bucket is new
	made     bool // in this transaction
	written  []write
}

// write is a value that was put, or nil for a deleted key.
type write struct{ key, value []byte }

func byKey(w write, key []byte) int { return bytes.Compare(w.key, key) }

// Bucket returns a bucket within this one, or nil if there is none.
func (b *bucket) Bucket(name []byte) engine.Bucket { return b.tx.at(b.path + "\x00" + string(name)) }

// CreateBucket makes a bucket within this one.
func (b *bucket) CreateBucket(name []byte) (engine.Bucket, error) {
	return b.tx.create(b.path+"\x00", name)
}

// Sequence returns the number that SetSequence set.
func (b *bucket) Sequence() uint64 { return uint64(b.sequence) }

// SetSequence sets the bucket's number.
func (b *bucket) SetSequence(n uint64) error {
	if !b.tx.writes {
		return errReads
	}
	b.sequence, b.changed = int64(n), true
	return nil
}

// Get returns the value of a key, or nil if there is none.
func (b *bucket) Get(key []byte) []byte {
	if i, found := slices.BinarySearchFunc(b.written, key, byKey); found {
		return b.written[i].value
	}
	if b.made {
		return nil
	}
	at := place(b.id, key)
	if v, known := b.tx.known(at); known {
		return v
	}
	b.fetch([][]byte{key})
	return b.tx.read[at]
}

// Want fetches the values that the caller will ask for next.
func (b *bucket) Want(keys [][]byte) {
	var list [][]byte
	for _, k := range keys {
		if _, known := b.tx.known(place(b.id, k)); !known {
			list = append(list, k)
		}
	}
	if !b.made {
		for some := range slices.Chunk(list, 1000) {
			b.fetch(some)
		}
	}
}

func (b *bucket) fetch(keys [][]byte) {
	found := make(map[string][]byte, len(keys))
	for _, k := range keys {
		found[place(b.id, k)] = nil
	}
	rows := b.tx.query(
		"select key, value from gaugewright_entries where plant = $1 and bucket = $2 and key = any($3::bytea[])",
		b.tx.db.plant, b.id, keys,
	)
	for _, one := range pairs(rows) {
		found[place(b.id, one.key)] = one.value
	}
	b.tx.keep(found)
}

// pairs reads all rows.
func pairs(rows pgx.Rows) (list []write) {
	defer rows.Close()
	for rows.Next() {
		var one write
		if err := rows.Scan(&one.key, &one.value); err != nil {
			panic(failed{err})
		}
		if one.value == nil {
			one.value = []byte{}
		}
		one.key, one.value = slices.Clip(one.key), slices.Clip(one.value)
		list = append(list, one)
	}
	if err := rows.Err(); err != nil {
		panic(failed{err})
	}
	return list
}

// maxKey is the longest key that every database of the protocol can index.
const maxKey = 2000

var errKey = fmt.Errorf("a key has 1 to %d bytes", maxKey)

// Put keeps a value.
func (b *bucket) Put(key, value []byte) error {
	if len(key) == 0 || len(key) > maxKey {
		return errKey
	}
	return b.set(key, append([]byte{}, value...))
}

// Delete removes a key; a missing key is no error.
func (b *bucket) Delete(key []byte) error { return b.set(key, nil) }

func (b *bucket) set(key, value []byte) error {
	if !b.tx.writes {
		return errReads
	}
	i, found := slices.BinarySearchFunc(b.written, key, byKey)
	if found {
		b.written[i].value = value
		return nil
	}
	b.written = slices.Insert(b.written, i, write{bytes.Clone(key), value})
	return nil
}

// Each calls f with every key in order, and with every bucket within this one, which has no value.
func (b *bucket) Each(f func(key, value []byte) error) error {
	for _, path := range slices.Sorted(maps.Keys(b.tx.buckets)) {
		name, in := strings.CutPrefix(path, b.path+"\x00")
		if !in || strings.Contains(name, "\x00") {
			continue
		}
		if err := f([]byte(name), nil); err != nil {
			return err
		}
	}
	c := b.Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		if err := f(k, v); err != nil {
			return err
		}
	}
	return nil
}

// Cursor returns a cursor that has no place yet.
func (b *bucket) Cursor() engine.Cursor { return &cursor{b: b} }
