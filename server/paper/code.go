package paper

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/sync/statement"
)

// ErrCode is wrapped if a text is not the code of a certificate.
var ErrCode = errors.New("it is no code of a certificate")

const (
	codeForm = "gw1"
	maxCode  = 150 // characters
	// cutMark ends an item's name that is too long for the code.
	cutMark = '~'
	// printSize is how much of the record's SHA-256 a code has: 128 bits.
	printSize = 16
)

var base = base64.RawURLEncoding.Strict()

// Code is the content of the code on a printed certificate, signed by the laboratory's key.
type Code struct {
	Number string
	Date   string // of issue, such as 2026-01-31
	Found  string // the verdicts; "" if there is no such run
	Left   string
	Item   string // tag and serial
	Cut    bool   // the item's name was cut
	Print  string // the first 16 bytes of the record's SHA-256, in base64url
}

// letters are the codes of the verdicts.
var letters = []struct{ letter, verdict string }{
	{"-", ""}, {"P", "pass"}, {"F", "fail"}, {"C", "conditional-pass"}, {"D", "conditional-fail"}, {"U", "undecided"},
}

func letterOf(verdict string) string {
	for _, x := range letters {
		if x.verdict == verdict {
			return x.letter
		}
	}
	return "U"
}

func verdictOf(letter string) (string, bool) {
	for _, x := range letters {
		if x.letter == letter {
			return x.verdict, true
		}
	}
	return "", false
}

// PrintOf returns the part of a record's SHA-256 that its code has.
func PrintOf(record []byte) string {
	sum := sha256.Sum256(record)
	return Print(sum[:])
}

// Print returns the part of a SHA-256 that a code has.
func Print(sum []byte) string { return base.EncodeToString(sum[:min(len(sum), printSize)]) }

// Sign writes the code with the signature of a key:
//
//	gw1.NUMBER.YYMMDD.VERDICTS.ITEM.PRINT.SIGNATURE
//
// It cuts the item if the code would have more than 150 characters.
//
// Refuses: ErrCode for a number or a date that does not fit a code.
func (c Code) Sign(private ed25519.PrivateKey) (string, error) {
	at, err := time.Parse(time.DateOnly, c.Date)
	if err != nil || at.Year() < 2000 || at.Year() > 2099 || escaped(c.Number) != c.Number || c.Number == "" {
		return "", fmt.Errorf("%w: its number %q or its date %q", ErrCode, c.Number, c.Date)
	}
	head := strings.Join([]string{codeForm, c.Number, at.Format("060102"), letterOf(c.Found) + letterOf(c.Left)}, ".") + "."
	tail := "." + c.Print
	room := maxCode - len(head) - len(tail) - 1 - base.EncodedLen(ed25519.SignatureSize)
	if room < 4 {
		return "", fmt.Errorf("%w: the number %q is too long", ErrCode, c.Number)
	}
	text := head + fitted(c.Item, room) + tail
	return text + "." + base.EncodeToString(ed25519.Sign(private, []byte(text))), nil
}

const plain = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-/:"

// escaped writes a name with the characters allowed in the fragment of an address.
func escaped(name string) string {
	var b strings.Builder
	for i := range len(name) {
		switch c := name[i]; {
		case c == ' ':
			b.WriteByte('_')
		case strings.IndexByte(plain, c) >= 0:
			b.WriteByte(c)
		default:
			fmt.Fprintf(&b, "%%%02X", c)
		}
	}
	return b.String()
}

// fitted writes a name in a number of characters, cut after a whole letter.
func fitted(name string, room int) string {
	if text := escaped(name); len(text) <= room {
		return text
	}
	var b strings.Builder
	for _, c := range name {
		one := escaped(string(c))
		if b.Len()+len(one) > room-1 {
			break
		}
		b.WriteString(one)
	}
	return b.String() + string(cutMark)
}

func unescaped(text string) (name string, cut bool, err error) {
	text, cut = strings.CutSuffix(text, string(cutMark))
	var b strings.Builder
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '_':
			b.WriteByte(' ')
		case c == '%':
			var x byte
			if i+2 >= len(text) {
				return "", false, ErrCode
			}
			if _, err := fmt.Sscanf(text[i+1:i+3], "%02X", &x); err != nil {
				return "", false, ErrCode
			}
			b.WriteByte(x)
			i += 2
		default:
			b.WriteByte(c)
		}
	}
	if escaped(b.String()) != text {
		return "", false, ErrCode
	}
	return b.String(), cut, nil
}

// ReadCode reads a code, or an address whose fragment is one, and checks it against the keys.
//
// Gives:   its content, and the key that signed it.
// Refuses: ErrCode for a text of another form; statement.ErrSignature if no key signed it.
func ReadCode(text string, keys []Key) (Code, Key, error) {
	if _, code, ok := strings.Cut(text, "#"); ok {
		text = code
	}
	parts := strings.Split(text, ".")
	if len(parts) != 7 || parts[0] != codeForm || len(text) > maxCode || len(parts[3]) != 2 {
		return Code{}, Key{}, ErrCode
	}
	at, err := time.Parse("20060102", "20"+parts[2])
	found, ok := verdictOf(parts[3][:1])
	left, ok2 := verdictOf(parts[3][1:])
	print, err2 := base.DecodeString(parts[5])
	sum, err3 := base.DecodeString(parts[6])
	item, cut, err4 := unescaped(parts[4])
	if errors.Join(err, err2, err3, err4) != nil || !ok || !ok2 || len(print) != printSize {
		return Code{}, Key{}, ErrCode
	}
	c := Code{parts[1], at.Format(time.DateOnly), found, left, item, cut, parts[5]}
	signed := []byte(strings.TrimSuffix(text, "."+parts[6]))
	for _, k := range keys {
		if public, err := base.DecodeString(k.Public.X); err == nil && k.Public.Crv == "Ed25519" &&
			len(public) == ed25519.PublicKeySize && ed25519.Verify(public, signed, sum) {
			return c, k, nil
		}
	}
	return c, Key{}, fmt.Errorf("%w: none of the laboratory's keys signed this code", statement.ErrSignature)
}
