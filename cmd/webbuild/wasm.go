package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
)

const sectionData = 11

var errModule = errors.New("not a WebAssembly module")

type section struct {
	id   byte
	body []byte
}

func splitSections(module []byte) ([]section, error) {
	if !bytes.HasPrefix(module, []byte("\x00asm\x01\x00\x00\x00")) {
		return nil, errModule
	}
	var all []section
	for rest := module[8:]; len(rest) > 0; {
		size, n := binary.Uvarint(rest[1:])
		if n <= 0 || size > uint64(len(rest)-1-n) {
			return nil, fmt.Errorf("%w: a section is cut off", errModule)
		}
		end := 1 + n + int(size)
		all = append(all, section{rest[0], rest[1+n : end]})
		rest = rest[end:]
	}
	return all, nil
}

// readSegments lays out the segments of a data section as memory from address 0. low is the first
// address in use.
func readSegments(body []byte) (image []byte, low int, err error) {
	cut := fmt.Errorf("%w: a data segment is not as the linker writes it", errModule)
	count, n := binary.Uvarint(body)
	if n <= 0 {
		return nil, 0, cut
	}
	body = body[n:]
	low = -1
	for range count {
		if len(body) < 2 || body[0] != 0 || body[1] != 0x41 { // memory 0, i32.const
			return nil, 0, cut
		}
		at, n := signed(body[2:])
		if n <= 0 || at < 0 || len(body) < 3+n || body[2+n] != 0x0b {
			return nil, 0, cut
		}
		body = body[3+n:]
		size, n := binary.Uvarint(body)
		if n <= 0 || size > uint64(len(body)-n) {
			return nil, 0, cut
		}
		end := at + int(size)
		if end > len(image) {
			image = append(image, make([]byte, end-len(image))...)
		}
		copy(image[at:], body[n:n+int(size)])
		body = body[n+int(size):]
		if low < 0 || at < low {
			low = at
		}
	}
	if len(body) != 0 || low < 0 {
		return nil, 0, cut
	}
	return image, low, nil
}

// leastGap is the run of zeros that is worth a new segment. The linker takes 8, which is smaller
// uncompressed but compresses half as well.
const leastGap = 64

func writeSegments(image []byte, low int) []byte {
	var body []byte
	count := 0
	gap := make([]byte, leastGap)
	for at := low; ; {
		for at < len(image) && image[at] == 0 {
			at++
		}
		if at == len(image) {
			break
		}
		end := len(image)
		if n := bytes.Index(image[at:], gap); n >= 0 {
			end = at + n
		}
		body = append(body, 0, 0x41)
		body = appendSigned(body, at)
		body = append(body, 0x0b)
		body = binary.AppendUvarint(body, uint64(end-at))
		body = append(body, image[at:end]...)
		count++
		at = end
	}
	return append(binary.AppendUvarint(nil, uint64(count)), body...)
}

// signed reads a signed LEB128 number of at most 32 bits.
func signed(b []byte) (value, length int) {
	shift := 0
	for i, c := range b[:min(len(b), 5)] {
		value |= int(c&0x7f) << shift
		shift += 7
		if c < 0x80 {
			if c&0x40 != 0 {
				value -= 1 << shift
			}
			return value, i + 1
		}
	}
	return 0, 0
}

func appendSigned(b []byte, value int) []byte {
	for {
		c := byte(value & 0x7f)
		value >>= 7
		if value == 0 && c&0x40 == 0 || value == -1 && c&0x40 != 0 {
			return append(b, c)
		}
		b = append(b, c|0x80)
	}
}
