package world

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"

	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// pieceBytes is how much of a blob goes at once here.
const pieceBytes = 700

// blob is a photo: its bytes, and whether somebody holds it who must not lose it.
type blob struct {
	bytes    []byte
	promised bool // an office or hub said that it has it
	lost     bool // its phone was wiped before that
}

// takePhoto makes the bytes of a photo and returns their name.
func (w *world) takePhoto() string {
	b := make([]byte, 1+w.rng.IntN(3*pieceBytes))
	for i := range b {
		b[i] = byte(w.rng.Uint32())
	}
	sum := sha256.Sum256(b)
	name := hex.EncodeToString(sum[:])
	w.blobs[name] = &blob{bytes: b}
	return name
}

// takePiece keeps a piece of a blob at a node, as the real server does.
func (n *node) takePiece(name string, from, total int64, b []byte) (int64, bool, error) {
	n.w.steps++
	got, whole, err := n.store.PutPiece(name, from, total, b)
	if whole {
		n.w.blobs[name].promised = true
	}
	return got, whole, err
}

// photos sends a piece of the oldest photo that waits on a phone. As the real client, it first
// exchanges changes with an office: only then can it tell that the office was restored since, and
// sends the photo again.
func (p *phone) photos() {
	w := p.w
	if p.disk.place.Store == "" {
		return
	}
	if len(p.disk.photos) == 0 || w.faults && (!p.online || w.chance(1, 12)) {
		return
	}
	name := p.disk.photos[0]
	n, whole, err := p.node.store.Arrived(name)
	if err != nil {
		w.fail("%s: %v", p.node.name, err)
		return
	}
	if b := w.blobs[name].bytes; !whole {
		piece := b[n:min(n+pieceBytes, int64(len(b)))]
		if w.faults && w.chance(1, 20) {
			p.node.crashing(func() { _, _, err = p.node.takePiece(name, n, int64(len(b)), piece) })
			return
		}
		w.counts["pieces"]++
		_, whole, err = p.node.takePiece(name, n, int64(len(b)), piece)
		if err != nil && !errors.Is(err, store.ErrBlobHash) {
			w.fail("%s takes no piece: %v", p.node.name, err)
			return
		}
	}
	if !whole || w.faults && w.chance(1, 15) {
		return
	}
	w.blobs[name].promised = true
	p.disk.photos = p.disk.photos[1:]
}

// tearBlobs plays what a power cut does to bytes that were not synced: the end of a blob that is
// arriving is gone, or was never written.
func (n *node) tearBlobs() {
	w := n.w
	folder := filepath.Join(n.dir, "blobs")
	list, err := os.ReadDir(folder)
	if err != nil {
		panic(err)
	}
	for _, e := range list {
		if !strings.HasPrefix(e.Name(), "arriving-") || w.chance(1, 2) {
			continue
		}
		path := filepath.Join(folder, e.Name())
		b, err := os.ReadFile(path)
		if err != nil {
			panic(err)
		}
		if keep := w.rng.IntN(len(b) + 1); w.chance(1, 2) {
			b = b[:keep]
		} else {
			clear(b[keep:])
		}
		w.counts["blob torn"]++
		if err := os.WriteFile(path, b, 0o600); err != nil {
			panic(err)
		}
	}
}

// lookAtBlobs holds the office's blobs to those that were taken.
func (w *world) lookAtBlobs() {
	for name, b := range w.blobs {
		got, err := w.office.store.Blob(name)
		switch {
		case err == nil && bytes.Equal(got, b.bytes):
		case errors.Is(err, os.ErrNotExist) && b.lost && !b.promised:
		case err == nil:
			w.fail("blob %s has other bytes at the office", name)
		default:
			w.fail("blob %s (promised %v) is not at the office: %v", name, b.promised, err)
		}
	}
	for _, p := range w.phones {
		if len(p.disk.photos) > 0 {
			w.fail("%s still has %d photos to send", p.name, len(p.disk.photos))
		}
	}
}

// cutInCreation leaves what a power cut in the very first creation of a node's database may leave.
func (n *node) cutInCreation() {
	w := n.w
	w.counts["cut in the first creation"]++
	s, err := store.OpenWith(n.dir, n.options())
	if err != nil {
		panic(err)
	}
	if err := s.Close(); err != nil {
		panic(err)
	}
	image := n.read(store.File)
	if err := os.RemoveAll(n.dir); err != nil {
		panic(err)
	}
	if err := os.MkdirAll(n.dir, 0o700); err != nil {
		panic(err)
	}
	image = image[:w.rng.IntN(len(image)+1)]
	for at := 0; at+512 <= len(image); at += 512 {
		if w.chance(1, 2) {
			clear(image[at : at+512])
		}
	}
	if err := os.WriteFile(filepath.Join(n.dir, store.File+".new"), image, 0o600); err != nil {
		panic(err)
	}
}

// firstSchema returns the kept file of the program's first schema.
func firstSchema() ([]byte, error) {
	f, err := os.Open(filepath.Join("..", "store", "testdata", "schema-1.db.gz"))
	if err != nil {
		return nil, err
	}
	defer f.Close() // it was only read
	z, err := gzip.NewReader(f)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}

// isOfOldTimes starts a node on a file that an earlier program really wrote, and takes what is in
// it for kept.
func (n *node) isOfOldTimes() {
	w := n.w
	w.counts["old file"]++
	b, err := firstSchema()
	if err != nil {
		panic(err)
	}
	if err := errors.Join(os.MkdirAll(n.dir, 0o700), os.WriteFile(filepath.Join(n.dir, store.File), b, 0o600)); err != nil {
		panic(err)
	}
	n.open()
	entries, _, err := n.store.Piece(0, store.Bounds{}, nil)
	if err != nil {
		w.fail("the old file: %v", err)
		panic(stopped{})
	}
	for i := range entries {
		c := &entries[i].Change
		w.know(c)
		w.promised[c.ID] = true
	}
}

// upgrade turns a node's database into what the first program would have left of it, and starts the
// present one on it, perhaps with a power cut within the upgrade.
func (n *node) upgrade() {
	w := n.w
	w.counts["upgraded"]++
	if n == w.office { // which makes another key: what it signed before says nothing any more
		clear(w.held)
	}
	n.close()
	path := filepath.Join(n.dir, store.File)
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{NoSync: true})
	if err != nil {
		panic(err)
	}
	err = db.Update(func(tx *bbolt.Tx) error {
		for _, name := range []string{"held", "tree", "heads"} {
			if err := tx.DeleteBucket([]byte(name)); err != nil {
				return err
			}
		}
		meta := tx.Bucket([]byte("meta"))
		return errors.Join(
			tx.Bucket([]byte("private")).DeleteBucket([]byte("keys")), meta.Delete([]byte("epoch")),
			meta.Put([]byte("schema"), []byte{7: 1}),
		)
	})
	if err := errors.Join(err, db.Close()); err != nil {
		panic(err)
	}
	if w.chance(1, 2) {
		n.open()
		return
	}
	before := n.read(store.File)
	n.noLog = true // it is brought up to date before its log begins
	n.open()
	n.close()
	n.noLog = false
	if err := os.WriteFile(path, w.torn(before, n.read(store.File)), 0o600); err != nil {
		panic(err)
	}
	n.open()
}

// brim fills a node's disk, so that every write of its database fails, or frees it.
func (n *node) brim() {
	if len(n.full) > 0 {
		n.free()
		return
	}
	files := []*os.File{n.log, n.file}
	if n.w.chance(1, 3) { // the log has room, and the database has none
		files = files[1:]
	}
	for _, f := range files {
		full, err := fill(f)
		if err != nil {
			panic(err)
		}
		if full != nil {
			n.full = append(n.full, full)
		}
	}
	if len(n.full) > 0 {
		n.w.counts["disk full"]++
	}
}

func (n *node) free() {
	for _, f := range n.full {
		if err := f.free(); err != nil {
			panic(err)
		}
	}
	n.full = nil
}

// refusedByQuota plays a browser that has no space for a phone's transaction: the page is told, and
// nothing of it was written.
func (p *phone) refusedByQuota() bool {
	if !p.w.faults || !p.w.chance(1, 30) {
		return false
	}
	p.w.counts["quota"]++
	return true
}
