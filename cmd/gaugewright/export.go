package main

import (
	"archive/zip"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/export"
	"gaugewright/server/office"
	"gaugewright/sync/store"
)

// several is a flag that may be given several times, each time NAME=VALUE; a name may be repeated.
type several map[string][]string

func (p several) String() string { return "" }

func (p several) Set(s string) error {
	name, value, ok := strings.Cut(s, "=")
	if !ok || !slices.Contains(office.Filters(), name) {
		return fmt.Errorf("%q is not NAME=VALUE with one of: %s", s, strings.Join(office.Filters(), " "))
	}
	p[name] = append(p[name], value)
	return nil
}

// exportPlant exports everything in a data folder that no program is using, or what belongs to some
// of its instruments.
func exportPlant(args []string, _ io.Reader, out, warn io.Writer) (err error) {
	f := flag.NewFlagSet("export --data DIR [options] FOLDER|FILE.zip", flag.ContinueOnError)
	f.SetOutput(warn)
	at := placeOf(f)
	q := office.Query{Only: several{}, Most: 1, IDs: true}
	f.StringVar(&q.Text, "find", "", "only instruments that answer these words, as the register's search does")
	f.Var(
		several(q.Only), "only",
		"NAME=VALUE: only those that have it, such as area=North; several of a name: any of them",
	)
	f.StringVar(&q.Due, "due", "", "only those that are overdue, none, or due by a day such as 2027-03-01")
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if err := at.named(); err != nil {
		return err
	}
	if f.NArg() != 1 {
		return errors.New("name one folder that is not there yet, or a file that ends with .zip")
	}
	if _, err := os.Stat(at.data); err != nil {
		return fmt.Errorf("the data folder: %w", err)
	}
	s, err := at.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	k, err := auth.New(s, time.Now)
	if err != nil {
		return err
	}
	o := office.New(s, k, time.Now)
	want, err := o.Wanted(q)
	if err != nil {
		return err
	}
	var about export.About
	wanted := export.Wanted{Instruments: want.Instruments, Part: want.Part}
	if name := f.Arg(0); strings.HasSuffix(name, ".zip") {
		_, err = writeNew(name, func(w io.Writer) error {
			z := export.NewZip(w)
			if about, err = export.Write(s, o, wanted, z); err != nil {
				return err
			}
			return z.Close()
		})
	} else {
		var to export.Sink
		if to, err = export.Folder(name); err == nil {
			about, err = export.Write(s, o, wanted, to)
		}
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%d records with %d changes are in %s\n", about.Records, about.Changes, f.Arg(0))
	return err
}

// exported opens what may be an export: a folder, or a zip of one. close is nil if it is neither.
func exported(path string) (dir fs.FS, done func() error, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, nil, err
	}
	if info.IsDir() {
		if dir = os.DirFS(path); export.Is(dir) {
			return dir, func() error { return nil }, nil
		}
		return nil, nil, nil
	}
	z, err := zip.OpenReader(path)
	if err != nil {
		return nil, nil, nil //nolint:nilerr // not an export
	}
	if export.Is(z) {
		return z, z.Close, nil
	}
	return nil, nil, z.Close()
}

// bring takes an export into a new plant.
func bring(at *plantAt, dir fs.FS, writing bool, out io.Writer) (err error) {
	about, err := export.ReadAbout(dir)
	if err == nil {
		_, err = export.Sums(dir)
	}
	if err != nil {
		return err
	}
	if !writing {
		_, err := fmt.Fprintf(
			out, "an export of %d records with %d changes, whole; nothing was written; with --write it is\n",
			about.Records, about.Changes,
		)
		return err
	}
	if at.address != "" {
		return errors.New("an export is brought into a folder; move it into the database then")
	}
	s, err := store.Open(at.data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if _, err := export.Bring(context.Background(), s, dir); err != nil {
		return err
	}
	err = s.Note(store.Event{Kind: "export_brought_in", Detail: fmt.Sprintf("%d records", about.Records)})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%d records with %d changes are in %s\n", about.Records, about.Changes, at.data)
	return err
}
