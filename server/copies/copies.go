// Package copies takes backups of a store while it is served, on a schedule. It reads each back
// before it counts, and keeps as many as configured. It deletes only files that are named as its
// backups, so two servers need two folders.
package copies

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"gaugewright/sync/store"
)

// Plan says when backups are taken, where they go and how long they are kept.
type Plan struct {
	Folder string
	Every  time.Duration
	Keep   Keep
	// Seal encrypts what is written to it; nil leaves the backup readable.
	Seal func(io.Writer) (io.WriteCloser, error)
}

// Copy is a backup in the folder.
type Copy struct {
	Name string // of the file
	At   time.Time
	Size int64
}

const (
	begin    = "gaugewright-"
	layout   = "20060102T150405Z"
	plainEnd = ".backup"
	sealEnd  = ".backup.age"
	sumEnd   = ".sha256"
	// reading is the prefix of the folder, inside the data folder, into which a backup is read
	// back.
	reading = "reading-"
	// plain is the prefix of the copy before it is sealed; the store removes those that a crash
	// left.
	plain = "backup-"
)

// ErrUnread is wrapped when a written backup cannot be read back whole.
var ErrUnread = errors.New("the backup does not come back whole")

// List returns the backups of a folder, the newest first.
func List(folder string) (list []Copy, err error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		at, ok := timeOf(e.Name())
		if !ok || !e.Type().IsRegular() {
			continue
		}
		info, err := e.Info()
		if err != nil {
			return nil, err
		}
		list = append(list, Copy{e.Name(), at, info.Size()})
	}
	slices.SortFunc(list, func(a, b Copy) int { return b.At.Compare(a.At) })
	return list, nil
}

func timeOf(name string) (time.Time, bool) {
	middle, ok := strings.CutPrefix(name, begin)
	if !ok {
		return time.Time{}, false
	}
	for _, end := range []string{sealEnd, plainEnd} {
		if text, ok := strings.CutSuffix(middle, end); ok {
			at, err := time.Parse(layout, text)
			return at, err == nil
		}
	}
	return time.Time{}, false
}

// Take writes one backup and reads it back; then it deletes those that need not be kept.
//
// Takes:   a context that can cancel it; an open store, whose folder has room for a copy and for
// the copy read back; the time.
// Gives:   the backup, with its SHA-256 in a file beside it.
// Refuses: ErrUnread if the copy cannot be read back whole. Then none of it is kept, and nothing
// older is deleted.
func (p *Plan) Take(ctx context.Context, s *store.Store, now time.Time) (c Copy, err error) {
	if err := os.MkdirAll(p.Folder, 0o700); err != nil {
		return Copy{}, err
	}
	copied, err := os.CreateTemp(s.Dir(), plain+"*")
	if err != nil {
		return Copy{}, err
	}
	defer func() { err = errors.Join(err, copied.Close(), os.Remove(copied.Name())) }()
	if err := s.Backup(until{ctx, copied}, true); err != nil {
		return Copy{}, err
	}
	if err := readBack(ctx, s.Dir(), copied); err != nil {
		return Copy{}, err
	}
	end := plainEnd
	if p.Seal != nil {
		end = sealEnd
	}
	c = Copy{Name: begin + now.UTC().Format(layout) + end, At: now.UTC().Truncate(time.Second)}
	if c.Size, err = p.put(ctx, c.Name, copied); err != nil {
		return Copy{}, err
	}
	if err := s.Note(store.Event{Kind: "backup", Detail: "scheduled"}); err != nil {
		return c, err
	}
	return c, p.thin(c.Name)
}

// until is a writer that fails once its context ends.
type until struct {
	ctx context.Context
	io.Writer
}

func (u until) Write(b []byte) (int, error) {
	if err := u.ctx.Err(); err != nil {
		return 0, err
	}
	return u.Writer.Write(b)
}

// reads is a reader that fails once its context ends.
type reads struct {
	ctx context.Context
	io.Reader
}

func (r reads) Read(b []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.Reader.Read(b)
}

// readBack restores a copy into a folder of its own, as a user would, and checks it.
func readBack(ctx context.Context, dir string, copied *os.File) (err error) {
	if _, err := copied.Seek(0, io.SeekStart); err != nil {
		return err
	}
	into, err := os.MkdirTemp(dir, reading+"*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(into)) }()
	r, err := store.Restore(filepath.Join(into, "data"), reads{ctx, copied})
	if ended := ctx.Err(); ended != nil {
		return ended
	}
	if err != nil {
		return fmt.Errorf("%w: %w", ErrUnread, err)
	}
	if len(r.Damage) > 0 {
		return fmt.Errorf("%w: %s", ErrUnread, strings.Join(r.Damage, "; "))
	}
	return nil
}

// put writes the copy under its name, with the hash beside it. Both appear only when they are whole
// and synced.
func (p *Plan) put(ctx context.Context, name string, copied *os.File) (size int64, err error) {
	if _, err := copied.Seek(0, io.SeekStart); err != nil {
		return 0, err
	}
	sum, from := sha256.New(), reads{ctx, copied}
	size, err = Write(filepath.Join(p.Folder, name), func(to io.Writer) error {
		to = io.MultiWriter(to, sum)
		if p.Seal == nil {
			_, err := io.Copy(to, from)
			return err
		}
		sealed, err := p.Seal(to)
		if err != nil {
			return err
		}
		if _, err := io.Copy(sealed, from); err != nil {
			return err // not closed: an aborted file must not look whole
		}
		return sealed.Close()
	})
	if err != nil {
		return 0, err
	}
	_, err = Write(filepath.Join(p.Folder, name+sumEnd), func(to io.Writer) error {
		// the format of sha256sum -c
		_, err := fmt.Fprintf(to, "%s  %s\n", hex.EncodeToString(sum.Sum(nil)), name)
		return err
	})
	return size, err
}

// Write writes a file that appears under its name only when it is whole and synced, and returns its
// size. It replaces a file of that name.
func Write(path string, write func(io.Writer) error) (size int64, err error) {
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".part-*")
	if err != nil {
		return 0, err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	err = errors.Join(write(w), w.Flush(), f.Sync())
	info, statErr := f.Stat()
	if err = errors.Join(err, statErr, f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return 0, errors.Join(err, os.Remove(f.Name()))
	}
	err = store.SyncFolder(filepath.Dir(path))
	if errors.Is(err, errors.ErrUnsupported) || errors.Is(err, syscall.EINVAL) {
		err = nil // some network shares cannot sync a folder; the file itself is synced
	}
	return info.Size(), err
}

// thin deletes the backups that need not be kept, and after each its hash. It keeps the fresh one,
// whatever the dates of the others.
func (p *Plan) thin(fresh string) error {
	list, err := List(p.Folder)
	if err != nil {
		return err
	}
	times := make([]time.Time, len(list))
	for i := range list {
		times[i] = list[i].At
	}
	stays := p.Keep.stays(times)
	for i, c := range list {
		if stays[i] || c.Name == fresh {
			continue
		}
		err = errors.Join(err, os.Remove(filepath.Join(p.Folder, c.Name)))
		if gone := os.Remove(filepath.Join(p.Folder, c.Name+sumEnd)); !errors.Is(gone, os.ErrNotExist) {
			err = errors.Join(err, gone)
		}
	}
	return err
}

// Watcher gets the outcome of each backup.
type Watcher interface {
	Backup(at time.Time, size int64, err error)
	Newest(at time.Time, size int64)
}

const (
	look  = time.Minute      // how often to look at the clock: a machine may sleep
	retry = 10 * time.Minute // after a failed backup
)

// Run takes backups on schedule until the context ends: at once if the newest is older than Every.
func (p *Plan) Run(ctx context.Context, s *store.Store, log *slog.Logger, watcher Watcher) {
	p.removeHalves(s.Dir(), log)
	newest := time.Time{}
	if list, err := List(p.Folder); err == nil && len(list) > 0 {
		newest = list[0].At
		watcher.Newest(list[0].At, list[0].Size)
	}
	wait := time.NewTimer(0)
	defer wait.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-wait.C:
		}
		now := time.Now()
		if now.Before(newest.Add(p.Every)) && !newest.After(now) {
			wait.Reset(look)
			continue
		}
		c, err := p.Take(ctx, s, now)
		if errors.Is(err, context.Canceled) {
			return
		}
		watcher.Backup(c.At, c.Size, err)
		if c.Name != "" {
			newest = c.At // the backup is whole, whatever failed after it
		}
		if err != nil {
			log.Error("the scheduled backup failed", "folder", p.Folder, "error", err)
			wait.Reset(min(retry, p.Every))
			continue
		}
		log.Info("a backup was taken and read back", "file", c.Name, "bytes", c.Size)
		wait.Reset(look)
	}
}

// removeHalves deletes what an unfinished backup left when the program ended.
func (p *Plan) removeHalves(dir string, log *slog.Logger) {
	list, err := filepath.Glob(filepath.Join(dir, reading+"*"))
	halves, err2 := filepath.Glob(filepath.Join(p.Folder, begin+"*Z.backup*.part-*"))
	err = errors.Join(err, err2)
	for _, one := range append(list, halves...) {
		err = errors.Join(err, os.RemoveAll(one))
	}
	if err != nil {
		log.Error("what a broken-off backup left cannot be removed", "error", err)
	}
}
