package register_test

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"golang.org/x/text/encoding/charmap"
)

// field returns a field of an instrument in canonical JSON.
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

// TestEveryKindComesIn imports a table with an instrument of every kind, in the form of a
// spreadsheet with decimal commas.
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
		{"SY-13", "kind", `"leak"`}, {
			"SY-13", "particulars", `{"volume_m3":"0.0125","weakest":{"high":"8.5","part":"sight glass"}}`,
		}, {"SY-13", "limit", ""},
		{"SY-14", "particulars", `{"volume_m3":"0.01892705892"}`}, // 5 gallons of 231 cubic inches
		{"PS-15", "kind", `"switch"`},
		{"PS-15", "particulars", `{"contacts":[{"acts":"rising","dead_band":{"high":"0.8","low":"0.6"},"name":"alarm","nominal":"1.5","safe":"open","tolerance":"0.05"},` +
			`{"acts":"falling","name":"trip","nominal":"0.9","safety_function":true,"tolerance_percent":"2.5"}]}`},
		{"RD-16", "kind", `"burst"`}, {
			"RD-16", "particulars",
			`{"coincident_temperature_c":"22","lot":"L-7","lot_size":40,"marked":"5.5","material":"nickel"}`,
		},
		{"AL-17", "range", `{"high":"20000","low":"-1000","mode":"absolute","unit":"ft"}`}, {"AL-17", "kind", `"altimeter"`},
		{"AS-18", "range", `{"high":"250","low":"0","mode":"differential","unit":"kt"}`}, {
			"VS-19", "range", `{"high":"4000","low":"-4000","mode":"absolute","unit":"ft/min"}`,
		},
		{"AE-20", "kind", `"reporting-altitude"`}, {"PS-21", "kind", `"pitot-static-leak"`}, {"PS-21", "interval_months", "24"}, {"PI-10", "interval_months", "12"},
	} {
		got := field(t, s, c.tag, c.field)
		if got != c.want {
			t.Errorf("%s %s: %s", c.tag, c.field, got)
		}
	}
}

// TestWhatIsWrongWithAKind checks that each impossible cell is reported with its column.
func TestWhatIsWrongWithAKind(t *testing.T) {
	s := open(t)
	const header = "tag;kind;range;unit;resolution;class;output;volume;weakest part;set point;acts;set tolerance;dead band;safe side;marked;lot size\n"
	for _, c := range []struct{ row, column, says string }{
		{
			"A;valve;0-10;bar;0.01;1;;;;;;;;;;", "kind",
			`"valve" is no kind of instrument that is known here; there are airspeed, altimeter, burst`,
		},
		{"A;transmitter;0-10;bar;0.01;1;4 mA;;;;;;;;;", "output", `"4 mA" is not a signal such as 4-20 mA`},
		{"A;transmitter;0-10;bar;0.01;1;20-4 mA;;;;;;;;;", "output", "upper end 4 is not above 20"},
		{"A;transmitter;0-10;bar;0.01;1;4-20 mA cubic;;;;;;;;;", "output", `law "cubic" is neither`},
		{"A;gauge;0-10;bar;0.01;;;;;;;;;;;", "", "has no limit: a class, a grade or a percentage"},
		{"A;gauge;0-10;bar;fine;1;;;;;;;;;;", "resolution", `"fine" is not a number`},
		{"A;gauge;0-10;bar;0.01;1.5;;;;;;;;;;", "class", "not one of 0.1 0.25"},
		{"A;gauge;0-10;cubit;0.01;1;;;;;;;;;;", "unit", `"cubit" is not a unit of pressure`},
		{"A;gauge;0-10 cubit;;0.01;1;;;;;;;;;;", "range", `"cubit" is not a unit of pressure`},
		{"A;system;0-10;bar;;;;12.5;;;;;;;;", "volume", `"12.5" has no unit; such as 12.5 L`},
		{"A;system;0-10;bar;;;;2 buckets;;;;;;;;", "volume", `unit "buckets" is not one of L m3`},
		{"A;system;0-10;bar;;;;0 L;;;;;;;;", "volume", "not above zero"},
		{"A;system;0-10;bar;;;;5 L;glass;;;;;;;", "weakest part", "no pressure for it (no column weakest)"},
		{"A;switch;0-10;bar;;;;;;;rising;;;;;", "acts", `no set point (column "set point")`},
		{"A;switch;0-10;bar;;;;;;5;sideways;;;;;", "acts", `"sideways" is neither rising nor falling`},
		{"A;switch;0-10;bar;;;;;;five;rising;;;;;", "set point", `"five" is not a number`},
		{"A;switch;0-10;bar;;;;;;5;rising;wide;;;;", "set tolerance", `"wide" is not a number`},
		{
			"A;switch;0-10;bar;;;;;;5;rising;0.1;1;;;", "dead band",
			`"1" is not two numbers in the range's unit, such as 0.1-0.5`,
		},
		{"A;switch;0-10;bar;;;;;;5;rising;0.1;;ajar;;", "safe side", `"ajar" is neither open nor closed`},
		{"A;disc;0-10;bar;;;;;;;;;;;5;", "kind", `"disc" is no kind`},
		{"A;rupture disc;0-10;bar;;;;;;;;;;;5;many", "lot size", `"many" is not a number of discs`},
		{"A;rupture disc;0-10;bar;;;;;;;;;;;much;", "marked", `"much" is not a number`},
		{
			"A;rupture disc;0-10;bar;;;;;;5;;;;;5;", "set point",
			"belongs to the kind switch, the row is of the kind burst",
		},
		{"A;gauge;0-10;bar;0.01;1;;5 L;;;;;;;;", "volume", "belongs to the kind leak or burst"},
		{
			"A;altimeter;0-10;bar;10;;;;;;;;;;;", "unit",
			`"bar" is not a unit of an instrument of the kind altimeter; there are ft m`,
		},
		{"A;altimeter;0-10;kt;10;;;;;;;;;;;", "unit", `"kt" is not a unit`},
		{"A;airspeed;0-10;ft/min;10;;;;;;;;;;;", "unit", "there are kt km/h m/s"},
		{"A;airspeed;250-0;kt;1;;;;;;;;;;;", "range", "upper end 0 is not above 250"},
		// What only the calculation knows.
		{"A;switch;0-10;bar;;;;;;50;rising;0.1;;;;", "set point", "contacts[0]"},
		{"A;switch;0-10;bar;;;;;;5;rising;;;;;", "set tolerance", "contacts[0].tolerance: this field is missing"},
		{"A;switch;0-10;bar;;;;;;5;rising;0.1;0.5-0.2;;;", "dead band", "dead_band"},
		{"A;rupture disc;0-10;bar;;;;;;;;;;;50;", "marked", "above the range"},
	} {
		r, err := register.Read([]byte(header+c.row+"\n"), register.Options{})
		if err != nil {
			t.Fatal(c.row, err)
		}
		if err := r.Check(s, false); err != nil {
			t.Fatal(c.row, err)
		}
		named := func(problem string) bool {
			return strings.Contains(problem, c.says) && (c.column == "" || strings.HasPrefix(
				problem, fmt.Sprintf("column %q: ", c.column),
			))
		}
		if !slices.ContainsFunc(r.Rows[0].Problems, named) {
			t.Errorf("%s: %q", c.row, r.Rows[0].Problems)
		}
		var out strings.Builder
		if err := r.Report(&out, false); err != nil || !strings.Contains(out.String(), "line 2  A  BAD  ") {
			t.Errorf("%s: %s %v", c.row, out.String(), err)
		}
	}
}

// TestAMethodIsTriedOnTheRow checks that what the calculation refuses of a row with its method is a
// fault of the row, and names the field.
func TestAMethodIsTriedOnTheRow(t *testing.T) {
	s := open(t)
	p := &plant.Drafter{Device: "d2", Author: "a1", Random: rand.Reader}
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	var list []change.Change
	for _, m := range []struct{ name, kind, definition string }{
		{"Switches", "switch", `{"kind":"switch","cycles":2}`},
		{
			"Tight", "leak",
			`{"kind":"leak","phases":[{"pressure":"6","measure_s":60,"every_s":5,"limit_pa_m3_s":0.02}]}`,
		},
	} {
		c, _, err := p.New(
			"method", "", "", at, plant.Set{Field: "name", Value: m.name},
			plant.Set{Field: "kind", Value: m.kind},
			plant.Set{Field: "definition", Value: json.RawMessage(m.definition)},
		)
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
	for i, says := range []string{"", `column "set point": the method "Switches" cannot be used for it: particulars.contacts[0]`, `column "set point"`, "", `column "method": the method "Tight"`, "pressure", "is for the kind switch, this row is of the kind leak"} {
		if got := said(&r.Rows[i]); (says == "") != (got == "") || !strings.Contains(got, says) {
			t.Errorf("row %d: %q", i, got)
		}
	}
}

// TestTwoMethodsOfOneName checks that the only one that fits the row's kind is used; otherwise the
// row reports which there are.
func TestTwoMethodsOfOneName(t *testing.T) {
	s := open(t)
	p := &plant.Drafter{Device: "d2", Author: "a1", Random: rand.Reader}
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	var list []change.Change
	add := func(kind string, set ...plant.Set) string {
		t.Helper()
		c, state, err := p.New(kind, "", "", at, set...)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, c)
		return state.ID
	}
	method := func(name, kind, definition string, version int) string {
		t.Helper()
		set := []plant.Set{{Field: "name", Value: name}, {Field: "kind", Value: kind}}
		if definition != "" {
			set = append(
				set, plant.Set{Field: "definition", Value: json.RawMessage(definition)},
				plant.Set{Field: "version", Value: version},
			)
		}
		return add("method", set...)
	}
	const leak = `{"kind":"leak","phases":[{"pressure":"6","measure_s":60,"every_s":5}]}`
	switches, tight := method("Yearly", "switch", `{"kind":"switch","cycles":2}`, 1), method("Yearly", "leak", leak, 3)
	first, second := method("Twice", "leak", leak, 1), method("Twice", "leak", leak, 7)
	published, draft := method("Begun", "leak", leak, 1), method("Begun", "leak", "", 0)
	here, there := add("site", plant.Set{Field: "code", Value: "W1"}), add(
		"site", plant.Set{Field: "code", Value: "W1"},
	)
	if _, err := s.Add(context.Background(), list); err != nil {
		t.Fatal(err)
	}
	file := "tag;kind;range;unit;set point;acts;set tolerance;method;site;resolution;class\n" +
		"S-1;switch;0-10;bar;5;rising;0.1;Yearly;;;\n" +
		"L-1;system;0-10;bar;;;;Yearly;;;\n" +
		"L-2;system;0-10;bar;;;;Twice;;;\n" +
		"G-1;gauge;0-10;bar;;;;Yearly;;0.1;1\n" +
		"L-3;system;0-10;bar;;;;Begun;;;\n" +
		"L-4;system;0-4;bar;;;;Yearly;;;\n" + // the chosen one is tried
		"L-5;system;0-10;bar;;;;;W1;;\n"
	r, err := register.Read([]byte(file), register.Options{})
	if err := errors.Join(err, r.Check(s, true)); err != nil {
		t.Fatal(err)
	}
	for i, says := range [][]string{nil, nil,
		{
			`column "method": 2 methods have the name "Twice", of which 2 can be used for the kind leak: `,
			first + " of the kind leak, version 1", second + " of the kind leak, version 7",
		},
		{
			`column "method": 2 methods have the name "Yearly", of which 0 can be used for the kind gauge: `,
			switches + " of the kind switch, version 1", tight + " of the kind leak, version 3",
		},
		nil, {`the method "Yearly" cannot be used for it`}, {`column "site": 2 sites have the code "W1": `, here, there},
	} {
		got := said(&r.Rows[i])
		if len(says) == 0 && got != "" {
			t.Errorf("row %d: %q", i, got)
		}
		for _, s := range says {
			if !strings.Contains(got, s) {
				t.Errorf("row %d: %q, want %q", i, got, s)
			}
		}
	}
	if len(r.NewSites) > 0 {
		t.Errorf("a third site of the code would be made: %q", r.NewSites)
	}
	by := write(t, s, r)
	// A row whose method is ambiguous is imported without one.
	if len(by) != 6 || by["L-2"].Method != "" || by["G-1"].Method != "" || by["L-4"].Method != "" ||
		by["S-1"].Method != switches || by["L-1"].Method != tight || by["L-3"].Method != published || draft == published {
		t.Errorf("%+v", by)
	}
}

// TestHoweverTheTableIsSaved checks that the same rows come from a table with points and commas,
// with points and tabs, and in Windows-1252.
func TestHoweverTheTableIsSaved(t *testing.T) {
	for _, c := range []struct{ name, delimiter, mark, encoding string }{
		{"semicolons and commas", ";", ",", "UTF-8"}, {
			"semicolons and points", ";", ".", "Windows-1252",
		}, {"commas and points", ",", ".", "UTF-8"}, {"tabs and commas", "\t", ",", "Windows-1252"},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows := [][]string{
				{
					"Tag", "Geräteart", "Messbereich", "Einheit", "Auflösung", "Klasse", "Ausgang",
					"Rauminhalt", "Schaltpunkt", "Richtung", "Schaltpunkttoleranz", "Schaltdifferenz",
					"Berstdruck", "Losgröße",
				},
				{
					"PT-1", "Messumformer", "0…2#5", "bar", "0#001", "0#25", "0-10 V radizierend", "", "", "", "", "",
					"", "",
				},
				{"DP-2", "Dichtheitsprüfung", "-1…10", "bar", "", "", "", "0#4 m³", "", "", "", "", "", ""},
				{"PS-3", "Druckwächter", "0…10", "bar", "", "", "", "", "6#5", "steigend", "±1#5 %", "0#2-0#8", "", ""},
				{"BS-4", "Berstscheibe", "0…10", "bar", "", "", "", "", "", "", "", "", "5#5", "12"},
			}
			var b strings.Builder
			for _, row := range rows {
				b.WriteString(strings.ReplaceAll(strings.Join(row, c.delimiter), "#", c.mark) + "\r\n")
			}
			data := []byte(b.String())
			if c.encoding == "Windows-1252" {
				var err error
				if data, err = charmap.Windows1252.NewEncoder().Bytes(data); err != nil {
					t.Fatal(err)
				}
			}
			s := open(t)
			r, err := register.Read(data, register.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if err := r.Check(s, false); err != nil {
				t.Fatal(err)
			}
			good(t, r)
			if r.Delimiter != c.delimiter || r.Encoding != c.encoding || len(r.Unused) > 0 ||
				(r.Decimal == "comma") != (c.mark == ",") {
				t.Errorf("%q %s %q %s", r.Delimiter, r.Encoding, r.Unused, r.Decimal)
			}
			write(t, s, r)
			for _, w := range []struct{ tag, field, want string }{
				{
					"PT-1", "output", `{"high":"10","law":"square-root","low":"0","unit":"V"}`,
				}, {"PT-1", "range", `{"high":"2.5","low":"0","mode":"gauge","unit":"bar"}`},
				{"DP-2", "particulars", `{"volume_m3":"0.4"}`},
				{"PS-3", "particulars", `{"contacts":[{"acts":"rising","dead_band":{"high":"0.8","low":"0.2"},"nominal":"6.5","tolerance_percent":"1.5"}]}`},
				{"BS-4", "particulars", `{"lot_size":12,"marked":"5.5"}`},
			} {
				if got := field(t, s, w.tag, w.field); got != w.want {
					t.Errorf("%s %s: %s", w.tag, w.field, got)
				}
			}
		})
	}
}

// TestEveryColumnHasItsSentence checks that the command's help says of every column what it holds.
func TestEveryColumnHasItsSentence(t *testing.T) {
	help := register.FieldHelp()
	for _, name := range register.FieldNames() {
		base := strings.TrimSuffix(name, "_2")
		if i := strings.Index(help, "  "+base+" "); i < 0 ||
			strings.TrimSpace(strings.Split(help[i+len(base)+2:], "\n")[0]) == "" {
			t.Errorf("no sentence for the column %s", name)
		}
	}
}

// TestOverloadColumn: the overload limit is taken of a gauge, a transmitter and a switch, as a number
// in the unit of the range; another kind keeps none, and one below the range is refused.
func TestOverloadColumn(t *testing.T) {
	s := open(t)
	const header = "tag;kind;range;unit;resolution;class;output;set point;acts;set tolerance;maximum working pressure\n"
	read := func(rows string) *register.Register {
		t.Helper()
		r, err := register.Read([]byte(header+rows), register.Options{Decimal: "comma"})
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Check(s, true); err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := read("A;gauge;0-10;bar;0,01;1;;;;;13,5\nB;transmitter;0-10;bar;0,01;1;4-20 mA;;;;20\n" +
		"C;switch;0-10;bar;;;;5;rising;0,1;25\nD;gauge;0-10;bar;0,01;1;;;;;\n")
	for _, row := range r.Rows {
		if len(row.Problems) > 0 {
			t.Errorf("%s: %q", row.Tag, row.Problems)
		}
	}
	write(t, s, r)
	for tag, want := range map[string]string{"A": `"13.5"`, "B": `"20"`, "C": `"25"`, "D": ""} {
		if got := field(t, s, tag, "overload"); got != want {
			t.Errorf("%s: overload %s, want %s", tag, got, want)
		}
	}
	for _, c := range []struct{ row, says string }{
		{"E;gauge;0-10;bar;0,01;1;;;;;much", `"much" is not a number`},
		{"F;altimeter;-1000-20000;ft;10;;;;;;30", "belongs to the kind gauge or switch"},
		{"G;gauge;0-10;bar;0,01;1;;;;;8", "must not lie below the high end of the range"},
	} {
		row := read(c.row + "\n").Rows[0]
		if !strings.Contains(strings.Join(row.Problems, "; "), c.says) {
			t.Errorf("%s: %q", c.row, row.Problems)
		}
	}
}
