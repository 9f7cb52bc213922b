package choose_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/calc/choose"
)

type objection struct {
	Code, Text, Due, Measures, Point string
	Ratio, Needed                    float64
}

type reply struct {
	Needed float64 `json:"needed_ratio"`
	List   []struct {
		Standard   string
		Index      int
		Range      map[string]any
		Worst      *struct{ Ratio float64 }
		Objections []objection
	}
	Error *struct{ Code, Field, Message string }
}

// ask asks about a gauge of 0 to 10 bar, class 1.6, on the first of May.
func ask(t *testing.T, method string, standards ...string) reply {
	t.Helper()
	var r reply
	doc := `{"method":` + method + `,"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge","resolution":"0.05","limit":{"rule":"en837","class":"1.6"}},` +
		`"own":"own","today":"2026-05-01","standards":[` + strings.Join(standards, ",") + `]}`
	if err := json.Unmarshal(calc.Call("choose", []byte(doc)), &r); err != nil {
		t.Fatal(err)
	}
	return r
}

const (
	gauge = `{"kind":"gauge","points":{"values":["0","5","10"]},"directions":"up-down"}`
	good  = `{"low":"0","high":"20","unit":"bar","mode":"gauge","of_span_percent":"0.02","k":"2"}`
)

func codes(list []objection) string {
	var words []string
	for _, o := range list {
		words = append(words, o.Code)
	}
	return strings.Join(words, " ")
}

// TestWhatSpeaksAgainst checks the objections: dates and states as is common practice in a
// calibration laboratory; the ratio by hand, 1.6 % of 10 bar over 0.02 % of 20 bar.
func TestWhatSpeaksAgainst(t *testing.T) {
	for _, c := range []struct{ about, standard, want string }{
		{"due on the day itself", `{"id":"s","due":"2026-05-01","ranges":[` + good + `]}`, ""},
		{
			"due at a moment of the day",
			`{"id":"s","due":"2026-05-01T00:00:00.000Z","status":"in service","ranges":[` + good + `]}`,
			"",
		},
		{
			"due the day before, and in repair",
			`{"id":"s","due":"2026-04-30","status":"in repair","ranges":[` + good + `]}`,
			"out_of_date status",
		},
		{"nobody knows when it is due", `{"id":"s","ranges":[` + good + `]}`, "no_date"},
		{"too small", `{"id":"s","due":"2027-01-01","ranges":[{"low":"1","high":"6","unit":"bar","mode":"gauge","of_span_percent":"0.02"}]}`, "low high"},
		{"absolute", `{"id":"s","due":"2027-01-01","ranges":[{"low":"0","high":"20","unit":"bar","mode":"absolute","of_span_percent":"0.02"}]}`, "mode"},
		{
			"it measures something else",
			`{"id":"s","due":"2027-01-01","ranges":[{"low":"0","high":"20","unit":"m","absolute":"0.02"}]}`,
			"kind",
		},
		{
			"nothing is stated of it",
			`{"id":"s","due":"2027-01-01","ranges":[{"low":"0","high":"20","unit":"bar","mode":"gauge"}]}`,
			"no_specification",
		},
		{"too coarse", `{"id":"s","due":"2027-01-01","ranges":[{"low":"0","high":"20","unit":"bar","mode":"gauge","of_span_percent":"0.5"}]}`, "ratio"},
		{"what is not known of a range is passed over", `{"id":"s","due":"2027-01-01","ranges":[{"low":"0","high":"20","unit":"bar","mode":"gauge","of_span_percent":"0.02","colour":"x"}]}`, ""},
		{
			"a range that cannot be read",
			`{"id":"s","due":"2027-01-01","ranges":[{"low":"0","high":"20","unit":"cubits","of_span_percent":"0.02"}]}`,
			"no_statement",
		},
	} {
		r := ask(t, gauge, c.standard)
		if len(r.List) != 1 || codes(r.List[0].Objections) != c.want {
			t.Errorf("%s: %+v, not %q", c.about, r, c.want)
		}
	}
	r := ask(t, gauge, `{"id":"s","due":"2027-01-01","ranges":[`+good+`]}`)
	if r.Needed != 4 || r.List[0].Worst == nil || r.List[0].Worst.Ratio != 40 {
		t.Errorf("%+v", r)
	}
}

func TestTheBestComesFirst(t *testing.T) {
	r := ask(t, gauge,
		`{"id":"other","name":"a","due":"2027-01-01","ranges":[{"low":"0","high":"20","unit":"m","absolute":"1"}]}`,
		`{"id":"two","name":"b","due":"2026-01-01","status":"in repair","ranges":[`+good+`]}`,
		`{"id":"own","name":"c","due":"2027-01-01","ranges":[`+good+`]}`,
		`{"id":"coarser","name":"d","due":"2027-01-01","ranges":[{"low":"0","high":"20","unit":"bar","mode":"gauge","of_span_percent":"0.05"}]}`,
		`{"id":"fine","name":"e","due":"2027-01-01","ranges":[{"low":"0","high":"1","unit":"bar"},`+good+`]}`,
		`{"id":"same","name":"d2","due":"2027-01-01","ranges":[`+good+`]}`)
	var got []string
	for _, c := range r.List {
		got = append(got, fmt.Sprint(c.Standard, c.Index))
	}
	// A standard does not serve itself; among equals the name decides.
	if want := []string{"same0", "fine1", "coarser0", "fine0", "two0", "other0"}; !slices.Equal(got, want) {
		t.Error(got, "not", want)
	}
}

func TestDriftCountsTheYears(t *testing.T) {
	drifting := `{"low":"0","high":"290","unit":"psi","mode":"gauge","of_span_percent":"0.02","drift_per_year":"0.29","serial":"7"}`
	r := ask(t, gauge, `{"id":"s","due":"2027-01-01","calibrated":"2025-05-01","ranges":[`+drifting+`]}`)
	got := r.List[0].Range
	if got["unit"] != "bar" || got["years_since"] != "0.999" || got["serial"] != "7" ||
		!strings.HasPrefix(got["high"].(string), "19.99") {
		t.Error("a range in the instrument's unit, with its years:", got)
	}
	r = ask(t, gauge, `{"id":"s","due":"2027-01-01","calibrated":"2026-06-01","ranges":[`+drifting+`]}`)
	if _, ok := r.List[0].Range["years_since"]; ok {
		t.Error("it is calibrated after the work:", r.List[0].Range)
	}
}

func TestAProgrammeMayRefuseAStandard(t *testing.T) {
	method := `{"kind":"programme","text":"unit bar gauge\nset 15\nread\nvent\n"}`
	instrument := ask(t, method, `{"id":"s","due":"2027-01-01","ranges":[{"low":"0","high":"12","unit":"bar","mode":"gauge","of_span_percent":"0.02"}]}`)
	list := instrument.List[0].Objections
	if len(list) == 0 || list[len(list)-1].Code != "programme" || list[len(list)-1].Text == "" {
		t.Errorf("%+v", instrument)
	}
}

func TestRefusesATodayThatIsNone(t *testing.T) {
	var r reply
	if err := json.Unmarshal(calc.Call("choose", []byte(`{"method":{},"instrument":{},"today":"tomorrow","standards":[]}`)), &r); err != nil {
		t.Fatal(err)
	}
	if r.Error == nil || r.Error.Field != "today" {
		t.Errorf("%+v", r)
	}
}

// TestYears: worked by hand with a year of 365.25 days, as common practice has it.
func TestYears(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"2025-05-01", "2026-05-01", "0.999"}, // 365 days
		{"2022-05-01", "2026-05-01", "4.000"}, // 1461 days
		{"2026-05-01", "2026-05-01", "0.000"},
		{"2026-04-01", "2026-05-01", "0.082"}, // 30 days
		{"2026-05-02", "2026-05-01", ""},
		{"2025-05-01T09:00:00.000Z", "2026-05-01T07:00:00.000Z", "0.999"},
		{"", "2026-05-01", ""},
	} {
		if got := choose.Years(c.from, c.to); got != c.want {
			t.Errorf("%s to %s: %q, not %q", c.from, c.to, got, c.want)
		}
	}
}

func ExampleOutOfDate() {
	fmt.Println(choose.OutOfDate("2026-05-01", "2026-05-01"), choose.OutOfDate("2026-04-30", "2026-05-01T07:00:00Z"))
	// Output: false true
}
