package world

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"

	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// pieceBytes is how much of a blob is sent at once here.
const pieceBytes = 700

// blob is a photo: its bytes, and whether somebody holds it who must not lose it.
type blob struct {
	bytes    []byte
	promised bool // an office or hub acknowledged it
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

// photos sends a piece of the oldest photo that waits on a phone. Like the real client, it first
// exchanges changes with an office. Only then can it tell that the office was restored since, and
// send the photo again.
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

// tearBlobs does what a power cut does to unsynced bytes: the end of an arriving blob is gone, or
// was never written.
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

// lookAtBlobs compares the office's blobs with the photos that were taken.
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

// cutInCreation leaves what a power cut during the very first creation of a node's database may
// leave.
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
	rng := w.apart()
	image = image[:rng.IntN(len(image)+1)]
	for at := 0; at+512 <= len(image); at += 512 {
		if rng.IntN(2) == 0 {
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

// isOfOldTimes starts a node on a file that an earlier program really wrote, and counts its content
// as acknowledged.
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
// present program on it, perhaps with a power cut during the upgrade.
func (n *node) upgrade() {
	w := n.w
	if n.address != "" {
		return
	}
	w.counts["upgraded"]++
	if n == w.office { // it makes another key, so its earlier signatures are void
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
	if err := os.WriteFile(path, torn(w.apart(), before, n.read(store.File)), 0o600); err != nil {
		panic(err)
	}
	n.open()
}

// brim fills a node's disk, so that every write of its database fails, or empties it again.
func (n *node) brim() {
	if len(n.full) > 0 {
		n.free()
		return
	}
	if n.address != "" {
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

// refusedByQuota plays a browser without space for a phone's transaction: the page gets an error,
// and nothing of it was written.
func (p *phone) refusedByQuota() bool {
	if !p.w.faults || !p.w.chance(1, 30) {
		return false
	}
	p.w.counts["quota"]++
	return true
}

// mixed returns what a disk may hold of a database after a power cut: all of the state that was
// synced last, and any part of what was written on it since.
func mixed(rng *rand.Rand, synced []byte, since [][]byte) []byte {
	const page, sector = 4096, 512
	length := len(synced)
	if rng.IntN(2) == 0 { // how long it is was not synced either
		length = max(length, len(since[rng.IntN(len(since))]))
	}
	states := append(since, synced)
	b := make([]byte, length)
	for at := 0; at < length; at += sector {
		if at%page != 0 && rng.IntN(16) > 0 {
			continue
		}
		from := states[rng.IntN(len(states))]
		if at < len(from) {
			copy(b[at:min(at+page-at%page, length)], from[at:])
		}
	}
	return b
}

// torn returns what a disk may hold after a power cut between two states of a database that has no
// log: it syncs the pages of a transaction before the page that makes them valid. Only the last transaction can
// be torn.
func torn(rng *rand.Rand, before, after []byte) []byte {
	const page = 4096
	tx := func(b []byte, at int) uint64 { return binary.LittleEndian.Uint64(b[at*page+16+48:]) }
	newest := 0
	if tx(after, 1) > tx(after, 0) {
		newest = 1
	}
	switch kind := rng.IntN(4); {
	case bytes.Equal(before, after), kind == 0:
		return after // all was written, only the word of it is lost
	case kind == 1:
		// The page that makes the last transaction valid is half written; the one before it is
		// valid.
		b := bytes.Clone(after)
		from := newest*page + 16 + rng.IntN(64)
		for i := from; i < newest*page+page; i++ {
			b[i] = byte(rng.Uint32())
		}
		return b
	case max(tx(after, 0), tx(after, 1)) == max(tx(before, 0), tx(before, 1))+1:
		// One transaction: of its pages any part, but not the one that makes them valid.
		b := bytes.Clone(before)
		for at := 2 * page; at < len(after); at += page {
			if at >= len(b) {
				b = append(b, make([]byte, page)...)
			}
			if rng.IntN(2) == 0 {
				end := min(at+page, len(after))
				if rng.IntN(4) == 0 {
					end = at + 512*rng.IntN(8) // torn within the page
				}
				copy(b[at:], after[at:end])
			}
		}
		return b
	}
	return after
}
