package postgres

import (
	"context"
	"errors"
	"math/rand/v2"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// statementTime bounds one statement, which would wait for ever on a connection that died
// unnoticed.
const statementTime = time.Minute

var errTryAgain = errors.New("another program did the same at once")

// serverSaid returns the database's own error, if that is the cause.
func serverSaid(err error) (*pgconn.PgError, bool) {
	var said *pgconn.PgError
	return said, errors.As(err, &said)
}

// The codes are those of PostgreSQL's manual, appendix A.
const (
	codeUnique          = "23505"
	codeDuplicateTable  = "42P07"
	codeDuplicateObject = "42710"
	codeSerialization   = "40001"
	codeDeadlock        = "40P01"
	codeUnknown         = "40003" // it is unknown whether a statement was executed
	codeReadOnly        = "25006" // from a server that became a replica
)

// isThere reports that another program meanwhile made the table or row that was to be made.
func isThere(err error) bool {
	said, ok := serverSaid(err)
	return ok && (said.Code == codeUnique || said.Code == codeDuplicateTable || said.Code == codeDuplicateObject)
}

// broken reports that the connection broke, or that the server is stopping or still starting: it is
// unknown whether the last statement was executed.
func broken(err error) bool {
	said, ok := serverSaid(err)
	if !ok {
		return err != nil && !errors.Is(err, context.Canceled)
	}
	return said.Code == codeUnknown || strings.HasPrefix(said.Code, "08") || strings.HasPrefix(said.Code, "57P")
}

// passes reports that the same attempt may succeed in a moment.
func passes(err error) bool {
	if errors.Is(err, errTryAgain) {
		return true
	}
	var address *pgconn.ParseConfigError
	if errors.Is(err, ErrUnsafe) || errors.Is(err, errClosed) || errors.As(err, &address) {
		return false
	}
	said, ok := serverSaid(err)
	if !ok {
		return broken(err)
	}
	switch said.Code {
	case codeSerialization, codeDeadlock, codeReadOnly:
		return true
	}
	return broken(err) || strings.HasPrefix(said.Code, "53") // no room for one more connection
}

// patiently repeats work until it succeeds, fails for good, or patience runs out.
func (db *DB) patiently(ctx context.Context, what func() error) error {
	until := time.Now().Add(db.options.Patience)
	pause := 5 * time.Millisecond
	for {
		err := what()
		if err == nil || !passes(err) || time.Now().After(until) {
			return err
		}
		select {
		case <-ctx.Done():
			return err
		case <-time.After(pause/2 + rand.N(pause)):
		}
		pause = min(2*pause, time.Second)
	}
}
