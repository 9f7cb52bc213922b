package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"os"
	"path/filepath"
	"strings"

	bolterrors "go.etcd.io/bbolt/errors"
)

// The walk below reads bbolt's pages with ordinary reads and checks every offset against its page.
// It does so before the database is mapped into memory, where a wild offset would end the program.
const (
	pageHeader   = 16
	pageElement  = 16
	branchPage   = 0x01
	leafPage     = 0x02
	freelistPage = 0x10
	bucketLeaf   = 0x01
	boltMagic    = 0xED0CDAED
	metaLength   = 56 // before its checksum
	maxDepth     = 64
)

type pages struct {
	file io.ReaderAt
	size uint64 // of a page
	high uint64 // pages in use
	seen map[uint64]bool
}

var errPages = errors.New("the database's pages are broken")

func brokenPage(id uint64, what string) error {
	return fmt.Errorf("%w: page %d %s", errPages, id, what)
}

// checkPages walks the tree of pages of a database file.
func checkPages(path string) (notes []string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	m, err := readMetas(f)
	if err != nil {
		return nil, err
	}
	p := &pages{file: f, size: m.size, high: m.high, seen: map[uint64]bool{}}
	b, err := p.read(m.freelist)
	if err != nil {
		return m.broken, err
	}
	if flags, count := binary.LittleEndian.Uint16(b[8:]), int(binary.LittleEndian.Uint16(b[10:])); flags != freelistPage ||
		count != 0xFFFF && pageHeader+8*count > len(b) || count == 0xFFFF && binary.LittleEndian.Uint64(b[pageHeader:]) > uint64(len(b)/8-3) {
		return m.broken, brokenPage(m.freelist, "is no list of free pages")
	}
	return m.broken, p.walk(m.root, 0)
}

// metas are the two first pages of a database. Each says where a transaction's pages are. The newer
// intact one is valid.
type metas struct {
	size, high     uint64 // of a page; pages in use
	root, freelist uint64
	tx             uint64
	broken         []string // what is wrong with one of the two
}

// readMetas reads the two first pages and checks the file's length against them.
//
// Refuses: an error that wraps errPages if neither page is intact, or if the file is shorter than
// one of them says.
func readMetas(f *os.File) (m metas, err error) {
	info, err := f.Stat()
	if err != nil {
		return metas{}, err
	}
	length := uint64(info.Size())
	whole := map[uint64]bool{} // by the page's place in the file
	longest := uint64(0)
	for _, at := range []uint64{0, uint64(os.Getpagesize()), 4096, 16384, 65536} {
		one, ok := metaAt(f, at)
		if !ok || whole[at] || at != 0 && at != one.size {
			continue
		}
		whole[at] = true
		longest = max(longest, one.high*one.size)
		if m.size == 0 || one.tx > m.tx {
			m = one
		}
	}
	if m.size == 0 {
		return metas{}, fmt.Errorf("%w: neither of the first two is whole (%d bytes)", errPages, length)
	}
	if longest > length {
		return metas{}, fmt.Errorf("%w: the file is cut short: %d bytes of %d", errPages, length, longest)
	}
	for n, at := range []uint64{0, m.size} {
		if !whole[at] {
			m.broken = append(
				m.broken,
				fmt.Sprintf("page %d, one of the two that name the newest transaction, is broken: what was written last may be missing", n),
			)
		}
	}
	return m, nil
}

func metaAt(f io.ReaderAt, at uint64) (m metas, ok bool) {
	b := make([]byte, pageHeader+metaLength+8)
	if _, err := f.ReadAt(b, int64(at)); err != nil {
		return metas{}, false
	}
	b = b[pageHeader:]
	sum := fnv.New64a()
	sum.Write(b[:metaLength])
	word := func(n int) uint64 { return binary.LittleEndian.Uint64(b[n:]) }
	m = metas{
		size: uint64(binary.LittleEndian.Uint32(b[8:])), root: word(16), freelist: word(32),
		high: word(40), tx: word(48),
	}
	return m, binary.LittleEndian.Uint32(b) == boltMagic && sum.Sum64() == word(metaLength) && m.size >= 1024 && m.size <= 65536
}

// ErrBroken is wrapped when a database is damaged and was therefore not opened. Its bytes are
// unchanged.
var ErrBroken = errors.New("the database is damaged")

// Look reports whether a folder holds a plant. It neither opens nor alters anything.
//
// Refuses: ErrDamaged for a damaged database, and for a folder with blobs but no database.
func Look(dir string) (there bool, err error) {
	path := filepath.Join(dir, File)
	broken, err := look(path)
	if found, logErr := readLog(dir); found != nil || logErr != nil {
		// The log says which transaction the database is at.
		f, openErr := os.Open(path)
		if openErr == nil {
			if broken, err = "", logErr; err == nil {
				err = found.fits(f)
			}
			if err != nil && errors.Is(lock(f, 0), bolterrors.ErrTimeout) {
				err = nil // a program that uses it has just begun a new log; opening reports that
			}
			if err = errors.Join(err, f.Close()); err != nil {
				err = fmt.Errorf("%w: %w", ErrDamaged, err)
			}
		}
	}
	switch {
	case errors.Is(err, os.ErrNotExist):
		blobs, err := os.ReadDir(filepath.Join(dir, "blobs"))
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return false, &Error{"read", dir, err, ""}
		}
		if len(blobs) > 0 {
			return false, &Error{
				"read", dir,
				fmt.Errorf("%w: the folder holds the photos and files of a plant and no %s", ErrDamaged, File),
				"bring back a backup",
			}
		}
		return false, nil
	case err == nil && broken != "":
		err = fmt.Errorf("%w: %s", ErrDamaged, broken)
	}
	if err != nil {
		return true, &Error{"read", path, err, lookHint + dir}
	}
	return true, nil
}

const lookHint = "look at it with: gaugewright check --data "

// look reads the two first pages of a database file without opening it: opening a truncated file
// would lengthen it again.
//
// Gives: what is wrong with one of the two pages, "" if both are intact. Refuses: ErrBroken.
func look(path string) (broken string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close() // it was only read
	info, err := f.Stat()
	if err != nil {
		return "", err
	}
	if info.Size() == 0 {
		return "", fmt.Errorf("%w: the file has no bytes", ErrBroken)
	}
	m, err := readMetas(f)
	if errors.Is(err, errPages) {
		return "", fmt.Errorf("%w: %w", ErrBroken, err)
	}
	return strings.Join(m.broken, "; "), err
}

// read returns a page with its overflow pages.
func (p *pages) read(id uint64) ([]byte, error) {
	if id < 2 || id >= p.high {
		return nil, brokenPage(id, "is outside the file")
	}
	if p.seen[id] {
		return nil, brokenPage(id, "is used twice")
	}
	p.seen[id] = true
	head := make([]byte, pageHeader)
	if _, err := p.file.ReadAt(head, int64(id*p.size)); err != nil {
		return nil, brokenPage(id, err.Error())
	}
	more := uint64(binary.LittleEndian.Uint32(head[12:]))
	if binary.LittleEndian.Uint64(head) != id || id+more >= p.high {
		return nil, brokenPage(id, "does not have its own number or length")
	}
	b := make([]byte, (more+1)*p.size)
	if _, err := p.file.ReadAt(b, int64(id*p.size)); err != nil {
		return nil, brokenPage(id, err.Error())
	}
	return b, nil
}

func (p *pages) walk(id uint64, depth int) error {
	if depth > maxDepth {
		return brokenPage(id, "is too deep in the tree")
	}
	b, err := p.read(id)
	if err != nil {
		return err
	}
	return p.elements(id, b, depth)
}

func (p *pages) elements(id uint64, b []byte, depth int) error {
	flags, count := binary.LittleEndian.Uint16(b[8:]), int(binary.LittleEndian.Uint16(b[10:]))
	if flags != branchPage && flags != leafPage {
		return brokenPage(id, "is neither a branch nor a leaf")
	}
	if pageHeader+count*pageElement > len(b) || flags == branchPage && count == 0 {
		return brokenPage(id, "holds more or less than fits")
	}
	for i := range count {
		at := uint64(pageHeader + i*pageElement)
		e := b[at:]
		word := func(n int) uint64 { return uint64(binary.LittleEndian.Uint32(e[n:])) }
		if flags == branchPage {
			if at+word(0)+word(4) > uint64(len(b)) {
				return brokenPage(id, "has a key outside itself")
			}
			if err := p.walk(binary.LittleEndian.Uint64(e[8:]), depth+1); err != nil {
				return err
			}
			continue
		}
		start := at + word(4) + word(8)
		end := start + word(12)
		if end > uint64(len(b)) {
			return brokenPage(id, "has a value outside itself")
		}
		if word(0)&bucketLeaf == 0 {
			continue
		}
		value := b[start:end]
		switch {
		case len(value) < pageHeader:
			return brokenPage(id, "has a bucket without a root")
		case binary.LittleEndian.Uint64(value) != 0:
			if err := p.walk(binary.LittleEndian.Uint64(value), depth+1); err != nil {
				return err
			}
		case len(value) < 2*pageHeader:
			return brokenPage(id, "has a bucket without elements")
		default:
			if err := p.elements(id, value[pageHeader:], depth+1); err != nil {
				return err
			}
		}
	}
	return nil
}
