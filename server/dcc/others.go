package dcc

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math/big"
	"regexp"
	"slices"
	"strings"

	"gaugewright/calc/units"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// What the schema allows and other laboratories write differently from us.

var errEncoding = errors.New("its encoding is not known")

// decoder reads XML in the encoding given by its declaration or its first bytes.
func decoder(b []byte) *xml.Decoder {
	var r io.Reader = bytes.NewReader(b)
	wide := bytes.HasPrefix(b, []byte{0xfe, 0xff}) || bytes.HasPrefix(b, []byte{0xff, 0xfe})
	if wide {
		r = unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM).NewDecoder().Reader(r)
	}
	d := xml.NewDecoder(r)
	d.CharsetReader = func(label string, in io.Reader) (io.Reader, error) {
		if wide && strings.HasPrefix(strings.ToUpper(label), "UTF-16") {
			return in, nil // decoded above
		}
		plain := func(name string) string {
			return strings.NewReplacer("-", "", "_", "", " ", "").Replace(strings.ToUpper(name))
		}
		if plain(label) == "USASCII" {
			return in, nil
		}
		for _, e := range charmap.All { // ISO 8859-1, Windows 1252 and the like
			if known, ok := e.(fmt.Stringer); ok && plain(known.String()) == plain(label) {
				return e.NewDecoder().Reader(in), nil
			}
		}
		return nil, fmt.Errorf("%w: %q", errEncoding, label)
	}
	return d
}

// dayOf returns the day of an xs:date, which may end in a time zone; another text stays.
func dayOf(text string) string {
	if zoned.MatchString(text) {
		return text[:len("2006-01-02")]
	}
	return text
}

// zoned is a date with a time zone (XML Schema part 2, 3.2.9).
var zoned = regexp.MustCompile(`^\d{4}-\d{2}-\d{2}(Z|[-+]\d{2}:\d{2})$`)

// plainly writes a decimal text without an exponent, multiplied by a power of ten, with the same
// significant digits: 1.250E2 is 125.0. A text that is not a number stays.
func plainly(text string, power int) string {
	if power == 0 && !strings.ContainsAny(text, "eE") {
		return text
	}
	x, ok := rational(text)
	if !ok {
		return text
	}
	x.Mul(x, powerOfTen(power))
	return x.FloatString(max(0, decimals(text)-power))
}

func powerOfTen(n int) *big.Rat {
	p := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(n, -n))), nil)
	if n < 0 {
		return new(big.Rat).SetFrac(big.NewInt(1), p)
	}
	return new(big.Rat).SetInt(p)
}

// prefixes are the SI prefixes in D-SI, with their powers of ten.
var prefixes = map[string]int{
	"nano": -9, "micro": -6, "milli": -3, "centi": -2, "deci": -1, "deca": 1, "hecto": 2, "kilo": 3, "mega": 6, "giga": 9,
}

// composed are other D-SI forms of the pascal.
var composed = []string{
	`\newton\metre\tothe{-2}`, `\newton\per\metre\tothe{2}`, `\metre\tothe{-2}\newton`,
	`\kilogram\metre\tothe{-1}\second\tothe{-2}`,
}

// unitOf finds the unit that D-SI writes in this way, or that was declared after a vertical bar,
// and the power of ten of its prefix. A list with the same unit for each value counts as that unit.
func unitOf(si string) (u units.Unit, power int, ok bool) {
	each := strings.Fields(si)
	if len(each) == 0 || slices.ContainsFunc(each, func(one string) bool { return one != each[0] }) {
		return u, 0, false
	}
	si = each[0]
	if name, declared := strings.CutPrefix(si, "|"); declared {
		u, ok = units.Find(name)
		return u, 0, ok
	}
	for _, list := range []map[string]string{plain, beside} {
		for name, is := range list {
			if is == si {
				u, ok = units.Find(name)
				return u, 0, ok
			}
		}
	}
	if slices.Contains(composed, si) {
		u, ok = units.Find("Pa")
		return u, 0, ok
	}
	prefix, rest, two := strings.Cut(strings.TrimPrefix(si, `\`), `\`)
	if power, ok = prefixes[prefix]; !two || !ok {
		return u, 0, false
	}
	name := "bar"
	if rest != "bar" { // the multiple of a pascal to which the last digit belongs
		name = map[string]string{"hecto": "hPa", "kilo": "kPa", "mega": "MPa", "giga": "MPa"}[prefix]
		switch {
		case rest != "pascal" && !slices.Contains(composed, `\`+rest):
			return u, 0, false
		case name == "":
			name = "Pa"
		case prefix == "giga":
			power = 3
		default:
			power = 0
		}
	}
	u, ok = units.Find(name)
	return u, power, ok
}

// members turns the reals of an si:realList, each with its uncertainty or all with that of the
// list, into one list of values; nil if one has no value.
func members(list *element) *element {
	out := &element{name: "realListXMLList"}
	var values, all []string
	for _, k := range list.kids {
		if k.name != "real" {
			continue
		}
		value, unit := k.said("value"), k.said("unit")
		if unit == "" {
			unit = list.said("listUnit")
		}
		if value == "" {
			return nil
		}
		values, all = append(values, value), append(all, unit)
	}
	out.kids = append(out.kids, &element{name: "valueXMLList", text: strings.Join(values, " ")},
		&element{name: "unitXMLList", text: strings.Join(all, " ")})
	for _, way := range uncertainties {
		var expanded, factors []string
		take := func(of *element, path []string) {
			if x := of.child(path...); x != nil {
				expanded = append(expanded, strings.TrimSpace(x.text))
				factors = append(factors, of.said(append(slices.Clone(path[:len(path)-1]), "coverageFactor")...))
			}
		}
		for _, k := range list.kids {
			if k.name != "real" {
				continue
			}
			take(k, way.one)
			if way.one[0] == ofOne {
				take(k, append([]string{ofOneInList}, way.one[1:]...))
			}
		}
		if len(expanded) == 0 {
			whole := append([]string{"listUnivariateUnc"}, way.one...)
			if way.one[0] == ofOne {
				whole = append([]string{"listMeasurementUncertaintyUnivariate"}, way.one[1:]...)
			}
			take(list, whole)
		}
		if len(expanded) > 0 {
			out.kids = append(out.kids, nested(strings.Join(expanded, " "), way.many...))
			if text := strings.TrimSpace(strings.Join(factors, " ")); text != "" {
				merge(out, nested(text, append(slices.Clone(way.many[:len(way.many)-1]), "coverageFactorXMLList")...))
			}
			break
		}
	}
	return out
}

// merge adds a chain of elements below an element, along those that exist.
func merge(at, chain *element) {
	if have := at.child(chain.name); have != nil && len(chain.kids) > 0 {
		merge(have, chain.kids[0])
		return
	}
	at.kids = append(at.kids, chain)
}

// nested makes nested elements with the text in the innermost.
func nested(text string, names ...string) *element {
	e := &element{name: names[0]}
	if len(names) == 1 {
		e.text = text
		return e
	}
	e.kids = []*element{nested(text, names[1:]...)}
	return e
}

// uncertainty is one of the forms in which a real or a list of reals states it.
type uncertainty struct {
	one, many []string
	standard  bool // with k = 1
}

const (
	ofOne  = "measurementUncertaintyUnivariate"
	ofMany = "measurementUncertaintyUnivariateXMLList"
	// ofOneInList is the spelling of SI_Format.xsd 2.2.1 in a list.
	ofOneInList = "measurementUncertaintyUnivaraite"
)

// uncertainties are the forms of D-SI 2.0 to 2.2; the first one found counts.
var uncertainties = []uncertainty{
	{[]string{ofOne, "expandedMU", "valueExpandedMU"}, []string{ofMany, "expandedMUXMLList", "valueExpandedMUXMLList"}, false},
	{[]string{"expandedUnc", "uncertainty"}, []string{"expandedUncXMLList", "uncertaintyXMLList"}, false},
	{[]string{ofOne, "standardMU", "valueStandardMU"}, []string{ofMany, "standardMUXMLList", "valueStandardMUXMLList"}, true},
	{
		[]string{ofOne, "coverageIntervalMU", "valueStandardMU"},
		[]string{ofMany, "coverageIntervalMUXMLList", "valueStandardMUXMLList"}, true,
	},
	{[]string{"coverageInterval", "standardUnc"}, []string{"coverageIntervalXMLList", "standardUncXMLList"}, true},
}
