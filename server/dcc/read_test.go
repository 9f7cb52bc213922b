package dcc_test

import (
	"errors"
	"strings"
	"testing"

	"gaugewright/server/dcc"

	"github.com/google/go-cmp/cmp"
)

// TestReadsOwn checks that this program reads what it writes, in the recorded unit and in another.
// By hand: 50.012 psi = 344.82 kPa, 0.49 psi = 3.38 kPa, 0.12 psi = 0.83 kPa (1 psi = 6.894757
// kPa).
func TestReadsOwn(t *testing.T) {
	c := made()
	c.Statements = append(c.Statements, dcc.Statement{RefType: "basic_recalibration", Text: "Next", Date: "2032-03-04"})
	b, err := dcc.XML(&c)
	if err != nil {
		t.Fatal(err)
	}
	got, err := dcc.Read(b, "psi")
	want := dcc.Incoming{Number: "2031-00017", By: "Workshop <A> & Sons", Calibrated: "2031-03-04", Due: "2032-03-04",
		Item: "Dial gauge, 0 … 100 psi", Serial: "S-1", Tables: []dcc.Series{{Name: "Rising pressure", Unit: "psi",
			Points: []dcc.IncomingPoint{
				{Applied: "0.000", Error: "0.00", Expanded: "0.12", K: "2.00"},
				{Applied: "50.012", Error: "0.49", Expanded: "0.12", K: "2.00"},
				{Applied: "100.004", Error: "-0.50", Expanded: "0.13", K: "2.13"},
			}}}}
	if diff := cmp.Diff(want, got); diff != "" || err != nil {
		t.Error(err, diff)
	}
	got, err = dcc.Read(b, "kPa")
	if err != nil || len(got.Tables) != 1 || len(got.Tables[0].Points) != 3 {
		t.Fatal(err, got.Tables)
	}
	if p := got.Tables[0].Points[1]; !strings.HasPrefix(p.Applied, "344.8") || !strings.HasPrefix(p.Error, "3.3") ||
		!strings.HasPrefix(p.Expanded, "0.8") {
		t.Errorf("%+v", p)
	}
	if _, err := dcc.Read(b, "mA"); !errors.Is(err, dcc.ErrRead) || !strings.Contains(err.Error(), `\pascal`) {
		t.Errorf("in mA: %v", err)
	}
}

// older is from another laboratory and an older schema: the deprecated form of uncertainties,
// values without errors, falling, and a list for each point.
const older = `<?xml version="1.0"?>
<x:digitalCalibrationCertificate xmlns:x="https://ptb.de/dcc" xmlns:y="https://ptb.de/si" schemaVersion="3.1.2">
<x:administrativeData><x:coreData><x:uniqueIdentifier>U-9</x:uniqueIdentifier>
<x:endPerformanceDate>2025-02-03</x:endPerformanceDate></x:coreData></x:administrativeData>
<x:measurementResults><x:measurementResult><x:results>
<x:result><x:name><x:content>Falling</x:content></x:name><x:data><x:list>
<x:quantity refType="basic_referenceValue own_thing"><y:realListXMLList><y:valueXMLList>2.000 1.000 NaN 0.000</y:valueXMLList>
<y:unitXMLList>\mega\pascal</y:unitXMLList></y:realListXMLList></x:quantity>
<x:quantity refType="basic_measuredValue"><y:realListXMLList><y:valueXMLList>2.0012 1.0003 1 0.0000</y:valueXMLList>
<y:unitXMLList>\mega\pascal</y:unitXMLList><y:expandedUncXMLList><y:uncertaintyXMLList>0.0004</y:uncertaintyXMLList>
<y:coverageFactorXMLList>2</y:coverageFactorXMLList></y:expandedUncXMLList></y:realListXMLList></x:quantity>
</x:list></x:data></x:result>
<x:result><x:name><x:content>One by one</x:content></x:name><x:data>
<x:list><x:quantity refType="basic_referenceValue"><y:real><y:value>5.00</y:value><y:unit>\bar</y:unit></y:real></x:quantity>
<x:quantity refType="basic_measurementError"><y:real><y:value>0.01</y:value><y:unit>\bar</y:unit><y:expandedUnc>
<y:uncertainty>0.02</y:uncertainty><y:coverageFactor>2</y:coverageFactor></y:expandedUnc></y:real></x:quantity></x:list>
<x:list><x:quantity refType="basic_referenceValue"><y:real><y:value>1.00</y:value><y:unit>\bar</y:unit></y:real></x:quantity>
<x:quantity refType="basic_measurementError"><y:real><y:value>-0.01</y:value><y:unit>\bar</y:unit></y:real></x:quantity></x:list>
</x:data></x:result>
</x:results></x:measurementResult></x:measurementResults></x:digitalCalibrationCertificate>`

func TestReadsOthers(t *testing.T) {
	got, err := dcc.Read([]byte(older), "bar")
	want := dcc.Incoming{Number: "U-9", Calibrated: "2025-02-03", Tables: []dcc.Series{
		{Name: "Falling", Unit: "bar", Points: []dcc.IncomingPoint{
			{Applied: "0.00", Error: "0.000", Expanded: "0.004", K: "2"},
			{Applied: "10.00", Error: "0.003", Expanded: "0.004", K: "2"},
			{Applied: "20.00", Error: "0.012", Expanded: "0.004", K: "2"},
		}},
		{Name: "One by one", Unit: "bar", Points: []dcc.IncomingPoint{
			{Applied: "1.00", Error: "-0.01"}, {Applied: "5.00", Error: "0.01", Expanded: "0.02", K: "2"},
		}},
	}}
	if diff := cmp.Diff(want, got); diff != "" || err != nil {
		t.Error(err, diff)
	}
}

// TestAbsurdNumbers: a number of a million digits is refused, since it would take the server's
// memory.
func TestAbsurdNumbers(t *testing.T) {
	for _, absurd := range []string{"1e999999999", strings.Repeat("9", 5000), "0x10", "1/3"} {
		got, err := dcc.Read([]byte(strings.ReplaceAll(older, "2.0012", absurd)), "bar")
		if err != nil || len(got.Tables) != 2 || len(got.Tables[0].Points) != 2 {
			t.Errorf("%.20s: %v %v", absurd, got.Tables, err)
		}
	}
}

func TestReadRefuses(t *testing.T) {
	for name, c := range map[string]struct{ file, want string }{
		"no XML":         {"%PDF-1.4", "no XML"},
		"cut off":        {older[:900], "no XML"},
		"another root":   {`<a xmlns="https://ptb.de/dcc"/>`, "root"},
		"another space":  {strings.Replace(older, "https://ptb.de/dcc", "https://example.org", 1), "root"},
		"schema 2":       {strings.Replace(older, "3.1.2", "2.4.0", 1), `schemaVersion "2.4.0"`},
		"no such unit":   {strings.NewReplacer(`\bar`, `\furlong`, `\mega\pascal`, `\furlong`).Replace(older), `\furlong`},
		"deep":           {strings.Repeat("<a>", 5000), "deep"},
		"nothing inside": {`<digitalCalibrationCertificate xmlns="https://ptb.de/dcc" schemaVersion="3.3.0"/>`, "no series"},
	} {
		if _, err := dcc.Read([]byte(c.file), "bar"); !errors.Is(err, dcc.ErrRead) ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(older))
	f.Fuzz(func(t *testing.T, b []byte) {
		if in, err := dcc.Read(b, "bar"); err == nil && len(in.Tables) == 0 {
			t.Error("read without a series")
		}
	})
}
