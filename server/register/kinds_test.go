package register_test

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// field is a field of an instrument in canonical JSON.
func field(t *testing.T, s *store.Store, tag, name string) string {
	t.Helper()
	found, err := s.Lookup("instrument", "tag", tag)
	if err != nil || len(found) != 1 {
		t.Fatalf("%s: %d records, %v", tag, len(found), err)
	}
	return fieldOf(&found[0], name)
}

func fieldOf(state *merge.State, name string) string {
	v, ok := state.Value(name)
	if !ok {
		return ""
	}
	return string(v)
}

// TestEveryKindComesIn: one table with an instrument of every kind, as a spreadsheet of a country with the decimal comma saves it.
func TestEveryKindComesIn(t *testing.T) {
	s := open(t)
	r := read(t, "every-kind.csv", register.Options{})
	if r.Decimal != "comma" || r.Delimiter != ";" || len(r.Unused) != 0 {
		t.Errorf("%q %q, not used: %q", r.Decimal, r.Delimiter, r.Unused)
	}
	if err := r.Check(s, true); err != nil {
		t.Fatal(err)
	}
	for _, row := range r.Rows {
		if len(row.Problems) > 0 {
			t.Errorf("%s: %q", row.Tag, row.Problems)
		}
	}
	write(t, s, r)
	for _, c := range []struct{ tag, field, want string }{
		{"PI-10", "kind", `"gauge"`}, {"PI-10", "output", ""}, {"PI-10", "particulars", ""},
		{"PT-11", "kind", `"gauge"`}, {"PT-11", "output", `{"high":"20","low":"4","unit":"mA"}`},
		{"PDT-12", "output", `{"high":"10","law":"square-root","low":"0","unit":"V"}`},
		{"SY-13", "kind", `"leak"`}, {"SY-13", "particulars", `{"volume_m3":"0.0125","weakest":{"high":"8.5","part":"sight glass"}}`}, {"SY-13", "limit", ""},
		{"SY-14", "particulars", `{"volume_m3":"0.01892705892"}`}, // 5 gallons of 231 cubic inches
		{"PS-15", "kind", `"switch"`},
		{"PS-15", "particulars", `{"contacts":[{"acts":"rising","dead_band":{"high":"0.8","low":"0.6"},"name":"alarm","nominal":"1.5","safe":"open","tolerance":"0.05"},` +
			`{"acts":"falling","name":"trip","nominal":"0.9","safety_function":true,"tolerance_percent":"2.5"}]}`},
		{"RD-16", "kind", `"burst"`}, {"RD-16", "particulars", `{"coincident_temperature_c":"22","lot":"L-7","lot_size":40,"marked":"5.5","material":"nickel"}`},
		{"AL-17", "range", `{"high":"20000","low":"-1000","mode":"absolute","unit":"ft"}`}, {"AL-17", "kind", `"altimeter"`},
		{"AS-18", "range", `{"high":"250","low":"0","mode":"differential","unit":"kt"}`}, {"VS-19", "range", `{"high":"4000","low":"-4000","mode":"absolute","unit":"ft/min"}`},
	} {
		got := field(t, s, c.tag, c.field)
		if got != c.want {
			t.Errorf("%s %s: %s", c.tag, c.field, got)
		}
	}
}

// TestWhatIsWrongWithAKind: each cell that cannot be is named with its column.
func TestWhatIsWrongWithAKind(t *testing.T) {
	const header = "tag;kind;range;unit;resolution;class;output;volume;weakest part;set point;acts;set tolerance;dead band;safe side;marked;lot size\n"
	for _, c := range []struct{ row, says string }{
		{"A;valve;0-10;bar;0.01;1;;;;;;;;;;", `the kind "valve" is not one of`},
		{"A;transmitter;0-10;bar;0.01;1;4 mA;;;;;;;;;", `the output "4 mA" is not a signal`},
		{"A;transmitter;0-10;bar;0.01;1;20-4 mA;;;;;;;;;", "upper end 4 is not above 20"},
		{"A;transmitter;0-10;bar;0.01;1;4-20 mA cubic;;;;;;;;;", `law "cubic"`},
		{"A;gauge;0-10;bar;0.01;;;;;;;;;;;", "has no limit"},
		{"A;system;0-10;bar;;;;12.5;;;;;;;;", `the volume "12.5" has no unit`},
		{"A;system;0-10;bar;;;;2 buckets;;;;;;;;", `the volume's unit "buckets"`},
		{"A;system;0-10;bar;;;;0 L;;;;;;;;", "not above zero"},
		{"A;system;0-10;bar;;;;5 L;glass;;;;;;;", "no pressure for it in a column weakest"},
		{"A;switch;0-10;bar;;;;;;;rising;;;;;", "something under acts and nothing under set point"},
		{"A;switch;0-10;bar;;;;;;5;sideways;;;;;", `acts: "sideways" is neither rising nor falling`},
		{"A;switch;0-10;bar;;;;;;five;rising;;;;;", `set point: "five" is not a number`},
		{"A;switch;0-10;bar;;;;;;5;rising;0.1;1;;;", `dead band: "1" is not two numbers`},
		{"A;switch;0-10;bar;;;;;;5;rising;0.1;;ajar;;", `safe side: "ajar"`},
		{"A;disc;0-10;bar;;;;;;;;;;;5;", `the kind "disc" is not one of`},
		{"A;rupture disc;0-10;bar;;;;;;;;;;;5;many", `the lot size "many"`},
		{"A;rupture disc;0-10;bar;;;;;;5;;;;;5;", "set point belongs to the kind switch, this row is of the kind burst"},
		{"A;gauge;0-10;bar;0.01;1;;5 L;;;;;;;;", "volume belongs to the kind leak or burst"},
		{"A;altimeter;0-10;bar;10;;;;;;;;;;;", `"bar" is not a unit of an instrument of the kind altimeter`},
		{"A;airspeed;250-0;kt;1;;;;;;;;;;;", "upper end 0 is not above 250"},
	} {
		r, err := register.Read([]byte(header+c.row+"\n"), register.Options{})
		if err != nil {
			t.Fatal(c.row, err)
		}
		if all := strings.Join(r.Rows[0].Problems, "; "); !strings.Contains(all, c.says) {
			t.Errorf("%s: %q", c.row, all)
		}
	}
}

// TestAMethodIsTriedOnTheRow: what the calculation refuses of a row with its method is wrong with the row, and names the field.
func TestAMethodIsTriedOnTheRow(t *testing.T) {
	s := open(t)
	p := &plant.Pen{Device: "d2", Author: "a1", Random: rand.Reader}
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	var list []change.Change
	for _, m := range []struct{ name, kind, definition string }{
		{"Switches", "switch", `{"kind":"switch","cycles":2}`},
		{"Tight", "leak", `{"kind":"leak","phases":[{"pressure":"6","measure_s":60,"every_s":5,"limit_pa_m3_s":0.02}]}`},
	} {
		c, _, err := p.New("method", "", "", at, plant.Set{Field: "name", Value: m.name}, plant.Set{Field: "kind", Value: m.kind}, plant.Set{Field: "definition", Value: json.RawMessage(m.definition)})
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, c)
	}
	if _, err := s.Add(context.Background(), list); err != nil {
		t.Fatal(err)
	}
	file := "tag;kind;range;unit;volume;set point;acts;set tolerance;method\n" +
		"S-1;switch;0-10;bar;;5;rising;0.1;Switches\n" + // fits
		"S-2;switch;0-10;bar;;50;rising;0.1;Switches\n" + // above its range
		"S-3;switch;0-10;bar;;;;;Switches\n" + // no contact
		"L-1;system;0-10;bar;5 L;;;;Tight\n" + // fits
		"L-2;system;0-10;bar;;;;;Tight\n" + // a rate without a volume
		"L-3;system;0-4;bar;5 L;;;;Tight\n" + // six bar in four
		"L-4;system;0-10;bar;5 L;;;;Switches\n" // of another kind
	r, err := register.Read([]byte(file), register.Options{})
	if err := errors.Join(err, r.Check(s, false)); err != nil {
		t.Fatal(err)
	}
	for i, says := range []string{"", "contacts[0]", "particulars", "", "limit_pa_m3_s", "pressure", "is for the kind switch, this row is of the kind leak"} {
		if got := strings.Join(r.Rows[i].Problems, "; "); (says == "") != (got == "") || !strings.Contains(got, says) {
			t.Errorf("row %d: %q", i, got)
		}
	}
}
