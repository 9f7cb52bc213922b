package postgres

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"
)

// lookAnyway is how often a server looks for news even if the database notifies it, since
// notifications sent while its connection was broken do not come again.
const lookAnyway = 5 * time.Second

// News gets a value some time after another program wrote.
func (db *DB) News() <-chan struct{} { return db.news }

// follow looks for news when the database notifies it, and from time to time.
func (db *DB) follow() {
	seen := int64(-1)
	for db.ending.Err() == nil {
		if db.notifies {
			_ = db.listen(&seen) // the connection broke
		}
		_ = db.look(&seen) // the next look may succeed
		select {
		case <-db.ending.Done():
		case <-time.After(db.options.Poll):
		}
	}
}

// look announces news if the plant's number has changed.
func (db *DB) look(seen *int64) error {
	ctx, cancel := context.WithTimeout(db.ending, statementTime)
	defer cancel()
	var number int64
	err := db.pool.QueryRow(ctx, "select number from gaugewright_plants where plant = $1", db.plant).Scan(&number)
	if err != nil || number == *seen {
		return err
	}
	*seen = number
	select {
	case db.news <- struct{}{}:
	default: // a value that nobody has taken yet announces the same
	}
	return nil
}

// listen looks after each notification, until its connection breaks.
func (db *DB) listen(seen *int64) error {
	conn, err := pgx.ConnectConfig(db.ending, db.config.Copy())
	if err != nil {
		return err
	}
	defer func() {
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		defer cancel()
		_ = conn.Close(ctx) // it may have broken
	}()
	if _, err := conn.Exec(db.ending, "listen gaugewright"); err != nil {
		return err
	}
	for {
		if err := db.look(seen); err != nil {
			return err
		}
		ctx, cancel := context.WithTimeout(db.ending, lookAnyway)
		said, err := conn.WaitForNotification(ctx)
		for err == nil && said.Payload != db.mark() {
			said, err = conn.WaitForNotification(ctx)
		}
		late := errors.Is(ctx.Err(), context.DeadlineExceeded)
		cancel()
		if err != nil && !late {
			return err
		}
		if late && conn.IsClosed() {
			return err
		}
	}
}
