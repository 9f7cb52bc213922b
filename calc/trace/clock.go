package trace

import "gaugewright/calc/document"

const (
	second = int64(1e9)
	hour   = 3600 * second
	day    = 24 * hour
)

// scan consumes the digits of a text one after another.
type scan struct {
	b []byte
	i int
}

func (s *scan) digits(least, most int) (int, bool) {
	n, from := 0, s.i
	for s.i < len(s.b) && s.i-from < most && s.b[s.i] >= '0' && s.b[s.i] <= '9' {
		n = n*10 + int(s.b[s.i]-'0')
		s.i++
	}
	return n, s.i-from >= least
}

func (s *scan) take(c byte) bool {
	if s.i < len(s.b) && s.b[s.i] == c {
		s.i++
		return true
	}
	return false
}

func (s *scan) over() bool { return s.i == len(s.b) }

// clock reads hours, minutes and optional seconds with a fraction. Hours beyond 23 are those of an
// elapsed time.
func (s *scan) clock() (int64, bool) {
	h, ok := s.digits(1, 4)
	if !ok || !s.take(':') {
		return 0, false
	}
	m, ok := s.digits(2, 2)
	if !ok || m > 59 {
		return 0, false
	}
	ns := int64(h)*hour + int64(m)*60*second
	if s.take(':') {
		sec, ok := s.digits(2, 2)
		if !ok || sec > 60 {
			return 0, false
		}
		ns += int64(sec) * second
		if s.i < len(s.b) && (s.b[s.i] == '.' || s.b[s.i] == ',') {
			s.i++
			scale, any := second/10, false
			for ; s.i < len(s.b) && s.b[s.i] >= '0' && s.b[s.i] <= '9'; s.i++ {
				ns += int64(s.b[s.i]-'0') * scale
				scale /= 10
				any = true
			}
			if !any {
				return 0, false
			}
		}
	}
	for s.i < len(s.b) && s.b[s.i] == ' ' {
		s.i++
	}
	if s.i+2 <= len(s.b) {
		pm := same(s.b[s.i:s.i+2], "pm")
		if pm || same(s.b[s.i:s.i+2], "am") {
			if h < 1 || h > 12 {
				return 0, false
			}
			if h == 12 {
				ns -= 12 * hour
			}
			if pm {
				ns += 12 * hour
			}
			s.i += 2
		}
	}
	return ns, true
}

// date reads a date in the order given ("ymd", "dmy", "mdy"), as days since 1970.
func (s *scan) date(order string) (int64, bool) {
	var n [3]int
	for k := range n {
		most, least := 2, 1
		if order[k] == 'y' {
			most, least = 4, 4
		}
		x, ok := s.digits(least, most)
		if !ok {
			return 0, false
		}
		n[k] = x
		if k < 2 && !s.take('-') && !s.take('.') && !s.take('/') {
			return 0, false
		}
	}
	var y, m, d int
	for k := range n {
		switch order[k] {
		case 'y':
			y = n[k]
		case 'm':
			m = n[k]
		case 'd':
			d = n[k]
		}
	}
	if y > 2200 {
		return 0, false // does not fit in nanoseconds since 1970
	}
	days, ok := document.Day(y, m, d)
	return int64(days), ok
}

// zone reads Z or an offset from it, as nanoseconds to subtract; has is false if there is none.
func (s *scan) zone() (shift int64, has, ok bool) {
	if s.over() {
		return 0, false, true
	}
	if s.take('Z') || s.take('z') {
		return 0, true, true
	}
	sign := int64(1)
	switch {
	case s.take('+'):
	case s.take('-'):
		sign = -1
	default:
		return 0, false, false
	}
	h, ok := s.digits(2, 2)
	s.take(':')
	m, ok2 := s.digits(2, 2)
	if !ok || !ok2 || h > 23 || m > 59 {
		return 0, false, false
	}
	return sign * (int64(h)*hour + int64(m)*60*second), true, true
}

// clockOf reads a cell that holds only a time of day.
func clockOf(b []byte) (int64, bool) {
	s := scan{b: b}
	ns, ok := s.clock()
	return ns, ok && s.over()
}

// dateOf reads a cell that holds a date and a clock, with a zone or without, as nanoseconds since
// 1970.
func dateOf(b []byte, order string) (ns int64, zoned, ok bool) {
	s := scan{b: b}
	days, ok := s.date(order)
	if !ok {
		return 0, false, false
	}
	if !s.take('T') && !s.take('t') && !s.take(' ') {
		return 0, false, false
	}
	ns, ok = s.clock()
	if !ok {
		return 0, false, false
	}
	shift, zoned, ok := s.zone()
	return days*day + ns - shift, zoned, ok && s.over()
}

// dayOf reads a cell that holds only a date.
func dayOf(b []byte, order string) (int64, bool) {
	s := scan{b: b}
	days, ok := s.date(order)
	return days * day, ok && s.over()
}
