package store

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/bits"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// Report is the result of a check of a data folder.
type Report struct {
	Store, Epoch string
	Changes      int
	Records      int
	Heads        int
	Held         int
	Events       int
	Blobs        int
	Root         string   // of the journal, in hexadecimal
	Damage       []string // what is not as it was written
	Notes        []string // what is worth knowing but is no damage
}

// errOlder is returned when a file must first be brought up to date.
var errOlder = errors.New("the file was written by an older version; serve it once, then check")

// maxNamed is how many damages of one kind are named; further ones are only counted.
const maxNamed = 20

// Check walks a whole data folder that no program is using. It checks the database's pages, each
// entry of the journal, each record against a replay of its changes, the indexes, the tree and its
// signed heads, the quarantine, and each blob's hash.
//
// Refuses: an error only if the walk itself is impossible. Damage is in the report.
func Check(dir string) (r Report, err error) {
	path := filepath.Join(dir, File)
	if _, err := os.Stat(path); err != nil {
		return Report{}, &Error{"read", path, err, "is this a data folder?"}
	}
	o := Options{}.bolt()
	o.ReadOnly = true
	copied, found, err := copyWhole(dir)
	switch {
	case errors.Is(err, errLog), errors.Is(err, errOtherLog), errors.Is(err, errRedo):
		r.Damage = append(r.Damage, Log+": "+err.Error())
		return r, nil
	case errors.Is(err, bolterrors.ErrTimeout):
		return Report{}, &Error{"open", path, err, "is another gaugewright using this folder?"}
	case err != nil:
		return Report{}, &Error{"read", path, err, ""}
	}
	defer func() { err = errors.Join(err, removed(copied)) }()
	if found != nil {
		path = copied
		r.Notes = append(r.Notes, fmt.Sprintf(
			"the program did not end by itself: %d transactions stand in %s, which the next start brings into the database",
			len(found.records), Log,
		))
		if found.torn > 0 {
			r.Notes = append(r.Notes, fmt.Sprintf(
				"%s ends in %d bytes of a transaction that was cut off; nobody was told that it was kept", Log, found.torn,
			))
		}
	}
	broken, err := checkPages(path)
	for _, one := range broken {
		r.Damage = append(r.Damage, "pages: "+one)
	}
	if errors.Is(err, errPages) {
		r.Damage = append(r.Damage, err.Error())
		return r, nil
	} else if err != nil {
		return Report{}, &Error{"read", path, err, ""}
	}
	defer func() { // bbolt panics when it finds what cannot be
		if p := recover(); p != nil {
			r.Damage = append(r.Damage, fmt.Sprintf("%v: %v", errPages, p))
		}
	}()
	db, err := bbolt.Open(path, 0o600, o)
	if err != nil {
		if errors.Is(err, bolterrors.ErrTimeout) {
			return Report{}, &Error{"open", path, err, "is another gaugewright using this folder?"}
		}
		r.Damage = append(r.Damage, "the database cannot be opened: "+err.Error())
		return r, nil
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	w := &walk{dir: dir, report: &r, named: map[string]int{}}
	if err := db.View(func(tx *bbolt.Tx) error { return w.file(tx) }); err != nil {
		return Report{}, &Error{"check", path, err, ""}
	}
	if err := w.blobs(); err != nil {
		return Report{}, &Error{"check the blobs of", dir, err, ""}
	}
	w.count()
	return r, nil
}

type walk struct {
	dir       string
	elsewhere Blobs // nil for those in the folder
	report    *Report
	named     map[string]int
	wanted    map[string]string // blob → the record that names it
}

// count adds how many damages were not named.
func (w *walk) count() {
	for _, kind := range slices.Sorted(maps.Keys(w.named)) {
		if n := w.named[kind]; n > maxNamed {
			w.report.Damage = append(w.report.Damage, fmt.Sprintf("%s: %d more like these", kind, n-maxNamed))
		}
	}
}

func (w *walk) damage(kind, format string, args ...any) {
	if w.named[kind]++; w.named[kind] <= maxNamed {
		w.report.Damage = append(w.report.Damage, kind+": "+fmt.Sprintf(format, args...))
	}
}

func (w *walk) file(tx *bbolt.Tx) error {
	for err := range tx.Check() {
		w.damage("pages", "%v", err)
	}
	if w.named["pages"] > 0 {
		return nil // data in broken pages cannot be trusted
	}
	return w.database(&transaction{Tx: boltTx{tx}})
}

func (w *walk) database(tx *transaction) error {
	meta := tx.Bucket(bucketMeta)
	if meta == nil {
		w.damage("meta", "it is missing")
		return nil
	}
	schema := meta.Get(metaSchema)
	if len(schema) != 8 {
		w.damage("meta", "the schema's number is missing")
		return nil
	}
	switch n := binary.BigEndian.Uint64(schema); {
	case n > uint64(len(migrations)):
		return ErrNewer
	case n < uint64(len(migrations)):
		return errOlder
	}
	for _, name := range allBuckets {
		if tx.Bucket(name) == nil {
			w.damage("meta", "the bucket %s is missing", name)
			return nil
		}
	}
	w.report.Store, w.report.Epoch = string(meta.Get(metaStore)), string(meta.Get(metaEpoch))
	if !change.IsID(w.report.Store) || !change.IsID(w.report.Epoch) {
		w.damage("meta", "the store's id or its epoch is missing")
	}
	if meta.Get(metaLog) != nil {
		w.damage("meta", "%v", errNoLog)
	}
	w.wanted = map[string]string{}
	w.journal(tx)
	w.records(tx)
	w.heads(tx)
	w.quarantine(tx)
	w.events(tx)
	w.came(tx)
	return w.erased(tx)
}

var allBuckets = [][]byte{bucketMeta, bucketJournal, bucketIDs, bucketRecords, bucketKinds, bucketParents, bucketLookup, bucketHistory,
	bucketQuarantine, bucketHeld, bucketSlips, bucketHeldBy, bucketHeldAs, bucketPrivate, bucketTree, bucketHeads}

// length counts a bucket's keys.
func length(b *bucket) (n int) {
	c := b.Cursor()
	for k, _ := c.First(); k != nil; k, _ = c.Next() {
		n++
	}
	return n
}

// journal checks each entry: its bytes, its id, its place in its record's history and its leaf of
// the tree.
func (w *walk) journal(tx *transaction) {
	entries, ids, history, records := tx.Bucket(bucketJournal), tx.Bucket(bucketIDs), tx.Bucket(bucketHistory), tx.Bucket(bucketRecords)
	stored := nodes(tx)
	n, unlisted := 0, 0
	c := entries.Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		n++
		if !bytes.Equal(k, number(uint64(n))) {
			w.damage("journal", "entry %d is missing or misplaced", n)
			return
		}
		one, err := change.Parse(v)
		if err != nil {
			w.damage("journal", "entry %d is not a change: %v", n, err)
		} else {
			if !bytes.Equal(ids.Get([]byte(one.ID)), k) {
				w.damage("ids", "change %s of entry %d is not listed there, or listed elsewhere", one.ID, n)
			}
			kept := records.Get([]byte(one.Record))
			if at := append(key(one.Record, ""), k...); !has(history, at) {
				if seq, alone := pointed(kept); alone && bytes.Equal(seq, k) {
					unlisted++
				} else {
					w.damage("history", "record %s lacks entry %d", one.Record, n)
				}
			}
			if kept == nil {
				w.damage("records", "%s is missing, though entry %d is of it", one.Record, n)
			}
		}
		leaf := journal.Leaf(v)
		if kept, err := stored(0, n-1); err == nil {
			leaf = w.leafOf(tx, n, v, kept)
		}
		done, err := journal.Grow(stored, n-1, leaf)
		for level, h := range done {
			if got, err := stored(level, (n-1)>>level); err != nil || got != h {
				w.damage("tree", "entry %d does not have the hash that was kept of it (level %d)", n, level)
				break
			}
		}
		if err != nil {
			w.damage("tree", "entry %d: %v", n, err)
		}
	}
	w.report.Changes = n
	if uint64(n) != entries.Sequence() {
		w.damage("journal", "it ends at entry %d, but %d were written", n, entries.Sequence())
	}
	if got := length(ids); got != n {
		w.damage("ids", "%d lines for %d entries", got, n)
	}
	if got, want := length(history), n-unlisted; got != want {
		w.damage("history", "%d lines where %d belong", got, want)
	}
	if got, want := length(tx.Bucket(bucketTree)), 2*n-bits.OnesCount(uint(n)); got != want {
		w.damage("tree", "%d subtrees where %d belong", got, want)
	}
}

func has(b *bucket, k []byte) bool {
	got, _ := b.Cursor().Seek(k)
	return bytes.Equal(got, k)
}

// records compares each record with a replay of its changes, and the indexes with the records.
func (w *walk) records(tx *transaction) {
	entries, history := tx.Bucket(bucketJournal), tx.Bucket(bucketHistory)
	kinds, parents, lookup := 0, 0, 0
	c := tx.Bucket(bucketRecords).Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		w.report.Records++
		id := string(k)
		var replayed merge.State
		prefix := key(id, "")
		changes := 0
		var last []byte
		seq, state, marked := based(v)
		asKept := !marked || len(state) == 0 && bytes.Equal(seq, number(0)) // the kept state is what the changes up to it make
		h := history.Cursor()
		for at, _ := h.Seek(prefix); at != nil && bytes.HasPrefix(at, prefix); at, _ = h.Next() {
			changes, last = changes+1, at[len(prefix):]
			one, err := change.Parse(entries.Get(last))
			if err == nil {
				var next merge.State
				if next, err = merge.Apply(replayed, one); err == nil {
					replayed = next
				}
			}
			if err != nil {
				w.damage("history", "record %s cannot be replayed: %v", id, err)
			}
			if marked && bytes.Equal(seq, last) {
				asKept = bytes.Equal(replayed.Bytes(), state)
			}
		}
		whole := false
		switch seq, alone := pointed(v); {
		case marked:
			whole = asKept && changes > 1
		case !alone:
			whole = bytes.Equal(replayed.Bytes(), v)
		case changes == 0:
			var err error
			replayed, whole, err = stateOf(tx, id)
			whole = whole && err == nil
		default: // in files that listed these records too
			whole = changes == 1 && bytes.Equal(seq, last)
		}
		if !whole {
			w.damage("records", "%s is not what its changes make", id)
			continue
		}
		kinds++
		if at := append(key(replayed.Kind, ""), beginning(tx, id)...); string(tx.Bucket(bucketKinds).Get(at)) != id {
			w.damage("kinds", "record %s is missing", id)
		}
		if replayed.Parent != "" {
			parents++
			if !has(tx.Bucket(bucketParents), key(replayed.Parent, id)) {
				w.damage("parents", "record %s is missing", id)
			}
		}
		for _, field := range indexed[replayed.Kind] {
			found := texts(&replayed, field)
			slices.Sort(found)
			for _, text := range slices.Compact(found) {
				lookup++
				if !has(tx.Bucket(bucketLookup), key(replayed.Kind, field, text, id)) {
					w.damage("lookup", "record %s is not found by its %s %q", id, field, text)
				}
			}
		}
		w.erasedEntries(tx, &replayed)
		for _, name := range blobNames(&replayed) {
			w.wanted[name] = replayed.Kind + " " + id
		}
	}
	for _, x := range []struct {
		name string
		b    []byte
		want int
	}{{"kinds", bucketKinds, kinds}, {"parents", bucketParents, parents}, {"lookup", bucketLookup, lookup}} {
		if got := length(tx.Bucket(x.b)); got != x.want && w.named["records"] == 0 {
			w.damage(x.name, "%d lines where %d belong", got, x.want)
		}
	}
}

// blobNames returns the blobs that a record names: its photos and its document.
func blobNames(s *merge.State) (names []string) {
	for i := range s.Fields {
		f := &s.Fields[i]
		for _, h := range f.Heads {
			var photo struct{ SHA256 string }
			var document string
			switch {
			case strings.HasPrefix(f.Name, "photo.") && json.Unmarshal(h.Value, &photo) == nil && photo.SHA256 != "":
				names = append(names, photo.SHA256)
			case f.Name == "pdf" && json.Unmarshal(h.Value, &document) == nil && document != "":
				names = append(names, document)
			}
		}
	}
	return names
}

// written reports whether a head is kept in the bytes that heads are written in. JSON names are read in
// any case, so that an altered letter of one would go unnoticed.
func written(b []byte, h *Head) bool {
	again, err := json.Marshal(h)
	return err == nil && bytes.Equal(again, b)
}

// heads checks each signed head against the tree.
func (w *walk) heads(tx *transaction) {
	private, err := signer(tx)
	if err != nil {
		w.damage("heads", "%v", err)
		return
	}
	public := base64.StdEncoding.EncodeToString(private.Public().(ed25519.PublicKey))
	stored := nodes(tx)
	var last Head
	c := tx.Bucket(bucketHeads).Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		w.report.Heads++
		var h Head
		switch err := json.Unmarshal(v, &h); {
		case err != nil:
			w.damage("heads", "head %x is no head: %v", k, err)
			continue
		case !bytes.Equal(k, number(h.Size)):
			w.damage("heads", "the head of size %d is misplaced", h.Size)
		case !written(v, &h):
			w.damage("heads", "the head of size %d is in another form than heads are written", h.Size)
		case h.Store != w.report.Store:
			w.damage("heads", "the head of size %d is of another store", h.Size)
		case h.Verify(public) != nil:
			w.damage("heads", "the head of size %d was not signed by this store's key", h.Size)
		case h.Size > uint64(w.report.Changes):
			w.damage("heads", "the head of size %d is beyond the journal", h.Size)
			continue
		}
		root, err := journal.RootOf(stored, int(h.Size))
		if err != nil || hex.EncodeToString(root[:]) != h.Root {
			w.damage("heads", "the head of size %d does not have the tree's root", h.Size)
		}
		last = h
	}
	if last.Size != uint64(w.report.Changes) {
		w.damage("heads", "the newest head has size %d, the journal %d entries", last.Size, w.report.Changes)
	}
	w.report.Root = last.Root
}

func (w *walk) quarantine(tx *transaction) {
	held := tx.Bucket(bucketHeld)
	c := tx.Bucket(bucketQuarantine).Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		w.report.Held++
		if sum := sha256.Sum256(v); !bytes.Equal(held.Get(sum[:]), k) {
			w.damage("quarantine", "line %d does not have the hash that was kept of it", binary.BigEndian.Uint64(k))
		}
	}
	if n := length(held); n != w.report.Held {
		w.damage("quarantine", "%d hashes for %d lines", n, w.report.Held)
	}
	a := aside{tx, nil}
	noted, readable := 0, 0
	for k, v := c.First(); k != nil; k, v = c.Next() {
		s, err := a.slip(k)
		if err != nil {
			w.damage("quarantine", "line %d: %v", binary.BigEndian.Uint64(k), err)
			continue
		}
		_, sent, _ := bytes.Cut(v, []byte{0})
		if one, err := change.Parse(sent); err == nil {
			readable++
			if s.Change != one.ID || s.Author != one.Author ||
				!has(tx.Bucket(bucketHeldAs), append(key(one.ID, ""), k...)) {
				w.damage("quarantine", "line %d is not listed by its change and its author", binary.BigEndian.Uint64(k))
			}
		}
		mark := tx.Bucket(bucketHeldBy).Get(append(key(s.Author, ""), k...))
		want := []byte{markOpen}
		if s.Closed != nil {
			want[0] = markRejected
			if s.Closed.How != ClosedRejected {
				want = nil
			}
		}
		if want != nil {
			noted++
		}
		if !bytes.Equal(mark, want) {
			w.damage(
				"quarantine", "line %d is listed as open and is not, or is open and is not listed",
				binary.BigEndian.Uint64(k),
			)
		}
	}
	for _, x := range []struct {
		name []byte
		want int
	}{{bucketSlips, w.report.Held}, {bucketHeldBy, noted}, {bucketHeldAs, readable}} {
		if n := length(tx.Bucket(x.name)); n != x.want && w.named["quarantine"] == 0 {
			w.damage("quarantine", "%d lines in %s where %d belong", n, x.name, x.want)
		}
	}
}

// has reports whether a blob is here.
func (w *walk) has(name string) bool {
	if w.elsewhere != nil {
		_, err := w.elsewhere.Size(name)
		return err == nil
	}
	_, err := os.Stat(filepath.Join(w.dir, "blobs", name))
	return err == nil
}

// blobsElsewhere hashes every blob that is kept elsewhere.
func (w *walk) blobsElsewhere() error {
	return w.elsewhere.Each(func(name string, _ int64) error {
		b, err := w.elsewhere.Get(name)
		if errors.Is(err, os.ErrNotExist) {
			return nil // it was erased meanwhile
		}
		sum := sha256.Sum256(b)
		w.hashed(name, hex.EncodeToString(sum[:]), err)
		return nil
	})
}

func (w *walk) hashed(name, sum string, err error) {
	if err != nil {
		w.damage("blobs", "%s cannot be read: %v", name, err)
		return
	}
	w.report.Blobs++
	if sum != name {
		w.damage("blobs", "%s does not have the bytes it is named by", name)
	}
	delete(w.wanted, name)
}

// blobs hashes every blob and notes which are missing.
func (w *walk) blobs() error {
	look := w.blobsHere
	if w.elsewhere != nil {
		look = w.blobsElsewhere
	}
	if err := look(); err != nil {
		return err
	}
	var missing []string
	for name, of := range w.wanted {
		missing = append(missing, fmt.Sprintf("blob %s of %s has not arrived", name, of))
	}
	slices.Sort(missing)
	w.report.Notes = append(w.report.Notes, missing...)
	return nil
}

func (w *walk) blobsHere() error {
	folder := filepath.Join(w.dir, "blobs")
	list, err := os.ReadDir(folder)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	for _, e := range list {
		name := e.Name()
		if strings.HasPrefix(name, arriving) {
			w.report.Notes = append(
				w.report.Notes,
				"blobs/"+name+" is the beginning of a blob that did not arrive; it may be deleted",
			)
			continue
		}
		sum, err := hashFile(filepath.Join(folder, name))
		w.hashed(name, sum, err)
	}
	return nil
}

func hashFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	h := sha256.New()
	_, err = io.Copy(h, f)
	return hex.EncodeToString(h.Sum(nil)), errors.Join(err, f.Close())
}
