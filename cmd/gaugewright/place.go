package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"

	"gaugewright/sync/postgres"
	"gaugewright/sync/store"
)

// plantAt is where a command finds the plant: in a data folder that no program is using, or in a
// database, whose servers may go on meanwhile.
type plantAt struct{ data, address, bucket string }

// placeOf adds the options that name a plant.
func placeOf(f *flag.FlagSet) *plantAt {
	p := &plantAt{}
	f.StringVar(&p.data, "data", "", "the data folder; without --store no program may be using it")
	f.StringVar(&p.address, "store", "", "the database that has the plant: postgres://…; servers may go on meanwhile")
	f.StringVar(&p.bucket, "blobs", "", "with --store: the bucket that has photos and files: s3://…")
	return p
}

// named says whether the options name a plant.
func (p *plantAt) named() error {
	switch {
	case p.data == "":
		return errors.New("--data names no folder")
	case p.bucket != "" && p.address == "":
		return errors.New("--blobs goes with --store")
	}
	return nil
}

// there says whether a plant is there, where that can be seen before it is opened.
func (p *plantAt) there() error {
	if p.address != "" {
		return nil
	}
	if _, err := os.Stat(filepath.Join(p.data, store.File)); err != nil {
		return fmt.Errorf("%s is no data folder: %w", p.data, err)
	}
	return nil
}

// open opens the plant. In a database it must be there.
func (p *plantAt) open() (*store.Store, error) {
	if p.address == "" {
		return store.Open(p.data)
	}
	db, err := postgres.Open(context.Background(), p.address, postgres.Options{})
	if err != nil {
		return nil, fmt.Errorf("--store: %w", err)
	}
	if there, err := store.PlantIn(db); err != nil || !there {
		return nil, errors.Join(fmt.Errorf("%s: there is no whole plant", db.Name()), err, db.Close())
	}
	return openOn(db, p.data, p.bucket)
}

func (p *plantAt) check() (store.Report, error) {
	if p.address == "" {
		return store.Check(p.data)
	}
	s, err := p.open()
	if err != nil {
		return store.Report{}, err
	}
	r, err := s.CheckIt()
	return r, errors.Join(err, s.Close())
}
