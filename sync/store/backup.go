package store

import (
	"archive/tar"
	"bufio"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"go.etcd.io/bbolt"
)

// A backup is a gzipped tar of the database, the blobs and, last, a list of them with their hashes,
// so that a truncated copy is recognized.
const (
	backupFormat = "gaugewright-backup-1"
	backupList   = "contents.json"
	keysFolder   = "authority" // the private authority of the plant's TLS
)

type contents struct {
	Format string     `json:"format"`
	Store  string     `json:"store"`
	Epoch  string     `json:"epoch"`
	Head   Head       `json:"head"`
	Files  []contentE `json:"files"`
}

type contentE struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

// halfBackup begins the name of the database's copy in the data folder while a backup runs.
const halfBackup = "backup-"

// removeHalves deletes what an interrupted backup left behind. The caller holds the database's
// lock, so no backup is running.
func removeHalves(dir string) error {
	list, err := os.ReadDir(dir)
	for _, e := range list {
		if e.Type().IsRegular() && (strings.HasPrefix(e.Name(), halfBackup) || e.Name() == Log+".new") {
			err = errors.Join(err, os.Remove(filepath.Join(dir, e.Name())))
		}
	}
	return err
}

// ErrBackup is wrapped when a file is not a complete backup.
var ErrBackup = errors.New("this is not a whole backup")

// Backup writes a consistent copy while others go on writing: the database as it is at one moment
// and the blobs that were there by then.
//
// Takes: where to write; whether the copy includes the plant's TLS authority, whose key signs
// certificates that phones trust. The copy holds password hashes and the server's keys, so it must
// be guarded like the data folder.
func (s *Store) Backup(to io.Writer, authority bool) (err error) {
	// The database is copied first, beside the data, so that a slow reader never holds up the
	// writers.
	f, err := os.CreateTemp(s.folder, halfBackup+"*")
	if err != nil {
		return &Error{"write", s.folder, err, ""}
	}
	defer func() { err = errors.Join(err, f.Close(), os.Remove(f.Name())) }()
	if err := s.compactTo(f.Name()); err != nil {
		return &Error{"write", f.Name(), err, "is the disk full?"}
	}
	head, err := headOf(f.Name())
	if err != nil {
		return err
	}
	z, err := gzip.NewWriterLevel(to, gzip.BestSpeed)
	if err != nil {
		return err
	}
	p := &packer{
		tar: tar.NewWriter(z), at: s.options.Now(),
		list: contents{Format: backupFormat, Store: s.id, Epoch: s.epoch, Head: head},
	}
	if err := p.file(File, f.Name()); err != nil {
		return err
	}
	if s.options.Blobs != nil {
		err = p.blobs(s.options.Blobs)
	} else {
		err = p.folder(filepath.Join(s.folder, "blobs"), "blobs", IsBlobName)
	}
	if err != nil {
		return err
	}
	if authority {
		if err := p.folder(filepath.Join(s.folder, keysFolder), keysFolder, func(string) bool { return true }); err != nil {
			return err
		}
	}
	b, err := json.MarshalIndent(p.list, "", " ")
	if err != nil {
		return err
	}
	if err := p.tar.WriteHeader(&tar.Header{Name: backupList, Mode: 0o600, Size: int64(len(b)), ModTime: p.at}); err != nil {
		return err
	}
	_, err = p.tar.Write(b)
	return errors.Join(err, p.tar.Close(), z.Close())
}

// headOf reads the newest head of a copy.
func headOf(path string) (h Head, err error) {
	o := Options{}.bolt()
	o.ReadOnly = true
	db, err := bbolt.Open(path, 0o600, o)
	if err != nil {
		return Head{}, &Error{"open", path, err, ""}
	}
	err = db.View(func(tx *bbolt.Tx) error {
		_, v := tx.Bucket(bucketHeads).Cursor().Last()
		return json.Unmarshal(v, &h)
	})
	return h, errors.Join(err, db.Close())
}

type packer struct {
	tar  *tar.Writer
	at   time.Time
	list contents
}

func (p *packer) folder(path, name string, take func(string) bool) error {
	list, err := os.ReadDir(path)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return &Error{"read", path, err, ""}
	}
	for _, e := range list {
		if !e.Type().IsRegular() || !take(e.Name()) {
			continue
		}
		if err := p.file(name+"/"+e.Name(), filepath.Join(path, e.Name())); err != nil {
			return err
		}
	}
	return nil
}

// blobs packs blobs that are kept elsewhere.
func (p *packer) blobs(from Blobs) error {
	return from.Each(func(name string, _ int64) error {
		b, err := from.Get(name)
		if errors.Is(err, os.ErrNotExist) {
			return nil // it was erased meanwhile
		}
		if err != nil {
			return &Error{"read", name, err, ""}
		}
		name = "blobs/" + name
		if err := p.tar.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: int64(len(b)), ModTime: p.at}); err != nil {
			return err
		}
		sum := sha256.Sum256(b)
		p.list.Files = append(p.list.Files, contentE{name, int64(len(b)), hex.EncodeToString(sum[:])})
		_, err = p.tar.Write(b)
		return err
	})
}

func (p *packer) file(name, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return &Error{"read", path, err, ""}
	}
	defer f.Close() // it was only read
	info, err := f.Stat()
	if err != nil {
		return &Error{"read", path, err, ""}
	}
	if err := p.tar.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: info.Size(), ModTime: p.at}); err != nil {
		return err
	}
	h := sha256.New()
	if _, err := io.Copy(io.MultiWriter(p.tar, h), f); err != nil {
		return &Error{"copy", path, err, ""}
	}
	p.list.Files = append(p.list.Files, contentE{name, info.Size(), hex.EncodeToString(h.Sum(nil))})
	return nil
}

// Restore turns a backup into a new data folder and begins a new epoch there, so that phones offer
// again what they wrote since.
//
// Takes:   a folder that does not exist yet or is empty; the backup.
// Gives:   the report of a full check.
// Refuses: ErrBackup for a file that was truncated or altered, or is something else; it then leaves
// no folder.
func Restore(dir string, from io.Reader) (r Report, err error) {
	if list, err := os.ReadDir(dir); err == nil && len(list) > 0 {
		return Report{}, &Error{"restore to", dir, os.ErrExist, "name a folder that is not there yet"}
	} else if err != nil && !errors.Is(err, os.ErrNotExist) {
		return Report{}, &Error{"restore to", dir, err, ""}
	}
	dir = filepath.Clean(dir)
	half := dir + ".restoring"
	if err := os.Mkdir(half, 0o700); err != nil {
		return Report{}, &Error{"make", half, err, "if an earlier restore was cut short, delete it"}
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(half))
		}
	}()
	if err := unpack(half, from); err != nil {
		return Report{}, err
	}
	s, err := Open(half)
	if err != nil {
		return Report{}, err
	}
	if err := errors.Join(s.beginEpoch(), s.Close()); err != nil {
		return Report{}, err
	}
	if r, err = Check(half); err != nil {
		return Report{}, err
	}
	for _, folder := range []string{filepath.Join(half, "blobs"), filepath.Join(half, keysFolder), half} {
		if err := SyncFolder(folder); err != nil && !errors.Is(err, os.ErrNotExist) {
			return Report{}, err
		}
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		return Report{}, &Error{"replace", dir, err, ""}
	}
	if err := os.Rename(half, dir); err != nil {
		return Report{}, &Error{"rename", half, err, ""}
	}
	return r, SyncFolder(filepath.Dir(dir))
}

func (s *Store) beginEpoch() error {
	err := s.update(func(tx *transaction) error {
		if err := newName(tx, metaEpoch); err != nil {
			return err
		}
		s.epoch = string(tx.Bucket(bucketMeta).Get(metaEpoch))
		if err := tx.Bucket(bucketMeta).Put(metaRestored, []byte(s.epoch)); err != nil {
			return err
		}
		return s.putHead(tx)
	})
	if err != nil {
		return &Error{"write", s.dir, err, ""}
	}
	return nil
}

func unpack(dir string, from io.Reader) error {
	broken := func(why any) error { return fmt.Errorf("%w: %v", ErrBackup, why) }
	z, err := gzip.NewReader(bufio.NewReader(from))
	if err != nil {
		return broken(err)
	}
	in := &source{Reader: tar.NewReader(z)}
	found := map[string]contentE{}
	for {
		h, err := in.Next()
		if err != nil {
			return broken(err)
		}
		if h.Name == backupList {
			break
		}
		folder, name, below := strings.Cut(h.Name, "/")
		allowed := h.Typeflag == tar.TypeReg && (h.Name == File || below && (folder == "blobs" && IsBlobName(name) ||
			folder == keysFolder && name != "" && !strings.ContainsAny(name, `/\`) && name != "." && name != ".."))
		if _, twice := found[h.Name]; !allowed || twice {
			return broken("it holds " + h.Name)
		}
		one, err := unpackOne(filepath.Join(dir, filepath.FromSlash(h.Name)), in)
		if err != nil {
			if in.err != nil {
				return broken(in.err)
			}
			return err
		}
		one.Name = h.Name
		found[h.Name] = one
	}
	var list contents
	if err := json.NewDecoder(in).Decode(&list); err != nil {
		return broken(err)
	}
	if list.Format != backupFormat || len(list.Files) != len(found) {
		return broken("its list of contents is of another form or length")
	}
	for _, e := range list.Files {
		if found[e.Name] != e {
			return broken(e.Name + " is not as it was written")
		}
	}
	if _, ok := found[File]; !ok {
		return broken("it has no database")
	}
	if _, err := io.Copy(io.Discard, z); err != nil { // this checks the gzip checksum
		return broken(err)
	}
	return nil
}

// source remembers a read error, which means that the backup is broken, and not the disk that it is
// restored to.
type source struct {
	*tar.Reader
	err error
}

func (s *source) Read(b []byte) (int, error) {
	n, err := s.Reader.Read(b)
	if err != nil && !errors.Is(err, io.EOF) {
		s.err = err
	}
	return n, err
}

func unpackOne(path string, in io.Reader) (contentE, error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return contentE{}, &Error{"make", filepath.Dir(path), err, ""}
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return contentE{}, &Error{"write", path, err, ""}
	}
	h := sha256.New()
	n, err := io.Copy(io.MultiWriter(f, h), in)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return contentE{}, &Error{"write", path, err, ""}
	}
	return contentE{Size: n, SHA256: hex.EncodeToString(h.Sum(nil))}, nil
}
