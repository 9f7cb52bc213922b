package link

import "gaugewright/sync/change"

// apart takes the list named "changes" out of an object, so that its items, which are nearly all of
// the bytes, are read once and quickly.
//
// Gives:   the object with an empty list, and the bytes of each item.
// Refuses: anything unexpected, by false. It only finds the ends of the items: the caller must
// still read them, and the rest, in full.
func apart(body []byte) (rest []byte, items [][]byte, ok bool) {
	s := skim{b: body}
	s.space()
	if !s.take('{') {
		return nil, nil, false
	}
	for s.i < len(body) {
		s.space()
		from := s.i
		if !s.text() {
			return nil, nil, false
		}
		name := string(body[from:s.i])
		s.space()
		if !s.take(':') {
			return nil, nil, false
		}
		s.space()
		if name == `"changes"` {
			return s.list()
		}
		if !s.value() {
			return nil, nil, false
		}
		s.space()
		if !s.take(',') {
			return nil, nil, false
		}
	}
	return nil, nil, false
}

type skim struct {
	b []byte
	i int
}

func (s *skim) space() {
	for s.i < len(s.b) && (s.b[s.i] == ' ' || s.b[s.i] == '\n' || s.b[s.i] == '\t' || s.b[s.i] == '\r') {
		s.i++
	}
}

func (s *skim) take(c byte) bool {
	if s.i < len(s.b) && s.b[s.i] == c {
		s.i++
		return true
	}
	return false
}

func (s *skim) text() bool {
	if !s.take('"') {
		return false
	}
	for {
		if s.i = change.Plain(s.b, s.i); s.i >= len(s.b) {
			return false
		}
		switch s.b[s.i] {
		case '"':
			s.i++
			return true
		case '\\':
			s.i++
		}
		s.i++
	}
}

// value goes to the end of a value; for one in brackets, to the bracket that closes it.
func (s *skim) value() bool {
	depth := 0
	for s.i < len(s.b) {
		switch s.b[s.i] {
		case '"':
			if !s.text() {
				return false
			}
			if depth == 0 {
				return true
			}
			continue
		case '{', '[':
			depth++
		case '}', ']':
			if depth--; depth < 0 {
				return true // the end of the enclosing value
			}
			if depth == 0 {
				s.i++
				return true
			}
		case ',', ' ', '\n', '\t', '\r':
			if depth == 0 {
				return true
			}
		}
		s.i++
	}
	return false
}

func (s *skim) list() (rest []byte, items [][]byte, ok bool) {
	if !s.take('[') {
		return nil, nil, false
	}
	begun := s.i
	s.space()
	for more := !s.take(']'); more; {
		s.space()
		from := s.i
		if s.i >= len(s.b) || s.b[s.i] != '{' || !s.value() {
			return nil, nil, false
		}
		items = append(items, s.b[from:s.i:s.i])
		s.space()
		switch {
		case s.take(']'):
			more = false
		case !s.take(','):
			return nil, nil, false
		}
	}
	rest = append(append(make([]byte, 0, begun+len(s.b)-s.i+1), s.b[:begun]...), s.b[s.i-1:]...)
	return rest, items, true
}

// quickly reads the changes of a body, all of which must be canonical.
func quickly(body []byte, most int) (rest []byte, items [][]byte, changes []change.Change, ok bool) {
	rest, items, ok = apart(body)
	if !ok || len(items) > most {
		return nil, nil, nil, false
	}
	changes = make([]change.Change, len(items))
	for i := range items {
		if changes[i], ok = change.Quick(items[i]); !ok {
			return nil, nil, nil, false
		}
	}
	return rest, items, changes, true
}
