package choose_test

import (
	"encoding/json"
	"slices"
	"testing"

	"gaugewright/calc"
)

// TestOnlyACleanStandardServesOxygen: a standard that held oil, or was not cleaned by that day,
// does not serve an instrument in oxygen service, whatever reason is given. Common practice, no
// source.
func TestOnlyACleanStandardServesOxygen(t *testing.T) {
	asked := func(with string, standard string) (codes []string, barred bool) {
		t.Helper()
		doc := `{"method":` + gauge + `,"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge","limit":{"rule":"en837","class":"1.6"}},` +
			`"today":"2026-05-01",` + with + `"standards":[{"id":"s","due":"2027-01-01",` + standard + `"ranges":[` + good + `]}]}`
		var r struct {
			List []struct {
				Objections []struct{ Code string }
				Barred     bool
			}
		}
		if err := json.Unmarshal(calc.Call("choose", []byte(doc)), &r); err != nil || len(r.List) != 1 {
			t.Fatal(err, r)
		}
		for _, o := range r.List[0].Objections {
			codes = append(codes, o.Code)
		}
		return codes, r.List[0].Barred
	}
	for _, c := range []struct {
		about, standard string
		want            []string
	}{
		{"nothing is known of it", ``, []string{"not_clean"}},
		{"cleaned", `"medium":"gas","cleaned_for_oxygen":"2026-01-05",`, nil},
		{"cleaned on the day", `"cleaned_for_oxygen":"2026-05-01",`, nil},
		{"to be cleaned tomorrow", `"cleaned_for_oxygen":"2026-05-02",`, []string{"not_clean"}},
		{"the day cannot be read", `"cleaned_for_oxygen":"last spring",`, []string{"not_clean"}},
		{"cleaned once, and filled with oil", `"medium":"oil","cleaned_for_oxygen":"2026-01-05",`, []string{"oil"}},
	} {
		if got, barred := asked(`"medium":"Oxygen",`, c.standard); !slices.Equal(got, c.want) ||
			barred != (c.want != nil) {
			t.Errorf("%s: %v barred %v, want %v", c.about, got, barred, c.want)
		}
		if got, _ := asked(`"medium":"gas","cautions":["oxygen","vent"],`, c.standard); !slices.Equal(got, c.want) {
			t.Errorf("%s, by its caution: %v", c.about, got)
		}
		if got, barred := asked(`"medium":"steam","cautions":["hot"],`, c.standard); got != nil || barred {
			t.Errorf("%s, without oxygen: %v %v", c.about, got, barred)
		}
	}
}

// besideFor asks what can be chosen beside the standard of an absolute transmitter of 0 to 4 bar.
func besideFor(t *testing.T, kind, with, standards string) (r struct {
	Meter bool
	List  []struct {
		Objections []struct{ Code string }
		Barred     bool
	}
	Error *struct{ Code, Field string }
}) {
	t.Helper()
	doc := `{"method":` + kind + `,"instrument":{"low":"0","high":"4","unit":"bar","mode":"absolute","limit":{"rule":"terms","of_span_percent":"1"},` +
		`"output":{"low":"4","high":"20","unit":"mA"}},"today":"2026-05-01",` + with + `"standards":[` + standards + `]}`
	if err := json.Unmarshal(calc.Call("choose", []byte(doc)), &r); err != nil {
		t.Fatal(err)
	}
	return r
}

const (
	fourBar   = `{"kind":"gauge","points":{"values":["1","4"]},"directions":"up"}`
	ofCurrent = `{"id":"m","due":"2027-01-01","ranges":[{"low":"0","high":"24","unit":"mA","of_reading_percent":"0.02"}]}`
	ofAir     = `{"id":"b","due":"2027-01-01","ranges":[{"low":"800","high":"1100","unit":"hPa","mode":"absolute"`
)

// TestWhatIsBesideTouchesNoOxygen: a meter and a barometer need no cleaning; a standard does.
func TestWhatIsBesideTouchesNoOxygen(t *testing.T) {
	for role, standard := range map[string]string{"meter": ofCurrent, "barometer": ofAir + `,"absolute":"0.3"}]}`} {
		r := besideFor(t, fourBar, `"`+role+`":true,"medium":"oxygen",`, standard)
		if len(r.List) != 1 || len(r.List[0].Objections) != 0 || r.List[0].Barred {
			t.Errorf("%s: %+v", role, r)
		}
	}
	r := besideFor(t, fourBar, `"medium":"oxygen",`, `{"id":"s","due":"2027-01-01","ranges":[`+good+`]}`)
	if len(r.List) != 1 || !r.List[0].Barred {
		t.Errorf("standard: %+v", r)
	}
}

// TestBarometerNeedsASpecification: a range without a specification is no barometer, whatever
// reason is given.
func TestBarometerNeedsASpecification(t *testing.T) {
	r := besideFor(t, fourBar, `"barometer":true,`, ofAir+`}]}`)
	if len(r.List) != 1 || !r.List[0].Barred || len(r.List[0].Objections) != 1 ||
		r.List[0].Objections[0].Code != "no_specification" {
		t.Errorf("%+v", r)
	}
}

// TestOneRole: a request is for a meter or a barometer, not both, and only for work that uses it.
// If a meter must be chosen, the reply about the standard says so.
func TestOneRole(t *testing.T) {
	leak := `{"kind":"leak","phases":[{"name":"pressure","pressure":"4","measure_s":120,"every_s":10}]}`
	for _, c := range []struct{ about, kind, with, field string }{
		{"both", fourBar, `"meter":true,"barometer":true,`, "barometer"},
		{"a meter for a leak test", leak, `"meter":true,`, "meter"},
		{"a barometer for a leak test", leak, `"barometer":true,`, "barometer"},
	} {
		if r := besideFor(t, c.kind, c.with, ofCurrent); r.Error == nil || r.Error.Code != "conflict" ||
			r.Error.Field != c.field {
			t.Errorf("%s: %+v", c.about, r.Error)
		}
	}
	if !besideFor(t, fourBar, "", ofCurrent).Meter || besideFor(t, leak, "", ofCurrent).Meter {
		t.Error("a meter is wanted for a transmitter and nothing else")
	}
}
