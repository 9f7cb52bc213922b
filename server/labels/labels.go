// Package labels draws QR labels for instruments.
package labels

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"net/url"
	"strconv"
	"strings"

	"github.com/skip2/go-qrcode"
)

// Label is the content of one sticker: the link in its code and the text beside it.
type Label struct {
	Link string
	Tag  string
	Text string // a second line, such as the range; may be ""
	// More are further lines of a label on a sheet, such as the due date.
	More []string
}

const (
	// quiet is the empty border that a reader needs around a code, in modules (ISO/IEC 18004,
	// second-hand).
	quiet = 4
	// maxLink keeps a label's code within 41 modules at level Q, which at 0.5 mm is 24.5 mm with its
	// quiet zone.
	maxLink = 72
	// ModuleMM is the side of a printed module; MinModuleMM is the smallest at which worn labels
	// can still be read (common practice, no source).
	ModuleMM    = 0.5
	MinModuleMM = 0.35
)

var (
	// ErrLink is wrapped when a link cannot be put on a label.
	ErrLink = errors.New("not a link for a label")
	// ErrSize is wrapped when a label would be too small to read, or does not fit.
	ErrSize = errors.New("the size is not valid")
)

// Link returns the link of an instrument's label on the server at base, such as
// https://gauges.example.
//
// Refuses: ErrLink for a base that is not an http or https address without query, a label that is
// not 4 to 40 letters, digits and hyphens, or a link of more than 72 characters.
func Link(base, label string) (string, error) {
	u, err := url.Parse(strings.TrimSuffix(base, "/"))
	if err != nil || (u.Scheme != "https" && u.Scheme != "http") || u.Host == "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil || u.Path != "" {
		return "", fmt.Errorf("%w: %q is not an address such as https://gauges.example", ErrLink, base)
	}
	if len(label) < 4 || len(label) > 40 || strings.Trim(strings.ToLower(label), "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
		return "", fmt.Errorf("%w: the label %q needs 4 to 40 letters, digits and hyphens", ErrLink, label)
	}
	link := strings.ToLower(u.Scheme+"://"+u.Host) + "/t/" + strings.ToLower(label)
	if len(link) > maxLink {
		return "", fmt.Errorf("%w: %d characters, at most %d", ErrLink, len(link), maxLink)
	}
	return link, nil
}

// Code is a QR code without its quiet zone.
type Code struct {
	Size int // modules per side
	dark [][]bool
}

// Encode makes the QR code of a text at error correction level Q: a quarter of it may be lost.
func Encode(text string) (Code, error) { return encode(text, qrcode.High) } // the library's name for level Q

// EncodePaper makes the QR code of a text for a sheet of paper, which wears less than a label, at
// error correction level M: a seventh of it may be lost.
func EncodePaper(text string) (Code, error) { return encode(text, qrcode.Medium) }

func encode(text string, level qrcode.RecoveryLevel) (Code, error) {
	q, err := qrcode.New(text, level)
	if err != nil {
		return Code{}, fmt.Errorf("qr code: %w", err)
	}
	q.DisableBorder = true
	dark := q.Bitmap()
	return Code{len(dark), dark}, nil
}

// Dark reports whether the module in a column and row is dark; outside the code none is.
func (c Code) Dark(x, y int) bool {
	return x >= 0 && y >= 0 && x < c.Size && y < c.Size && c.dark[y][x]
}

// Strips calls draw for every run of dark modules in a row: column, row and length.
func (c Code) Strips(draw func(x, y, n int)) {
	for y := range c.Size {
		for x := 0; x < c.Size; {
			n := 0
			for c.Dark(x+n, y) {
				n++
			}
			if n > 0 {
				draw(x, y, n)
			}
			x += n + 1
		}
	}
}

// PNG draws a link's code with its quiet zone, each module a square of some pixels.
func PNG(link string, pixels int) ([]byte, error) {
	if pixels < 1 || pixels > 64 {
		return nil, fmt.Errorf("%w: a module of %d pixels; 1 to 64", ErrSize, pixels)
	}
	c, err := Encode(link)
	if err != nil {
		return nil, err
	}
	side := (c.Size + 2*quiet) * pixels
	img := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	c.Strips(func(x, y, n int) {
		for row := (y + quiet) * pixels; row < (y+quiet+1)*pixels; row++ {
			at := img.PixOffset((x+quiet)*pixels, row)
			for i := range n * pixels {
				img.Pix[at+i] = 1
			}
		}
	})
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, fmt.Errorf("write png: %w", err)
	}
	return b.Bytes(), nil
}

// SVG draws a label in millimetres: the code, and the tag and text in plain letters under it.
func SVG(l Label) ([]byte, error) {
	c, err := Encode(l.Link)
	if err != nil {
		return nil, err
	}
	side := float64(c.Size+2*quiet) * ModuleMM
	var b bytes.Buffer
	mm := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	height := side + 8
	fmt.Fprintf(
		&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s">`,
		mm(side), mm(height), mm(side), mm(height),
	)
	fmt.Fprintf(
		&b, `<title>%s</title><rect width="%s" height="%s" fill="#fff"/><path fill="#000" d="`,
		escape(l.Tag), mm(side), mm(height),
	)
	c.Strips(func(x, y, n int) {
		fmt.Fprintf(
			&b, "M%s %sh%sv%sh-%sz", mm(float64(x+quiet)*ModuleMM), mm(float64(y+quiet)*ModuleMM),
			mm(float64(n)*ModuleMM), mm(ModuleMM), mm(float64(n)*ModuleMM),
		)
	})
	line := func(y, size float64, weight, text string) {
		if text != "" {
			width := min(0.6*size*float64(len([]rune(text))), side-2)
			fmt.Fprintf(&b, `<text x="%s" y="%s" font-family="sans-serif" font-size="%s" font-weight="%s" text-anchor="middle" textLength="%s" lengthAdjust="spacingAndGlyphs">%s</text>`,
				mm(side/2), mm(y), mm(size), weight, mm(width), escape(text))
		}
	}
	b.WriteString(`"/>`)
	line(side+2.2, 3.6, "700", l.Tag)
	line(side+6, 2.4, "400", l.Text)
	b.WriteString("</svg>\n")
	return b.Bytes(), nil
}

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;").Replace(s)
}
