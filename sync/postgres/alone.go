package postgres

import (
	"context"
	"errors"
)

// Alone waits until no program does the job of that name, and returns a function that lets the next
// one do it. A locked row marks the job as taken; the lock ends with its connection.
func (db *DB) Alone(name string) (free func(), err error) {
	err = db.patiently(db.ending, func() error {
		ctx, cancel := context.WithTimeout(db.ending, statementTime)
		defer cancel()
		line, err := db.pool.Acquire(ctx)
		if err != nil {
			return err
		}
		for _, one := range []struct {
			sql  string
			args []any
		}{
			{"insert into gaugewright_locks (plant, name) values ($1, $2) on conflict do nothing", []any{db.plant, name}},
			{"begin isolation level read committed", nil},
			{"select name from gaugewright_locks where plant = $1 and name = $2 for update", []any{db.plant, name}},
		} {
			if _, err := line.Exec(ctx, one.sql, one.args...); err != nil {
				err = errors.Join(err, line.Conn().Close(ctx)) // the pool opens another one
				line.Release()
				return err
			}
		}
		free = func() {
			ctx, cancel := context.WithTimeout(context.Background(), statementTime)
			defer cancel()
			_, _ = line.Exec(ctx, "rollback") // a connection on which that fails is not used again
			line.Release()
		}
		return nil
	})
	return free, err
}

// Version returns a number that changes with every write by any program.
func (db *DB) Version() (n int64, err error) {
	ctx, cancel := context.WithTimeout(db.ending, statementTime)
	defer cancel()
	err = db.pool.QueryRow(ctx, "select number from gaugewright_plants where plant = $1", db.plant).Scan(&n)
	return n, err
}
