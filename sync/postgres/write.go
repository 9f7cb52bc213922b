package postgres

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"gaugewright/sync/engine"

	"github.com/jackc/pgx/v5"
)

// View calls work with the database as it is at one moment.
func (db *DB) View(work func(engine.Tx) error) error {
	t := &tx{db: db}
	var done func()
	err := db.patiently(db.ending, func() error {
		ctx, cancel := context.WithTimeout(db.ending, statementTime)
		defer cancel()
		line, err := db.pool.Acquire(ctx)
		if err != nil {
			if db.ending.Err() != nil {
				return errClosed
			}
			return err
		}
		t.conn = line.Conn()
		if err := t.begin(ctx, "begin isolation level repeatable read read only", ""); err != nil {
			_ = line.Conn().Close(ctx) // the pool opens another one
			line.Release()
			return err
		}
		done = func() {
			ctx, cancel := context.WithTimeout(context.Background(), statementTime)
			defer cancel()
			_, _ = line.Exec(ctx, "rollback") // a connection on which that fails is not used again
			line.Release()
		}
		return nil
	})
	if err != nil {
		return err
	}
	defer func() { go done() }() // nobody waits for it
	own, base := run(t, work)
	return errors.Join(own, base)
}

// Update calls work with a transaction and returns when the transaction is safe.
func (db *DB) Update(work func(engine.Tx) error) error {
	db.writing.Lock()
	defer db.writing.Unlock()
	unsure := int64(0)    // the plant's number after a transaction that may or may not have been committed
	refused := error(nil) // by the work
	err := db.patiently(db.ending, func() error {
		if db.closed {
			return errClosed
		}
		t, err := db.beginWriting()
		if err != nil {
			return err
		}
		if unsure > 0 {
			taken, err := db.isTaken(t)
			if err != nil {
				db.hangUp()
				return err
			}
			if taken {
				db.own = unsure
				db.giveUp(t)
				return nil
			}
			unsure = 0
		}
		t.foreign = t.number != db.own
		own, base := run(t, work)
		if base != nil {
			db.hangUp()
			return base
		}
		if own != nil || !t.wrote() {
			refused = own
			db.giveUp(t)
			return nil
		}
		db.count++
		if err := t.commit(); err != nil {
			if broken(err) {
				unsure = t.number + 1
			} else {
				db.count--
			}
			db.hangUp()
			return err
		}
		db.own = t.number + 1
		return nil
	})
	return errors.Join(err, refused)
}

// hangUp closes the writer's connection. The next transaction opens another one.
func (db *DB) hangUp() {
	if db.conn == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	_ = db.conn.Close(ctx) // it may be broken
	db.conn = nil
}

// giveUp rolls a transaction back.
func (db *DB) giveUp(t *tx) {
	ctx, cancel := context.WithTimeout(db.ending, statementTime)
	defer cancel()
	if t.conn.IsClosed() {
		db.conn = nil
		return
	}
	if _, err := t.conn.Exec(ctx, "rollback"); err != nil {
		db.hangUp() // the database rolls back when a connection is lost
	}
}

// comforts make a database notice soon that the server which holds the plant's row is gone. Not
// every database of the protocol has these settings.
var comforts = []string{
	"set idle_in_transaction_session_timeout = '60s'",
	"set tcp_keepalives_idle = 10", "set tcp_keepalives_interval = 5", "set tcp_keepalives_count = 3",
}

// beginWriting locks the plant's row, so that nobody else writes.
func (db *DB) beginWriting() (*tx, error) {
	ctx, cancel := context.WithTimeout(db.ending, statementTime)
	defer cancel()
	if db.conn == nil || db.conn.IsClosed() {
		conn, err := pgx.ConnectConfig(ctx, db.config.Copy())
		if err != nil {
			return nil, err
		}
		db.conn = conn
		for _, one := range comforts {
			if _, err := conn.Exec(ctx, one); err != nil {
				if _, said := serverSaid(err); !said {
					db.hangUp()
					return nil, err
				}
			}
		}
	}
	t := &tx{db: db, conn: db.conn, writes: true}
	// The locked row orders all writers: reads after it see what the previous writer left.
	if err := t.begin(ctx, "begin isolation level read committed", " for update"); err != nil {
		db.hangUp()
		return nil, err
	}
	return t, nil
}

// isTaken reports whether the last transaction of this program was committed.
func (db *DB) isTaken(t *tx) (bool, error) {
	ctx, cancel := context.WithTimeout(db.ending, statementTime)
	defer cancel()
	var count int64
	err := t.conn.QueryRow(
		ctx, "select count from gaugewright_writers where plant = $1 and writer = $2", db.plant, db.writer[:],
	).Scan(&count)
	if errors.Is(err, pgx.ErrNoRows) {
		err = nil
	}
	return err == nil && count == db.count, err
}

func (t *tx) wrote() bool {
	if len(t.dropped) > 0 {
		return true
	}
	for _, b := range t.buckets {
		if b.changed || len(b.written) > 0 {
			return true
		}
	}
	return false
}

// These bound one statement that writes.
const (
	pieceRows  = 5000
	pieceBytes = 8 << 20
)

// rowsOf gathers rows for statements that write them.
type rowsOf struct {
	batch        *pgx.Batch
	sql          string
	plant        int64
	values       bool
	buckets      []int64
	keys, bodies [][]byte
	size         int
}

func (r *rowsOf) add(bucket int64, w write) {
	r.buckets, r.keys = append(r.buckets, bucket), append(r.keys, w.key)
	if r.values {
		r.bodies = append(r.bodies, w.value)
	}
	if r.size += len(w.key) + len(w.value); r.size > pieceBytes || len(r.keys) >= pieceRows {
		r.send()
	}
}

func (r *rowsOf) send() {
	if len(r.keys) == 0 {
		return
	}
	args := []any{r.plant, r.buckets, r.keys}
	if r.values {
		args = append(args, r.bodies)
	}
	r.batch.Queue(r.sql, args...)
	r.buckets, r.keys, r.bodies, r.size = nil, nil, nil, 0
}

const (
	putRows = `insert into gaugewright_entries (plant, bucket, key, value)
		select $1::bigint, b, k, v from unnest($2::bigint[], $3::bytea[], $4::bytea[]) as one (b, k, v)
		on conflict (plant, bucket, key) do update set value = excluded.value`
	deleteRows = `delete from gaugewright_entries as e using unnest($2::bigint[], $3::bytea[]) as one (b, k)
		where e.plant = $1::bigint and e.bucket = one.b and e.key = one.k`
	putBucket = `insert into gaugewright_buckets (plant, bucket, path, sequence) values ($1, $2, $3, $4)
		on conflict (plant, bucket) do update set sequence = excluded.sequence`
	putWriter = `insert into gaugewright_writers (plant, writer, count, at) values ($1, $2, $3, now())
		on conflict (plant, writer) do update set count = excluded.count, at = excluded.at`
	notify = "select pg_notify('gaugewright', $1)"
)

// mark is the message of a notification: the plant that was written.
func (db *DB) mark() string { return strconv.FormatInt(db.plant, 10) }

// commit sends all writes together with the commit, in one piece.
func (t *tx) commit() error {
	var batch pgx.Batch
	if len(t.dropped) > 0 {
		for _, table := range []string{"entries", "buckets"} {
			batch.Queue("delete from gaugewright_"+table+" where plant = $1 and bucket = any($2)", t.db.plant, t.dropped)
		}
	}
	put := &rowsOf{batch: &batch, sql: putRows, plant: t.db.plant, values: true}
	gone := &rowsOf{batch: &batch, sql: deleteRows, plant: t.db.plant}
	written := map[string][]byte{}
	list := make([]*bucket, 0, len(t.buckets))
	for _, b := range t.buckets {
		list = append(list, b)
	}
	slices.SortFunc(list, func(a, b *bucket) int { return int(a.id - b.id) })
	for _, b := range list {
		if b.changed {
			batch.Queue(putBucket, t.db.plant, b.id, []byte(b.path), b.sequence)
		}
		for _, w := range b.written {
			written[place(b.id, w.key)] = w.value
			if w.value == nil {
				gone.add(b.id, w)
			} else {
				put.add(b.id, w)
			}
		}
	}
	put.send()
	gone.send()
	batch.Queue("update gaugewright_plants set number = number + 1 where plant = $1", t.db.plant)
	batch.Queue(putWriter, t.db.plant, t.db.writer[:], t.db.count)
	if t.db.notifies {
		batch.Queue(notify, t.db.mark())
	}
	batch.Queue("commit")
	ctx, cancel := context.WithTimeout(t.db.ending, statementTime)
	defer cancel()
	all := t.conn.SendBatch(ctx, &batch)
	for n := range batch.Len() {
		tag, err := all.Exec()
		if err == nil && n == batch.Len()-1 && tag.String() != "COMMIT" {
			err = fmt.Errorf("the database said %s to a commit", tag)
		}
		if err != nil {
			return errors.Join(err, all.Close())
		}
	}
	if err := all.Close(); err != nil {
		return err
	}
	t.db.remember.wrote(t.number, written, len(t.dropped) > 0)
	return nil
}
