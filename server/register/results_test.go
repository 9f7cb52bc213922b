package register_test

import (
	"context"
	"crypto/rand"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/server/register"
)

// TestResultsOfThePast checks that the rows of a day are one test, that missing verdicts follow
// from errors and limits, and that what cannot be decided is named and left out.
func TestResultsOfThePast(t *testing.T) {
	s := open(t)
	r, err := register.Read(
		[]byte("tag,serial,range,class,resolution\nPI-1,A-1001,0-10 bar,1,0.1\nPI-2,B-1,0-10 bar,,0.1\n"),
		register.Options{Set: map[string]string{"grade": ""}},
	)
	if err == nil {
		err = r.Check(s, false)
	}
	if err != nil {
		t.Fatal(err)
	}
	write(t, s, r) // PI-2 has no limit, so it is left out
	b, err := os.ReadFile(filepath.Join("testdata", "past", "pruefungen.csv"))
	if err != nil {
		t.Fatal(err)
	}
	read := func() *register.Results {
		t.Helper()
		past, err := register.ReadResults("past/pruefungen.csv", b, register.Options{})
		if err == nil {
			err = past.Check(s)
		}
		if err != nil {
			t.Fatal(err)
		}
		return past
	}
	past := read()
	if past.New() != 3 || past.Bad() != 4 || len(past.Files()) != 1 {
		t.Errorf("%d new, %d bad, files %q", past.New(), past.Bad(), past.Files())
	}
	wants := []string{
		"", "", "", `[line 9: column "Abweichung vorher": "zuviel" is not a number no instrument here`, `no instrument here has the tag "PI-9"`,
		"is here with the serial number A-1001", "no instrument here",
	}
	for i, says := range wants {
		got := fmt.Sprint(past.Tests[i].Problems)
		if says == "" {
			got = strings.Trim(got, "[]")
		}
		if (says == "") != (got == "") || !strings.Contains(got, says) {
			t.Errorf("test %d: %q, want %q", i, got, says)
		}
	}
	list, err := past.Changes(
		&plant.Drafter{Device: "d1", Author: "a1", Random: rand.Reader}, time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC),
		"5hee7", map[string]string{"k-19-4.pdf": "f11e"},
	)
	if err == nil {
		_, err = s.Add(context.Background(), list)
	}
	if err != nil {
		t.Fatal(err)
	}
	all, err := plant.All(s, "result", plant.ReadPastResult)
	if err != nil || len(all) != 3 {
		t.Fatal(len(all), err)
	}
	first, second, third := all[0], all[1], all[2]
	if f := first.Summary.AsFound; f.Verdict != "pass" || len(f.Points) != 3 || *f.Points[1].Error != 0.06 || *f.Points[1].Limit != 0.1 ||
		*f.WorstFraction < 0.599 || *f.WorstFraction > 0.601 || first.Summary.AsLeft != nil {
		t.Errorf("%+v", f)
	}
	if first.Certificate.Number != "K-19-4" || first.Certificate.File != "f11e" ||
		first.Brought.Name != "pruefungen.csv" || first.Brought.Line != "3" {
		t.Errorf("%+v", first)
	}
	if second.Summary.AsFound.Verdict != "fail" || second.Summary.AsLeft.Verdict != "pass" ||
		!strings.HasPrefix(second.Started, "2021-03-10") {
		t.Errorf("%+v", second)
	}
	if third.Summary.AsFound.Verdict != "pass" || third.Summary.AsFound.WorstFraction != nil {
		t.Errorf("%+v", third.Summary.AsFound)
	}
	if visits, err := s.ByKind("visit", "", 0); err != nil || len(visits) != 0 {
		t.Error("a past result became a visit")
	}
	if again := read(); again.New() != 0 || again.Bad() != 4 {
		t.Errorf("the same sheet again: %d new, %d bad", again.New(), again.Bad())
	}
}

// TestErrorsComeInOtherUnits checks that they are stored in the unit of the instrument's range.
func TestErrorsComeInOtherUnits(t *testing.T) {
	s := open(t)
	r, err := register.Read([]byte("tag,range,class,resolution\nPI-1,0-10 bar,1,0.1\n"), register.Options{})
	if err != nil {
		t.Fatal(err)
	}
	write(t, s, r)
	past, err := register.ReadResults(
		"a.csv", []byte("tag,date,point,error,limit,unit\nPI-1,2020-02-03,500,12,10,kPa\n"), register.Options{},
	)
	if err == nil {
		err = past.Check(s)
	}
	if err != nil || past.New() != 1 {
		t.Fatal(err, past)
	}
	list, err := past.Changes(&plant.Drafter{Device: "d1", Author: "a1", Random: rand.Reader}, time.Now(), "", nil)
	if err != nil {
		t.Fatal(err)
	}
	text := ""
	for _, set := range list[0].Set {
		if set.Field == "summary" {
			text = string(set.Value)
		}
	}
	if !strings.Contains(text, `"point":5,`) && !strings.Contains(text, `"point":5}`) ||
		!strings.Contains(text, `"error":0.12,`) || !strings.Contains(text, `"verdict":"fail"`) {
		t.Error(text)
	}
	for _, bad := range []string{"date,point\n2020-01-01,1\n", "tag,date,point,error,unit\nPI-1,2020-01-01,1,0.1,ft\n"} {
		past, err := register.ReadResults("a.csv", []byte(bad), register.Options{})
		if err == nil {
			err = past.Check(s)
		}
		if err == nil && past.Bad() == 0 {
			t.Errorf("%q is taken", bad)
		}
	}
}
