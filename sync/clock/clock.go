// Package clock orders the changes of devices whose wall clocks may be wrong.
package clock

import (
	"errors"
	"strings"
)

// Stamp orders changes, first by Count, which is one more than the highest count that the writer
// had seen. Wall time and device only break ties between writers who had not seen each other. A
// wrong wall clock therefore neither reorders nor refuses anybody's work.
type Stamp struct {
	Count  uint64
	Wall   int64 // Unix milliseconds of the device's clock; may be far off or negative
	Device string
}

// ErrStamp is returned when a text is not a stamp.
var ErrStamp = errors.New("not a stamp: 12 hexadecimal digits, 12 more, and a device, joined by hyphens")

const (
	digits = 12
	mask   = 1<<48 - 1
	// bias shifts wall times from 1970 − 4,459 years to 1970 + 4,459 years into 48 unsigned bits.
	bias = 1 << 47
)

// MaxCount is the highest count. Only a forged stamp can reach it; counting then stops there, and
// wall time and device order the rest.
const MaxCount = mask

// Next returns the stamp of a change by a device that has seen counts up to seen.
func Next(seen uint64, wall int64, device string) Stamp {
	if planted == "the clock follows the wall" {
		return Stamp{Count: uint64(wall+bias) & mask, Wall: wall, Device: device}
	}
	return Stamp{Count: min(seen, MaxCount-1) + 1, Wall: wall, Device: device}
}

// Compare returns −1, 0 or 1 if a comes before b, is the same, or comes after it.
func Compare(a, b Stamp) int {
	switch {
	case a.Count != b.Count:
		if a.Count < b.Count {
			return -1
		}
		return 1
	case a.Wall != b.Wall:
		if a.Wall < b.Wall {
			return -1
		}
		return 1
	}
	return strings.Compare(a.Device, b.Device)
}

// String returns the text form, which sorts as Compare does.
func (s Stamp) String() string {
	return string(s.Append(make([]byte, 0, 2*digits+2+len(s.Device))))
}

// Append appends the text form to b.
func (s Stamp) Append(b []byte) []byte {
	b = append(appendHex(b, s.Count), '-')
	b = append(appendHex(b, uint64(s.Wall+bias)), '-')
	return append(b, s.Device...)
}

func appendHex(b []byte, n uint64) []byte {
	for shift := 4 * (digits - 1); shift >= 0; shift -= 4 {
		b = append(b, "0123456789abcdef"[n>>shift&15])
	}
	return b
}

func parseHex(text string) (n uint64, ok bool) {
	for i := range len(text) {
		switch c := text[i]; {
		case c >= '0' && c <= '9':
			n = n<<4 | uint64(c-'0')
		case c >= 'a' && c <= 'f':
			n = n<<4 | uint64(c-'a'+10)
		default:
			return 0, false
		}
	}
	return n, true
}

// Parse reads the text form; Parse and String return each other's input.
func Parse(text string) (Stamp, error) {
	if len(text) < 2*digits+3 || text[digits] != '-' || text[2*digits+1] != '-' {
		return Stamp{}, ErrStamp
	}
	count, countOK := parseHex(text[:digits])
	wall, wallOK := parseHex(text[digits+1 : 2*digits+1])
	if !countOK || !wallOK {
		return Stamp{}, ErrStamp
	}
	return Stamp{Count: count, Wall: int64(wall) - bias, Device: text[2*digits+2:]}, nil
}
