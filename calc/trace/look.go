package trace

import (
	"unicode/utf8"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Kind is what most cells of a column are.
type Kind string

// The kinds of column.
const (
	Numbers Kind = "numbers"
	Words   Kind = "words"
	Clocks  Kind = "clocks"
	Dates   Kind = "dates"   // with their clock
	Days    Kind = "days"    // dates alone
	Nothing Kind = "nothing" // every cell is empty
)

// Seen is what one column seems to be.
type Seen struct {
	Name, Unit string
	Kind       Kind
	Guess      string // time, date, pressure, temperature, barometer, contact or ""
	Samples    []string
	Words      []string // the different words, if there are few
	Empty      int
	Low, High  float64
	Rising     bool // each number is above the one before
}

// View is what the beginning of a record seems to be.
type View struct {
	BOM, Latin         bool
	Separator, Decimal byte
	Comment            string
	Comments           []string
	Header, UnitRow    int // physical lines, 0 if there is none
	FirstLine          int
	Rows               int     // of data seen
	RowBytes           float64 // mean length of a row of data
	Columns            []Seen
	Order              string // of dates; "" if it cannot be known
	Zone               string // of dates: "", "none" or "given"
	IntervalS          float64
	Thousands          bool // numbers with both marks
}

// commentMarks begin a line that is a comment.
var commentMarks = [...]string{"#", "%", "//", "!"}

const (
	mostLooked  = 400 // rows
	mostSamples = 5
	mostWords   = 6
)

type line struct {
	at, from, to int // physical line; bytes
	cells        []string
}

// Look guesses the form of a record from its first bytes.
//
// Takes:   bytes from the beginning, about 64 kB, and whether they are the whole record.
// Gives:   the View. Read uses nothing of it unless a person confirms it.
// Refuses: Fault shape for a record in UTF-16 or an empty one.
func Look(b []byte, last bool) (View, error) {
	v := View{}
	from := 0
	switch {
	case len(b) >= 3 && string(b[:3]) == "\xef\xbb\xbf":
		v.BOM, from = true, 3
	case len(b) >= 2 && (b[0] == 0xff && b[1] == 0xfe || b[0] == 0xfe && b[1] == 0xff) || len(b) >= 2 && (b[0] == 0 || b[1] == 0):
		return v, document.Refuse(
			document.CodeShape, "text", "this record is written in UTF-16; save it as UTF-8 or plain text",
		)
	}
	v.Latin = !utf8.Valid(whole(b, last))
	v.Comment = commentOf(b[from:])
	v.Separator = separatorOf(b[from:], v.Comment, last)
	lines := linesOf(b, from, v.Separator, &v, last)
	if len(lines) == 0 {
		return v, document.Refuse(document.CodeShape, "text", "this record has no line of data")
	}
	width := widthOf(lines)
	v.Decimal = decimalOf(lines, v.Separator, &v)
	kinds := kindsOf(lines[len(lines)/3:], width, v.Decimal)
	first := firstOf(lines, kinds, v.Decimal)
	v.FirstLine = lines[first].at
	v.Columns = make([]Seen, width)
	for i := range v.Columns {
		v.Columns[i].Kind = kinds[i]
	}
	above := first - 1
	if above >= 0 && unitRow(lines[above].cells) {
		v.UnitRow = lines[above].at
		for i := range v.Columns {
			if i < len(lines[above].cells) {
				v.Columns[i].Unit = unitText(lines[above].cells[i])
			}
		}
		above--
	}
	if above >= 0 && 2*len(lines[above].cells) > width {
		v.Header = lines[above].at
		for i := range v.Columns {
			if i < len(lines[above].cells) {
				name, unit := named(lines[above].cells[i])
				v.Columns[i].Name = name
				if v.Columns[i].Unit == "" {
					v.Columns[i].Unit = unit
				}
			}
		}
	}
	data := lines[first:]
	v.Rows = len(data)
	v.RowBytes = float64(data[len(data)-1].to-data[0].from) / float64(len(data))
	for i := range v.Columns {
		v.Columns[i].take(data, i, v.Decimal)
	}
	v.guess(data)
	return v, nil
}

// whole removes a character that the end of the bytes cuts in two.
func whole(b []byte, last bool) []byte {
	if last {
		return b
	}
	for k := 1; k <= 3 && k <= len(b); k++ {
		if c := b[len(b)-k]; c >= 0xc0 {
			return b[:len(b)-k]
		}
	}
	return b
}

func commentOf(b []byte) string {
	for at := 0; at < len(b); {
		for _, m := range commentMarks {
			if begins(b[at:], m) {
				return m
			}
		}
		for at < len(b) && b[at] != '\n' && b[at] != '\r' {
			at++
		}
		at++
	}
	return ""
}

// linesOf returns the complete rows; comments go to the view.
func linesOf(b []byte, from int, separator byte, v *View, last bool) []line {
	var list []line
	s := splitter{b: b, separator: separator, last: last}
	at := 1
	for from < len(b) && len(list) < mostLooked {
		if begins(b[from:], v.Comment) {
			end := from
			for end < len(b) && b[end] != '\n' && b[end] != '\r' {
				end++
			}
			if len(v.Comments) < mostSamples {
				v.Comments = append(v.Comments, utf8Text(b[from:end]))
			}
			if end+1 < len(b) && b[end] == '\r' && b[end+1] == '\n' {
				end++
			}
			from = end + 1
			at++
			continue
		}
		r, ok := s.next(from)
		if !ok {
			break
		}
		l := line{at: at, from: r.from, to: r.next}
		empty := true
		for _, c := range r.cells {
			text := utf8Text(s.cell(c))
			empty = empty && text == ""
			l.cells = append(l.cells, text)
		}
		if !empty {
			list = append(list, l)
		}
		at += r.lines
		from = r.next
	}
	return list
}

// separatorOf returns the separator that cuts most rows into the same number of cells, at least
// two.
func separatorOf(b []byte, comment string, last bool) byte {
	best, bestShare := byte(','), 0.0
	for _, sep := range [...]byte{';', '\t', '|', ','} {
		v := View{Comment: comment}
		lines := linesOf(b, 0, sep, &v, last)
		if len(lines) == 0 {
			continue
		}
		width := widthOf(lines)
		same := 0
		for _, l := range lines {
			if len(l.cells) == width {
				same++
			}
		}
		share := float64(same) / float64(len(lines))
		if width < 2 {
			continue
		}
		if share >= 0.8 && bestShare < 0.8 || share > bestShare+0.15 {
			best, bestShare = sep, share
		}
	}
	return best
}

// widthOf returns the commonest number of cells in the last two thirds of the rows.
func widthOf(lines []line) int {
	tail := lines[len(lines)/3:]
	best, count := 0, 0
	for i := range tail {
		n := 0
		for j := range tail {
			if len(tail[j].cells) == len(tail[i].cells) {
				n++
			}
		}
		if n > count {
			best, count = len(tail[i].cells), n
		}
		if i > 40 {
			break // as sure as it gets
		}
	}
	return best
}

func decimalOf(lines []line, separator byte, v *View) byte {
	commas, points := 0, 0
	for _, l := range lines[len(lines)/3:] {
		for _, c := range l.cells {
			comma, point, other := 0, 0, false
			for i := range len(c) {
				switch {
				case c[i] == ',':
					comma++
				case c[i] == '.':
					point++
				case c[i] >= '0' && c[i] <= '9', c[i] == '-' && i == 0, c[i] == '+' && i == 0, c[i] == 'e', c[i] == 'E':
				default:
					other = true
				}
			}
			switch {
			case other:
			case comma > 0 && point > 0: // the last of the two is the decimal mark
				v.Thousands = true
				for i := len(c) - 1; i >= 0; i-- {
					if c[i] == ',' {
						commas++
					} else if c[i] == '.' {
						points++
					} else {
						continue
					}
					break
				}
			case comma == 1:
				commas++
			case point == 1:
				points++
			}
		}
	}
	if commas > points && (separator != ',' || points == 0) {
		return ','
	}
	return '.'
}

// kindOf returns the kind of one cell.
func kindOf(c string, decimal byte) Kind {
	b := []byte(c)
	if empty(b) {
		return Nothing
	}
	if _, ok := number(b, decimal); ok {
		return Numbers
	}
	if _, ok := clockOf(b); ok {
		return Clocks
	}
	for _, order := range orders {
		if _, ok := dayOf(b, order); ok {
			return Days
		}
		if _, _, ok := dateOf(b, order); ok {
			return Dates
		}
	}
	return Words
}

var orders = [...]string{"ymd", "dmy", "mdy"}

func kindsOf(tail []line, width int, decimal byte) []Kind {
	all := [...]Kind{Numbers, Clocks, Dates, Days, Words}
	kinds := make([]Kind, width)
	for i := range kinds {
		kinds[i] = Nothing
		var counts [len(all)]int
		best := 0
		for _, l := range tail {
			if i >= len(l.cells) {
				continue
			}
			k := kindOf(l.cells[i], decimal)
			for j := range all {
				if all[j] == k {
					counts[j]++
					if counts[j] > best {
						best, kinds[i] = counts[j], k
					}
				}
			}
		}
	}
	return kinds
}

// firstOf finds the first row that, like the two after it, has the form of the data.
func firstOf(lines []line, kinds []Kind, decimal byte) int {
	like := func(l line) bool {
		if len(l.cells) != len(kinds) {
			return false
		}
		some := false
		for i, c := range l.cells {
			k := kindOf(c, decimal)
			if k != Nothing && kinds[i] != Nothing && k != kinds[i] {
				return false
			}
			some = some || k != Nothing && (k != Words || len(kinds) == 1)
		}
		return some
	}
	for i := range lines {
		if like(lines[i]) && (i+1 >= len(lines) || like(lines[i+1])) && (i+2 >= len(lines) || like(lines[i+2])) {
			return i
		}
	}
	return min(1, len(lines)-1)
}

// take gathers what the cells of a column show.
func (c *Seen) take(data []line, i int, decimal byte) {
	n := 0
	before := 0.0
	c.Rising = true
	for _, l := range data {
		if i >= len(l.cells) || empty([]byte(l.cells[i])) {
			c.Empty++
			continue
		}
		text := l.cells[i]
		if len(c.Samples) < mostSamples {
			c.Samples = append(c.Samples, text)
		}
		if c.Kind == Words && len(c.Words) <= mostWords {
			known := false
			for _, w := range c.Words {
				known = known || w == text
			}
			if !known {
				c.Words = append(c.Words, text)
			}
		}
		x, ok := number([]byte(text), decimal)
		if !ok {
			continue
		}
		if n == 0 || x < c.Low {
			c.Low = x
		}
		if n == 0 || x > c.High {
			c.High = x
		}
		c.Rising = c.Rising && (n == 0 || x > before)
		before = x
		n++
	}
	c.Rising = c.Rising && n > 1
	if len(c.Words) > mostWords {
		c.Words = nil
	}
}

// unitText returns the unit that a cell holds, "" if it holds none.
func unitText(c string) string {
	if n := len(c); n > 2 && (c[0] == '[' && c[n-1] == ']' || c[0] == '(' && c[n-1] == ')') {
		c = c[1 : n-1]
	}
	if _, ok := units.Find(c); ok || c == "ms" {
		return c
	}
	return ""
}

// unitRow reports whether a row holds units and nothing else.
func unitRow(cells []string) bool {
	some := false
	for _, c := range cells {
		bracket := len(c) > 2 && (c[0] == '[' || c[0] == '(')
		if c == "" || c == "-" || c == "hh:mm:ss" {
			continue
		}
		if unitText(c) == "" && !bracket {
			return false
		}
		some = true
	}
	return some
}

// named splits the unit off a heading: in brackets, or after a slash, an underscore or a space.
func named(c string) (name, unit string) {
	for i := len(c) - 1; i > 0; i-- {
		switch c[i] {
		case '[', '(', '/', '_', ' ', ',':
			u := c[i+1:]
			if c[i] == '[' || c[i] == '(' {
				if u == "" || u[len(u)-1] != ']' && u[len(u)-1] != ')' {
					continue
				}
				u = u[:len(u)-1]
			}
			if u = unitText(u); u != "" {
				return string(trim([]byte(c[:i]))), u
			}
			if c[i] != ' ' && c[i] != '_' {
				continue
			}
			return c, ""
		}
	}
	return c, ""
}

// median returns the median of steps in seconds.
func median(steps []float64) float64 {
	if len(steps) == 0 {
		return 0
	}
	numeric.Sort(steps)
	return steps[len(steps)/2]
}

// utf8Text returns a cell as text: as UTF-8 if valid, else as Latin-1.
func utf8Text(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	out := make([]byte, 0, 2*len(b))
	for _, c := range b {
		out = utf8.AppendRune(out, rune(c))
	}
	return string(out)
}
