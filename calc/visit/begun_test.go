package visit_test

import (
	"encoding/json"
	"strings"
	"testing"

	"gaugewright/calc"
)

// TestBegun checks what counts as under pressure: a begun step counts, a reading changes nothing,
// and only a later vent ends it; common practice, no source.
func TestBegun(t *testing.T) {
	head := func(value string) string { return `{"heads":[{"value":` + value + `}],"replaced":[]}` }
	const plan = `{"screens":4,"steps":[{"id":"v","do":"vent","screen":1},{"id":"s1","do":"set","screen":2,"target":"0.64","unit":"bar"},` +
		`{"id":"r1","do":"read","screen":2},{"id":"s2","do":"ramp","screen":3,"target":"0","unit":"bar"},{"id":"end","do":"vent","screen":4}]}`
	done := func(id string) string { return `"done.` + id + `":` + head(`{"at":"2026-03-04T08:30:00.000Z"}`) }
	read := `"capture.k1":` + head(`{"step":"r1","of":"indicated","value":"0.65","unit":"bar"}`)
	for _, c := range []struct {
		about  string
		fields []string
		want   string
	}{
		{"nothing yet", nil, `{"run":"r","stage":"run","step":1,"steps":4,"pressed":false}`},
		{"vented first", []string{done("v")}, `{"run":"r","stage":"run","step":2,"steps":4,"pressed":false}`},
		{
			"on the way", []string{done("v"), done("s1.begun")},
			`{"run":"r","stage":"run","step":2,"steps":4,"pressed":true,"target":"0.64","unit":"bar"}`,
		},
		{
			"read at pressure", []string{done("v"), done("s1"), read},
			`{"run":"r","stage":"run","step":3,"steps":4,"pressed":true,"target":"0.64","unit":"bar"}`,
		},
		{
			"set to zero is not vented", []string{done("v"), done("s1"), read, done("s2")},
			`{"run":"r","stage":"run","step":4,"steps":4,"pressed":true,"target":"0","unit":"bar"}`,
		},
		{
			"vented", []string{done("v"), done("s1"), read, done("s2"), done("end")},
			`{"run":"r","stage":"run","step":4,"steps":4,"pressed":false}`,
		},
		{
			"a mark taken back is none", []string{done("v"), `"done.s1":` + head("null")},
			`{"run":"r","stage":"run","step":2,"steps":4,"pressed":false}`,
		},
	} {
		fields := append([]string{`"label":` + head(`"as found"`), `"plan":` + head(plan)}, c.fields...)
		doc := `{"visit":{"id":"v","kind":"visit","fields":{"cautions":` + head(`{"met":true}`) + `}},"runs":[{"id":"r","kind":"run","fields":{` + strings.Join(fields, ",") + `}}]}`
		var got, want map[string]any
		if err := json.Unmarshal(calc.Call("begun", []byte(doc)), &got); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal([]byte(c.want), &want); err != nil {
			t.Fatal(err)
		}
		delete(got, "calc")
		a, _ := json.Marshal(got)
		b, _ := json.Marshal(want)
		if string(a) != string(b) {
			t.Errorf("%s: %s, wanted %s", c.about, a, b)
		}
	}
}
