package verify

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	digest "hash"
	"io"
	"io/fs"
	"os"
	"time"

	"gaugewright/server/export"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

// Export checks an export: that no file was altered, that signatures and findings are as valid as
// those of a data folder, and that every table and document is what its changes give.
//
// Takes:   the folder; the keys to check against, nil for those in the export itself.
// Refuses: what Folder refuses.
func Export(dir fs.FS, ring *office.Ring) (r Report, err error) {
	about, err := export.ReadAbout(dir)
	if err != nil {
		return r, not("%v", err)
	}
	place, err := os.MkdirTemp("", "gaugewright-verify-")
	if err != nil {
		return r, err
	}
	defer func() {
		if e := os.RemoveAll(place); err == nil {
			err = e
		}
	}()
	s, err := store.OpenWith(place, store.Options{NoSync: true})
	if err != nil {
		return r, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if _, err := export.Bring(context.Background(), s, dir); err != nil {
		return r, not("%v", err)
	}
	w := newWalk(s, func(entry uint64) plant.Source { return plant.AsOf(s, entry) })
	w.report.Store, w.report.Entries = "export", about.Changes
	w.note("an export has no heads of the journal: it does not show that nothing was left out of it")
	if err := w.records(s, ring); err != nil {
		return w.report, err
	}
	again := &held{dir: dir}
	_, err = export.Write(s, office.New(s, nil, time.Now), export.Wanted{Part: about.Part}, again)
	if err != nil {
		return w.report, err
	}
	return w.report, again.err
}

// held compares what is written with what is there, and stores nothing.
type held struct {
	dir fs.FS
	err error
}

func (h *held) look(name string, sum []byte) error {
	if h.err != nil {
		return nil
	}
	f, err := h.dir.Open(name)
	if err != nil {
		h.err = not("%s: %v", name, err)
		return nil
	}
	there := sha256.New()
	_, err = io.Copy(there, f)
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	if !bytes.Equal(there.Sum(nil), sum) {
		h.err = not("%s is not what the changes make", name)
	}
	return nil
}

// Put implements export.Sink.
func (h *held) Put(name string, b []byte) error {
	sum := sha256.Sum256(b)
	return h.look(name, sum[:])
}

// Create implements export.Sink.
func (h *held) Create(name string) (io.WriteCloser, error) {
	return &hashed{sha256.New(), h, name}, nil
}

// hashed is a file of which only the hash is wanted.
type hashed struct {
	digest.Hash
	h    *held
	name string
}

func (f *hashed) Close() error { return f.h.look(f.name, f.Sum(nil)) }
