package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"gaugewright/server/config"
	"gaugewright/sync/objects"
	"gaugewright/sync/postgres"
	"gaugewright/sync/store"
)

// openElsewhere opens a plant in a database, which other servers may serve too.
func openElsewhere(c config.Config, out io.Writer) (*store.Store, error) {
	db, err := postgres.Open(context.Background(), c.Store, postgres.Options{})
	if err != nil {
		return nil, fmt.Errorf("--store: %w", err)
	}
	there, err := store.PlantIn(db)
	switch {
	case err != nil:
	case there && c.New:
		err = fmt.Errorf("%s: %w", db.Name(), errIsPlant)
	case !there && !c.New:
		err = fmt.Errorf("%s: %w", db.Name(), errNoPlant)
	case !there:
		_, err = fmt.Fprintf(out, "NEW, EMPTY PLANT in %s: start it without --new from now on\n", db.Name())
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return openOn(db, c.Data, c.Blobs)
}

// openOn opens the plant in a database, with its photos and files in the folder, or in a bucket where
// one is named. Where that fails, the database is closed.
func openOn(db *postgres.DB, folder, bucket string) (*store.Store, error) {
	o, err := optionsWith(bucket)
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return store.OpenOn(db, folder, o)
}

func optionsWith(bucket string) (o store.Options, err error) {
	if bucket == "" {
		return o, nil
	}
	b, err := objects.Open(context.Background(), bucket)
	if err != nil {
		return o, fmt.Errorf("--blobs: %w", err)
	}
	o.Blobs = b
	return o, nil
}

// isElsewhere reports whether a plant is named by the address of a database rather than by a
// folder.
func isElsewhere(place string) bool {
	return strings.HasPrefix(place, "postgres://") || strings.HasPrefix(place, "postgresql://")
}

// movedFile is the name of a folder's database after its plant was moved away.
const movedFile = store.File + ".moved"

var (
	errMove = errors.New(
		"usage: gaugewright move [--blobs s3://…] DIR postgres://…, or gaugewright move [--blobs s3://…] postgres://… DIR, " +
			"while no server runs",
	)
	errMovedOther = errors.New("what was moved is not what is there: did a server run meanwhile? Nothing of the source was changed")
)

// move moves a plant from a data folder into a database, or back. Photos and files stay in the
// folder, or are copied into a bucket and back.
func move(args []string, _ io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("move", flag.ContinueOnError)
	f.SetOutput(warn)
	bucket := f.String("blobs", "", "the bucket that photos and files go into, or come from")
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if f.NArg() != 2 || isElsewhere(f.Arg(0)) == isElsewhere(f.Arg(1)) {
		return errMove
	}
	if isElsewhere(f.Arg(0)) {
		return moveBack(f.Arg(0), f.Arg(1), *bucket, out)
	}
	return moveAway(f.Arg(0), f.Arg(1), *bucket, out)
}

// moving says how far a move has come, once a second.
func moving(what string, out io.Writer) func(n int) {
	var last time.Time
	return func(n int) {
		if time.Since(last) > time.Second {
			last = time.Now()
			_, _ = fmt.Fprintf(out, "%d %s are copied\n", n, what) // nobody reads it
		}
	}
}

func moveAway(dir, address, bucket string, out io.Writer) (err error) {
	o, err := optionsWith(bucket)
	if err != nil {
		return err
	}
	before, err := store.Check(dir)
	if err != nil {
		return err
	}
	if len(before.Damage) > 0 {
		return errors.Join(report(before, out), errDamage)
	}
	from, err := store.Open(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, from.Close()) }()
	db, err := postgres.Open(context.Background(), address, postgres.Options{})
	if err != nil {
		return err
	}
	if o.Blobs != nil {
		if err := from.CopyBlobs(o.Blobs, moving("photos and files", out)); err != nil {
			return errors.Join(err, db.Close())
		}
	}
	if err := from.MoveTo(db, moving("keys", out)); err != nil {
		return errors.Join(err, db.Close())
	}
	to, err := store.OpenOn(db, dir, o)
	if err != nil {
		return err
	}
	after, err := to.CheckIt()
	if err = errors.Join(err, to.Close()); err != nil {
		return err
	}
	if err := sameAs(after, before); err != nil {
		return err
	}
	if err := from.Close(); err != nil {
		return err
	}
	if err := os.Rename(filepath.Join(dir, store.File), filepath.Join(dir, movedFile)); err != nil {
		return err
	}
	if err := report(after, out); err != nil {
		return err
	}
	photos, with := "stay in "+dir, "--store"
	if bucket != "" {
		photos, with = "were copied into the bucket", "--store, --blobs"
	}
	_, err = fmt.Fprintf(
		out, "moved. The photos and files %s, the database that was in %s is %s now. Serve it with %s and --data %s\n",
		photos, dir, movedFile, with, dir,
	)
	return err
}

func moveBack(address, dir, bucket string, out io.Writer) (err error) {
	o, err := optionsWith(bucket)
	if err != nil {
		return err
	}
	db, err := postgres.Open(context.Background(), address, postgres.Options{})
	if err != nil {
		return err
	}
	there, err := store.PlantIn(db)
	if err == nil && !there {
		err = fmt.Errorf("%s: there is no plant", db.Name())
	}
	if err != nil {
		return errors.Join(err, db.Close())
	}
	from, err := store.OpenOn(db, dir, o)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, from.Close()) }()
	if o.Blobs != nil {
		if err := store.BringBlobs(dir, o.Blobs, moving("photos and files", out)); err != nil {
			return err
		}
	}
	if err := from.MoveToFolder(dir, moving("keys", out)); err != nil {
		return err
	}
	after, err := store.Check(dir)
	if err != nil {
		return err
	}
	before, err := from.CheckIt()
	if err == nil {
		err = sameAs(after, before)
	}
	if err == nil {
		err = report(after, out)
	}
	if err == nil {
		_, err = fmt.Fprintf(out, "moved. Start no server on the database any more, and serve --data %s\n", dir)
	}
	return err
}

// sameAs compares a moved plant with the original: names, tree, heads and counts.
func sameAs(after, before store.Report) error {
	after.Notes, before.Notes = nil, nil
	if fmt.Sprint(after) != fmt.Sprint(before) {
		return fmt.Errorf("%w: root %s of %d changes, was %s of %d", errMovedOther, after.Root, after.Changes, before.Root, before.Changes)
	}
	return nil
}
