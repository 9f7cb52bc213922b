package visit_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"

	"gaugewright/calc"
)

// record returns a visit of a kind of work with a chosen standard; more adds or replaces fields.
func record(kind string, more map[string]any) map[string]any {
	fields := map[string]any{
		"method":    map[string]any{"definition": map[string]any{"kind": kind}},
		"item":      map[string]any{"range": map[string]any{"low": "0", "high": "10", "unit": "bar"}},
		"started":   "2026-05-01T08:00:00.000Z",
		"cautions":  map[string]any{"codes": []string{"vent"}, "met": true},
		"identity":  map[string]any{"ok": true},
		"condition": map[string]any{"ok": true, "state": "good"},
		"standard":  map[string]any{"id": "s", "range": map[string]any{}, "snapshot": map[string]any{}},
	}
	for name, v := range more {
		fields[name] = v
	}
	written := map[string]any{}
	for name, v := range fields {
		head := map[string]any{"change": "c." + name, "stamp": "1", "value": v}
		written[name] = map[string]any{"heads": []any{head}, "replaced": []string{}}
	}
	return map[string]any{"id": "v1", "kind": "visit", "fields": written}
}

type ruled struct {
	Stage   struct{ Kind, Why string }
	Service []string
	Sheet   struct{ Before map[string]string }
	Error   *struct{ Message string }
}

func rule(t *testing.T, visit map[string]any) ruled {
	t.Helper()
	doc, err := json.Marshal(map[string]any{"visit": visit, "runs": []any{}})
	if err != nil {
		t.Fatal(err)
	}
	var r ruled
	if err := json.Unmarshal(calc.Call("visit", doc), &r); err != nil || r.Error != nil {
		t.Fatal(err, r.Error)
	}
	return r
}

var everyKind = []string{
	"gauge", "leak", "switch", "burst", "programme", "altimeter", "airspeed", "vertical-speed", "reporting-altitude",
	"pitot-static-leak",
}

// TestServiceIsAskedOfEveryKind: in every kind of work, oxygen service or a gas that displaces air
// leads to a question before the first pressure. A no stops the work, and a run tested all the same
// never passes.
func TestServiceIsAskedOfEveryKind(t *testing.T) {
	for _, kind := range everyKind {
		for medium, question := range map[string]string{"oxygen": "oxygen", "nitrogen": "air"} {
			item := map[string]any{"medium": medium}
			about := kind + " in " + medium
			if r := rule(t, record(kind, map[string]any{"item": item})); r.Stage.Kind != "service" ||
				!slices.Equal(r.Service, []string{question}) {
				t.Error(about, "is not asked about its service:", r.Stage, r.Service)
			}
			no := map[string]any{"item": item, "service": map[string]any{question: "no"}}
			if r := rule(t, record(kind, no)); r.Stage.Kind != "halt" || r.Stage.Why != question ||
				r.Sheet.Before["safe"] != "no" {
				t.Error(about, "goes on after a no:", r.Stage, r.Sheet)
			}
			yes := map[string]any{
				"item": item, "service": map[string]any{question: "yes"},
				"standard": map[string]any{
					"snapshot": map[string]any{"medium": "gas", "cleaned_for_oxygen": "2026-01-05"},
				},
			}
			if r := rule(t, record(kind, yes)); r.Stage.Kind != "surroundings" || r.Sheet.Before != nil {
				t.Error(about, "does not go on after a yes:", r.Stage, r.Sheet)
			}
		}
	}
}

// TestWhichMediumIsAskedAbout: a word of the medium's name or a ticked caution leads to the
// question. In the open no gas displaces the air. Common practice, no source.
func TestWhichMediumIsAskedAbout(t *testing.T) {
	for _, c := range []struct {
		medium, setting, caution string
		want                     []string
	}{
		{"steam", "", "hot", nil},
		{"Oxygen, 200 bar", "", "vent", []string{"oxygen"}},
		{"O2", "outdoors", "vent", []string{"oxygen"}},
		{"dry gas", "", "oxygen", []string{"oxygen"}},
		{"oxygen-free nitrogen", "indoors", "vent", []string{"air"}},
		{"carbon dioxide", "", "vent", []string{"air"}},
		{"nitrogen", "outdoors", "vent", nil},
		{"refrigerant R-134a", "indoors", "vent", []string{"air"}},
		{"foam", "indoors", "asphyxiation", []string{"air"}},
		{"oxygen/nitrogen mix", "", "vent", []string{"oxygen", "air"}},
	} {
		r := rule(t, record("gauge", map[string]any{
			"item":     map[string]any{"medium": c.medium, "setting": c.setting},
			"cautions": map[string]any{"codes": []string{c.caution}, "met": true},
		}))
		if !slices.Equal(r.Service, c.want) {
			t.Errorf("%q %s %s: %v, want %v", c.medium, c.setting, c.caution, r.Service, c.want)
		}
	}
}

// TestAnUncleanStandardKeepsARunFromPassing: the sheet of a visit in oxygen service states whether
// the standard was clean. A visit of an earlier version, which did not ask, states nothing.
func TestAnUncleanStandardKeepsARunFromPassing(t *testing.T) {
	for _, c := range []struct{ medium, cleaned, want string }{
		{"gas", "2026-01-05", ""}, {"gas", "", "not_clean"}, {"gas", "2026-06-01", "not_clean"}, {"oil", "2026-01-05", "oil"},
	} {
		fields := map[string]any{
			"item": map[string]any{"medium": "oxygen"}, "service": map[string]any{"oxygen": "yes"},
			"standard": map[string]any{"snapshot": map[string]any{"medium": c.medium, "cleaned_for_oxygen": c.cleaned}},
		}
		if got := rule(t, record("gauge", fields)).Sheet.Before["standard"]; got != c.want {
			t.Error(fmt.Sprint(c), got)
		}
		delete(fields, "service")
		if got := rule(t, record("gauge", fields)).Sheet.Before; got != nil {
			t.Error(fmt.Sprint(c), "of an earlier version:", got)
		}
	}
}
