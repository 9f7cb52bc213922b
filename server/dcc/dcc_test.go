package dcc_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/text/language"

	"gaugewright/server/dcc"
	"gaugewright/server/dcc/dcctest"
)

// made is a certificate of an invented gauge in psi with every optional part.
func made() dcc.Certificate {
	rising := dcc.Table{Name: "Rising pressure", Columns: []dcc.Column{
		{
			RefType: "basic_referenceValue", Name: "Applied pressure, gauge", Unit: "psi",
			Values: []string{"0.000", "50.012", "100.004"}, Nominal: []string{"0", "50", "100"},
		},
		{
			RefType: "basic_measuredValue", Name: "Indicated pressure", Unit: "psi",
			Values: []string{"0.0", "50.5", "99.5"},
		},
		{RefType: "basic_measurementError", Name: "Error", Unit: "psi", Values: []string{"0.00", "0.49", "-0.50"}, Expanded: []string{"0.12", "0.12", "0.13"},
			Factors: []string{"2.00", "2.00", "2.13"}, Probability: "0.95", Conformity: []string{"pass", "conditionalPass", "fail"}, Low: []string{"-0.50", "-0.50", "-0.49"},
			High: []string{"0.50", "0.50", "0.49"}},
	}}
	return dcc.Certificate{Number: "2031-00017", ID: "urn:uuid:3f1c9a52-6c0e-8d0b-9a39-1d2b7a5e0c11", Title: "Calibration certificate", Language: "en", Country: "NL",
		Record: strings.Repeat("ab", 32), Begin: "2031-03-04", End: "2031-03-04", Issued: "2031-03-06", Replaces: "urn:uuid:00000000-6c0e-8d0b-9a39-1d2b7a5e0c11",
		WhyInstead: "Replaces No. 2031-00009.", Release: "1.3.0", Laboratory: dcc.Party{
			Name: "Workshop <A> & Sons", Lines: []string{"Quay 7", "Harbour"},
		},
		Customer: dcc.Party{Name: "Operations"},
		Item: dcc.Item{Name: "Dial gauge, 0 … 100 psi", Maker: "Fennmark", Model: "G1", Serial: "S-1", Tag: "PI-1", Low: dcc.Number{Value: "0", Unit: "psi"},
			High: dcc.Number{Value: "100", Unit: "psi"}, Resolution: dcc.Number{Value: "0.5", Unit: "psi"}},
		People: []dcc.Person{
			{Name: "Ada Rowe", Role: "did the work"},
			{Name: "Bo Lind", Role: "authorised the certificate", Signer: true},
		},
		Statements: []dcc.Statement{
			{RefType: "basic_conformity", Text: "As found: fail.", Conformity: "fail"},
			{Text: "Undecided things have no conformity."},
		},
		Work: []dcc.Work{{Name: "As found", Status: "beforeAdjustment", Methods: []dcc.Method{{Name: "Comparison", Text: "3 points"}, {RefType: "basic_uncertainty", Name: "Expanded uncertainty",
			Norms: []string{"JCGM 100:2008"}}},
			Standards: []dcc.Standard{{Name: "Standard", Serial: "N-1", Certificate: "C-77", By: "Another laboratory"}},
			Conditions: []dcc.Condition{
				{RefType: "basic_temperature", Name: "Air temperature", Value: dcc.Number{Value: "21.5", Unit: "degC"}},
			},
			Tables: []dcc.Table{rising}},
			{Name: "As left", Status: "afterAdjustment", Methods: []dcc.Method{{Name: "Leak test"}}, Figures: []dcc.Figure{
				{
					Name: "Leak rate",
					Value: dcc.Number{
						Value: "-0.0000012", Unit: "Pa.m3/s", Expanded: "0.0000031", Factor: "2.20",
						Probability: "0.95",
					},
					High: "0.00001", Conformity: "pass", Source: "the method",
				},
				{Name: "Altitude", Value: dcc.Number{Value: "10020", Unit: "ft"}, Low: "9900", High: "10100"},
				{Name: "Bubbles", Text: "none were seen"}, {Name: "Dose", Value: dcc.Number{Value: "3", Unit: "drops/min"}}}}},
	}
}

func written(t *testing.T, c dcc.Certificate) []byte {
	t.Helper()
	b, err := dcc.XML(&c)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestAgainstTheSchema checks the schema and the rules; enclosing the PDF must not change the
// result.
func TestAgainstTheSchema(t *testing.T) {
	plain := written(t, made())
	whole, err := dcc.Enclose(plain, "certificate.pdf", []byte("%PDF-1.3 not a real one"))
	if err != nil {
		t.Fatal(err)
	}
	var files []string
	for i, b := range [][]byte{plain, whole} {
		if err := dcc.Check(b); err != nil {
			t.Error(err)
		}
		files = append(files, filepath.Join(t.TempDir(), string(rune('a'+i))+".xml"))
		if err := os.WriteFile(files[i], b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if wrong := dcctest.Validate(t, files...); wrong != "" {
		t.Errorf("%s\n%s", wrong, plain)
	}
}

// TestUnitsAreInTheSIFirst: the conversions are exact. 1 psi is 6.894757293168361 kPa (NIST SP
// 811, appendix B.8, gives 6.894757), 0 °C is 273.15 K, 1 ft is 0.3048 m.
func TestUnitsAreInTheSIFirst(t *testing.T) {
	got := string(written(t, made()))
	for _, want := range []string{
		`<si:valueXMLList>0.000 344.821 689.503</si:valueXMLList>`, `<si:unitXMLList>\kilo\pascal</si:unitXMLList>`, `<si:valueXMLList>0.000 50.012 100.004</si:valueXMLList>`,
		`<si:unitXMLList>|psi</si:unitXMLList>`, `<dcc:nonSIUnit>psi</dcc:nonSIUnit>`, `<si:value>294.65</si:value>`, `<si:unit>\degreecelsius</si:unit>`, `<si:value>3054.1</si:value>`,
		`<si:unit>|ft</si:unit>`, `Workshop &lt;A&gt; &amp; Sons`, `<si:value>-0.0000012</si:value>`, `<dcc:content lang="en">3 drops/min</dcc:content>`,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("without %s", want)
		}
	}
	if t.Failed() {
		t.Log(got)
	}
}

// TestRulesBeyondTheSchema: each change is one that the schema accepts, or may; one of our rules
// finds it.
func TestRulesBeyondTheSchema(t *testing.T) {
	plain := written(t, made())
	whole, err := dcc.Enclose(plain, "certificate.pdf", []byte("%PDF"))
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range []struct{ from, to, finds string }{
		{`refId="item"`, `refId="other"`, "nowhere"},
		{`id="item"`, `id="unused"`, "nothing refers"},
		{`lang="en">Rising`, `lang="de">Rising`, "not declared"},
		{`<dcc:usedLangCodeISO639_1>en</dcc:usedLangCodeISO639_1>`, `<dcc:usedLangCodeISO639_1>en</dcc:usedLangCodeISO639_1><dcc:usedLangCodeISO639_1>fr</dcc:usedLangCodeISO639_1>`, "no text is in"},
		{`<dcc:usedLangCodeISO639_1>en</dcc:usedLangCodeISO639_1>`, `<dcc:usedLangCodeISO639_1>en</dcc:usedLangCodeISO639_1><dcc:usedLangCodeISO639_1>en</dcc:usedLangCodeISO639_1>`, "twice"},
		{`<dcc:beginPerformanceDate>2031-03-04`, `<dcc:beginPerformanceDate>2031-03-05`, "after it ends"},
		{`<dcc:issueDate>2031-03-06`, `<dcc:issueDate>2031-03-03`, "before the work ended"},
		{`<dcc:release>v1.3.0`, `<dcc:release>8f2c1aa`, "form of a release"},
		{`<dcc:countryCodeISO3166_1>NL`, `<dcc:countryCodeISO3166_1>XQ`, "no country"},
		{`<si:coverageFactorXMLList>2.00 2.00 2.13<`, `<si:coverageFactorXMLList>2.00 2.13<`, "entries beside"},
		{`<si:valueExpandedMUXMLList>0.12 0.12 0.13<`, `<si:valueExpandedMUXMLList>0.12 0.12<`, "entries beside"},
		{`<si:unitXMLList>\kilo\pascal<`, `<si:unitXMLList>\kilo\pascal \kilo\pascal<`, "blank"},
		{`<dcc:conformityXMLList>pass conditionalPass fail<`, `<dcc:conformityXMLList>pass fail<`, "entries beside"},
		{`<si:valueXMLList>0.0 50.5 99.5<`, `<si:valueXMLList>0.0  50.5 99.5<`, "blanks"},
		{`<si:unit>\kelvin<`, `<si:unit>furlong<`, "not of D-SI"},
		{`<dcc:nonSIUnit>psi<`, `<dcc:nonSIUnit>bar<`, "not declared"},
		{`<dcc:dataBase64>`, `<dcc:dataBase64>!`, "base64"},
		{`schemaVersion="3.3.0"`, `schemaVersion="3.2.0"`, "schema version"},
		{`<dcc:usedMethods>`, `<dcc:otherMethods>`, ""},
	} {
		changed := bytes.Replace(whole, []byte(m.from), []byte(m.to), 1)
		if bytes.Equal(changed, whole) {
			t.Errorf("%s is missing", m.from)
		}
		if err := dcc.Check(changed); !errors.Is(err, dcc.ErrRule) || !strings.Contains(err.Error(), m.finds) {
			t.Errorf("%s: found %v, not %q", m.to, err, m.finds)
		}
	}
}

func TestIncomplete(t *testing.T) {
	for what, spoil := range map[string]func(*dcc.Certificate){
		"country": func(c *dcc.Certificate) { c.Country = "" }, "item": func(c *dcc.Certificate) { c.Item.Serial, c.Item.Tag = "", "" },
		"people": func(c *dcc.Certificate) { c.People = nil }, "results": func(c *dcc.Certificate) { c.Work = nil },
		"a table": func(c *dcc.Certificate) { c.Work[0].Tables = nil }, "issue": func(c *dcc.Certificate) { c.Issued = " " },
	} {
		c := made()
		spoil(&c)
		if _, err := dcc.XML(&c); !errors.Is(err, dcc.ErrIncomplete) {
			t.Errorf("without %s: %v", what, err)
		}
	}
	if _, err := dcc.Enclose([]byte("<x/>"), "a.pdf", nil); !errors.Is(err, dcc.ErrIncomplete) {
		t.Error(err)
	}
}

// TestCountries: golang.org/x/text/language knows the regions of the CLDR, past ones too. Every
// country is one of them and its own canonical form. ISO 3166-1 lists 249 (from memory).
func TestCountries(t *testing.T) {
	n := 0
	for a := 'A'; a <= 'Z'; a++ {
		for b := 'A'; b <= 'Z'; b++ {
			code := string([]rune{a, b})
			if !dcc.Country(code) {
				continue
			}
			n++
			region, err := language.ParseRegion(code)
			if err != nil || !region.IsCountry() || region.Canonicalize().String() != code {
				t.Errorf("the library knows no country %s: %v", code, err)
			}
		}
	}
	if n != 249 {
		t.Errorf("%d countries", n)
	}
}
