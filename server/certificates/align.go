package certificates

import "strings"

// ends are the two marks between the figures of a cell with both ends of a limit.
var ends = []string{"… ", "/"}

// mark returns where the decimals of a cell's figure begin: at its decimal mark or, without one,
// behind its last digit. Of both ends of a limit the last figure counts. It is false for a cell
// that is not a figure.
func mark(cell string) (at int, ok bool) {
	const signs = "+−±≤≥ "
	start := 0
	for _, end := range ends {
		if i := strings.LastIndex(cell, end); i >= 0 && isNumber(cell[i+len(end):]) {
			start = max(start, i+len(end))
		}
	}
	figure := strings.TrimLeft(cell[start:], signs)
	if !isNumber(figure) {
		return 0, false
	}
	at = len(cell) - len(figure)
	if end := strings.IndexFunc(figure, func(r rune) bool { return r < '0' || r > '9' }); end >= 0 {
		return at + end, true
	}
	return len(cell), true
}

// isNumber reports whether a text begins with a digit after its sign.
func isNumber(text string) bool {
	text = strings.TrimLeft(text, "+−")
	return text != "" && text[0] >= '0' && text[0] <= '9'
}

// atPoint returns the width of a cell before its decimal mark and from there on, in the current
// font. A cell that is not a figure ends before it.
func (s *sheet) atPoint(cell string) (head, tail float64) {
	at, ok := mark(cell)
	if !ok {
		return s.width(cell), 0
	}
	head = s.width(cell[:at])
	return head, s.width(cell) - head
}

// inLine returns how wide a column of cells is with its decimal marks in one line, and how much of
// that is from the mark on, in the current font.
func (s *sheet) inLine(cells []string) (wide, tail float64) {
	head := 0.0
	for _, c := range cells {
		before, from := s.atPoint(c)
		head, tail = max(head, before), max(tail, from)
	}
	return head + tail, tail
}

// put writes a cell of a column that ends at right: a figure with its decimal mark at the column's,
// anything else against the end.
func (s *sheet) put(right, y, height, tail float64, cell string) {
	at := right - s.width(cell)
	if _, ok := mark(cell); ok {
		head, _ := s.atPoint(cell)
		at = right - tail - head
	}
	s.powers(at, y, height, cell)
}

// columnOf returns the cells of one column of rows.
func columnOf(rows [][]string, i int) (list []string) {
	for _, row := range rows {
		list = append(list, row[i])
	}
	return list
}
