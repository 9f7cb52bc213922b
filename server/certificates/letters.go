package certificates

import (
	"fmt"
	"strings"
	"sync"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// typeface is the font of certificates; it has Latin, Greek and Cyrillic letters.
var typeface = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		panic(err) // the font is built in
	}
	return f
})

// shown writes a text with the letters of the typeface. Another letter becomes its number in
// Unicode, such as [U+6D77], so that nothing in the record is left out. A character without width
// or shape is dropped.
func shown(text string) string {
	plain := true
	for i := 0; i < len(text) && plain; i++ {
		plain = text[i] >= ' ' && text[i] < 0x7f
	}
	if plain {
		return text
	}
	var b strings.Builder
	var buffer sfnt.Buffer
	for _, r := range text {
		switch {
		case r == '\n' || r == '\t':
			b.WriteByte(' ')
		case r < ' ' || r >= 0x7f && r < 0xa0 || r == 0x200b || r == 0xfeff || r == 0x2060 || r >= 0xfe00 && r <= 0xfe0f:
		case r == 0x202f || r == 0x2009 || r == 0xa0:
			b.WriteByte(' ')
		default:
			if at, err := typeface().GlyphIndex(&buffer, r); err != nil || at == 0 || r > 0xffff {
				fmt.Fprintf(&b, "[U+%04X]", r)
				continue
			}
			b.WriteRune(r)
		}
	}
	return b.String()
}

// cell writes a text in a cell, as fpdf's CellFormat does, with the letters of the typeface.
func (s *sheet) cell(width, height float64, text, border string, next int, align string) {
	s.pdf.CellFormat(width, height, shown(text), border, next, align, false, 0, "")
}

// cut shortens a text to a width in the current font.
func (s *sheet) cut(text string, width float64) string {
	if text = shown(text); s.pdf.GetStringWidth(text) <= width {
		return text
	}
	letters := []rune(text)
	for len(letters) > 0 && s.pdf.GetStringWidth(string(letters)+" …") > width {
		letters = letters[:len(letters)-1]
	}
	return strings.TrimRight(string(letters), " ") + " …"
}

// together is how many lines of a paragraph of n stay on one page from line i on, so that no page
// starts or ends with a single line of it.
func together(i, n int) int {
	switch {
	case n < 4:
		return n - i
	case i == 0 || i == n-2:
		return 2
	}
	return 1
}
