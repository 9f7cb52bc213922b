package world

import (
	"bytes"
	"context"
	"errors"
	"os"
	"sync/atomic"

	"gaugewright/sync/engine"
	"gaugewright/sync/postgres"
	"gaugewright/sync/store"
)

// mortal is an office's database whose server may end between two transactions: from then on nothing
// is read or written any more.
type mortal struct {
	engine.DB
	left atomic.Int64 // transactions until it ends; below 0 for none known
	dead atomic.Bool
}

var errEnded = errors.New("the server has ended")

func (m *mortal) Update(work func(engine.Tx) error) error {
	if m.left.Load() == 0 {
		m.dead.Store(true)
	}
	if m.dead.Load() {
		return errEnded
	}
	if m.left.Load() > 0 {
		m.left.Add(-1)
	}
	return m.DB.Update(work)
}

func (m *mortal) View(work func(engine.Tx) error) error {
	if m.dead.Load() {
		return errEnded
	}
	return m.DB.View(work)
}

// openElsewhere opens an office's plant in PostgreSQL.
func openElsewhere(n *node) (*store.Store, error) {
	db, err := postgres.Open(context.Background(), n.address, postgres.Options{Unsafe: true})
	if err != nil {
		return nil, err
	}
	m := &mortal{DB: db}
	m.left.Store(-1)
	n.mortal = m
	o := n.options()
	return store.OpenOn(m, n.dir, store.Options{Now: o.Now})
}

// ending lets the server of a plant in a database end somewhere in work, and starts another one.
func (n *node) ending(work func()) {
	w := n.w
	n.mortal.left.Store(int64(w.rng.IntN(4)))
	work()
	n.mortal.left.Store(-1)
	n.close()
	n.open()
}

// refuses says whether a node cannot take what is sent, for want of room or because it has ended.
func (n *node) refuses() bool { return len(n.full) > 0 || n.mortal != nil && n.mortal.dead.Load() }

// checkElsewhere is checkFolders of a plant in a database.
func (n *node) checkElsewhere() (store.Report, error) {
	s, err := openElsewhere(n)
	if err != nil {
		return store.Report{}, err
	}
	r, err := s.CheckIt()
	return r, errors.Join(err, s.Close())
}

// restoreElsewhere brings a backup back into another, empty plant of the same server.
func restoreElsewhere(n *node, backup []byte, plant func() string) error {
	r, err := store.Restore(n.dir, bytes.NewReader(backup))
	if err != nil || len(r.Damage) > 0 {
		return errors.Join(err, errors.New("a restored copy is damaged"))
	}
	from, err := store.Open(n.dir)
	if err != nil {
		return err
	}
	n.address = plant()
	to, err := postgres.Open(context.Background(), n.address, postgres.Options{Unsafe: true})
	if err != nil {
		return errors.Join(err, from.Close())
	}
	err = from.MoveTo(to, func(int) {})
	return errors.Join(err, to.Close(), from.Close(), os.Remove(n.dir+"/"+store.File))
}
