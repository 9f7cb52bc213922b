package choose_test

import (
	"encoding/json"
	"slices"
	"testing"

	"gaugewright/calc"
)

// TestOnlyACleanStandardServesOxygen: one that held oil, or that nobody cleaned up to that day, is
// no standard for an instrument in oxygen service, whatever reason is given. Common practice, no
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
		if got, barred := asked(`"medium":"Oxygen",`, c.standard); !slices.Equal(got, c.want) || barred != (c.want != nil) {
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
