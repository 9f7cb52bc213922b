package dcc

import (
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
)

// ErrRule is wrapped if a certificate breaks a rule that the schema does not express.
var ErrRule = errors.New("the certificate breaks a rule of digital calibration certificates")

// element is an element as read.
type element struct {
	space, name string
	attrs       map[string]string
	text        string
	kids        []*element
	up          *element
}

// deepest caps the nesting of elements; the schema needs less than half of it.
const deepest = 100

var errDeep = errors.New("its elements lie too deep in each other")

// read reads XML into elements; it drops text between children.
func read(b []byte) (*element, error) {
	d := decoder(b)
	var top, at *element
	depth := 0
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		switch t := t.(type) {
		case xml.StartElement:
			if depth++; depth > deepest {
				return nil, errDeep
			}
			e := &element{space: t.Name.Space, name: t.Name.Local, attrs: map[string]string{}, up: at}
			for _, a := range t.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			if at == nil {
				top = e
			} else {
				at.kids = append(at.kids, e)
			}
			at = e
		case xml.EndElement:
			at = at.up
			depth--
		case xml.CharData:
			if at != nil && len(at.kids) == 0 {
				at.text += string(t)
			}
		}
	}
	if top == nil {
		return nil, io.ErrUnexpectedEOF
	}
	return top, nil
}

// each calls f for an element and all below it, in their order.
func (e *element) each(f func(*element)) {
	f(e)
	for _, k := range e.kids {
		k.each(f)
	}
}

func (e *element) child(names ...string) *element {
	for _, name := range names {
		if e == nil {
			return nil
		}
		i := slices.IndexFunc(e.kids, func(k *element) bool { return k.name == name })
		if i < 0 {
			return nil
		}
		e = e.kids[i]
	}
	return e
}

func (e *element) said(names ...string) string {
	if c := e.child(names...); c != nil {
		return strings.TrimSpace(c.text)
	}
	return ""
}

var releaseForm = regexp.MustCompile(`^[a-zA-Z] ?([0-9]{1,3}\.){0,3}[0-9]{1,3}$`)

// Check reads a certificate and returns every rule beyond the schema that it breaks, each wrapped
// in ErrRule. The rules are those of the Schematron files for DCC; the last two are ours.
func Check(b []byte) error {
	top, err := read(b)
	if err != nil {
		return fmt.Errorf("%w: not XML: %w", ErrRule, err)
	}
	var wrong []error
	no := func(format string, args ...any) {
		wrong = append(wrong, fmt.Errorf("%w: "+format, append([]any{ErrRule}, args...)...))
	}
	if top.name != "digitalCalibrationCertificate" || top.attrs["schemaVersion"] != schema {
		no("it is not of schema version %s", schema)
	}
	checkReferences(top, no)
	checkLanguages(top, no)
	checkLists(top, no)
	checkUnits(top, no)
	checkAbove(top, no)
	core := top.child("administrativeData", "coreData")
	if core == nil {
		no("there is no coreData")
		return errors.Join(wrong...)
	}
	begin, end, issued := core.said("beginPerformanceDate"), core.said("endPerformanceDate"), core.said("issueDate")
	if begin > end {
		no("the work begins on %s, after it ends on %s", begin, end)
	}
	if issued != "" && issued < end {
		no("it was issued on %s, before the work ended on %s", issued, end)
	}
	if !countries[core.said("countryCodeISO3166_1")] {
		no("%q is no country of ISO 3166-1", core.said("countryCodeISO3166_1"))
	}
	top.each(func(e *element) {
		if e.name == "release" && !releaseForm.MatchString(strings.TrimSpace(e.text)) {
			no("%q is not the form of a release, such as v1.2.3", e.text)
		}
		if e.name == "dataBase64" {
			if b, err := base64.StdEncoding.DecodeString(strings.TrimSpace(e.text)); err != nil || len(b) == 0 {
				no("the file %s is not base64", e.up.said("fileName"))
			}
		}
	})
	return errors.Join(wrong...)
}

type complain func(format string, args ...any)

func checkReferences(top *element, no complain) {
	ids, used := map[string]bool{}, map[string]bool{}
	top.each(func(e *element) {
		if id := e.attrs["id"]; id != "" {
			ids[id] = true
		}
	})
	top.each(func(e *element) {
		for _, id := range strings.Fields(e.attrs["refId"]) {
			used[id] = true
			if !ids[id] {
				no("%s refers to %q, which is nowhere", e.name, id)
			}
		}
	})
	for id := range ids {
		if !used[id] {
			no("nothing refers to %q", id)
		}
	}
}

func checkLanguages(top *element, no complain) {
	declared := map[string]bool{}
	if core := top.child("administrativeData", "coreData"); core != nil {
		for _, k := range core.kids {
			if k.name == "usedLangCodeISO639_1" {
				lang := strings.TrimSpace(k.text)
				if declared[lang] {
					no("the language %q is declared twice", lang)
				}
				declared[lang] = true
			}
		}
	}
	met := map[string]bool{}
	top.each(func(e *element) {
		if lang, ok := e.attrs["lang"]; ok && e.space != "http://www.w3.org/XML/1998/namespace" {
			met[lang] = true
		}
	})
	for lang := range met {
		if !declared[lang] {
			no("a text is in %q, which is not declared", lang)
		}
	}
	for lang := range declared {
		if !met[lang] {
			no("no text is in %q, which is declared", lang)
		}
	}
}

// checkLists checks that the lists of a column have one length, and the blanks between their
// entries.
func checkLists(top *element, no complain) {
	length := func(e *element) int {
		if e.text != strings.Join(strings.Fields(e.text), " ") {
			no("%s has blanks that separate nothing", e.name)
		}
		return len(strings.Fields(e.text))
	}
	top.each(func(e *element) {
		if e.name != "realListXMLList" {
			return
		}
		rows := 0
		if v := e.child("valueXMLList"); v != nil {
			rows = length(v)
		}
		e.each(func(k *element) {
			switch k.name {
			case "unitXMLList", "valueExpandedMUXMLList", "coverageFactorXMLList", "coverageProbabilityXMLList":
				if n := length(k); n != 1 && n != rows {
					no("%s has %d entries beside %d values", k.name, n, rows)
				}
			}
		})
		if of := e.up; of != nil {
			if of.name == "hybrid" {
				of = of.up
			}
			of.each(func(k *element) {
				if k.name == "conformityXMLList" {
					if n := length(k); n != rows {
						no("conformityXMLList has %d entries beside %d values", n, rows)
					}
				}
			})
		}
	})
}

func checkUnits(top *element, no complain) {
	declared := map[string]bool{}
	top.each(func(e *element) {
		if e.name == "nonSIUnit" {
			declared[strings.TrimSpace(e.text)] = true
		}
	})
	known := map[string]bool{}
	for _, m := range []map[string]string{plain, beside, spelled} {
		for _, u := range m {
			known[u] = true
		}
	}
	top.each(func(e *element) {
		if e.name != "unit" && e.name != "unitXMLList" {
			return
		}
		switch name, ours := strings.CutPrefix(e.text, "|"); {
		case strings.ContainsAny(e.text, " \t\n"):
			no("the unit %q has a blank", e.text)
		case ours && !declared[name]:
			no("the unit %q is not declared", name)
		case !ours && !known[e.text]:
			no("the unit %q is not of D-SI", e.text)
		}
	})
}

// checkAbove checks that every quantity of a result has a method and surroundings above it.
func checkAbove(top *element, no complain) {
	results := top.child("measurementResults")
	if results == nil {
		no("there are no results")
		return
	}
	for _, r := range results.kids {
		for _, needed := range []string{"usedMethods", "usedSoftware", "influenceConditions"} {
			if r.child(needed) == nil {
				no("the results %q have no %s", r.said("name", "content"), needed)
			}
		}
	}
}
