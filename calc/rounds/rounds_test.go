package rounds_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/document"
	"gaugewright/calc/rounds"
)

func TestFits(t *testing.T) {
	for _, tt := range []struct {
		method, instrument string
		want               bool
	}{
		{"gauge", "gauge", true},
		{"gauge", "leak", false},
		{"programme", "leak", true}, // a person writes it for any instrument
		{"gauge", "", true},         // nothing is known of the instrument
		{"", "gauge", false},        // a draft has no kind
		{"", "", false},
	} {
		if got := rounds.Fits(tt.method, tt.instrument); got != tt.want {
			t.Errorf("%q on %q: %t", tt.method, tt.instrument, got)
		}
	}
}

func TestFitting(t *testing.T) {
	r := calctest.Run(t, rounds.Calculations()[0].Call, `{"kinds":["gauge","leak"],"methods":[
		{"id":"a","kind":"gauge"},{"id":"b","kind":"switch"},{"id":"c","kind":"leak","status":"withdrawn"},
		{"id":"d","kind":"programme"},{"id":"e"},{"id":"f","kind":"leak","status":"released"}]}`)
	if got := strings.Join(r.Texts("methods"), " "); got != "a d f" {
		t.Errorf("methods %s, want a d f", got)
	}
}

const sound = `"date":"2026-03-09","person":"p1","title":"Boilers"`

// ask returns the faults of a round, and the warnings of its first stop.
func ask(t *testing.T, round, stops, more string) (wrong, warnings string) {
	t.Helper()
	r := calctest.Run(
		t, rounds.Calculations()[1].Call, `{"round":{`+round+`},"stops":[`+stops+`]`+more+`}`,
	)
	list := func(from []*document.Reader, before string) string {
		var all []string
		for _, one := range from {
			text := one.Text("code")
			if before != "" {
				text = one.Text(before) + " " + text
			}
			all = append(all, text)
		}
		return strings.Join(all, ", ")
	}
	wrong = list(r.List("wrong"), "field")
	if all := r.List("stops"); len(all) > 0 {
		warnings = list(all[0].List("warnings"), "")
	}
	return wrong, warnings
}

func TestWrongRounds(t *testing.T) {
	const stop = `{"id":"i1"}`
	many := stop + strings.Repeat(","+stop, rounds.MostStops)
	for _, tt := range []struct{ about, round, stops, want string }{
		{"sound", sound, stop, ""},
		{"empty", ``, ``, "date missing, person missing, title missing, stops missing"},
		{"no such day", `"date":"2026-02-29","person":"p","title":"t"`, stop, "date missing"},
		{"a time", `"date":"2026-03-09T08:00:00Z","person":"p","title":"t"`, stop, "date missing"},
		{"blank title", `"date":"2026-03-09","person":"p","title":"  "`, stop, "title missing"},
		{
			"long title", `"date":"2026-03-09","person":"p","title":"` + strings.Repeat("x", 201) + `"`,
			stop, "title long",
		},
		{"most stops", sound, strings.TrimSuffix(many, ","+stop), ""},
		{"too many stops", sound, many, "stops many"},
		{"no method", sound, stop + `,{"id":"i2","method":false}`, "stops methods"},
	} {
		if got, _ := ask(t, tt.round, tt.stops, ""); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.about, got, tt.want)
		}
	}
}

// The days are counted by the calendar, on both sides of the round.
func TestWarnings(t *testing.T) {
	other := func(date, more string) string {
		return `,"rounds":[{"id":"r2","date":"` + date + `","title":"Other","stops":["i1"]` + more + `}]`
	}
	for _, tt := range []struct{ about, stop, more, want string }{
		{"nothing", `{"id":"i1"}`, "", ""},
		{"a week before", `{"id":"i1"}`, other("2026-03-02", ""), "elsewhere"},
		{"eight days before", `{"id":"i1"}`, other("2026-03-01", ""), ""},
		{"a week after", `{"id":"i1"}`, other("2026-03-16", ""), "elsewhere"},
		{"eight days after", `{"id":"i1"}`, other("2026-03-17", ""), ""},
		{"taken back", `{"id":"i1"}`, other("2026-03-09", `,"taken_back":true`), ""},
		{"another instrument", `{"id":"i2"}`, other("2026-03-09", ""), ""},
		{"due in 60 days", `{"id":"i1","due":"2026-05-08"}`, "", ""},
		{"due in 61 days", `{"id":"i1","due":"2026-05-09"}`, "", "early"},
		{"overdue", `{"id":"i1","due":"2025-05-09"}`, "", ""},
		{"two values", `{"id":"i1","contested":["limit"]}`, "", "contested"},
		{"in service", `{"id":"i1","status":"in service"}`, "", ""},
		{"retired", `{"id":"i1","status":"retired"}`, "", "service"},
		{"a site of the person", `{"id":"i1","site":"north"}`, `,"sites":["north"]`, ""},
		{"another site", `{"id":"i1","site":"south"}`, `,"sites":["north"]`, "site"},
		{"a person of all sites", `{"id":"i1","site":"south"}`, `,"sites":[]`, ""},
	} {
		if _, got := ask(t, sound, tt.stop, tt.more); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.about, got, tt.want)
		}
	}
	// The round does not count as another round.
	if _, got := ask(t, `"id":"r2",`+sound, `{"id":"i1"}`, other("2026-03-09", "")); got != "" {
		t.Errorf("the round itself: %q", got)
	}
}

// Each stop has its own entry, in the order of the round.
func TestStopsKeepTheirOrder(t *testing.T) {
	var stops []string
	for i := range 5 {
		stops = append(stops, fmt.Sprintf(`{"id":"i%d"}`, 9-i))
	}
	r := calctest.Run(
		t, rounds.Calculations()[1].Call, `{"round":{`+sound+`},"stops":[`+strings.Join(stops, ",")+`]}`,
	)
	for i, s := range r.List("stops") {
		if want := "i" + strconv.Itoa(9-i); s.Text("id") != want {
			t.Errorf("stop %d is %s, want %s", i, s.Text("id"), want)
		}
	}
}
