package document

import (
	"strconv"
	"unicode/utf8"
)

// Parse reads one JSON document (RFC 8259).
//
// Takes:   the bytes of one value, at most MaxBytes, nested at most MaxDepth.
// Gives:   the value with the text of its numbers unchanged.
// Refuses: a Fault of code "syntax" naming the byte offset; also for a name given twice, invalid UTF-8 and anything after the value.
func Parse(b []byte) (Value, error) { return parse(b, false) }

// parse reads one document. What is passing keeps all its texts in one copy of the document, and its values side by side: a part of it that
// outlives the call would keep the whole.
func parse(b []byte, passing bool) (Value, error) {
	if len(b) > MaxBytes {
		return Value{}, Refuse(CodeSyntax, "", "the document is larger than "+strconv.Itoa(MaxBytes)+" bytes")
	}
	p := parser{b: b}
	if passing {
		p.whole = string(b)
		p.stack = make([]Value, 0, min(len(b)/64, 256))
	}
	p.space()
	v, ok := p.value(0)
	if ok {
		p.space()
		if p.i != len(p.b) {
			ok = p.bad("something follows the document")
		}
	}
	if !ok {
		return Value{}, Refuse(CodeSyntax, "", p.why+" at byte "+strconv.Itoa(p.i))
	}
	return v, nil
}

type parser struct {
	b      []byte
	i      int
	why    string
	whole  string                 // the document, of which the texts are parts; "" where each text is its own
	plain  bool                   // the latest text was written as it is, without an escape
	stack  []Value                // items of the lists that are open
	slab   []Value                // room for the items of objects and lists of a document whose texts are parts of it
	shapes [MaxDepth + 2][]string // the names of the latest object at each depth: those in a list mostly have the same, and then share them
}

// slabs are how many values are made room for at once.
const slabs = 128

// room returns an empty list for n values.
func (p *parser) room(n int) []Value {
	if p.whole == "" || n > slabs/4 {
		return make([]Value, 0, n)
	}
	if n > len(p.slab) {
		p.slab = make([]Value, slabs)
	}
	list := p.slab[:0:n]
	p.slab = p.slab[n:]
	return list
}

// part returns the bytes between two places as a text.
func (p *parser) part(from, to int) string {
	if p.whole != "" {
		return p.whole[from:to]
	}
	return string(p.b[from:to])
}

func (p *parser) bad(why string) bool {
	if p.why == "" {
		p.why = why
	}
	return false
}

func (p *parser) space() {
	for p.i < len(p.b) {
		switch p.b[p.i] {
		case ' ', '\t', '\n', '\r':
			p.i++
		default:
			return
		}
	}
}

func (p *parser) peek() byte {
	if p.i < len(p.b) {
		return p.b[p.i]
	}
	return 0
}

func (p *parser) word(w string, v Value) (Value, bool) {
	if len(p.b)-p.i >= len(w) && string(p.b[p.i:p.i+len(w)]) == w {
		p.i += len(w)
		return v, true
	}
	return Value{}, p.bad("unknown word")
}

func (p *parser) value(depth int) (Value, bool) {
	if depth > MaxDepth {
		return Value{}, p.bad("nested too deep")
	}
	switch c := p.peek(); {
	case c == '{':
		return p.object(depth)
	case c == '[':
		return p.array(depth)
	case c == '"':
		s, ok := p.text()
		return Value{Kind: String, Text: s}, ok
	case c == 't':
		return p.word("true", Value{Kind: Bool, Text: "true"})
	case c == 'f':
		return p.word("false", Value{Kind: Bool, Text: "false"})
	case c == 'n':
		return p.word("null", Value{Kind: Null})
	case c == '-' || (c >= '0' && c <= '9'):
		return p.number()
	}
	return Value{}, p.bad("a value is missing")
}

func (p *parser) object(depth int) (Value, bool) {
	v := Value{Kind: Object}
	p.i++
	p.space()
	if p.peek() == '}' {
		p.i++
		return v, true
	}
	like := p.shapes[depth]
	own, plain := false, true
	v.Items = p.room(max(len(like), 4))
	for {
		p.space()
		if p.peek() != '"' {
			return Value{}, p.bad("a name is missing")
		}
		n := len(v.Items)
		if !own && n < len(like) && p.same(like[n]) {
			v.Names = like[: n+1 : n+1]
		} else {
			name, ok := p.text()
			if !ok {
				return Value{}, false
			}
			if _, twice := v.Get(name); twice {
				return Value{}, p.bad("the name " + Quote(name) + " stands twice")
			}
			own, plain = true, plain && p.plain
			v.Names = append(v.Names, name)
		}
		p.space()
		if p.peek() != ':' {
			return Value{}, p.bad("a colon is missing")
		}
		p.i++
		p.space()
		item, ok := p.value(depth + 1)
		if !ok {
			return Value{}, false
		}
		v.Items = append(v.Items, item)
		p.space()
		switch p.peek() {
		case ',':
			p.i++
		case '}':
			p.i++
			if plain {
				p.shapes[depth] = v.Names
			}
			return v, true
		default:
			return Value{}, p.bad("a comma or closing brace is missing")
		}
	}
}

// same takes a name if it is the one expected, which holds nothing that would be escaped.
func (p *parser) same(name string) bool {
	end := p.i + 1 + len(name)
	if end >= len(p.b) || p.b[end] != '"' || string(p.b[p.i+1:end]) != name {
		return false
	}
	p.i = end + 1
	return true
}

func (p *parser) array(depth int) (Value, bool) {
	p.i++
	p.space()
	if p.peek() == ']' {
		p.i++
		return Value{Kind: Array}, true
	}
	if c := p.peek(); depth < MaxDepth && (c == '-' || c >= '0' && c <= '9') {
		if v, ok := p.numbers(); ok {
			return v, true
		}
	}
	low := len(p.stack)
	for {
		p.space()
		item, ok := p.value(depth + 1)
		if !ok {
			return Value{}, false
		}
		p.stack = append(p.stack, item)
		p.space()
		switch p.peek() {
		case ',':
			p.i++
		case ']':
			p.i++
			v := Value{Kind: Array, Items: append(p.room(len(p.stack)-low), p.stack[low:]...)}
			p.stack = p.stack[:low]
			return v, true
		default:
			return Value{}, p.bad("a comma or closing bracket is missing")
		}
	}
}

// manyNumbers is from how many on a list of numbers is kept as it was written.
const manyNumbers = 32

// numbers takes a long list that holds nothing but numbers; ok is false, and nothing is taken, where it is something else or at fault.
func (p *parser) numbers() (v Value, ok bool) {
	start := p.i
	for n := 1; ; n++ {
		p.space()
		if !p.figure() {
			break
		}
		p.space()
		c := p.peek()
		if c == ']' && n >= manyNumbers {
			v = Value{Kind: Array, Text: p.part(start, p.i)}
			p.i++
			return v, true
		}
		if c != ',' {
			break
		}
		p.i++
	}
	p.i, p.why = start, ""
	return Value{}, false
}

func (p *parser) digits() bool {
	start := p.i
	for p.i < len(p.b) && p.b[p.i] >= '0' && p.b[p.i] <= '9' {
		p.i++
	}
	return p.i > start
}

func (p *parser) number() (Value, bool) {
	start := p.i
	if !p.figure() {
		return Value{}, false
	}
	return Value{Kind: Number, Text: p.part(start, p.i)}, true
}

// figure passes over a number.
func (p *parser) figure() bool {
	if p.peek() == '-' {
		p.i++
	}
	if p.peek() == '0' {
		p.i++
	} else if !p.digits() {
		return p.bad("a digit is missing")
	}
	if p.peek() == '.' {
		p.i++
		if !p.digits() {
			return p.bad("a digit is missing after the point")
		}
	}
	if c := p.peek(); c == 'e' || c == 'E' {
		p.i++
		if c := p.peek(); c == '+' || c == '-' {
			p.i++
		}
		if !p.digits() {
			return p.bad("a digit is missing in the exponent")
		}
	}
	return true
}

func (p *parser) text() (string, bool) {
	p.i++
	start := p.i
	i := start
	for i < len(p.b) && asIs[p.b[i]] {
		i++
	}
	p.plain = true
	if i < len(p.b) && p.b[i] == '"' {
		p.i = i + 1
		return p.part(start, i), true
	}
	for i < len(p.b) && p.b[i] != '"' && p.b[i] != '\\' && p.b[i] >= 0x20 {
		i++
	}
	p.i = i
	if i < len(p.b) && p.b[i] == '"' {
		p.i++
		if !utf8.Valid(p.b[start:i]) {
			return "", p.bad("text is not UTF-8")
		}
		return p.part(start, i), true
	}
	p.plain = false
	out := append([]byte(nil), p.b[start:i]...)
	for p.i < len(p.b) {
		c := p.b[p.i]
		switch {
		case c == '"':
			p.i++
			if !utf8.Valid(out) {
				return "", p.bad("text is not UTF-8")
			}
			return string(out), true
		case c < 0x20:
			return "", p.bad("a control character stands in a text")
		case c == '\\':
			p.i++
			var ok bool
			if out, ok = p.escape(out); !ok {
				return "", false
			}
		default:
			out = append(out, c)
			p.i++
		}
	}
	return "", p.bad("a text is not closed")
}

func (p *parser) escape(out []byte) ([]byte, bool) {
	c := p.peek()
	p.i++
	switch c {
	case '"', '\\', '/':
		return append(out, c), true
	case 'b':
		return append(out, '\b'), true
	case 'f':
		return append(out, '\f'), true
	case 'n':
		return append(out, '\n'), true
	case 'r':
		return append(out, '\r'), true
	case 't':
		return append(out, '\t'), true
	case 'u':
		r, ok := p.hex4()
		if !ok {
			return nil, false
		}
		if r >= 0xD800 && r <= 0xDBFF && p.peek() == '\\' && p.i+1 < len(p.b) && p.b[p.i+1] == 'u' {
			p.i += 2
			low, ok := p.hex4()
			if !ok {
				return nil, false
			}
			if low < 0xDC00 || low > 0xDFFF {
				return nil, p.bad("half a surrogate pair")
			}
			r = 0x10000 + (r-0xD800)<<10 + (low - 0xDC00)
		} else if r >= 0xD800 && r <= 0xDFFF {
			return nil, p.bad("half a surrogate pair")
		}
		return utf8.AppendRune(out, r), true
	}
	return nil, p.bad("unknown escape")
}

func (p *parser) hex4() (rune, bool) {
	if p.i+4 > len(p.b) {
		return 0, p.bad("four hexadecimal digits are missing")
	}
	var r rune
	for range 4 {
		c := p.b[p.i]
		p.i++
		switch {
		case c >= '0' && c <= '9':
			r = r<<4 | rune(c-'0')
		case c >= 'a' && c <= 'f':
			r = r<<4 | rune(c-'a'+10)
		case c >= 'A' && c <= 'F':
			r = r<<4 | rune(c-'A'+10)
		default:
			return 0, p.bad("four hexadecimal digits are missing")
		}
	}
	return r, true
}
