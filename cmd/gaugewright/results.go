package main

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/change"
)

// importResults imports a sheet of past results with the files that it names. The results are
// marked as imported: they were not done, signed or approved here.
func importResults(
	at *plantAt, name string, sheet []byte, o register.Options, papers string, how intake, out io.Writer,
) (err error) {
	r, err := register.ReadResults(name, sheet, o)
	if err != nil {
		return err
	}
	if err := at.there(); err != nil {
		return err
	}
	s, err := at.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if err := r.Check(s); err != nil {
		return err
	}
	if err := r.Report(out, !how.quiet); err != nil {
		return err
	}
	files := map[string][]byte{}
	for _, file := range r.Files() {
		if papers == "" || !filepath.IsLocal(file) {
			return fmt.Errorf("the sheet names the file %q; --files names the folder that it is in", file)
		}
		if files[file], err = os.ReadFile(filepath.Join(papers, file)); err != nil {
			return err
		}
	}
	if !how.write {
		_, err := fmt.Fprintf(out, "nothing was written; with --write the %d new are\n", r.New())
		return err
	}
	author, err := writer(s, how.user)
	if err != nil {
		return err
	}
	kept := func(b []byte) (string, error) {
		sum := sha256.Sum256(b)
		name := hex.EncodeToString(sum[:])
		return name, s.PutBlob(name, b)
	}
	names := map[string]string{}
	for file, b := range files {
		if names[file], err = kept(b); err != nil {
			return err
		}
	}
	from, err := kept(sheet)
	if err != nil {
		return err
	}
	device, err := change.NewID(rand.Reader)
	if err != nil {
		return err
	}
	count, err := plant.HighestCount(s)
	if err != nil {
		return err
	}
	drafter := &plant.Drafter{Device: device, Author: author, Count: count, Random: rand.Reader}
	list, err := r.Changes(drafter, time.Now(), from, names)
	if err != nil {
		return err
	}
	done, err := s.Add(context.Background(), list) // one transaction: all or none
	if err != nil {
		return err
	}
	if len(done.Refused) > 0 {
		return fmt.Errorf("%d tests were refused by the store", len(done.Refused))
	}
	_, err = fmt.Fprintf(out, "%d past results brought in, %d tests left out\n", len(list), r.Bad())
	return err
}
