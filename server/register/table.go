package register

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	utf16 "golang.org/x/text/encoding/unicode"
)

var (
	// ErrFile is wrapped when a file is not a table that can be read.
	ErrFile = errors.New("the file cannot be read")
	// ErrColumns is wrapped when the columns of the header are not valid.
	ErrColumns = errors.New("the columns are not valid")
)

const (
	// maxBytes and maxRows bound what is held in memory at once; a large plant has some ten thousand
	// instruments.
	maxBytes = 64 << 20
	maxRows  = 100_000
)

// line is one row of the table with the number of the line it begins on.
type line struct {
	number int
	cells  []string
}

// table is the file split into rows.
type table struct {
	encoding  string
	delimiter rune
	header    []string
	headerAt  int      // line of the header
	titles    []string // the rows above it
	lines     []line
}

// look says how to split a file; what a person says overrides what is detected.
type look struct {
	delimiter rune              // 0: detected
	header    int               // line of the header, 0: detected, -1: the first
	chosen    map[string]string // headings for which a person chose a field
}

// cut reads the bytes of a file: UTF-8 with or without a byte order mark, UTF-16 with one,
// otherwise Windows-1252. The header is the first line with the most known headings, so titles may
// come before it. The delimiter is the one of comma, semicolon and tab that gives the most known
// headings, else the most frequent one in the header.
func cut(data []byte, how look) (*table, error) { return cutBy(data, how, fields) }

func cutBy(data []byte, how look, fields []field) (*table, error) {
	t, data, err := decoded(data)
	if err != nil {
		return nil, err
	}
	marks := []rune{how.delimiter}
	if how.delimiter == 0 {
		marks = []rune{delimiterOf(data), ';', ',', '\t'}
	}
	var lines []line
	best, known := -1, headingWords(fields, how.chosen)
	for _, mark := range marks {
		some, err2 := rowsOf(data, mark)
		if err2 != nil {
			if err == nil {
				err = err2
			}
			continue
		}
		if at, score := headerOf(some, known); score > best {
			best, lines, t.delimiter, t.headerAt = score, some, mark, at
		}
	}
	if best < 0 {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, fmt.Errorf("%w: it is empty", ErrFile)
	}
	switch {
	case how.header < 0:
		t.headerAt = 0
	case how.header > 0:
		t.headerAt = slices.IndexFunc(lines, func(l line) bool { return l.number == how.header })
		if t.headerAt < 0 {
			return nil, fmt.Errorf("%w: no row begins in line %d", ErrFile, how.header)
		}
	}
	for _, l := range lines[:t.headerAt] {
		t.titles = append(
			t.titles, strings.Join(slices.DeleteFunc(l.cells, func(c string) bool { return c == "" }), " "),
		)
	}
	t.header, t.lines = lines[t.headerAt].cells, lines[t.headerAt+1:]
	t.headerAt = lines[t.headerAt].number
	if len(t.lines) == 0 {
		return nil, fmt.Errorf("%w: it has a header and no rows", ErrFile)
	}
	return t, nil
}

// decoded returns the text of a file in UTF-8.
func decoded(data []byte) (*table, []byte, error) {
	if len(data) > maxBytes {
		return nil, nil, fmt.Errorf("%w: larger than %d MiB", ErrFile, maxBytes>>20)
	}
	t := &table{encoding: "UTF-8"}
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		b, err := utf16.UTF16(utf16.LittleEndian, utf16.UseBOM).NewDecoder().Bytes(data)
		if err != nil {
			return nil, nil, fmt.Errorf("%w: %w", ErrFile, err)
		}
		data, t.encoding = b, "UTF-16"
	}
	if !utf8.Valid(data) {
		b, err := charmap.Windows1252.NewDecoder().Bytes(data)
		if err != nil {
			return nil, nil, fmt.Errorf("%w: %w", ErrFile, err)
		}
		data, t.encoding = b, "Windows-1252"
	}
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, nil, fmt.Errorf("%w: it is not text; save the sheet as CSV", ErrFile)
	}
	return t, data, nil
}

// rowsOf splits a text into the rows that are not blank.
func rowsOf(data []byte, delimiter rune) (lines []line, err error) {
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.FieldsPerRecord = delimiter, -1
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return lines, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrFile, err)
		}
		for i := range cells {
			cells[i] = strings.TrimFunc(cells[i], unicode.IsSpace)
		}
		number, _ := r.FieldPos(0)
		if blank(cells) {
			continue
		}
		if lines = append(lines, line{number, cells}); len(lines) > maxRows {
			return nil, fmt.Errorf("%w: more than %d rows", ErrFile, maxRows)
		}
	}
}

// mostTitles is how many rows may come before the header.
const mostTitles = 25

// headerOf finds the header among the first rows, which is the one with the most known headings,
// and how many these are; the first row if none has two.
func headerOf(lines []line, known map[string]string) (at, score int) {
	for i, l := range lines[:min(len(lines), mostTitles+1)] {
		n := 0
		for _, c := range l.cells {
			if known[letters(c)] != "" {
				n++
			}
		}
		if n > score && (n > 1 || i == 0) {
			at, score = i, n
		}
	}
	return at, score
}

// headingWords are the known headings as letters, each with its field.
func headingWords(fields []field, chosen map[string]string) map[string]string {
	words := map[string]string{}
	for _, f := range fields {
		words[letters(f.name)] = f.name
		for _, w := range f.also {
			words[letters(w)] = f.name
		}
	}
	for heading, field := range chosen {
		if field != "" {
			words[letters(heading)] = field
		}
	}
	delete(words, "")
	return words
}

func blank(cells []string) bool {
	for _, c := range cells {
		if c != "" {
			return false
		}
	}
	return true
}

func delimiterOf(data []byte) rune {
	count := map[rune]int{}
	quoted := false
header:
	for _, r := range string(data) {
		switch r {
		case '"':
			quoted = !quoted
		case '\n', '\r':
			if !quoted && len(count) > 0 {
				break header
			}
		case ',', ';', '\t':
			if !quoted {
				count[r]++
			}
		}
	}
	best := ','
	for _, r := range []rune{';', '\t'} {
		if count[r] > count[best] {
			best = r
		}
	}
	return best
}

// letters returns a heading in the form for comparing.
func letters(s string) string {
	if i := strings.IndexAny(s, "([{"); i > 0 {
		s = s[:i]
	}
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// columns finds the column of every field. chosen maps headings to field names, or to
// "" for a column to leave out.
func columns(header []string, chosen map[string]string) (at map[string]int, unused []string, err error) {
	return columnsBy(header, chosen, fields)
}

func columnsBy(
	header []string, chosen map[string]string, fields []field,
) (at map[string]int, unused []string, err error) {
	words := headingWords(fields, nil)
	byLetters := map[string]string{}
	for heading, field := range chosen {
		if field != "" && !knownIn(fields, field) {
			return nil, nil, fmt.Errorf(
				"%w: %q is no field; there are %s", ErrColumns, field, strings.Join(FieldNames(), " "),
			)
		}
		found := false
		for _, h := range header {
			found = found || h == heading || letters(h) == letters(heading)
		}
		if !found {
			return nil, nil, fmt.Errorf("%w: no column is headed %q; there are %q", ErrColumns, heading, header)
		}
		byLetters[letters(heading)] = field
	}
	at = map[string]int{}
	taken := map[string]bool{}
	for _, field := range byLetters {
		taken[field] = true // a person's choice goes before a guess
	}
	for i, h := range header {
		field, mapped := byLetters[letters(h)]
		if !mapped {
			if field = words[letters(h)]; taken[field] {
				field = ""
			}
		}
		if field == "" {
			if h != "" {
				unused = append(unused, h)
			}
			continue
		}
		if k, twice := at[field]; twice {
			return nil, nil, fmt.Errorf(
				"%w: %q and %q are both taken for %s; say which with --map", ErrColumns, header[k], h,
				field,
			)
		}
		at[field] = i
	}
	return at, unused, nil
}
