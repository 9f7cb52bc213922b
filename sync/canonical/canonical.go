// Package canonical writes JSON in the one form of RFC 8785 (JSON Canonicalization Scheme), so that
// the signer of a document and everyone who checks it later work on the same bytes, whatever
// program wrote the document and in whatever order.
package canonical

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"gaugewright/calc/document"
)

// JSON returns the canonical form of a document.
//
// Takes:   JSON within the bounds of calc/document.
// Gives:   no blanks, names in the order of their UTF-16 code units, numbers as ECMAScript writes
// the float64 that they are.
// Refuses: a document.Fault for what is no JSON, has a name twice, or has a number beyond float64.
// Source:  RFC 8785 §3.2.
func JSON(doc []byte) ([]byte, error) {
	v, err := document.Parse(doc)
	if err != nil {
		return nil, err
	}
	return appendValue(make([]byte, 0, len(doc)), &v)
}

func appendValue(b []byte, v *document.Value) (_ []byte, err error) {
	switch v.Kind {
	case document.Null:
		return append(b, "null"...), nil
	case document.Bool:
		return append(b, v.Text...), nil
	case document.Number:
		x, ok := document.Float(v.Text)
		if !ok {
			return nil, document.Refuse(
				document.CodeRange, "", "the number "+v.Text+" is too large for a canonical form",
			)
		}
		return appendNumber(b, x), nil
	case document.String:
		return document.AppendText(b, v.Text), nil
	case document.Array:
		b = append(b, '[')
		for i, item := range v.List() {
			if i > 0 {
				b = append(b, ',')
			}
			if b, err = appendValue(b, &item); err != nil {
				return nil, err
			}
		}
		return append(b, ']'), nil
	}
	names, items := v.Names(), v.Items()
	order := make([]int, len(names))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, k int) int { return compare(names[i], names[k]) })
	b = append(b, '{')
	for n, i := range order {
		if n > 0 {
			b = append(b, ',')
		}
		b = append(document.AppendText(b, names[i]), ':')
		if b, err = appendValue(b, &items[i]); err != nil {
			return nil, err
		}
	}
	return append(b, '}'), nil
}

// compare orders names by their UTF-16 code units. Beyond U+D7FF that differs from the order of
// their bytes.
func compare(a, b string) int {
	for i := 0; i < len(a) && i < len(b); i++ {
		if a[i] >= utf8.RuneSelf || b[i] >= utf8.RuneSelf {
			return slices.Compare(utf16.Encode([]rune(a)), utf16.Encode([]rune(b)))
		}
		if a[i] != b[i] {
			break
		}
	}
	return strings.Compare(a, b)
}

// appendNumber writes a number as ECMAScript does: shortest digits, an exponent from 1e21 on and
// below 1e-6.
//
// Source: ECMA-262 Number::toString with radix 10, by RFC 8785 §3.2.2.3.
func appendNumber(b []byte, x float64) []byte {
	if x == 0 {
		return append(b, '0') // of both signs
	}
	size := max(x, -x)
	if size >= 1e-6 && size < 1e21 {
		return strconv.AppendFloat(b, x, 'f', -1, 64)
	}
	text := strconv.FormatFloat(x, 'e', -1, 64)
	digits, exponent, _ := strings.Cut(text, "e")
	sign, exponent := exponent[:1], strings.TrimLeft(exponent[1:], "0") // Go writes two digits at least
	return append(b, digits+"e"+sign+exponent...)
}
