package trace

// span is one cell of a row in the piece's bytes.
type span struct {
	from, to int
	quoted   bool // it contains a doubled quote, or its quotes are included
}

// longestQuoted is how far a closing quote is searched for. Otherwise an unclosed quote would
// swallow the rest of a record.
const longestQuoted = 4096

// row is one row of the text.
type row struct {
	cells    []span
	lines    int // physical lines it takes
	next     int // where the next row begins
	badQuote bool
	from, to int
}

// splitter cuts the bytes of a piece into rows and these into cells (RFC 4180, with any separator,
// and line ends of any kind).
type splitter struct {
	b         []byte
	separator byte
	last      bool // these bytes are the last
	cells     []span
}

// next returns the row that begins at a byte; ok is false if it is not complete yet.
func (s *splitter) next(at int) (r row, ok bool) {
	b := s.b
	s.cells = s.cells[:0]
	r.from, r.lines = at, 1
	i := at
	for {
		start := i
		for i < len(b) && b[i] == ' ' && s.separator != ' ' {
			i++
		}
		if i < len(b) && b[i] == '"' {
			end, lines, closed := s.quoted(i + 1)
			if end < 0 {
				return r, false
			}
			if closed {
				s.cells = append(s.cells, span{i + 1, end, true})
				r.lines += lines
				i = end + 1
				for i < len(b) && b[i] != s.separator && b[i] != '\n' && b[i] != '\r' {
					if b[i] != ' ' {
						r.badQuote = true
					}
					i++
				}
			} else {
				r.badQuote = true
				i = s.plain(start)
				s.cells = append(s.cells, span{start, i, false})
			}
		} else {
			i = s.plain(i)
			s.cells = append(s.cells, span{start, i, false})
		}
		if i >= len(b) {
			r.to, r.next, r.cells = i, i, s.cells
			return r, s.last
		}
		switch b[i] {
		case s.separator:
			i++
			continue
		case '\r':
			if i+1 >= len(b) && !s.last {
				return r, false // a line feed may follow
			}
			r.to = i
			i++
			if i < len(b) && b[i] == '\n' {
				i++
			}
		default:
			r.to = i
			i++
		}
		r.next, r.cells = i, s.cells
		return r, true
	}
}

func (s *splitter) plain(i int) int {
	b, sep := s.b, s.separator
	for i < len(b) && b[i] != sep && b[i] != '\n' && b[i] != '\r' {
		i++
	}
	return i
}

// quoted finds the quote that closes a cell; end is −1 if the bytes end too early to tell.
func (s *splitter) quoted(i int) (end, lines int, closed bool) {
	from := i
	for ; i < len(s.b); i++ {
		if i-from > longestQuoted {
			return from, 0, false
		}
		switch s.b[i] {
		case '\n':
			lines++
		case '\r':
			if i+1 >= len(s.b) || s.b[i+1] != '\n' {
				lines++
			}
		case '"':
			if i+1 < len(s.b) && s.b[i+1] == '"' {
				i++
				continue
			}
			if i+1 >= len(s.b) && !s.last {
				return -1, 0, false
			}
			return i, lines, true
		}
	}
	if s.last {
		return from, 0, false
	}
	return -1, 0, false
}

// cell returns the bytes of a cell without surrounding spaces; doubled quotes count once.
func (s *splitter) cell(c span) []byte {
	b := trim(s.b[c.from:c.to])
	if !c.quoted {
		return b
	}
	for i := 0; i+1 < len(b); i++ {
		if b[i] == '"' && b[i+1] == '"' {
			once := append([]byte(nil), b[:i]...)
			for ; i < len(b); i++ {
				once = append(once, b[i])
				if b[i] == '"' && i+1 < len(b) && b[i+1] == '"' {
					i++
				}
			}
			return once
		}
	}
	return b
}

func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	return b
}
