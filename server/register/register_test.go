package register_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/csv"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"golang.org/x/text/encoding/unicode"
)

// The registers under testdata are invented for these tests, in the forms in which spreadsheets of
// several countries save.
func read(t *testing.T, name string, o register.Options) *register.Register {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "registers", name))
	if err != nil {
		t.Fatal(err)
	}
	r, err := register.Read(b, o)
	if err != nil {
		t.Fatal(name, err)
	}
	return r
}

func open(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// write imports a register into a store and reads its instruments back by tag.
func write(t *testing.T, s *store.Store, r *register.Register) map[string]plant.Instrument {
	t.Helper()
	list, err := r.Changes(
		&plant.Drafter{Device: "d1", Author: "a1", Random: rand.Reader},
		time.Date(2026, 5, 6, 7, 8, 9, 0, time.UTC),
	)
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Add(context.Background(), list)
	if err != nil || len(got.Accepted) != len(list) {
		t.Fatal(got, err)
	}
	all, err := plant.All(s, "instrument", plant.ReadInstrument)
	if err != nil {
		t.Fatal(err)
	}
	by := map[string]plant.Instrument{}
	for _, i := range all {
		by[i.Tag] = i
	}
	return by
}

func good(t *testing.T, r *register.Register) {
	t.Helper()
	for _, row := range r.Rows {
		if len(row.Problems) > 0 {
			t.Errorf("line %d: %v", row.Line, row.Problems)
		}
	}
}

// said lists the faults of a row.
func said(row *register.Row) string {
	return strings.Join(append(slices.Clone(row.Problems), row.Lost...), "; ")
}

func TestPlain(t *testing.T) {
	r := read(t, "plain.csv", register.Options{})
	s := open(t)
	if err := r.Check(s, false); err != nil {
		t.Fatal(err)
	}
	good(t, r)
	by := write(t, s, r)
	a := by["PI-1001"]
	if a.Range != (plant.Range{Low: "0", High: "10", Unit: "bar", Mode: "gauge"}) || a.Limit != (plant.Limit{Rule: "en837", Class: "1.6"}) ||
		a.Resolution != "0.1" || a.Serial != "A-77" || a.Due != "2027-03-01" || a.IntervalMonths != 12 || a.Status != "in service" || len(a.Label) != 10 {
		t.Errorf("%+v", a)
	}
	b := by["PI-1002"]
	if b.Range.Low != "-1" || b.Range.High != "5" || b.Description != "Return, west leg" ||
		b.Place != "Pump house\nupper floor" || b.Limit.OfSpanPercent != "1.0" || b.Limit.Rule != "terms" {
		t.Errorf("%+v", b)
	}
	c := by["PT-9"]
	if c.Range != (plant.Range{Low: "0", High: "250.0", Unit: "kPa", Mode: "absolute"}) ||
		c.Limit.OfSpanPercent != "0.5" || c.Status != "out of service" {
		t.Errorf("%+v", c)
	}
}

func TestDecimalCommaAndByteMark(t *testing.T) {
	r := read(t, "german.csv", register.Options{})
	if r.Decimal != "comma" || r.Delimiter != ";" || r.Encoding != "UTF-8" {
		t.Error(r.Decimal, r.Delimiter, r.Encoding)
	}
	good(t, r)
	by := write(t, open(t), r)
	if a := by["PI 201"]; a.Limit.Class != "1.6" || a.Resolution != "0.2" || a.IntervalMonths != 24 ||
		a.Due != "2027-03-01" || a.Area != "Anlage Süd" || a.Place != "Größe Ⅰ" {
		t.Errorf("%+v", a)
	}
	if b := by["PI 202"]; b.Range.Low != "-0.6" || b.Range.High != "0" || b.Limit.Class != "2.5" ||
		b.Resolution != "0.02" {
		t.Errorf("%+v", b)
	}
}

func TestWindows1252(t *testing.T) {
	r := read(t, "windows.csv", register.Options{})
	good(t, r)
	by := write(t, open(t), r)
	if a := by["PI 301"]; r.Encoding != "Windows-1252" || a.Description != "Kühlwasser – Rücklauf" ||
		a.Range.High != "2.5" || a.Range.Low != "0" {
		t.Errorf("%s %+v", r.Encoding, a)
	}
}

func TestTabsGradesAndThousands(t *testing.T) {
	r := read(t, "tabs.tsv", register.Options{})
	good(t, r)
	by := write(t, open(t), r)
	if a := by["PG-2"]; a.Range.High != "3000" || a.Range.Unit != "psi" ||
		a.Limit != (plant.Limit{Rule: "b40.100", Grade: "B"}) || by["PG-1"].Note != "behind the panel" {
		t.Errorf("%+v", a)
	}
	if a := by["PG-3"]; a.Range.Unit != "inHg" {
		t.Errorf("%+v", a)
	}
}

func TestEveryFaultIsNamed(t *testing.T) {
	r := read(t, "faults.csv", register.Options{})
	want := []struct {
		line int
		says string // "" for a good row
	}{
		{2, "has no tag"}, {3, ""}, {4, "the tag PI-1 is also in line 3"}, {5, "not above"}, {6, `"furlong" is not a unit`}, {7, `"mpa" is not a unit`},
		{8, "the class 1.5"}, {9, "resolution 0 is not above zero"}, {10, "day or month first"}, {11, `"dragon"`}, {12, "not a range"}, {13, "5 cells"},
		{14, "no limit"}, {15, "no resolution"},
	}
	if len(r.Rows) != len(want) {
		t.Fatal(len(r.Rows))
	}
	for i, w := range want {
		row := r.Rows[i]
		got := said(&row)
		if row.Line != w.line || (w.says == "") != (got == "") || !strings.Contains(got, w.says) {
			t.Errorf("line %d, want %d: %q, want %q", row.Line, w.line, got, w.says)
		}
	}
	// A date in an unclear order is left out; the row is imported.
	if r.Good() != 2 || r.Bad() != 12 || len(r.Rows[8].Problems) != 0 {
		t.Error(r.Good(), r.Bad())
	}
	var report, left bytes.Buffer
	if err := errors.Join(r.Report(&report, true), r.LeftOut(&left)); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(report.String(), "line 3  PI-1  good\n") ||
		!strings.Contains(report.String(), "14 rows: 2 good, 12 bad\n") {
		t.Error(report.String())
	}
	rows, err := csv.NewReader(&left).ReadAll()
	if err != nil || len(rows) != 13 || rows[0][7] != "problem" || !strings.HasPrefix(rows[12][7], "line 15: ") ||
		rows[12][0] != "PI-12" {
		t.Error(rows, err)
	}
	if by := write(t, open(t), r); len(by) != 2 || by["PI-1"].Range.High != "10" || by["PI-7"].Due != "" {
		t.Error("only the good rows are written:", by)
	}
}

func TestAmbiguousThousands(t *testing.T) {
	file := "tag,range,unit,class,resolution\nPI-1,\"0 - 1,000\",bar,1,10\n"
	bad, err := register.Read([]byte(file), register.Options{})
	if err != nil || bad.Bad() != 1 || !strings.Contains(bad.Rows[0].Problems[0], "may be thousands") {
		t.Error(bad, err)
	}
	for decimal, want := range map[string]plant.Decimal{"point": "1000", "comma": "1.000"} {
		r, err := register.Read([]byte(file), register.Options{Decimal: decimal})
		if err != nil {
			t.Fatal(err)
		}
		good(t, r)
		if got := write(t, open(t), r)["PI-1"].Range.High; got != want {
			t.Error(decimal, got)
		}
	}
	// If a file has both marks, each number must show its own or is refused.
	both, err := register.Read(
		[]byte("tag;range;unit;class;resolution\na;0-1,5;bar;1;0.05\nb;0-2.000;bar;1;0.05\n"), register.Options{},
	)
	if err != nil || both.Decimal != "both" || len(both.Rows[0].Problems) != 0 ||
		len(both.Rows[1].All) != 1 || both.Rows[1].All[0].Code != register.Decimal {
		t.Error("both marks:", both, err)
	}
}

func TestHeadings(t *testing.T) {
	file := "Where,No,Bottom,Top,Dim,Kl,Step\nhall,PI-1,0,10,bar,1,0.1\n"
	if _, err := register.Read([]byte(file), register.Options{}); !errors.Is(err, register.ErrColumns) {
		t.Error("no tag:", err)
	}
	r, err := register.Read([]byte(file), register.Options{
		Map: map[string]string{"No": "tag", "Bottom": "low", "Top": "high", "Dim": "unit", "Step": "resolution"},
	})
	if err != nil {
		t.Fatal(err)
	}
	good(t, r)
	if _, err := register.Read([]byte(file), register.Options{Map: map[string]string{"No": "name"}}); !errors.Is(err, register.ErrColumns) {
		t.Error("no such field:", err)
	}
	if _, err := register.Read([]byte(file), register.Options{Map: map[string]string{"Nix": "tag"}}); !errors.Is(err, register.ErrColumns) {
		t.Error("no such heading:", err)
	}
	if _, err := register.Read([]byte("Tag,Loop,Range,Unit\na,b,0-1,bar\n"), register.Options{}); !errors.Is(err, register.ErrColumns) {
		t.Error("two tags:", err)
	}
	r, err = register.Read(
		[]byte("Tag,Range\nPI-1,0-10\nPI-2,0-10 psi\n"),
		register.Options{Set: map[string]string{"unit": "", "class": "1", "resolution": "0.1"}},
	)
	if err != nil || r.Bad() != 1 {
		t.Error("what is set counts for empty cells:", r, err)
	}
}

// TestLanguageOfCertificates: a register says the language of certificates by its code or its name;
// another one costs the cell and is named.
func TestLanguageOfCertificates(t *testing.T) {
	r, err := register.Read([]byte("tag,range,class,resolution,Sprache\nPI-1,0-1 bar,1,0.01,Deutsch\n"+
		"PI-2,0-1 bar,1,0.01,EN\nPI-3,0-1 bar,1,0.01,\nPI-4,0-1 bar,1,0.01,Dutch\n"), register.Options{})
	if err != nil {
		t.Fatal(err)
	}
	lost := r.Rows[3].Lost
	if len(lost) != 1 || !strings.Contains(lost[0], `"Dutch" is neither`) || len(r.Rows[3].Problems) != 0 {
		t.Errorf("%v %v", lost, r.Rows[3].Problems)
	}
	by := write(t, open(t), r)
	for tag, want := range map[string]string{"PI-1": "de", "PI-2": "en", "PI-3": "", "PI-4": ""} {
		if got := by[tag].Language; got != want {
			t.Errorf("%s: %q, want %q", tag, got, want)
		}
	}
}

func TestNotATable(t *testing.T) {
	for name, b := range map[string]string{"empty": "", "header only": "tag,range,unit\n", "utf-16": "\xff\xfet\x00a\x00", "binary": "PK\x03\x04\x00\x00tag,range", "open quote": "tag,range\n\"a,0-1 bar\n"} {
		if _, err := register.Read([]byte(b), register.Options{}); !errors.Is(err, register.ErrFile) {
			t.Error(name, err)
		}
	}
}

func TestAgainstWhatIsHere(t *testing.T) {
	s := open(t)
	p := &plant.Drafter{Device: "d2", Author: "a1", Random: rand.Reader}
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	method, _, err := p.New("method", "", "", at, plant.Set{
		Field: "name", Value: "Yearly, six points",
	}, plant.Set{Field: "kind", Value: "gauge"},
		plant.Set{Field: "definition", Value: json.RawMessage(`{"kind":"gauge","points":{"count":6}}`)})
	site, state, err2 := p.New("site", "", "", at, plant.Set{Field: "code", Value: "W1"})
	old, _, err3 := p.New("instrument", "", "", at, plant.Set{Field: "tag", Value: "PI-1"})
	if err := errors.Join(err, err2, err3); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(context.Background(), []change.Change{method, site, old}); err != nil {
		t.Fatal(err)
	}
	file := []byte("tag,range,class,resolution,site,method\nPI-1,0-1 bar,1,0.01,W1,\nPI-2,0-1 bar,1,0.01,W1,\"Yearly, six points\"\nPI-3,0-1 bar,1,0.01,W2,\nPI-4,0-1 bar,1,0.01,W1,Monthly\n")
	r, err := register.Read(file, register.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Check(s, false); err != nil {
		t.Fatal(err)
	}
	for i, says := range []string{"here already", "", `site "W2"`, `method "Monthly"`} {
		if got := said(&r.Rows[i]); (says == "") != (got == "") || !strings.Contains(got, says) {
			t.Errorf("row %d: %q", i, got)
		}
	}
	if got := write(t, s, r)["PI-2"]; got.Site != state.ID || got.Method != method.Record {
		t.Errorf("%+v", got)
	}
	r, err = register.Read([]byte("tag,range,class,resolution,site\nPI-5,0-1 bar,1,0.01,W9\n"), register.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Check(s, true); err != nil {
		t.Fatal(err)
	}
	good(t, r)
	got := write(t, s, r)["PI-5"]
	sites, err := s.Lookup("site", "code", "W9")
	if err != nil || len(sites) != 1 || got.Site != sites[0].ID {
		t.Error(got.Site, sites, err)
	}
}

func TestUTF16(t *testing.T) {
	want := read(t, "tabs.tsv", register.Options{})
	b, err := os.ReadFile(filepath.Join("testdata", "registers", "tabs.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	for _, order := range []unicode.Endianness{unicode.LittleEndian, unicode.BigEndian} {
		wide, err := unicode.UTF16(order, unicode.UseBOM).NewEncoder().Bytes(b)
		if err != nil {
			t.Fatal(err)
		}
		r, err := register.Read(wide, register.Options{})
		if err != nil || r.Encoding != "UTF-16" || len(r.Rows) != len(want.Rows) ||
			!reflect.DeepEqual(r.Rows, want.Rows) {
			t.Errorf("%+v %v", r, err)
		}
	}
}
