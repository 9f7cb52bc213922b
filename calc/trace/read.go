package trace

import (
	"math"

	"gaugewright/calc/units"
)

// Piece is the result of reading one piece of a record.
type Piece struct {
	Used    int // bytes taken; the next piece begins with the byte after them
	Samples []Sample
	Faults  []Fault
	Gaps    []Gap
	State   State
}

type taker struct {
	split  splitter
	r      *Reading
	s      State
	group  []Sample
	need   int
	faults []Fault
	gaps   []Gap
	out    []Sample
}

// Read reads rows from a piece of a record's text.
//
//	t = (row's time − first row's time) in s, from whole nanoseconds; a row is used when its time follows the time before it and all its columns hold a value
//
// Takes:   bytes that begin after the last byte used of the piece before, whether they are the last
// piece, the reading, the state after the piece before.
// Gives:   the samples kept of whole groups of rows, and the state after them. However a record is
// cut, the samples are the same.
// Refuses: nothing; a faulty row becomes a Fault at its line and is counted.
func Read(text []byte, last bool, r *Reading, s State) Piece {
	t := taker{
		r: r, s: s, split: splitter{b: text, separator: r.Separator, last: last}, group: make([]Sample, 0, r.Block),
	}
	t.need = max(r.Time.At, r.Time.DateAt, r.Pressure.At, r.Temperature.At, r.Barometer.At, r.Contact.At)
	at, used, faults, gaps, mark := 0, 0, 0, 0, s
	if s.Line == 0 && len(text) >= 3 && string(text[:3]) == "\xef\xbb\xbf" {
		at = 3
	}
	for at < len(text) {
		next, ok := t.line(at)
		if !ok {
			break
		}
		at = next
		if len(t.group) == r.Block {
			t.flush()
		}
		if len(t.group) == 0 {
			used, faults, gaps, mark = at, len(t.faults), len(t.gaps), t.s
		}
	}
	if last {
		t.flush()
		t.finish()
		used, faults, gaps, mark = len(text), len(t.faults), len(t.gaps), t.s
	}
	return Piece{Used: used, Samples: t.out, Faults: t.faults[:faults], Gaps: t.gaps[:gaps], State: mark}
}

// line reads the line or row that begins at a byte: a line before the data, a comment or a row; ok
// is false if it is incomplete.
func (t *taker) line(at int) (next int, ok bool) {
	b := t.split.b
	if t.s.Line+1 < t.r.FirstLine || begins(b[at:], t.r.Comment) {
		i := at
		for i < len(b) && b[i] != '\n' && b[i] != '\r' {
			i++
		}
		if i+1 >= len(b) && !t.split.last && (i >= len(b) || b[i] == '\r') {
			return at, false
		}
		if i < len(b) {
			i++
			if b[i-1] == '\r' && i < len(b) && b[i] == '\n' {
				i++
			}
		}
		if t.s.Line+1 >= t.r.FirstLine {
			t.s.Comments++
		}
		t.s.Line++
		return i, true
	}
	row, ok := t.split.next(at)
	if !ok {
		return at, false
	}
	line := t.s.Line + 1
	t.s.Line += row.lines
	if t.blank(row) {
		t.s.Blank++
		return row.next, true
	}
	t.s.Rows++
	if row.badQuote {
		t.fault(line, BadQuote, t.split.b[row.from:row.to])
	} else if len(row.cells) < t.need {
		t.fault(line, ShortRow, t.split.b[row.from:row.to])
	} else if x, ok := t.row(line, row); ok {
		t.group = append(t.group, x)
	}
	return row.next, true
}

func begins(b []byte, with string) bool {
	return with != "" && len(b) >= len(with) && string(b[:len(with)]) == with
}

func (t *taker) blank(r row) bool {
	for _, c := range r.cells {
		if len(t.split.cell(c)) > 0 {
			return false
		}
	}
	return true
}

func (t *taker) cell(r row, column int) []byte { return t.split.cell(r.cells[column-1]) }

func (t *taker) fault(line int, code Code, cell []byte) {
	t.s.FaultsBy[code]++
	t.s.Faults++
	if t.s.Faults <= mostFaults {
		const most = 60
		if len(cell) > most {
			cell = cell[:most]
		}
		t.faults = append(t.faults, Fault{Line: line, Code: code, Cell: utf8Text(cell)})
	}
}

// row turns a row into a sample; ok is false if it is not used.
func (t *taker) row(line int, r row) (x Sample, ok bool) {
	ns, ok := t.time(line, r)
	if !ok {
		return x, false
	}
	x.T = float64(ns) / 1e9
	ok = true
	for k, c := range [...]*Column{&t.r.Pressure, &t.r.Temperature, &t.r.Barometer} {
		if c.At == 0 {
			continue
		}
		cell := t.cell(r, c.At)
		v, is := number(cell, t.r.Decimal)
		if !is {
			ok = false
			if empty(cell) {
				t.s.Missing[k]++
			} else {
				t.fault(line, NotANumber, cell)
			}
			continue
		}
		v = c.turn(v)
		switch k {
		case 0:
			x.P = v
			if t.r.Plausible > 0 && math.Abs(v) > t.r.Plausible && !t.s.Implausible {
				t.s.Implausible = true
				t.fault(line, Implausible, cell)
			}
		case 1:
			x.Temperature = v
			if v <= -units.ZeroCelsius {
				ok = false
				t.fault(line, BelowZero, cell)
			}
		case 2:
			x.Barometer = v
		}
	}
	if t.r.Contact.At > 0 && !t.contact(line, t.cell(r, t.r.Contact.At), &x) {
		ok = false
	}
	if !ok {
		return x, false
	}
	if ns < t.r.FromNS || ns > t.r.ToNS {
		t.s.Outside++
		return x, false
	}
	if t.s.Used == 0 || x.P < t.s.Low {
		t.s.Low = x.P
	}
	if t.s.Used == 0 || x.P > t.s.High {
		t.s.High = x.P
	}
	t.s.Used++
	t.s.EndNS = ns
	return x, true
}

func (t *taker) contact(line int, cell []byte, x *Sample) bool {
	c := &t.r.Contact
	if c.ByNumber {
		v, is := number(cell, t.r.Decimal)
		if is {
			x.Contact = v > c.Above
			return true
		}
	} else {
		for _, w := range c.Actuated {
			if same(cell, w) {
				x.Contact = true
				return true
			}
		}
		for _, w := range c.Rest {
			if same(cell, w) {
				return true
			}
		}
	}
	if empty(cell) {
		t.s.Missing[3]++
	} else {
		t.fault(line, ContactWord, cell)
	}
	return false
}

// time returns a row's time since the first row. A time that does not follow the one before is a
// fault.
func (t *taker) time(line int, r row) (int64, bool) {
	c := &t.r.Time
	var cell []byte
	if c.At > 0 {
		cell = t.cell(r, c.At)
	}
	var ns int64
	ok, zoned := true, false
	switch {
	case c.Form == Indexed && c.At == 0:
		ns = int64(t.s.Rows-1) * c.UnitNS
	case c.Form == Indexed || c.Form == Counted:
		ns, ok = nanoseconds(cell, t.r.Decimal, c.UnitNS)
	case c.Form == Clocked:
		ns, ok = clockOf(cell)
		if ok && t.s.Started && ns < day && ns+t.s.Day < t.s.Clock-12*hour {
			t.s.Day += day
		}
		ns += t.s.Day
	case c.DateAt > 0:
		var days int64
		days, ok = dayOf(t.cell(r, c.DateAt), c.Order)
		if ok {
			ns, ok = clockOf(cell)
			ns += days
		}
	default:
		ns, zoned, ok = dateOf(cell, c.Order)
	}
	if !ok {
		t.fault(line, TimeForm, cell)
		return 0, false
	}
	if !t.s.Started {
		t.s.Started, t.s.Zoned, t.s.First, t.s.Clock = true, zoned, ns, ns
		return 0, true
	}
	if zoned != t.s.Zoned {
		t.fault(line, MixedZone, cell)
		return 0, false
	}
	clock := ns
	ns += t.s.Bridged - t.s.First
	last := t.s.Last
	switch step := ns - last; {
	case step == 0:
		t.fault(line, TimeTwice, cell)
		return 0, false
	case step < 0 && !c.Bridge:
		t.fault(line, TimeBackwards, cell)
		return 0, false
	case step < 0:
		add := last + max(t.s.Step, 1) - ns
		t.gap(Gap{Line: line, From: last, To: ns, Bridged: add})
		t.s.Bridged += add
		ns += add
	default:
		if t.r.GapNS > 0 && step > t.r.GapNS {
			t.gap(Gap{Line: line, From: last, To: ns})
		} else {
			t.s.Step = step
		}
	}
	t.s.Last, t.s.Clock = ns, clock
	return ns, true
}

func (t *taker) gap(g Gap) {
	t.s.Gaps++
	if t.s.Gaps <= mostGaps {
		t.gaps = append(t.gaps, g)
	}
}

// finish reports the faults that only the whole record shows.
func (t *taker) finish() {
	s := &t.s
	switch {
	case s.Used == 0:
		t.fault(0, NoRows, nil)
		return
	case t.r.Contact.At > 0 && s.Changes == 0:
		t.fault(0, ContactStill, nil)
	}
	if t.r.Plausible > 0 && math.Abs(s.Low) < t.r.Plausible/faint && math.Abs(s.High) < t.r.Plausible/faint {
		t.fault(0, Implausible, nil)
	}
}

// Bounds beyond which the unit of a pressure is doubted: above three times the end of the
// instrument's range, or below a two-hundredth of it.
const (
	beyondEnd = 3
	faint     = beyondEnd * 200
)
