package dcc_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gaugewright/server/dcc"
	"gaugewright/server/dcc/dcctest"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

var firstList = regexp.MustCompile(`(?s) *<dcc:list refType="gp_table1">.*?</dcc:list>\n`)

// quantity is a quantity of an invented laboratory, by its reference type.
func quantity(refType, what string) string {
	return `<dcc:quantity refType="` + refType + `">` + what + `</dcc:quantity>`
}

// manyOf is a list of values in a unit, with what follows the unit.
func manyOf(values, unit, rest string) string {
	return `<si:realListXMLList><si:valueXMLList>` + values + `</si:valueXMLList><si:unitXMLList>` + unit +
		`</si:unitXMLList>` + rest + `</si:realListXMLList>`
}

// oneOf is a real value in a unit, with what follows the unit.
func oneOf(value, unit, rest string) string {
	return `<si:real><si:value>` + value + `</si:value><si:unit>` + unit + `</si:unit>` + rest + `</si:real>`
}

// spreadOf is the expanded uncertainty of a list in the form of D-SI 2.2.
func spreadOf(u, k string) string {
	return `<si:measurementUncertaintyUnivariateXMLList><si:expandedMUXMLList><si:valueExpandedMUXMLList>` + u +
		`</si:valueExpandedMUXMLList><si:coverageFactorXMLList>` + k +
		`</si:coverageFactorXMLList><si:coverageProbabilityXMLList>0.95</si:coverageProbabilityXMLList>` +
		`</si:expandedMUXMLList></si:measurementUncertaintyUnivariateXMLList>`
}

// TestReadsWhatTheSchemaAllows reads files that are valid by the schema of DCC 3.3.0 and that we
// write differently: other prefixes and compositions of units, a unit for each value, exponents,
// reals in a list, uncertainties for all points, standard uncertainties, an interval with its
// standard uncertainty, texts in several languages. Each is mapped, or refused for what it lacks.
// The figures are invented; conversions are by hand.
func TestReadsWhatTheSchemaAllows(t *testing.T) {
	own := string(written(t, made()))
	both := func(values, unit, errs, rest string) string {
		return quantity("basic_referenceValue", manyOf(values, unit, "")) +
			quantity("basic_measurementError", manyOf(errs, unit, rest))
	}
	point := func(applied, err, u, k string) dcc.IncomingPoint {
		return dcc.IncomingPoint{Applied: applied, Error: err, Expanded: u, K: k}
	}
	for name, c := range map[string]struct {
		list string
		want []dcc.IncomingPoint
		no   string // part of the refusal
	}{
		"one uncertainty for all": {
			list: both("0.00 10.00", `\bar`, "0.01 -0.02", spreadOf("0.03", "2")),
			want: []dcc.IncomingPoint{point("0.00", "0.01", "0.03", "2"), point("10.00", "-0.02", "0.03", "2")},
		},
		"a unit for each value": {
			list: both("0.0 1000.0", `\kilo\pascal \kilo\pascal`, "1.0 -2.0", spreadOf("3.0 3.0", "2 2")),
			want: []dcc.IncomingPoint{point("0.000", "0.010", "0.030", "2"), point("10.000", "-0.020", "0.030", "2")},
		},
		"giga": {
			list: both("0.00000 0.00100", `\giga\pascal`, "0.00000 0.00001", ""),
			want: []dcc.IncomingPoint{point("0.0", "0.0", "", ""), point("10.0", "0.1", "", "")},
		},
		"centibar": {
			list: both("0 1000", `\centi\bar`, "1 -2", ""),
			want: []dcc.IncomingPoint{point("0.00", "0.01", "", ""), point("10.00", "-0.02", "", "")},
		},
		"newton over square metre": {
			list: both("0 100000", `\kilo\newton\metre\tothe{-2}`, "0 100", ""),
			want: []dcc.IncomingPoint{point("0.00", "0.00", "", ""), point("1000.00", "1.00", "", "")},
		},
		"exponents": {
			list: both("0.0E0 1.0000E+1", `\bar`, "1.0E-2 -2E-2", spreadOf("3.0E-2", "2.0")),
			want: []dcc.IncomingPoint{point("0.0", "0.010", "0.030", "2.0"), point("10.000", "-0.02", "0.030", "2.0")},
		},
		"values alone with exponents": {
			list: quantity("basic_referenceValue", manyOf("1E0 10E0", `\bar`, "")) +
				quantity("basic_measuredValue", manyOf("100001E-5 9.99E0", `\bar`, "")),
			want: []dcc.IncomingPoint{point("1", "0.00001", "", ""), point("10", "-0.01", "", "")},
		},
		"reals in a list": {
			list: strings.ReplaceAll(quantity("basic_referenceValue", `<si:list><si:realList>`+oneOf("0.00", `\bar`, "")+oneOf("10.00", `\bar`, "")+`</si:realList></si:list>`)+
				quantity("basic_measurementError", `<si:list><si:realList>`+oneOf("0.01", `\bar`, expandedOf("0.03", "2"))+
					oneOf("-0.02", `\bar`, expandedOf("0.04", "2.1"))+`</si:realList></si:list>`), "measurementUncertaintyUnivariate", "measurementUncertaintyUnivaraite"),
			want: []dcc.IncomingPoint{point("0.00", "0.01", "0.03", "2"), point("10.00", "-0.02", "0.04", "2.1")},
		},
		"reals with what holds for all": {
			list: quantity("basic_referenceValue", `<si:list>`+manyOf("0.00 10.00", `\bar`, "")+`</si:list>`) +
				quantity("basic_measurementError", `<si:list><si:realList><si:listUnit>\bar</si:listUnit><si:listMeasurementUncertaintyUnivariate>`+
					`<si:expandedMU><si:valueExpandedMU>0.03</si:valueExpandedMU><si:coverageFactor>2</si:coverageFactor>`+
					`<si:coverageProbability>0.95</si:coverageProbability></si:expandedMU></si:listMeasurementUncertaintyUnivariate>`+
					`<si:real><si:value>0.01</si:value></si:real><si:real><si:value>-0.02</si:value></si:real></si:realList></si:list>`),
			want: []dcc.IncomingPoint{point("0.00", "0.01", "0.03", "2"), point("10.00", "-0.02", "0.03", "2")},
		},
		"standard uncertainties": {
			list: both("0.00 10.00", `\bar`, "0.01 -0.02", `<si:measurementUncertaintyUnivariateXMLList><si:standardMUXMLList>`+
				`<si:valueStandardMUXMLList>0.015</si:valueStandardMUXMLList></si:standardMUXMLList></si:measurementUncertaintyUnivariateXMLList>`),
			want: []dcc.IncomingPoint{point("0.00", "0.01", "0.015", "1"), point("10.00", "-0.02", "0.015", "1")},
		},
		"an interval": {
			list: both("0.00 10.00", `\bar`, "0.01 -0.02", `<si:measurementUncertaintyUnivariateXMLList><si:coverageIntervalMUXMLList>`+
				`<si:valueStandardMUXMLList>0.015 0.016</si:valueStandardMUXMLList><si:intervalMinXMLList>-0.02 -0.05</si:intervalMinXMLList>`+
				`<si:intervalMaxXMLList>0.04 0.01</si:intervalMaxXMLList><si:coverageProbabilityXMLList>0.95</si:coverageProbabilityXMLList>`+
				`</si:coverageIntervalMUXMLList></si:measurementUncertaintyUnivariateXMLList>`),
			want: []dcc.IncomingPoint{point("0.00", "0.01", "0.015", "1"), point("10.00", "-0.02", "0.016", "1")},
		},
		"a hybrid with an unknown unit first": {
			list: quantity("basic_referenceValue", `<si:hybrid>`+manyOf("0 100", "|furlong", "")+manyOf("0.0 1000.0", `\kilo\pascal`, "")+`</si:hybrid>`) +
				quantity("basic_measurementError", manyOf("1.0 -2.0", `\kilo\pascal`, "")),
			want: []dcc.IncomingPoint{point("0.000", "0.010", "", ""), point("10.000", "-0.020", "", "")},
		},
		"lines between the values": {
			list: both("\n0.00\n10.00\n", `\bar`, "\n 0.01\t-0.02 ", ""),
			want: []dcc.IncomingPoint{point("0.00", "0.01", "", ""), point("10.00", "-0.02", "", "")},
		},
		"two units in a list": {
			list: both("0.0 1.0", `\kilo\pascal \bar`, "0 0", ""), no: `it has \kilo\pascal \bar`,
		},
		"no reference values": {
			list: quantity("basic_measuredValue", manyOf("0 1", `\bar`, "")), no: "no series of reference values",
		},
		"a temperature": {
			list: both("0.0 1.0", `\degreecelsius`, "0 0", ""), no: `\degreecelsius`,
		},
	} {
		t.Run(name, func(t *testing.T) {
			file := firstList.ReplaceAllLiteralString(own, "<dcc:list refType=\"gp_table1\"><dcc:name>"+
				"<dcc:content lang=\"en\">Rising</dcc:content></dcc:name>"+c.list+"</dcc:list>")
			got, err := dcc.Read([]byte(file), "bar")
			if c.no != "" {
				if !errors.Is(err, dcc.ErrRead) || !strings.Contains(err.Error(), c.no) {
					t.Errorf("%v %+v", err, got.Tables)
				}
				return
			}
			want := []dcc.Series{{Name: "Rising", Unit: "bar", Points: c.want}}
			if diff := cmp.Diff(want, got.Tables); err != nil || diff != "" {
				t.Error(err, diff)
			}
			path := filepath.Join(t.TempDir(), "one.xml")
			if err := os.WriteFile(path, []byte(file), 0o600); err != nil {
				t.Fatal(err)
			}
			if wrong := dcctest.Validate(t, path); wrong != "" {
				t.Error("the schema does not bear it: ", wrong)
			}
		})
	}
}

// expandedOf is the expanded uncertainty of one value.
func expandedOf(u, k string) string {
	return `<si:measurementUncertaintyUnivariate><si:expandedMU><si:valueExpandedMU>` + u +
		`</si:valueExpandedMU><si:coverageFactor>` + k + `</si:coverageFactor><si:coverageProbability>0.95` +
		`</si:coverageProbability></si:expandedMU></si:measurementUncertaintyUnivariate>`
}

// TestReadsAnyEncodingAndPrefix: a file may be in any encoding that its declaration names, begin with a byte
// order mark, end dates with a time zone, and use other prefixes than ours or none. What is read is
// the same.
func TestReadsAnyEncodingAndPrefix(t *testing.T) {
	c := made()
	c.Statements = append(c.Statements, dcc.Statement{RefType: "basic_recalibration", Text: "Next", Date: "2032-03-04"})
	c.Laboratory.Name = "Prüfstelle Süd"
	c.Item.Name = "Dial gauge"
	own := written(t, c)
	want, err := dcc.Read(own, "psi")
	if err != nil || want.By != "Prüfstelle Süd" {
		t.Fatal(want.By, err)
	}
	declared := func(b []byte, name string) []byte {
		return bytes.Replace(b, []byte(`encoding="UTF-8"`), []byte(`encoding="`+name+`"`), 1)
	}
	encoded := func(b []byte, err error) []byte {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	renamed := strings.NewReplacer("dcc:", "k:", "si:", "d:", "xmlns:dcc=", "xmlns:k=", "xmlns:si=", "xmlns:d=").Replace(string(own))
	for name, b := range map[string][]byte{
		"Latin 1":          encoded(charmap.ISO8859_1.NewEncoder().Bytes(declared(own, "ISO-8859-1"))),
		"Windows":          encoded(charmap.Windows1252.NewEncoder().Bytes(declared(own, "windows-1252"))),
		"UTF-16":           encoded(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().Bytes(declared(own, "UTF-16"))),
		"a mark before it": append([]byte{0xef, 0xbb, 0xbf}, own...),
		"zones":            bytes.ReplaceAll(bytes.ReplaceAll(own, []byte("2031-03-04<"), []byte("2031-03-04+01:00<")), []byte("2032-03-04<"), []byte("2032-03-04Z<")),
		"other prefixes":   []byte(renamed),
		"comments":         bytes.ReplaceAll(own, []byte("<dcc:result>"), []byte("<!-- one <result> --><dcc:result>")),
		"several languages": bytes.ReplaceAll(own, []byte(`<dcc:content lang="en">Rising pressure</dcc:content>`),
			[]byte(`<dcc:content lang="en">Rising pressure</dcc:content><dcc:content lang="de">Steigend</dcc:content>`)),
	} {
		got, err := dcc.Read(b, "psi")
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Errorf("%s: %v\n%s", name, err, diff)
		}
	}
	if _, err := dcc.Read(declared(own, "KLINGON-8"), "psi"); !errors.Is(err, dcc.ErrRead) ||
		!strings.Contains(err.Error(), "KLINGON-8") {
		t.Error(err)
	}
}
