package register_test

import (
	"context"
	"crypto/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/store"
)

func messy(t *testing.T, s *store.Store, name string, o register.Options) *register.Register {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "messy", name))
	if err != nil {
		t.Fatal(err)
	}
	r, err := register.Read(b, o)
	if err == nil {
		err = r.Check(s, o.NewSites)
	}
	if err != nil {
		t.Fatal(name, err)
	}
	return r
}

// cause finds the cause with a field and a code.
func cause(t *testing.T, r *register.Register, field string, code register.Code) register.Cause {
	t.Helper()
	for _, c := range r.Causes() {
		if c.Field == field && c.Code == code {
			return c
		}
	}
	t.Errorf("no cause %s %s in %+v", field, code, r.Causes())
	return register.Cause{}
}

// TestARegisterAsPeopleHaveIt has title rows, missing units, a tag in another spelling and an
// invalid date; each cause has one repair for all of its rows.
func TestARegisterAsPeopleHaveIt(t *testing.T) {
	s := open(t)
	r := messy(t, s, "werk-nord.csv", register.Options{})
	if r.Encoding != "Windows-1252" || r.HeaderAt != 4 || len(r.Titles) != 2 || len(r.Rows) != 8 ||
		r.Decimal != "both" {
		t.Errorf(
			"%s, header in line %d under %q, %d rows, %s", r.Encoding, r.HeaderAt, r.Titles, len(r.Rows), r.Decimal,
		)
	}
	if c := cause(t, r, "unit", register.Missing); c.Rows != 2 || c.Repair != "set" || c.Lost {
		t.Errorf("%+v", c)
	}
	if c := cause(t, r, "tag", register.Twice); c.Rows != 1 || c.Repair != "twice" {
		t.Errorf("%+v", c)
	}
	if c := cause(t, r, "due", register.Unread); !c.Lost ||
		c.Values[0] != (register.Value{Text: "demnächst", Count: 1}) {
		t.Errorf("%+v", c)
	}
	if r.Bad() != 4 {
		t.Error(r.Bad())
	}
	r = messy(t, s, "werk-nord.csv", register.Options{
		Set: map[string]string{"unit": "bar"}, Twice: "first",
		Values: map[string]map[string]string{"due": {"demnächst": "Q4 2026"}},
	})
	if r.Bad() != 1 || r.Count("new") != 6 || r.Count("dropped") != 1 || len(r.Causes()) != 1 {
		t.Error(r.Bad(), r.Count("new"), r.Causes())
	}
	by := write(t, s, r)
	for tag, want := range map[string][3]string{
		"PI-20101": {"16", "1.6", "2027-09-30"}, "PI-20102": {"3", "1", "2026-12-31"},
		"PI-20103": {"25", "1", "2027-03-28"}, "PI-20104": {"40", "1.6", "2027-07-31"},
		"PI-20105": {"0", "", "2026-12-31"}, "PI-20106": {"400", "2.5", "2027-03-31"},
	} {
		i := by[tag]
		if got := [3]string{string(i.Range.High), string(i.Limit.Class), i.Due}; got != want {
			t.Errorf("%s: %q, want %q", tag, got, want)
		}
	}
	if i := by["PI-20105"]; i.Limit.OfSpanPercent != "1.6" || i.IntervalMonths != 12 || i.Range.Low != "-1" {
		t.Errorf("%+v", i)
	}
	if i := by["PI-20106"]; i.Range.Unit != "mmH2O" || i.IntervalMonths != 6 {
		t.Errorf("%+v", i)
	}
}

func TestFrenchAndSpanishRegisters(t *testing.T) {
	s := open(t)
	r := messy(t, s, "atelier-sud.tsv", register.Options{Dates: "dmy", NewSites: true})
	for _, row := range r.Rows {
		if bad := strings.Join(row.Problems, "; "); (bad != "") != (row.Tag == "M-304") {
			t.Errorf("%s: %q", row.Tag, bad)
		}
	}
	cause(t, r, "status", register.Unread)
	if c := cause(t, r, "serial", register.Doubtful); !c.Lost || c.Repair != "" {
		t.Errorf("%+v", c)
	}
	by := write(t, s, r)
	if i := by["M-303"]; i.Status != "out of service" || i.Due != "2027-06-30" || i.IntervalMonths != 24 ||
		i.Resolution != "0.05" {
		t.Errorf("%+v", i)
	}
	if i := by["M-302"]; i.Due != "2027-04-03" || i.IntervalMonths != 6 || i.Site == "" || i.Serial != "FR 0018" {
		t.Errorf("%+v", i)
	}
	r = messy(t, s, "planta-este.csv", register.Options{})
	cause(t, r, "range", register.Decimal)
	cause(t, r, "due", register.Order)
	cause(t, r, "unit", register.Missing)
	cause(t, r, "interval_months", register.Unread)
	r = messy(t, s, "planta-este.csv", register.Options{
		Set: map[string]string{"unit": "psi"}, Decimal: "point", Dates: "mdy",
		Values: map[string]map[string]string{"interval_months": {"cada luna": "mensual"}, "class": {"1,0 %": "1.0 %"}},
	})
	good(t, r)
	by = write(t, s, r)
	if i := by["PG-7005"]; i.Range.High != "1500" || i.IntervalMonths != 1 || i.Due != "2027-12-31" {
		t.Errorf("%+v", i)
	}
	if i := by["PG 7003"]; i.Range.Low != "-30" || i.Range.Unit != "inHg" || i.Due != "2027-02-03" ||
		i.Limit.Grade != "B" {
		t.Errorf("%+v", i)
	}
}

// TestAnEnglishRegister: a heading that is not known is mapped, American dates and thousands are read
// as such, and what lacks a range is left out.
func TestAnEnglishRegister(t *testing.T) {
	s := open(t)
	mapped := map[string]string{"Cal frequency": "interval_months"}
	r := messy(t, s, "mill-west.csv", register.Options{Map: mapped})
	if c := cause(t, r, "unit", register.Missing); c.Rows != 2 || c.Repair != "set" {
		t.Errorf("%+v", c)
	}
	if c := cause(t, r, "due", register.Unread); c.Values[0] != (register.Value{Text: "next outage", Count: 2}) {
		t.Errorf("%+v", c)
	}
	cause(t, r, "tag", register.Twice)
	cause(t, r, "due", register.Order)
	cause(t, r, "interval_months", register.Unread)
	r = messy(t, s, "mill-west.csv", register.Options{
		Map: mapped, Set: map[string]string{"unit": "psi"}, Twice: "first", Dates: "mdy",
		Values: map[string]map[string]string{
			"due": {"next outage": "Q2 2027"}, "interval_months": {"every now and then": "12"},
		},
	})
	if r.Bad() != 1 || r.Count("new") != 7 || r.Count("dropped") != 1 {
		t.Error(r.Bad(), r.Count("new"), r.Count("dropped"), r.Causes())
	}
	by := write(t, s, r)
	for tag, want := range map[string][4]string{
		"PT-4101": {"100", "psi", "2027-03-04", "A"}, "PT-4103": {"0", "inHg", "2027-06-30", "B"},
		"PT-4104": {"3000", "psi", "2027-11-02", "A"}, "PT-4106": {"60", "psi", "2027-06-30", "B"},
		"PT-4107": {"10", "inH2O", "2027-05-23", "2A"},
	} {
		i := by[tag]
		if got := [4]string{string(i.Range.High), i.Range.Unit, i.Due, i.Limit.Grade}; got != want {
			t.Errorf("%s: %q, want %q", tag, got, want)
		}
	}
	if i := by["PT-4104"]; i.IntervalMonths != 24 || by["PT-4107"].IntervalMonths != 12 {
		t.Errorf("%+v", i)
	}
}

// TestASecondImport changes what differs field by field, and leaves what the file does not say.
func TestASecondImport(t *testing.T) {
	s := open(t)
	first := []byte("tag,serial,range,class,resolution,area,interval,note\n" +
		"PI-101,A 1,0-10 bar,1,0.1,Mill,12,hand-written\nPI-102,A 2222,0-10 bar,1,0.1,Mill,12,\nPI-103,A 3333,0-4 bar,1,0.05,Mill,12,\n")
	read := func(data []byte, o register.Options) *register.Register {
		t.Helper()
		r, err := register.Read(data, o)
		if err == nil {
			err = r.Check(s, false)
		}
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	write(t, s, read(first, register.Options{}))
	second := []byte("tag,serial,range,area,interval\n" +
		"pi 101,a1,0-10.0 bar,Mill,24\nPI102,A2222,0-16 bar,Kiln,12\nPI-103,Z 9999,0-4 bar,Mill,12\nPI-109,A 3333,0-4 bar,Mill,12\n")
	r := read(second, register.Options{})
	if r.Bad() != 4 || !strings.Contains(strings.Join(r.Rows[0].Problems, "; "), "is here already") {
		t.Error("without update:", r.Rows[0].Problems)
	}
	r = read(second, register.Options{Update: true})
	var got []string
	for _, row := range r.Rows {
		line := row.State()
		for _, d := range row.Changes {
			line += " " + d.Field + ":" + string(d.Before) + ">" + string(d.After)
		}
		got = append(got, line)
	}
	want := []string{
		`changed interval_months:12>24`,
		`changed area:"Mill">"Kiln" range:{"high":"10","low":"0","mode":"gauge","unit":"bar"}>{"high":"16","low":"0","mode":"gauge","unit":"bar"}`,
		"bad", "bad",
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("row %d: %s, want %s", i, got[i], want[i])
		}
	}
	cause(t, r, "serial", register.Serial)
	cause(t, r, "tag", register.Moved)
	by := write(t, s, r)
	if i := by["PI-101"]; i.IntervalMonths != 24 || i.Note != "hand-written" || i.Serial != "A 1" ||
		i.Limit.Class != "1" {
		t.Errorf("%+v", i)
	}
	if len(by) != 3 || by["PI-102"].Area != "Kiln" {
		t.Errorf("%+v", by)
	}
	// A person's decisions on the rest: one serial number was mistyped, one instrument moved.
	r = read(second, register.Options{Update: true, Serials: "correct", Moved: "move"})
	if got := r.Rows[2].Changes; len(got) != 1 || got[0].Field != "serial" || string(got[0].After) != `"Z 9999"` {
		t.Errorf("%+v", got)
	}
	if got := r.Rows[3].Changes; len(got) != 1 || got[0].Field != "tag" || string(got[0].After) != `"PI-109"` {
		t.Errorf("%+v", got)
	}
}

func TestTheSameAgainChangesNothing(t *testing.T) {
	s := open(t)
	o := register.Options{Set: map[string]string{"unit": "bar"}, Twice: "last", Update: true}
	write(t, s, messy(t, s, "werk-nord.csv", o))
	r := messy(t, s, "werk-nord.csv", o)
	if r.Count("same") != 6 || r.Count("new")+r.Count("changed") != 0 {
		t.Error(r.Count("same"), r.Count("new"), r.Count("changed"))
	}
	list, err := r.Changes(&plant.Drafter{Device: "d1", Author: "a1", Random: rand.Reader}, time.Now())
	if err != nil || len(list) != 0 {
		t.Error(len(list), err)
	}
	if _, err := s.Add(context.Background(), list); err != nil {
		t.Error(err)
	}
}
