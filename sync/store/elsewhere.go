package store

import (
	"errors"
	"os"
	"path/filepath"
	"time"

	"gaugewright/sync/engine"
)

// ErrUnfinished is returned for a database into which a plant was moved incompletely.
var ErrUnfinished = errors.New("a plant was begun to be moved here and is not whole; move it again")

// PlantIn reports whether a database has a plant. Refuses: ErrUnfinished.
func PlantIn(db engine.DB) (there bool, err error) {
	err = db.View(func(of engine.Tx) error {
		there, err = plantIn(&transaction{Tx: of})
		return err
	})
	return there, err
}

func plantIn(tx *transaction) (there bool, err error) {
	there = schemaOf(tx) > 0
	if there {
		return true, nil
	}
	return false, tx.Each(func([]byte, engine.Bucket) error { return ErrUnfinished })
}

// OpenOn opens a store in a database of another engine, and makes it if there is none. Any number
// of other programs may have it open too. The folder has the blobs: all of those programs need the
// same folder, unless the options keep blobs elsewhere. Closing the store closes the database.
func OpenOn(db engine.DB, folder string, o Options) (s *Store, err error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.SyncFolder == nil {
		o.SyncFolder = SyncFolder
	}
	s = &Store{
		other: db, dir: db.Name(), folder: folder, options: o,
		queue: make(chan *batch, maxWaiting), done: make(chan struct{}), ends: make(chan struct{}),
	}
	if err := os.MkdirAll(filepath.Join(folder, "blobs"), 0o700); err != nil {
		return nil, errors.Join(&Error{"make", folder, err, ""}, db.Close())
	}
	_, err = PlantIn(db)
	if err == nil {
		err = s.migrate()
	}
	if err == nil {
		err = s.noteLength()
	}
	if err != nil {
		return nil, errors.Join(&Error{"open", s.dir, err, ""}, db.Close())
	}
	go s.write()
	s.following.Go(s.follow)
	return s, nil
}

// Place is what messages call the location of the store: its folder, or a database without its
// password.
func (s *Store) Place() string { return s.dir }

// Shared reports whether other programs may have the store open too, so that anything remembered
// from it may be out of date.
func (s *Store) Shared() bool { return s.other != nil }

// Alone waits until no program that has the store open does the job of that name, and returns a
// function that lets the next one do it. With a folder, which only one program opens, that program
// needs its own locks besides.
func (s *Store) Alone(name string) (free func(), err error) {
	if s.other == nil {
		return func() {}, nil
	}
	if free, err = s.other.Alone(name); err != nil {
		return nil, &Error{"wait in", s.dir, err, ""}
	}
	return free, nil
}

// Version returns a number that changes with every write by any program to a shared store.
func (s *Store) Version() (int64, error) {
	if s.other == nil {
		return 0, nil
	}
	return s.other.Version()
}

// Size returns how many bytes the database takes.
func (s *Store) Size() (int64, error) {
	if s.other != nil {
		return s.other.Size()
	}
	info, err := os.Stat(filepath.Join(s.folder, File))
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

// follow announces the journal's growth when another program wrote to it.
func (s *Store) follow() {
	for {
		select {
		case <-s.ends:
			return
		case <-s.other.News():
		}
		was := s.announced.Load()
		if err := s.noteLength(); err == nil && s.announced.Load() != was { // after an error the next news announce the same
			s.tellGrown()
		}
	}
}

func (s *Store) noteLength() error {
	last, err := s.Last()
	if err == nil {
		s.announced.Store(max(last, s.announced.Load()))
	}
	return err
}

// CheckIt is Check for an open store that others may be writing to. It checks the store as it is at
// one moment.
func (s *Store) CheckIt() (r Report, err error) {
	defer s.ReadsAll()()
	w := &walk{dir: s.folder, elsewhere: s.options.Blobs, report: &r, named: map[string]int{}}
	if err := s.view(w.database); err != nil {
		return Report{}, &Error{"check", s.dir, err, ""}
	}
	if err := w.blobs(); err != nil {
		return Report{}, &Error{"check the blobs of", s.folder, err, ""}
	}
	w.count()
	return r, nil
}
