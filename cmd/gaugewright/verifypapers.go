package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gaugewright/server/office"
	"gaugewright/server/paper"
	"gaugewright/server/plant"
	"gaugewright/server/verify"
	"gaugewright/sync/store"
)

// trust is what files are verified with: the office's keys, or the list that anybody gets.
type trust struct {
	ring *office.Ring
	list *paper.List
}

// readTrust reads a file of keys: the reply of GET /api/keys or of GET /api/verify.
func readTrust(path string) (t trust, err error) {
	if path == "" {
		return t, nil
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return t, err
	}
	if l, err := paper.ReadList(b, nil); err == nil {
		return trust{list: &l}, nil
	}
	r, err := verify.ReadRing(b)
	if err != nil {
		return t, err
	}
	l := paper.List{Format: paper.ListFormat}
	for _, k := range r.Keys {
		if k.Of != "office" {
			continue
		}
		one := paper.Key{Public: k.Public, From: k.Made}
		if k.Ended != nil {
			one.Until, one.Why = k.Ended.At, k.Ended.Why
		}
		l.Keys = append(l.Keys, one)
	}
	return trust{&r, &l}, nil
}

var errKeys = errors.New("--keys names no file of keys; GET /api/verify or GET /api/keys gives one")

// papers reports whether a path has papers: a file of a certificate, or a folder that is no data
// folder.
func papers(path string) (bool, error) {
	info, err := os.Stat(path)
	if err != nil {
		return false, err
	}
	if info.IsDir() {
		_, err := os.Stat(filepath.Join(path, store.File))
		return errors.Is(err, os.ErrNotExist), nil
	}
	b, err := os.ReadFile(path)
	return err == nil && paperFile(b), err
}

// paperFile reports whether bytes are a certificate's PDF, XML, record or code, rather than the
// evidence that it rests on.
func paperFile(b []byte) bool {
	return slices.ContainsFunc([]string{"%PDF", "<?xml", `{"payload":`, "gw1.", "http"}, func(start string) bool {
		return bytes.HasPrefix(b, []byte(start))
	})
}

// verifyPapers checks a certificate's file, or all of those in a folder, and reports what verifies
// in each.
func verifyPapers(path string, t *trust, out io.Writer) error {
	if t.list == nil {
		return errKeys
	}
	var files []string
	if err := filepath.WalkDir(path, func(file string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			files = append(files, file)
		}
		return err
	}); err != nil {
		return err
	}
	bad, looked := 0, 0
	for _, file := range files {
		b, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		if len(files) > 1 && !paperFile(b) {
			if _, err := fmt.Fprintf(out, "%s: not a file of a certificate; left out\n", file); err != nil {
				return err
			}
			continue
		}
		looked++
		if isList(b) {
			_, err = fmt.Fprintf(out, "%s: a list of keys\n", file)
		} else {
			err = tellPaper(file, b, t.list, &bad, out)
		}
		if err != nil {
			return err
		}
	}
	if t.ring != nil {
		_, err := fmt.Fprintln(
			out, "note: what was replaced is in the reply of GET /api/verify, and not in this file of keys",
		)
		if err != nil {
			return err
		}
	}
	switch {
	case bad > 0:
		return fmt.Errorf("%w: %d of %d files", paper.ErrNot, bad, looked)
	case looked == 0:
		return errors.New("there is no file of a certificate")
	}
	_, err := fmt.Fprintln(out, "all of it holds")
	return err
}

func isList(b []byte) bool {
	_, err := paper.ReadList(b, nil)
	return err == nil
}

func tellPaper(file string, b []byte, l *paper.List, bad *int, out io.Writer) error {
	f, err := paper.Check(b, l)
	if err != nil {
		*bad++
		_, err = fmt.Fprintf(out, "%s: %v\n", file, err)
		return err
	}
	said := []string{"certificate " + f.Number + " holds: " + f.What}
	if c := f.Code; c != nil {
		more := ""
		if c.Cut {
			more = " …"
		}
		said = append(said, fmt.Sprintf(
			"item %s%s, issued %s, as found: %s, as left: %s, fingerprint %s",
			c.Item, more, c.Date, orNone(plant.VerdictWords(c.Found)), orNone(plant.VerdictWords(c.Left)), c.Print,
		))
	}
	_, err = fmt.Fprintf(out, "%s: %s\n", file, strings.Join(append(said, f.Notes...), "; "))
	return err
}

func orNone(verdict string) string {
	if verdict == "" {
		return "none"
	}
	return verdict
}
