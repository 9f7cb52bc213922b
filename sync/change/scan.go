package change

import (
	"encoding/binary"
	"unicode/utf8"
	"unsafe"

	"gaugewright/sync/clock"
)

// Scan goes once through bytes that should be in canonical form and returns parts of them. Anything
// unexpected makes OK false for good; the caller then uses the slow reader, which says what is
// wrong.
type Scan struct {
	b   []byte
	s   string // b as a string, so that texts share its memory
	i   int
	bad bool
}

// NewScan returns a Scan of a copy of b.
func NewScan(b []byte) *Scan {
	s := string(b)
	return &Scan{b: unsafe.Slice(unsafe.StringData(s), len(s)), s: s} // one copy for both: nobody writes to either
}

// OK reports whether everything so far was as expected.
func (s *Scan) OK() bool { return !s.bad }

// End reports whether everything was as expected and nothing is left.
func (s *Scan) End() bool { return !s.bad && s.i == len(s.s) }

// Next reports whether text comes next. It does not take it.
func (s *Scan) Next(text string) bool {
	return !s.bad && len(s.s)-s.i >= len(text) && s.s[s.i:s.i+len(text)] == text
}

// Take takes text if it follows.
func (s *Scan) Take(text string) bool {
	if !s.Next(text) {
		return false
	}
	s.i += len(text)
	return true
}

// Need takes text, which must follow.
func (s *Scan) Need(text string) {
	if !s.Take(text) {
		s.bad = true
	}
}

// Text takes a JSON text without escapes.
func (s *Scan) Text() string {
	if s.bad || s.i >= len(s.s) || s.s[s.i] != '"' {
		s.bad = true
		return ""
	}
	k := Plain(s.b, s.i+1)
	if k == len(s.b) || s.b[k] != '"' {
		s.bad = true
		return ""
	}
	text := s.s[s.i+1 : k]
	s.i = k + 1
	return text
}

// Plain returns the place of the first byte from i on that needs care within a text: a quote, a
// backslash, a control character or a part of a character that is not ASCII. It looks at eight
// bytes at once.
func Plain(b []byte, i int) int {
	const ones, highs = 0x0101010101010101, 0x8080808080808080
	for len(b)-i >= 8 {
		x := binary.LittleEndian.Uint64(b[i:])
		quote, back := x^ones*'"', x^ones*'\\'
		if ((x-ones*0x20)|(quote-ones)|(back-ones)|x)&highs != 0 { // borrows can only report too much
			break
		}
		i += 8
	}
	for i < len(b) && b[i] >= 0x20 && b[i] < utf8.RuneSelf && b[i] != '"' && b[i] != '\\' {
		i++
	}
	return i
}

// Texts takes a list of texts without escapes.
func (s *Scan) Texts() []string {
	list := []string{}
	s.Need("[")
	if s.Take("]") {
		return list
	}
	for !s.bad {
		list = append(list, s.Text())
		if s.Take("]") {
			return list
		}
		s.Need(",")
	}
	return list
}

// Whole takes a whole number from 0 on, of at most 15 digits.
func (s *Scan) Whole() uint64 {
	from := s.i
	var n uint64
	for s.i < len(s.s) && s.s[s.i] >= '0' && s.s[s.i] <= '9' {
		n = n*10 + uint64(s.s[s.i]-'0')
		s.i++
	}
	if d := s.i - from; d == 0 || d > 15 || d > 1 && s.s[from] == '0' {
		s.bad = true
	}
	return n
}

// Stamp takes a text that is a stamp.
func (s *Scan) Stamp() clock.Stamp {
	t, err := clock.Parse(s.Text())
	if err != nil {
		s.bad = true
	}
	return t
}

// Value takes any value in canonical form.
func (s *Scan) Value() []byte {
	from := s.i
	if s.value(0); s.bad {
		return nil
	}
	return s.b[from:s.i:s.i]
}

// maxScanDepth is far below the depth that a document may have, so a refusal here never decides
// what is too deep.
const maxScanDepth = 32

func (s *Scan) value(depth int) {
	if s.bad || s.i >= len(s.s) || depth > maxScanDepth {
		s.bad = true
		return
	}
	switch c := s.s[s.i]; {
	case c == '"':
		s.anyText()
	case c == '-' || c >= '0' && c <= '9':
		s.number()
	case c == '[':
		s.i++
		for more := !s.Take("]"); more && !s.bad; more = !s.Take("]") {
			s.value(depth + 1)
			if !s.Next("]") {
				s.more("]")
			}
		}
	case c == '{':
		s.i++
		s.object(depth)
	case c == 't':
		s.Need("true")
	case c == 'f':
		s.Need("false")
	case c == 'n':
		s.Need("null")
	default:
		s.bad = true
	}
}

// more takes a comma, after which the list or object must not end.
func (s *Scan) more(end string) {
	s.Need(",")
	if s.Next(end) {
		s.bad = true
	}
}

func (s *Scan) object(depth int) {
	var few [16]string
	names := few[:0]
	for more := !s.Take("}"); more && !s.bad; more = !s.Take("}") {
		from := s.i
		s.anyText()
		name := s.s[from:s.i]
		for _, other := range names {
			if name == other {
				s.bad = true
			}
		}
		if names = append(names, name); len(names) > 64 {
			s.bad = true // the slow reader compares so many names
		}
		s.Need(":")
		s.value(depth + 1)
		if !s.Next("}") {
			s.more("}")
		}
	}
}

// anyText takes a text with the escapes that its canonical form has.
func (s *Scan) anyText() {
	if s.bad || s.i >= len(s.s) || s.s[s.i] != '"' {
		s.bad = true
		return
	}
	s.i++
	for {
		if s.i = Plain(s.b, s.i); s.i == len(s.b) {
			break
		}
		c := s.s[s.i]
		switch {
		case c == '"':
			s.i++
			return
		case c < 0x20:
			s.bad = true
			return
		case c == '\\':
			if s.i+1 >= len(s.s) {
				s.bad = true
				return
			}
			switch s.s[s.i+1] {
			case '"', '\\', 'n', 'r', 't', 'b', 'f':
				s.i += 2
			default: // the slow reader takes \u and \/
				s.bad = true
				return
			}
		default:
			r, n := utf8.DecodeRuneInString(s.s[s.i:])
			if r == utf8.RuneError && n <= 1 {
				s.bad = true
				return
			}
			s.i += n
		}
	}
	s.bad = true
}

func (s *Scan) digits() {
	from := s.i
	for s.i < len(s.s) && s.s[s.i] >= '0' && s.s[s.i] <= '9' {
		s.i++
	}
	if s.i == from {
		s.bad = true
	}
}

func (s *Scan) number() {
	s.Take("-")
	if !s.Take("0") {
		s.digits()
	}
	if s.Take(".") {
		s.digits()
	}
	if s.Take("e") || s.Take("E") {
		if !s.Take("+") {
			s.Take("-")
		}
		s.digits()
	}
}

// quick reads a change whose bytes are canonical. It refuses some canonical changes and never takes
// one that is not canonical.
func quick(b []byte) (Change, bool) {
	if len(b) > MaxBytes {
		return Change{}, false
	}
	s := NewScan(b)
	var c Change
	s.Need(`{"v":1,"id":`)
	c.ID = s.Text()
	s.Need(`,"device":`)
	c.Device = s.Text()
	s.Need(`,"seq":`)
	c.Seq = s.Whole()
	s.Need(`,"author":`)
	c.Author = s.Text()
	s.Need(`,"wall":`)
	c.Wall = s.Text()
	s.Need(`,"stamp":`)
	c.Stamp = s.Stamp()
	s.Need(`,"record":`)
	c.Record = s.Text()
	s.Need(`,"kind":`)
	c.Kind = s.Text()
	s.Need(`,"site":`)
	c.Site = s.Text()
	s.Need(`,"parent":`)
	c.Parent = s.Text()
	s.Need(`,"set":[`)
	for more := true; more && s.OK(); {
		s.Need(`{"field":`)
		set := Setting{Field: s.Text()}
		s.Need(`,"value":`)
		set.Value = s.Value()
		s.Need(`,"sees":`)
		set.Sees = s.Texts()
		s.Need(`}`)
		if !s.OK() || !isName(set.Field, MaxField) || len(set.Value) > MaxValue || len(set.Sees) > MaxSees ||
			len(c.Set) >= 64 {
			return Change{}, false
		}
		for i, id := range set.Sees {
			if !IsID(id) || i > 0 && set.Sees[i-1] >= id {
				return Change{}, false
			}
		}
		for k := range c.Set {
			if c.Set[k].Field == set.Field {
				return Change{}, false
			}
		}
		c.Set = append(c.Set, set)
		more = s.Take(",")
	}
	s.Need(`]}`)
	ok := s.End() && c.Seq >= 1 && IsID(c.ID) && IsID(c.Device) && IsID(c.Author) && IsID(c.Record) && (c.Site == "" || IsID(c.Site)) &&
		(c.Parent == "" || IsID(c.Parent)) && isName(c.Kind, MaxField) && isTime(c.Wall) && c.Stamp.Device == c.Device
	if !ok {
		return Change{}, false
	}
	return c, true
}
