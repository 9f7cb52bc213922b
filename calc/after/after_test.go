package after_test

import (
	"strings"
	"testing"

	"gaugewright/calc/after"
	"gaugewright/calc/calctest"
)

// Only a failure asks for a way on; for a safety function an undecided result does too (IEC
// 61511-1:2016, 16.3.1; from memory). The reading as left is the later one.
func TestWaysAreAsked(t *testing.T) {
	for doc, want := range map[string]string{
		`{"kind":"gauge","found":"pass"}`:                                   "",
		`{"kind":"gauge","found":"conditional-fail"}`:                       "adjust replaced left_in_service taken_out",
		`{"kind":"gauge","found":"undecided"}`:                              "",
		`{"kind":"switch","found":"undecided","safety":true}`:               "adjust replaced left_in_service taken_out",
		`{"kind":"gauge","found":"fail","left":"pass"}`:                     "",
		`{"kind":"burst","found":"fail"}`:                                   "replaced left_in_service taken_out",
		`{"kind":"gauge","found":"pass","left":"fail","safety":true}`:       "adjust replaced left_in_service taken_out",
		`{"kind":"gauge","safety":true}`:                                    "",
		`{"kind":"switch","found":"conditional-pass","safety":true}`:        "",
		`{"kind":"switch","found":"fail","left":"undecided"}`:               "",
		`{"kind":"switch","found":"fail","left":"undecided","safety":true}`: "adjust replaced left_in_service taken_out",
	} {
		r := calctest.Run(t, after.Calculations()[0].Call, doc)
		if got := strings.Join(r.Texts("ways"), " "); got != want {
			t.Errorf("%s: ways %q, want %q", doc, got, want)
		}
		if asked := r.Flag("asked", false); asked != (want != "") {
			t.Errorf("%s: asked %t", doc, asked)
		}
	}
}

// An instrument may stay in service until today or later, not until a past day.
func TestStaysUntil(t *testing.T) {
	for until, fault := range map[string]string{
		"2026-03-04": "", "2026-03-05": "", "2026-03-03": "said.until", "2026-02-30": "said.until", "": "said.until",
	} {
		_, err := calctest.Try(after.Calculations()[0].Call, `{"found":"fail","date":"2026-03-04","said":
			{"way":"left_in_service","by":"shift lead","reason":"a second one is beside it","until":"`+until+`"}}`)
		if fault == "" && err != nil || fault != "" && (err == nil || !strings.Contains(err.Error(), fault)) {
			t.Errorf("until %q: %v, want a fault of %q", until, err, fault)
		}
	}
}

// A bypass is settled when it is removed or left in for a reason; one left in stays in the count.
func TestBypasses(t *testing.T) {
	r := calctest.Run(t, after.Calculations()[0].Call, `{"bypasses":[{"name":"a","state":"set"},
		{"name":"b","state":"removed"},{"name":"c","state":"left","reason":"the loop is out of use"}]}`)
	if open, in := r.Whole("bypasses_unsettled", 0, 9), r.Whole("bypasses_in", 0, 9); open != 1 || in != 2 {
		t.Errorf("%d unsettled, %d in; want 1 and 2", open, in)
	}
}
