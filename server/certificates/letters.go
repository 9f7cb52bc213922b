package certificates

import (
	"fmt"
	"strings"
	"sync"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// typeface is the one that papers are set in; it has Latin, Greek and Cyrillic letters.
var typeface = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		panic(err) // it is built in
	}
	return f
})

// shown writes a text with the letters that the typeface has. Another one becomes its number in
// Unicode, as [U+6D77], so that nothing in the record is left out; what has no width
// and no shape of its own is left away.
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

// cell writes a text in a cell, as fpdf's CellFormat does, in the letters that the typeface has.
func (s *sheet) cell(width, height float64, text, border string, next int, align string) {
	s.pdf.CellFormat(width, height, shown(text), border, next, align, false, 0, "")
}

// lines breaks a text into lines of a width, in the letters that the typeface has.
func (s *sheet) lines(text string, width float64) []string {
	return s.pdf.SplitText(shown(text), width)
}
