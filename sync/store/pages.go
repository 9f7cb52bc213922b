package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"os"
)

// The walk below reads bbolt's pages with ordinary reads and holds every offset to its page, before the database is mapped into memory, where
// a wild offset would end the program.
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
func checkPages(path string) (err error) {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	root, freelist, p, err := newestMeta(f, info.Size())
	if err != nil {
		return err
	}
	if p.high*p.size > uint64(info.Size()) {
		return fmt.Errorf("%w: the file is cut short: %d bytes of %d", errPages, info.Size(), p.high*p.size)
	}
	b, err := p.read(freelist)
	if err != nil {
		return err
	}
	if flags, count := binary.LittleEndian.Uint16(b[8:]), int(binary.LittleEndian.Uint16(b[10:])); flags != freelistPage ||
		count != 0xFFFF && pageHeader+8*count > len(b) || count == 0xFFFF && binary.LittleEndian.Uint64(b[pageHeader:]) > uint64(len(b)/8-3) {
		return brokenPage(freelist, "is no list of free pages")
	}
	return p.walk(root, 0)
}

func newestMeta(f io.ReaderAt, length int64) (root, freelist uint64, p *pages, err error) {
	newest := uint64(0)
	for _, at := range []int64{0, int64(os.Getpagesize()), 4096, 16384, 65536} {
		b := make([]byte, pageHeader+metaLength+8)
		if _, err := f.ReadAt(b, at); err != nil {
			continue
		}
		m := b[pageHeader:]
		sum := fnv.New64a()
		sum.Write(m[:metaLength])
		size := uint64(binary.LittleEndian.Uint32(m[8:]))
		if binary.LittleEndian.Uint32(m) != boltMagic || sum.Sum64() != binary.LittleEndian.Uint64(m[metaLength:]) || size < 1024 || size > 65536 {
			continue
		}
		if tx := binary.LittleEndian.Uint64(m[48:]); p == nil || tx > newest {
			newest = tx
			root, freelist = binary.LittleEndian.Uint64(m[16:]), binary.LittleEndian.Uint64(m[32:])
			p = &pages{file: f, size: size, high: binary.LittleEndian.Uint64(m[40:]), seen: map[uint64]bool{}}
		}
	}
	if p == nil {
		return 0, 0, nil, fmt.Errorf("%w: neither of the first two is whole (%d bytes)", errPages, length)
	}
	return root, freelist, p, nil
}

// read returns a page with what overflows from it.
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
