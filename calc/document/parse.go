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
func Parse(b []byte) (Value, error) {
	if len(b) > MaxBytes {
		return Value{}, Refuse(CodeSyntax, "", "the document is larger than "+strconv.Itoa(MaxBytes)+" bytes")
	}
	p := parser{b: b}
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
	span   string                 // the bytes of a list of numbers, of which their texts are parts
	from   int                    // where it begins
	shapes [MaxDepth + 2][]string // the names of the latest object at each depth: those in a list mostly have the same, and then share them
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
	own := false
	v.Items = make([]Value, 0, max(len(like), 4))
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
			own = true
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
			p.shapes[depth] = v.Names
			return v, true
		default:
			return Value{}, p.bad("a comma or closing brace is missing")
		}
	}
}

// same takes a name if it is the one expected, written without an escape.
func (p *parser) same(name string) bool {
	end := p.i + 1 + len(name)
	if end >= len(p.b) || p.b[end] != '"' || string(p.b[p.i+1:end]) != name {
		return false
	}
	for i := range len(name) {
		if name[i] == '\\' || name[i] == '"' || name[i] < 0x20 {
			return false
		}
	}
	p.i = end + 1
	return true
}

func (p *parser) array(depth int) (Value, bool) {
	v := Value{Kind: Array}
	p.i++
	p.space()
	if p.peek() == ']' {
		p.i++
		return v, true
	}
	if c := p.peek(); c == '-' || c >= '0' && c <= '9' {
		v.Items = make([]Value, 0, p.ahead())
	}
	for {
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
		case ']':
			p.i++
			return v, true
		default:
			return Value{}, p.bad("a comma or closing bracket is missing")
		}
	}
}

// ahead keeps the bytes up to the next closing bracket, and tells how many values stand there if all are numbers: no more than there are commas, and one.
func (p *parser) ahead() int {
	n := 1
	for i, c := range p.b[p.i:] {
		switch c {
		case ',':
			n++
		case '[', '{', '"':
			return 1
		case ']':
			p.from, p.span = p.i, string(p.b[p.i:p.i+i])
			return n
		}
	}
	return 1
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
	if p.peek() == '-' {
		p.i++
	}
	if p.peek() == '0' {
		p.i++
	} else if !p.digits() {
		return Value{}, p.bad("a digit is missing")
	}
	if p.peek() == '.' {
		p.i++
		if !p.digits() {
			return Value{}, p.bad("a digit is missing after the point")
		}
	}
	if c := p.peek(); c == 'e' || c == 'E' {
		p.i++
		if c := p.peek(); c == '+' || c == '-' {
			p.i++
		}
		if !p.digits() {
			return Value{}, p.bad("a digit is missing in the exponent")
		}
	}
	if start >= p.from && p.i <= p.from+len(p.span) {
		return Value{Kind: Number, Text: p.span[start-p.from : p.i-p.from]}, true
	}
	return Value{Kind: Number, Text: string(p.b[start:p.i])}, true
}

func (p *parser) text() (string, bool) {
	p.i++
	start := p.i
	for p.i < len(p.b) && p.b[p.i] != '"' && p.b[p.i] != '\\' && p.b[p.i] >= 0x20 {
		p.i++
	}
	if p.i < len(p.b) && p.b[p.i] == '"' {
		s := p.b[start:p.i]
		p.i++
		if !utf8.Valid(s) {
			return "", p.bad("text is not UTF-8")
		}
		return string(s), true
	}
	out := append([]byte(nil), p.b[start:p.i]...)
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
