package document

import (
	"math"
	"strconv"
	"unicode/utf8"
)

// Writer appends one JSON document: Begin and End go around every object, BeginList and EndList
// around every list. A number that is not finite is kept as a fault, so that no output contains
// one.
type Writer struct {
	buf   []byte
	fault *Fault
	turn  uint32 // of the seen that are of this document
	seen  [512]struct {
		bits     uint64
		from, to uint32
		turn     uint32
	} // where a number was written before: many recur in every point
}

// NewWriter returns a Writer that appends to buf.
func NewWriter(buf []byte) *Writer { return &Writer{buf: buf} }

// Bytes returns what was written.
func (w *Writer) Bytes() []byte { return w.buf }

// Err returns the first fault.
func (w *Writer) Err() error {
	if w.fault != nil {
		return w.fault
	}
	return nil
}

func (w *Writer) comma() {
	if n := len(w.buf); n > 0 && w.buf[n-1] != '{' && w.buf[n-1] != '[' && w.buf[n-1] != ':' {
		w.buf = append(w.buf, ',')
	}
}

func (w *Writer) name(name string) {
	b := w.buf
	if n := len(b); n > 0 && b[n-1] != '{' && b[n-1] != '[' && b[n-1] != ':' {
		b = append(b, ',')
	}
	w.buf = append(AppendText(b, name), ':')
}

// Begin opens an object: the document itself, or an item of a list.
//
//go:noinline
func (w *Writer) Begin() {
	w.comma()
	w.buf = append(w.buf, '{')
}

// BeginObject opens an object in a field.
//
//go:noinline
func (w *Writer) BeginObject(name string) {
	w.name(name)
	w.buf = append(w.buf, '{')
}

// End closes an object.
//
//go:noinline
func (w *Writer) End() { w.buf = append(w.buf, '}') }

// BeginList opens a list in a field.
//
//go:noinline
func (w *Writer) BeginList(name string) {
	w.name(name)
	w.buf = append(w.buf, '[')
}

// BeginItemList opens a list that is an item of a list.
//
//go:noinline
func (w *Writer) BeginItemList() {
	w.comma()
	w.buf = append(w.buf, '[')
}

// EndList closes a list.
//
//go:noinline
func (w *Writer) EndList() { w.buf = append(w.buf, ']') }

// Number writes a number field in the shortest form that reads back to the same float64. The name
// is not escaped: names of the contract consist of letters, digits and _.
func (w *Writer) Number(name string, x float64) {
	w.comma()
	w.buf = append(append(append(w.buf, '"'), name...), '"', ':')
	w.number(name, x)
}

// NumberItem writes a number as an item of a list.
func (w *Writer) NumberItem(x float64) {
	w.comma()
	w.number("", x)
}

func (w *Writer) number(name string, x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		if w.fault == nil {
			w.fault = &Fault{Code: CodeNotFinite, Field: name, Message: "the result is not a finite number"}
		}
		x = 0
	}
	bits := math.Float64bits(x)
	s := &w.seen[bits*0x9e3779b97f4a7c15>>55]
	if s.bits == bits && s.turn == w.turn && s.to > 0 {
		w.buf = append(w.buf, w.buf[s.from:s.to]...)
		return
	}
	from := len(w.buf)
	w.buf = AppendNumber(w.buf, x)
	if to := len(w.buf); to <= math.MaxUint32 {
		s.bits, s.from, s.to, s.turn = bits, uint32(from), uint32(to), w.turn
	}
}

// AppendNumber appends x in the shortest form that reads back to the same float64, plain between
// 1e-6 and 1e21, else with an exponent.
func AppendNumber(b []byte, x float64) []byte {
	if x == 0 {
		return append(b, '0')
	}
	if a := math.Abs(x); a < 1e-6 || a >= 1e21 {
		return strconv.AppendFloat(b, x, 'e', -1, 64)
	}
	return strconv.AppendFloat(b, x, 'f', -1, 64)
}

// Whole writes a whole number field.
func (w *Writer) Whole(name string, n int) {
	w.name(name)
	w.buf = strconv.AppendInt(w.buf, int64(n), 10)
}

// Text writes a text field.
func (w *Writer) Text(name, s string) {
	w.name(name)
	w.buf = AppendText(w.buf, s)
}

// TextItem writes a text as an item of a list.
func (w *Writer) TextItem(s string) {
	w.comma()
	w.buf = AppendText(w.buf, s)
}

// Flag writes true or false.
func (w *Writer) Flag(name string, b bool) {
	w.name(name)
	w.buf = strconv.AppendBool(w.buf, b)
}

// Value writes a parsed value as a field, its numbers with the text they came with.
func (w *Writer) Value(name string, v *Value) {
	w.name(name)
	w.buf = AppendValue(w.buf, v)
}

// Raw writes bytes that already are a JSON value as a field.
//
//go:noinline
func (w *Writer) Raw(name string, value []byte) {
	w.name(name)
	w.buf = append(w.buf, value...)
}

// RawItem writes bytes that already are a JSON value as an item of a list.
//
//go:noinline
func (w *Writer) RawItem(value []byte) {
	w.comma()
	w.buf = append(w.buf, value...)
}

// ValueItem writes a parsed value as an item of a list.
func (w *Writer) ValueItem(v *Value) {
	w.comma()
	w.buf = AppendValue(w.buf, v)
}

// Warn writes one item of a "warnings" list.
func (w *Writer) Warn(code, field, message string) {
	w.Begin()
	w.Text("code", code)
	w.Text("field", field)
	w.Text("message", message)
	w.End()
}

// AppendValue appends a parsed value without spaces, in the order it was read.
func AppendValue(b []byte, v *Value) []byte {
	switch v.Kind {
	case Null:
		return append(b, "null"...)
	case Bool, Number:
		return append(b, v.Text...)
	case String:
		return AppendText(b, v.Text)
	case Array:
		b = append(b, '[')
		for i := range len(v.Text) {
			if c := v.Text[i]; !isSpace(c) {
				b = append(b, c)
			}
		}
		items := v.Items()
		for i := range items {
			if i > 0 {
				b = append(b, ',')
			}
			b = AppendValue(b, &items[i])
		}
		return append(b, ']')
	case Object:
		b = append(b, '{')
		items := v.Items()
		for i, name := range v.Names() {
			if i > 0 {
				b = append(b, ',')
			}
			b = AppendText(b, name)
			b = append(b, ':')
			b = AppendValue(b, &items[i])
		}
		return append(b, '}')
	}
	return b
}

// asIs marks the bytes that need no escape in a JSON text.
var asIs = func() (table [256]bool) {
	for c := 0x20; c < utf8.RuneSelf; c++ {
		table[c] = c != '"' && c != '\\'
	}
	return table
}()

// AppendText appends s as a JSON text; only quotes, backslashes and control characters are escaped.
// Bytes that are not UTF-8 become U+FFFD.
func AppendText(b []byte, s string) []byte {
	const hex = "0123456789abcdef"
	b = append(b, '"')
	plain := 0
	for plain < len(s) && asIs[s[plain]] {
		plain++
	}
	b = append(b, s[:plain]...)
	if plain == len(s) {
		return append(b, '"')
	}
	for i := plain; i < len(s); {
		c := s[i]
		if c < utf8.RuneSelf {
			i++
			switch {
			case c == '"' || c == '\\':
				b = append(b, '\\', c)
			case c == '\n':
				b = append(b, '\\', 'n')
			case c == '\r':
				b = append(b, '\\', 'r')
			case c == '\t':
				b = append(b, '\\', 't')
			case c == '\b':
				b = append(b, '\\', 'b')
			case c == '\f':
				b = append(b, '\\', 'f')
			case c < 0x20:
				b = append(b, '\\', 'u', '0', '0', hex[c>>4], hex[c&15])
			default:
				b = append(b, c)
			}
			continue
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		b = utf8.AppendRune(b, r)
		i += n
	}
	return append(b, '"')
}

// Quote returns s as a JSON text, for use in a message. (strconv.Quote would add tables of
// printable characters to the phone's module.)
func Quote(s string) string { return string(AppendText(nil, s)) }
