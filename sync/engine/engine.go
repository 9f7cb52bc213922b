// Package engine says what sync/store needs of a database: buckets with keys in byte order, one
// writer at a time, and readers that see one moment. It has no code. sync/store brings bbolt,
// sync/postgres any database that speaks PostgreSQL's protocol. It must never know what a change
// is.
package engine

// DB is an open database.
type DB interface {
	// View calls work with the database as it is at one moment.
	View(work func(Tx) error) error
	// Update calls work with a transaction and returns when the transaction is safe. Nobody else
	// writes meanwhile, in this program or another. Update calls work again if the database could
	// not serialize the transaction or its connection broke, so work must do everything within the
	// transaction.
	Update(work func(Tx) error) error
	// News receives a value some time after another program wrote. Several writes may share one
	// value.
	News() <-chan struct{}
	// Alone waits until no program does the job of that name, and returns a function that lets the
	// next one do it.
	Alone(name string) (free func(), err error)
	// Version returns a number that changes with every write by any program.
	Version() (int64, error)
	// Size returns how many bytes the database takes.
	Size() (int64, error)
	// Name is what messages call the database. It holds no secret.
	Name() string
	Close() error
}

// Tx is a transaction. Callers must not alter bytes that they get from one.
type Tx interface {
	// Bucket returns a bucket by its name, or nil if there is none.
	Bucket(name []byte) Bucket
	CreateBucket(name []byte) (Bucket, error)
	// DeleteBucket removes a bucket with all that is in it.
	DeleteBucket(name []byte) error
	// Each calls f with every bucket at the top.
	Each(f func(name []byte, b Bucket) error) error
	// Foreign reports whether another program may have written since this one did.
	Foreign() bool
}

// Bucket maps keys to values and may hold other buckets.
type Bucket interface {
	// Bucket returns a bucket within this one, or nil if there is none.
	Bucket(name []byte) Bucket
	CreateBucket(name []byte) (Bucket, error)
	// Get returns the value of a key, or nil if there is none.
	Get(key []byte) []byte
	Put(key, value []byte) error
	Delete(key []byte) error
	// Want announces the keys that the caller will ask for next, so that an engine with slow
	// lookups fetches them in one piece.
	Want(keys [][]byte)
	// Each calls f with every key in order, and with every bucket within this one, which has no
	// value.
	Each(f func(key, value []byte) error) error
	Cursor() Cursor
	Sequence() uint64
	SetSequence(n uint64) error
}

// Cursor walks the keys of a bucket in order. A key is nil past the ends. The walk may or may not
// meet what is written meanwhile.
type Cursor interface {
	First() (key, value []byte)
	Last() (key, value []byte)
	Next() (key, value []byte)
	Prev() (key, value []byte)
	// Seek goes to a key, or to the next one if it is missing.
	Seek(to []byte) (key, value []byte)
}
