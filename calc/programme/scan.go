package programme

import (
	"strconv"
	"unicode/utf8"

	"gaugewright/calc/document"
)

type tokenKind uint8

const (
	end tokenKind = iota
	newline
	word
	number
	quoted
	symbol
)

type token struct {
	kind tokenKind
	text string
	line int
}

// scanner cuts the text into tokens as the parser asks for them. It keeps the first fault, and
// every token after it is the end.
type scanner struct {
	src   string
	i     int
	line  int
	tok   token // the current token
	fault *Fault
}

//go:noinline
func (p *scanner) fail(code, message string) {
	if p.fault == nil {
		p.fault = &Fault{p.tok.line, code, message}
	}
	p.tok = token{kind: end, line: p.tok.line}
	p.i = len(p.src)
}

func (p *scanner) blank() {
	i := p.i
	for i < len(p.src) {
		c := p.src[i]
		if classes[c] == space {
			i++
			continue
		}
		if c != '#' {
			break
		}
		for i < len(p.src) && p.src[i] != '\n' {
			i++
		}
	}
	p.i = i
}

// class is a set of things that a character can begin or be part of.
type class uint8

const (
	foreign class = iota
	space
	ending // of a step
	alphabetic
	decimal
	alone     // a symbol by itself
	comparing // a symbol that an equals sign can follow
)

var classes = func() (table [256]class) {
	for c := range table {
		switch b := byte(c); {
		case letter(b):
			table[c] = alphabetic
		case digit(b):
			table[c] = decimal
		case within(" \t\r", b):
			table[c] = space
		case within("\n;", b):
			table[c] = ending
		case within("{},()+-*/", b):
			table[c] = alone
		case within("<>=!", b):
			table[c] = comparing
		}
	}
	return table
}()

// next reads the next token into tok. A semicolon ends a step like the end of a line.
func (p *scanner) next() {
	p.blank()
	p.tok = token{kind: end, line: p.line}
	start := p.i
	if start >= len(p.src) {
		return
	}
	c := p.src[start]
	switch classes[c] {
	case ending:
		p.i++
		if c == '\n' {
			p.line++
		}
		p.tok.kind = newline
	case alphabetic:
		i := start + 1
		for i < len(p.src) && (classes[p.src[i]] == alphabetic || classes[p.src[i]] == decimal) {
			i++
		}
		p.i = i
		p.tok.kind, p.tok.text = word, p.src[start:i]
	case decimal:
		p.numeral()
	case alone:
		p.i++
		p.tok.kind, p.tok.text = symbol, p.src[start:p.i]
	case comparing:
		p.i++
		if p.i < len(p.src) && p.src[p.i] == '=' {
			p.i++
		}
		p.tok.kind, p.tok.text = symbol, p.src[start:p.i]
		switch p.tok.text {
		case "==":
			p.tok.text = "="
		case "!":
			p.fail("syntax", "a single ! means nothing here; write not, or != for unequal")
		}
	default:
		switch {
		case c == '"':
			p.quoted()
			return
		case c == '.' && start+1 < len(p.src) && digit(p.src[start+1]):
			p.numeral()
			return
		}
		r, _ := utf8.DecodeRuneInString(p.src[p.i:])
		p.fail("syntax", "the character "+document.Quote(string(r))+" means nothing here; texts stand in double quotes")
	}
}

func (p *scanner) digits() {
	for p.i < len(p.src) && digit(p.src[p.i]) {
		p.i++
	}
}

func (p *scanner) numeral() {
	start, powered := p.i, false
	p.digits()
	if p.i < len(p.src) && p.src[p.i] == '.' {
		p.i++
		p.digits()
	}
	if p.i < len(p.src) && (p.src[p.i] == 'e' || p.src[p.i] == 'E') {
		mark := p.i
		p.i++
		if p.i < len(p.src) && (p.src[p.i] == '-' || p.src[p.i] == '+') {
			p.i++
		}
		first := p.i
		if p.digits(); p.i == first {
			p.i = mark
		} else {
			powered = true // without a power of ten, MaxNumber digits are far from too large
		}
	}
	p.tok.kind, p.tok.text = number, p.src[start:p.i]
	if p.i < len(p.src) && letter(p.src[p.i]) && p.src[p.i] != 's' {
		p.fail("syntax", "put a space after "+short(p.tok.text)+", and give numbers in the programme's unit")
		return
	}
	if len(p.tok.text) > MaxNumber {
		p.fail("limit", "the number has more than "+strconv.Itoa(MaxNumber)+" characters")
		return
	}
	if powered {
		if _, err := strconv.ParseFloat(p.tok.text, 64); err != nil {
			p.fail("limit", "the number "+p.tok.text+" is too large")
		}
	}
}

func (p *scanner) quoted() {
	var b []byte
	for p.i++; p.i < len(p.src); p.i++ {
		c := p.src[p.i]
		switch {
		case c == '"':
			p.i++
			p.tok.kind, p.tok.text = quoted, string(b)
			if !isText(p.tok.text) {
				p.fail(
					"limit",
					"the text has more than "+strconv.Itoa(MaxText)+" bytes, or characters that cannot be shown",
				)
			}
			return
		case c == '\n':
			p.fail("syntax", "the text has no closing quote on its line")
			return
		case c == '\\':
			p.i++
			if p.i >= len(p.src) {
				break
			}
			switch p.src[p.i] {
			case '"', '\\':
				b = append(b, p.src[p.i])
			case 'n':
				b = append(b, '\n')
			case 't':
				b = append(b, '\t')
			default:
				p.fail("syntax", `after a backslash in a text only " \ n t are known`)
				return
			}
		default:
			b = append(b, c)
		}
	}
	p.fail("syntax", "the text has no closing quote")
}

// within reports whether a sign is one of a few.
func within(signs string, c byte) bool {
	for i := 0; i < len(signs); i++ {
		if signs[i] == c {
			return true
		}
	}
	return false
}

// short quotes a text, cut so that a message stays a sentence.
//
//go:noinline
func short(s string) string {
	if len(s) > 30 {
		end := 30
		for !utf8.RuneStart(s[end]) {
			end--
		}
		s = s[:end] + "…"
	}
	return document.Quote(s)
}

// found returns the current token in words, for a message.
//
//go:noinline
func (p *scanner) found() string {
	switch p.tok.kind {
	case end:
		return "the end of the programme"
	case newline:
		return "the end of the step"
	case quoted:
		return "a text"
	}
	return short(p.tok.text)
}

func (p *scanner) is(kind tokenKind, text string) bool {
	return p.tok.kind == kind && p.tok.text == text
}

// take consumes a word or symbol if it is next.
func (p *scanner) take(text string) bool {
	if (p.tok.kind == word || p.tok.kind == symbol) && p.tok.text == text {
		p.next()
		return true
	}
	return false
}

// need consumes a word or symbol that must be next.
func (p *scanner) need(text, form string) {
	if !p.take(text) {
		p.fail("syntax", "here "+document.Quote(text)+" is expected, not "+p.found()+": "+form)
	}
}
