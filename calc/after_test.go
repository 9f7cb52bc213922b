package calc_test

import (
	"encoding/json"
	"strings"
	"testing"

	"gaugewright/calc"
)

type afterReply struct {
	Failed, Asked, Open bool
	Ways                []string
	Unsettled           int `json:"bypasses_unsettled"`
	In                  int `json:"bypasses_in"`
	Error               struct{ Code, Field, Message string }
}

func after(t *testing.T, doc string) (r afterReply) {
	t.Helper()
	if err := json.Unmarshal(calc.Call("after", []byte(doc)), &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// TestAfterAFailure: common practice, no source: after a failure someone must state what happens to
// the instrument, and an undecided safety function counts as failed (IEC 61511-1:2016, 16.3.1,
// proof tests with faults are dealt with; from memory).
func TestAfterAFailure(t *testing.T) {
	all := "adjust replaced left_in_service taken_out"
	stays := `{"way":"left_in_service","by":"shift lead","until":"2026-04-01","reason":"a second one stands beside it"}`
	for _, c := range []struct {
		name, doc   string
		asked, open bool
		ways        string
	}{
		{"pass", `{"kind":"gauge","found":"pass"}`, false, false, ""},
		{"conditional pass", `{"kind":"gauge","found":"conditional-pass"}`, false, false, ""},
		{"fail", `{"kind":"gauge","found":"fail"}`, true, true, all},
		{"conditional fail", `{"kind":"gauge","found":"conditional-fail"}`, true, true, all},
		{"undecided gauge", `{"kind":"gauge","found":"undecided"}`, false, false, ""},
		{"undecided safety function", `{"kind":"switch","safety":true,"found":"undecided"}`, true, true, all},
		{"put right", `{"kind":"gauge","found":"fail","left":"pass"}`, false, false, ""},
		{"not put right", `{"kind":"gauge","found":"pass","left":"fail"}`, true, true, all},
		{
			"a system is not adjusted", `{"kind":"leak","found":"fail"}`, true, true,
			"replaced left_in_service taken_out",
		},
		{"replaced", `{"kind":"gauge","found":"fail","said":{"way":"replaced","serial":"Q-2"}}`, false, false, all},
		{
			"left in service", `{"kind":"gauge","found":"fail","date":"2026-03-04","said":` + stays + `}`, false, true,
			all,
		},
		{
			"taken out",
			`{"kind":"gauge","found":"fail","said":{"way":"taken_out","code":"sticks","reason":"sticks at 4 bar"}}`,
			false, true, all,
		},
		{"taken back", `{"kind":"gauge","found":"fail","said":{}}`, true, true, all},
		{"nothing found yet", `{"kind":"gauge"}`, false, false, ""},
	} {
		r := after(t, c.doc)
		if r.Error.Code != "" || r.Asked != c.asked || r.Open != c.open || strings.Join(r.Ways, " ") != c.ways {
			t.Errorf("%s: %+v", c.name, r)
		}
	}
	for _, c := range []struct{ said, field string }{
		{`{"way":"replaced"}`, "said.serial"},
		{`{"way":"left_in_service","until":"2026-04-01","reason":"x"}`, "said.by"},
		{`{"way":"left_in_service","by":"x","reason":"x"}`, "said.until"},
		{`{"way":"left_in_service","by":"x","until":"next week","reason":"x"}`, "said.until"},
		{`{"way":"left_in_service","by":"x","until":"2026-03-03","reason":"x"}`, "said.until"},
		{`{"way":"left_in_service","by":"x","until":"2026-03-04"}`, "said.reason"},
		{`{"way":"taken_out","reason":"x"}`, "said.code"},
		{`{"way":"taken_out","code":"leaks"}`, "said.reason"},
		{`{"way":"forgotten"}`, "said.way"},
	} {
		if r := after(t, `{"found":"fail","date":"2026-03-04","said":`+c.said+`}`); r.Error.Field != c.field {
			t.Errorf("%s: %+v, want a fault of %s", c.said, r.Error, c.field)
		}
	}
}

// TestBypassesAreTickedOff checks that each bypass set is removed, or left in for a reason.
func TestBypassesAreTickedOff(t *testing.T) {
	r := after(t, `{"bypasses":[{"name":"jumper 14","state":"set"},{"name":"key 3","state":"removed"},{"name":"inhibit 7","state":"left","reason":"the loop is out of use"}]}`)
	if r.Error.Code != "" || r.Unsettled != 1 || r.In != 2 {
		t.Errorf("%+v", r)
	}
	if r := after(t, `{"bypasses":[{"name":"inhibit 7","state":"left"}]}`); r.Error.Field != "bypasses[0].reason" {
		t.Errorf("%+v", r.Error)
	}
}

// TestCircuitsHaveBypasses checks that the plan of an instrument in a safety circuit asks for
// bypasses, and that of a gauge on a pipe does not.
func TestCircuitsHaveBypasses(t *testing.T) {
	const bar = `"low":"0","high":"10","unit":"bar","mode":"gauge"`
	const points = `{"kind":"gauge","points":{"values":["0","5","10"]}}`
	for _, c := range []struct {
		doc  string
		want bool
	}{
		{`{"method":{"kind":"switch"},"instrument":{` + bar + `,"particulars":{"contacts":[{"acts":"rising","nominal":"5","tolerance":"0.1"}]}}}`, true},
		{`{"method":` + points + `,"instrument":{` + bar + `,"output":{"low":"4","high":"20","unit":"mA"}}}`, true},
		{`{"method":` + points + `,"instrument":{` + bar + `}}`, false},
	} {
		var got struct {
			Steps    []any
			Bypasses bool
		}
		if err := json.Unmarshal(calc.Call("expand", []byte(c.doc)), &got); err != nil || len(got.Steps) == 0 ||
			got.Bypasses != c.want {
			t.Errorf("%s: %v %d steps, bypasses %v", c.doc, err, len(got.Steps), got.Bypasses)
		}
	}
}
