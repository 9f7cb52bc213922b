package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
)

// errLayout says that the linker laid out the module in a way that this program does not know. The
// module is complete and usable as it is.
var errLayout = errors.New("the module's tables are not laid out as go1.26 does")

// slim removes from a linked wasip1 module what only prints stack traces: names of functions and
// files, line numbers, and the record of inlined calls. That is about a fifth of the compressed
// size. What the runtime works with (stack sizes, pointer maps, deferred calls) stays, so every
// call gives the same bytes. A crash still gives its reason, but not its place; the same request
// crashes the same way in the server's program, with names.
//
// Source: runtime/symtab.go (pcHeader, moduledata), runtime/runtime2.go (_func) and
// internal/abi/symtab.go of go1.26.
func slim(module []byte) ([]byte, error) {
	sections, err := splitSections(module)
	if err != nil {
		return nil, err
	}
	out := slices.Clone(module[:8])
	for _, s := range sections {
		body := s.body
		if s.id == sectionData {
			if body, err = slimData(s.body); err != nil {
				return nil, err
			}
		}
		out = append(out, s.id)
		out = binary.AppendUvarint(out, uint64(len(body)))
		out = append(out, body...)
	}
	return out, nil
}

func slimData(body []byte) ([]byte, error) {
	image, low, err := readSegments(body)
	if err != nil {
		return nil, err
	}
	t, err := findTables(image)
	if err != nil {
		return nil, err
	}
	if err := t.clear(); err != nil {
		return nil, err
	}
	return writeSegments(image, low), nil
}

// tables are the runtime's tables of functions inside the memory image of a module.
type tables struct {
	image                                         []byte
	header, names, files, units, pc, funcs, count int
	funcdata, funcdataEnd                         int
}

func (t *tables) u32(at int) int { return int(binary.LittleEndian.Uint32(t.image[at:])) }
func (t *tables) u64(at int) int { return int(binary.LittleEndian.Uint64(t.image[at:])) }

// findTables finds the one table of functions and the moduledata that points to it.
func findTables(image []byte) (*tables, error) {
	magic := []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8} // version, two zeros, quantum, size of a pointer
	t := &tables{image: image, header: bytes.Index(image, magic)}
	if t.header < 0 || t.header+72 > len(image) || bytes.Contains(image[t.header+1:], magic) {
		return nil, fmt.Errorf("%w: no table of functions", errLayout)
	}
	at := func(i int) int { return t.header + t.u64(t.header+8+8*i) }
	t.count = t.u64(t.header + 8)
	t.names, t.units, t.files, t.pc, t.funcs = at(3), at(4), at(5), at(6), at(7)
	if t.count < 1 ||
		!slices.IsSorted([]int{t.header + 72, t.names, t.units, t.files, t.pc, t.funcs, t.funcs + 8*t.count, len(image)}) {
		return nil, fmt.Errorf("%w: the table of functions has no order", errLayout)
	}
	start := binary.LittleEndian.AppendUint64(binary.LittleEndian.AppendUint64(nil, uint64(t.header)), uint64(t.names))
	data := bytes.Index(image, start)
	if data < 0 || data+8*42 > len(image) || t.u64(data+8*7) != t.files || t.u64(data+8*10) != t.pc ||
		t.u64(data+8*13) != t.funcs {
		return nil, fmt.Errorf("%w: no moduledata", errLayout)
	}
	const findFunc, epclntab, goFunc = 19, 41, 40
	t.funcdata, t.funcdataEnd = t.u64(data+8*goFunc), t.u64(data+8*findFunc)
	if !slices.IsSorted([]int{t.funcs, t.funcdata, t.funcdataEnd, t.u64(data + 8*epclntab), len(image)}) {
		return nil, fmt.Errorf("%w: the data of functions lie elsewhere", errLayout)
	}
	return t, nil
}

// The fields of one function's record, by their offsets, and the tables that are only printed.
const (
	fieldName, fieldSP, fieldFile, fieldLine, fieldTables, fieldUnit, fieldStartLine, fieldDatas, recordSize = 4, 16, 20, 24, 28, 32, 36, 43, 44

	tableInlining                               = 2       // PCDATA_InlTreeIndex
	dataInlining, dataArguments, dataArgsAtCall = 3, 5, 6 // FUNCDATA_InlTree, ArgInfo, ArgLiveInfo
	absent                                      = 1<<32 - 1
)

func (t *tables) clear() error {
	keptTables, printed := map[int]bool{}, map[int]bool{}
	keptData, allData := map[int]bool{}, []int{t.funcdataEnd - t.funcdata}
	prefix := []byte("runtime.")
	name := []byte("\x00runtime.\x00")
	for i := range t.count {
		f := t.funcs + t.u32(t.funcs+8*i+4)
		if f+recordSize > len(t.image) {
			return fmt.Errorf("%w: a function lies outside", errLayout)
		}
		tablesN, dataN := t.u32(f+fieldTables), int(t.image[f+fieldDatas])
		if f+recordSize+4*(tablesN+dataN) > t.funcdata {
			return fmt.Errorf("%w: a function has too many tables", errLayout)
		}
		keptTables[t.u32(f+fieldSP)] = true
		printed[t.u32(f+fieldFile)], printed[t.u32(f+fieldLine)] = true, true
		t.put(f+fieldFile, 0)
		t.put(f+fieldLine, 0)
		t.put(f+fieldUnit, 0)
		t.put(f+fieldStartLine, 0)
		// The runtime distinguishes its own goroutines from others by the beginning of a function's
		// name, which must stay.
		own := 0
		if bytes.HasPrefix(t.image[t.names+t.u32(f+fieldName):], prefix) {
			own = 1
		}
		t.put(f+fieldName, own)
		for k := range tablesN {
			at := f + recordSize + 4*k
			if k == tableInlining {
				printed[t.u32(at)] = true
				t.put(at, 0)
				continue
			}
			keptTables[t.u32(at)] = true
		}
		for k := range dataN {
			at := f + recordSize + 4*(tablesN+k)
			offset := t.u32(at)
			if offset == absent {
				continue
			}
			if offset > t.funcdataEnd-t.funcdata {
				return fmt.Errorf("%w: the data of a function lie outside", errLayout)
			}
			allData = append(allData, offset)
			if k == dataInlining || k == dataArguments || k == dataArgsAtCall {
				t.put(at, absent)
				continue
			}
			keptData[offset] = true
		}
	}
	for offset := range printed {
		if offset != 0 && !keptTables[offset] {
			if err := t.clearTable(t.pc + offset); err != nil {
				return err
			}
		}
	}
	slices.Sort(allData)
	allData = slices.Compact(allData)
	for i, offset := range allData[:len(allData)-1] {
		if !keptData[offset] {
			clear(t.image[t.funcdata+offset : t.funcdata+allData[i+1]])
		}
	}
	clear(t.image[t.names:t.pc])
	copy(t.image[t.names:], name)
	return nil
}

func (t *tables) put(at, value int) { binary.LittleEndian.PutUint32(t.image[at:], uint32(value)) }

// clearTable clears one table of pairs of varints. The table ends with a zero that is not its first
// value.
func (t *tables) clearTable(at int) error {
	for i := at; i < t.funcs; {
		if i > at && t.image[i] == 0 {
			clear(t.image[at:i])
			return nil
		}
		for range 2 {
			_, n := binary.Uvarint(t.image[i:t.funcs])
			if n <= 0 {
				break
			}
			i += n
		}
	}
	return fmt.Errorf("%w: a table has no end", errLayout)
}
