package api_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/office"
)

// TestHistoryNamesPeopleAndTags checks that a list of changes shows people by name, instruments and
// methods by their tag or name, and of a changed object or list the members that differ.
func TestHistoryNamesPeopleAndTags(t *testing.T) {
	p := newPlant(t)
	if a := p.do("administrator", "PUT", "/api/users/"+id("technician")+"/person", `{"full":"Nela Vrba","function":""}`); a.status >= 300 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	f := p.phone()
	f.drafter.Device = "ph0ne2"
	method := f.make("method", "", set("name", "Five points"))
	gauge := f.make("instrument", "", set("tag", "PI-7"), set("method", method.ID),
		set("range", doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}))
	gauge = f.edit(gauge, set("range", doc{"low": "0", "high": "16", "unit": "bar", "mode": "gauge"}))
	round := f.make("round", "", set("date", "2026-03-09"), set("person", id("technician")),
		set("stops", []doc{{"instrument": gauge.ID, "method": method.ID}}))
	standard := f.make("standard", "", set("name", "Kit"), set("where", doc{"place": "van", "person": id("technician"), "since": "2026-03-01"}),
		set("ranges", []doc{{"low": "0", "high": "10", "unit": "bar"}, {"low": "0", "high": "20", "unit": "bar"}}))
	f.edit(standard, set("ranges", []doc{{"low": "0", "high": "10", "unit": "bar"}, {"low": "0", "high": "25", "unit": "bar"}}))
	other := f.make("instrument", "", set("tag", "PI-8"))
	f.edit(round, set("stops", []doc{{"instrument": gauge.ID, "method": method.ID}, {"instrument": other.ID, "method": ""}}))
	series := func(second string) doc {
		return doc{"kind": "gauge", "series": []doc{{"direction": "up"}, {"direction": second}}}
	}
	twice := f.make("method", "", set("definition", series("up")))
	f.edit(twice, set("definition", series("down")))

	values := func(id string) (out []string) {
		t.Helper()
		var reply struct{ History []office.Past }
		p.ask("reviewer", "/api/office/history/"+id, &reply)
		for _, past := range reply.History {
			for _, x := range past.Set {
				line := x.Field + " " + string(x.Value)
				for _, d := range x.Differs {
					field := d.Field
					for _, at := range slices.Sorted(maps.Keys(d.Named)) {
						field += " (" + at + " is " + d.Named[at] + ")"
					}
					line += " [" + field + " " + string(d.Before) + " " + string(d.After) + "]"
				}
				out = append(out, line)
			}
		}
		return out
	}
	for _, tt := range []struct{ record, want string }{
		{gauge.ID, `method "Five points"`},
		{gauge.ID, `range {"high":"16","low":"0","mode":"gauge","unit":"bar"} [high "10" "16"]`},
		{round.ID, `person "Nela Vrba"`},
		{round.ID, `stops "PI-7 (Five points)"`},
		{standard.ID, `where {"person":"Nela Vrba","place":"van","since":"2026-03-01"}`},
	} {
		if got := values(tt.record); !slices.Contains(got, tt.want) {
			t.Errorf("%q is not among\n%s", tt.want, strings.Join(got, "\n"))
		}
	}
	for record, want := range map[string]string{
		standard.ID: `[2.high (2 is 0 … 20 bar) "20" "25"]`,
		round.ID:    `[2 (2 is PI-8) [] [{"instrument":"PI-8","method":""}]]`,
		twice.ID:    `[series.2.direction "up" "down"]`, // nothing tells the two apart
	} {
		if got := values(record); !slices.ContainsFunc(got, func(s string) bool { return strings.HasSuffix(s, want) }) {
			t.Errorf("%q is not among\n%s", want, strings.Join(got, "\n"))
		}
	}
}
