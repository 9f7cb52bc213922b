package export

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

var (
	// ErrNot is wrapped if an export is damaged or altered.
	ErrNot = errors.New("the export is not as it was written")
	// ErrUsed is returned for a plant that already has other work.
	ErrUsed = errors.New("the plant has records that are not of this export: it goes into a new one")
)

func not(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrNot, fmt.Sprintf(format, args...))
}

// Is reports whether a folder is an export.
func Is(dir fs.FS) bool {
	_, err := ReadAbout(dir)
	return err == nil
}

// ReadAbout reads an export's description of itself.
func ReadAbout(dir fs.FS) (a About, err error) {
	b, err := fs.ReadFile(dir, "export.json")
	if err != nil {
		return a, err
	}
	if err := json.Unmarshal(b, &a); err != nil || a.Format != Format {
		return a, not("export.json is not of the form %s", Format)
	}
	return a, nil
}

// Sums checks every file of an export against its hash and returns their names. Files that are not
// listed were added by somebody and do not count.
//
// Refuses: ErrNot with the first file that is missing or altered.
func Sums(dir fs.FS) (names map[string]bool, err error) {
	list, err := fs.ReadFile(dir, sumsFile)
	if err != nil {
		return nil, err
	}
	names = map[string]bool{}
	for line := range strings.Lines(string(list)) {
		sum, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if !ok || !fs.ValidPath(name) {
			return nil, not("a line of %s: %q", sumsFile, line)
		}
		h := sha256.New()
		f, err := dir.Open(name)
		if err != nil {
			return nil, not("%s: %v", name, err)
		}
		_, err = bufio.NewReader(f).WriteTo(h)
		if err := errors.Join(err, f.Close()); err != nil {
			return nil, err
		}
		if hex.EncodeToString(h.Sum(nil)) != sum {
			return nil, not("%s was altered", name)
		}
		names[name] = true
	}
	for _, name := range []string{"export.json", changesFile} {
		if !names[name] {
			return nil, not("%s is not in %s", name, sumsFile)
		}
	}
	return names, nil
}

// Changes calls each for the changes of an export, one after another.
func Changes(dir fs.FS, each func(change.Change) error) error {
	f, err := dir.Open(changesFile)
	if err != nil {
		return err
	}
	defer f.Close() // opened for reading only
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, change.MaxBytes+1)
	for n := 1; lines.Scan(); n++ {
		c, err := change.Parse(lines.Bytes())
		if err != nil {
			return not("%s, line %d: %v", changesFile, n, err)
		}
		if err := each(c); err != nil {
			return err
		}
	}
	return lines.Err()
}

// Bring imports an export into a new plant: its files, the documents of its certificates and its
// changes. It can continue an import that broke off.
//
// Refuses: ErrNot; ErrUsed.
func Bring(ctx context.Context, s *store.Store, dir fs.FS) (About, error) {
	a, err := ReadAbout(dir)
	if err != nil {
		return a, err
	}
	names, err := Sums(dir)
	if err != nil {
		return a, err
	}
	known := map[string]bool{}
	err = Changes(dir, func(c change.Change) error {
		known[c.ID] = true
		return nil
	})
	if err != nil {
		return a, err
	}
	if err := unused(s, known); err != nil {
		return a, err
	}
	for name := range names {
		if err := bringFile(s, dir, name); err != nil {
			return a, err
		}
	}
	const most = 500
	var list []change.Change
	add := func() error {
		r, err := s.Add(ctx, list)
		if err != nil {
			return err
		}
		for id, reason := range r.Refused {
			return not("the change %s: %v", id, reason)
		}
		list = nil
		return nil
	}
	err = Changes(dir, func(c change.Change) error {
		if list = append(list, c); len(list) < most {
			return nil
		}
		return add()
	})
	if err == nil && len(list) > 0 {
		err = add()
	}
	if err == nil {
		err = bringPapers(s, dir)
	}
	return a, err
}

// unused refuses a store that has work from outside the export.
func unused(s *store.Store, known map[string]bool) error {
	const piece = 1000
	for at := uint64(0); ; {
		list, next, err := s.Since(at, piece, nil)
		if err != nil || len(list) == 0 {
			return err
		}
		for i := range list {
			c := &list[i].Change
			if !known[c.ID] && c.Kind != "person" && c.Kind != "key" {
				return ErrUsed
			}
		}
		at = next
	}
}

// bringFile stores a file that is named by its hash, or is a certificate.
func bringFile(s *store.Store, dir fs.FS, name string) error {
	switch path.Dir(name) {
	case "files", "certificates":
	default:
		return nil
	}
	b, err := fs.ReadFile(dir, name)
	if err != nil {
		return err
	}
	if path.Dir(name) == "certificates" && path.Ext(name) != ".pdf" {
		return nil
	}
	return s.PutBlob(sumOf(b), b)
}

func sumOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// bringPapers stores the documents of certificates that the office would otherwise draw on demand
// with its own key, so that they stay as they were.
func bringPapers(s *store.Store, dir fs.FS) error {
	b, err := fs.ReadFile(dir, "certificates.json")
	if err != nil {
		return err
	}
	var rows []struct{ Certificate, PDF, XML, Record string }
	if err := json.NewDecoder(bytes.NewReader(b)).Decode(&rows); err != nil {
		return not("certificates.json: %v", err)
	}
	for _, row := range rows {
		state, ok, err := s.Record(row.Certificate)
		if err != nil {
			return err
		}
		if !ok || !drawnEachTime(state) {
			continue
		}
		var papers office.Brought
		for _, p := range []struct {
			name string
			to   *string
		}{{row.PDF, &papers.PDF}, {row.XML, &papers.XML}, {row.Record, &papers.Record}} {
			if p.name == "" {
				continue
			}
			b, err := fs.ReadFile(dir, p.name)
			if err != nil {
				return err
			}
			*p.to = sumOf(b)
			if err := s.PutBlob(*p.to, b); err != nil {
				return err
			}
		}
		if err := office.KeepBrought(s, row.Certificate, papers); err != nil {
			return err
		}
	}
	return nil
}

// drawnEachTime reports whether a certificate has no document on record.
func drawnEachTime(s merge.State) bool {
	c, err := plant.ReadCertificate(s)
	return err == nil && c.PDF == "" && c.Letterhead != nil
}
