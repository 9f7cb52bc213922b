package office

import (
	"errors"
	"fmt"
	"maps"
	"strings"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"
)

// ErrReading is the answer while the records of a large plant are read for the first time, after
// they came from elsewhere. It is said with how far that is.
var ErrReading = errors.New("the office reads its records for the first time since they came here")

// firstPatience is how long an answer waits for the first reading.
const firstPatience = 20 * time.Second

// loading is a first reading that goes on.
type loading struct {
	done chan struct{}
	part atomic.Int64 // per cent
	err  error        // set before done is closed
}

// begin recalls the lists as they were kept, or begins to read the records, and waits a while for
// that. mu must be held; it is free while begin waits.
//
// Refuses: ErrReading.
func (x *Index) begin() error {
	if x.loading == nil {
		if x.recall() && x.after == nil {
			x.ready()
			return nil
		}
		x.loading = &loading{done: make(chan struct{})}
		go x.loadAside(x.loading)
	}
	l := x.loading
	x.mu.Unlock()
	wait := time.NewTimer(x.patience)
	select {
	case <-l.done:
	case <-wait.C:
	}
	wait.Stop()
	x.mu.Lock()
	select {
	case <-l.done:
		return l.err
	default:
		return reading(uint64(l.part.Load()))
	}
}

// reading is ErrReading with how far it is.
func reading(part uint64) error {
	return fmt.Errorf("%w; %d per cent of it are done, ask again in a minute", ErrReading, part)
}

// firstReading reports whether a first reading goes on, and how many per cent of it are done.
func (x *Index) firstReading() (part uint64, reads bool) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.loading == nil {
		return 0, false
	}
	return uint64(x.loading.part.Load()), true
}

func (x *Index) loadAside(l *loading) {
	err := x.load(l)
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.loading, l.err = nil, err; err == nil {
		x.ready()
	}
	close(l.done)
}

// ready completes the lists when all records are in them.
func (x *Index) ready() {
	x.loaded = true
	for _, c := range x.gauges {
		x.complete(c)
	}
	x.orders.forget()
}

// whole waits until the records are read.
func (x *Index) whole() error {
	for {
		if err := x.following(func() {}); !errors.Is(err, ErrReading) {
			return err
		}
	}
}

// load reads the records of the lists, several kinds at a time. In a large plant that takes minutes:
// what was read is kept meanwhile, and a start after a stop goes on from there.
func (x *Index) load(l *loading) error {
	defer x.store.ReadsAll()()
	x.mu.Lock()
	if x.after == nil {
		last, err := x.store.Last()
		if err != nil {
			x.mu.Unlock()
			return err
		}
		x.cursor, x.after = last, map[string]string{} // what arrives while the records are read is read again
	}
	from, last := maps.Clone(x.after), x.cursor
	x.mu.Unlock()
	var all errgroup.Group
	for _, kind := range []string{"method", "visit", "instrument"} {
		after := from[kind]
		all.Go(func() error {
			for {
				states, err := x.store.ByKind(kind, after, piece)
				if err != nil || len(states) == 0 {
					return err
				}
				after = strings.Clone(states[len(states)-1].ID)
				put := make([]func(), 0, len(states))
				for _, s := range states {
					put = append(put, x.read(s))
				}
				if kind == "visit" { // of which most are
					began, err := x.store.Began(after)
					if err != nil {
						return err
					}
					l.part.Store(int64(100 * began / max(last, began, 1)))
				}
				x.take(kind, after, put)
			}
		})
	}
	if err := all.Wait(); err != nil {
		return err
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	x.after = nil
	if x.keptAt > 0 {
		x.write()
	}
	return nil
}

// take puts records into the lists that were read up to one of a kind.
func (x *Index) take(kind, last string, put []func()) {
	x.mu.Lock()
	defer x.mu.Unlock()
	for _, p := range put {
		p()
	}
	if kind != "method" { // they are few, and all of them are in the head
		x.after[kind] = last
	}
	if len(x.unkept) >= keptLines {
		x.write()
	}
}
