package document

import (
	"bytes"
	"strconv"
	"unicode/utf8"
)

// Parse reads one JSON document (RFC 8259).
//
// Takes:   the bytes of one value, at most MaxBytes with at most MaxValues values in it, nested at
// most MaxDepth.
// Gives:   the value with the text of its numbers unchanged.
// Refuses: a Fault of code "syntax" naming the byte offset; also for a name given twice, invalid
// UTF-8 and anything after the value.
func Parse(b []byte) (Value, error) { return parse(b, false, nil) }

// Passing is Parse for a document of which no part outlives the call: its texts lie in one copy of
// it.
func Passing(b []byte) (Value, error) { return parse(b, true, nil) }

// parse reads one document. What is passing keeps all its texts in one copy of the document, and
// its values side by side: a part of it that outlives the call would keep the whole. They lie in a
// space where one is given, and must be done with when that is given back.
func parse(b []byte, passing bool, in *space) (Value, error) {
	if len(b) > MaxBytes {
		return Value{}, Refuse(CodeSyntax, "", "the document is larger than "+strconv.Itoa(MaxBytes)+" bytes")
	}
	p := parser{b: b, in: in}
	if passing {
		p.whole = string(b)
	}
	switch {
	case in != nil:
		p.stack = in.stack[:0]
		defer func() { in.stack = p.stack[:0] }()
	case passing:
		p.stack = make([]Value, 0, min(len(b)/64, 256))
	}
	p.space()
	var v Value
	ok := p.value(&v, 0)
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
	values int // read so far
	why    string
	whole  string                 // the document, of which the texts are parts; "" where each text is its own
	plain  bool                   // the latest text was written as it is, without an escape
	stack  []Value                // items of the lists that are open
	inners []inner                // space for the members of objects and lists, likewise
	slab   []Value                // space for the items of objects and lists of a document whose texts are parts of it
	in     *space                 // where these lie, if they outlive nothing
	taken  [2]int                 // how many slabs and inners of it are
	shapes [MaxDepth + 2][]string // the names of the latest object at each depth: those in a list mostly have the same, and then share them
}

// slabs is the number of values that get space at once.
const slabs = 128
const inners = 32

// empty returns an empty list with space for n values.
func (p *parser) empty(n int) []Value {
	if p.whole == "" || n > slabs/4 {
		return make([]Value, 0, n)
	}
	if n > len(p.slab) {
		p.slab = p.nextSlab()
	}
	list := p.slab[:0:n]
	p.slab = p.slab[n:]
	return list
}

func (p *parser) nextSlab() []Value {
	if p.in == nil {
		return make([]Value, slabs)
	}
	if p.taken[0]++; p.taken[0] > len(p.in.slabs) {
		p.in.slabs = append(p.in.slabs, make([]Value, slabs))
	}
	return p.in.slabs[p.taken[0]-1]
}

func (p *parser) nextInners() []inner {
	if p.in == nil {
		return make([]inner, inners)
	}
	if p.taken[1]++; p.taken[1] > len(p.in.inners) {
		p.in.inners = append(p.in.inners, make([]inner, inners))
	}
	return p.in.inners[p.taken[1]-1]
}

// inner keeps what an object or a list holds.
func (p *parser) inner(names []string, items []Value) *inner {
	if p.whole == "" {
		return &inner{names, items}
	}
	if len(p.inners) == 0 {
		p.inners = p.nextInners()
	}
	one := &p.inners[0]
	p.inners = p.inners[1:]
	one.names, one.items = names, items
	return one
}

// part returns the bytes between two offsets as a text.
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

func (p *parser) word(w string) bool {
	if len(p.b)-p.i >= len(w) && string(p.b[p.i:p.i+len(w)]) == w {
		p.i += len(w)
		return true
	}
	return p.bad("unknown word")
}

// value reads into an empty v.
func (p *parser) value(v *Value, depth int) (ok bool) {
	if depth > MaxDepth {
		return p.bad("nested too deep")
	}
	if p.values++; p.values > MaxValues {
		return p.bad("too many values")
	}
	switch c := p.peek(); {
	case c == '"':
		v.Kind = String
		v.Text, ok = p.text()
		return ok
	case c == '{':
		v.Kind = Object
		return p.object(v, depth)
	case c == '[':
		v.Kind = Array
		return p.array(v, depth)
	case c == 't':
		v.Kind, v.Text = Bool, "true"
		return p.word("true")
	case c == 'f':
		v.Kind, v.Text = Bool, "false"
		return p.word("false")
	case c == 'n':
		return p.word("null")
	case c == '-' || (c >= '0' && c <= '9'):
		v.Kind = Number
		start := p.i
		if !p.figure() {
			return false
		}
		v.Text = p.part(start, p.i)
		return true
	}
	return p.bad("a value is missing")
}

func (p *parser) object(v *Value, depth int) bool {
	p.i++
	p.space()
	if p.peek() == '}' {
		p.i++
		return true
	}
	like := p.shapes[depth]
	own, plain := false, true
	var names []string
	items := p.empty(max(len(like), 4))
	for {
		p.space()
		if p.peek() != '"' {
			return p.bad("a name is missing")
		}
		n := len(items)
		if !own && n < len(like) && p.same(like[n]) {
			names = like[: n+1 : n+1]
		} else {
			name, ok := p.text()
			if !ok {
				return false
			}
			for _, other := range names {
				if name == other {
					return p.bad("the name " + Quote(name) + " is given twice")
				}
			}
			own, plain = true, plain && p.plain
			names = append(names, name)
		}
		p.space()
		if p.peek() != ':' {
			return p.bad("a colon is missing")
		}
		p.i++
		p.space()
		items = append(items, Value{})
		if !p.value(&items[n], depth+1) {
			return false
		}
		p.space()
		switch p.peek() {
		case ',':
			p.i++
		case '}':
			p.i++
			if plain {
				p.shapes[depth] = names
			}
			v.in = p.inner(names, items)
			return true
		default:
			return p.bad("a comma or closing brace is missing")
		}
	}
}

// same consumes a name if it is the expected one, which contains nothing that needs an escape.
func (p *parser) same(name string) bool {
	end := p.i + 1 + len(name)
	if end >= len(p.b) || p.b[end] != '"' || string(p.b[p.i+1:end]) != name {
		return false
	}
	p.i = end + 1
	return true
}

func (p *parser) array(v *Value, depth int) bool {
	p.i++
	p.space()
	if p.peek() == ']' {
		p.i++
		return true
	}
	if c := p.peek(); depth < MaxDepth && (c == '-' || c >= '0' && c <= '9') {
		if text, ok := p.numbers(); ok {
			v.Text = text
			return true
		}
	}
	low := len(p.stack)
	for {
		p.space()
		var item Value
		if !p.value(&item, depth+1) {
			return false
		}
		p.stack = append(p.stack, item)
		p.space()
		switch p.peek() {
		case ',':
			p.i++
		case ']':
			p.i++
			v.in = p.inner(nil, append(p.empty(len(p.stack)-low), p.stack[low:]...))
			p.stack = p.stack[:low]
			return true
		default:
			return p.bad("a comma or closing bracket is missing")
		}
	}
}

// manyNumbers is the length from which on a list of numbers is kept as text.
const manyNumbers = 32

// numbers consumes a long list that holds nothing but numbers. For any other list, and for a faulty
// one, ok is false and nothing is consumed.
func (p *parser) numbers() (text string, ok bool) {
	start := p.i
	for n := 1; ; n++ {
		p.space()
		if !p.figure() {
			break
		}
		p.space()
		c := p.peek()
		if c == ']' && n >= manyNumbers {
			text = p.part(start, p.i)
			p.i++
			return text, true
		}
		if c != ',' {
			break
		}
		p.i++
	}
	p.i, p.why = start, ""
	return "", false
}

func (p *parser) digits() bool {
	start := p.i
	for p.i < len(p.b) && p.b[p.i] >= '0' && p.b[p.i] <= '9' {
		p.i++
	}
	return p.i > start
}

// figure skips a number.
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
	b, start := p.b, p.i
	i := start
	for i < len(b) && asIs[b[i]] {
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
	out := append(make([]byte, 0, p.ahead()-start), p.b[start:i]...)
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
			return "", p.bad("a text contains a control character")
		case c == '\\':
			p.i++
			var ok bool
			if out, ok = p.escape(out); !ok {
				return "", false
			}
		default:
			b, start, i := p.b, p.i, p.i+1
			for i < len(b) && asIs[b[i]] {
				i++
			}
			out, p.i = append(out, b[start:i]...), i
		}
	}
	return "", p.bad("a text is not closed")
}

// ahead returns where the current text ends: at the first quote with an even number of backslashes
// before it.
func (p *parser) ahead() int {
	for i := p.i; ; i++ {
		n := bytes.IndexByte(p.b[i:], '"')
		if n < 0 {
			return p.i
		}
		i += n
		before := i
		for before > p.i && p.b[before-1] == '\\' {
			before--
		}
		if (i-before)%2 == 0 {
			return i
		}
	}
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
