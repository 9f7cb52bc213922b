package export

import (
	"archive/zip"
	"bufio"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Sink takes the files of an export. Several may be open at a time.
type Sink interface {
	// Create starts a file, which is complete once it is closed.
	Create(name string) (io.WriteCloser, error)
	// Put writes a whole file.
	Put(name string, b []byte) error
}

// Folder returns a sink that makes a folder, which must not exist or be empty.
func Folder(dir string) (Sink, error) {
	if list, err := os.ReadDir(dir); err == nil && len(list) > 0 {
		return nil, &os.PathError{Op: "export to", Path: dir, Err: os.ErrExist}
	} else if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	return folder(dir), os.MkdirAll(dir, 0o700)
}

type folder string

type file struct {
	*bufio.Writer
	f *os.File
}

func (f file) Close() error { return errors.Join(f.Flush(), f.f.Sync(), f.f.Close()) }

func (d folder) Create(name string) (io.WriteCloser, error) {
	path := filepath.Join(string(d), filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	return file{bufio.NewWriter(f), f}, nil
}

func (d folder) Put(name string, b []byte) error {
	f, err := d.Create(name)
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	return errors.Join(err, f.Close())
}

// Zip is a sink that writes one zip file as it goes. Files that are written at the same time wait
// on disk until they are complete.
type Zip struct{ z *zip.Writer }

// NewZip returns a zip that goes to w. Close completes it.
func NewZip(w io.Writer) *Zip { return &Zip{zip.NewWriter(w)} }

// Close writes the list of contents.
func (z *Zip) Close() error { return z.z.Close() }

// compressed are the extensions of files that zip does not make smaller.
var compressed = []string{".jpg", ".jpeg", ".png", ".webp", ".pdf", ".gz"}

// begin starts a file with a fixed time.
func (z *Zip) begin(name string) (io.Writer, error) {
	h := &zip.FileHeader{
		Name: name, Method: zip.Deflate, Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC),
	}
	for _, ending := range compressed {
		if strings.HasSuffix(name, ending) {
			h.Method = zip.Store
		}
	}
	return z.z.CreateHeader(h)
}

// Put implements Sink.
func (z *Zip) Put(name string, b []byte) error {
	w, err := z.begin(name)
	if err == nil {
		_, err = w.Write(b)
	}
	return err
}

// Create implements Sink.
func (z *Zip) Create(name string) (io.WriteCloser, error) {
	f, err := os.CreateTemp("", "gaugewright-export-")
	if err != nil {
		return nil, err
	}
	return &waiting{bufio.NewWriter(f), f, z, name}, nil
}

// waiting is a file that goes into a zip once it is complete.
type waiting struct {
	*bufio.Writer
	f    *os.File
	z    *Zip
	name string
}

func (w *waiting) Close() (err error) {
	defer func() { err = errors.Join(err, w.f.Close(), os.Remove(w.f.Name())) }()
	if err := w.Flush(); err != nil {
		return err
	}
	if _, err := w.f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	to, err := w.z.begin(w.name)
	if err != nil {
		return err
	}
	_, err = io.Copy(to, w.f)
	return err
}
