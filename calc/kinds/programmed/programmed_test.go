package programmed_test

import (
	"strings"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/kinds/programmed"
	"gaugewright/calc/work"
)

var kinds = work.Kinds{programmed.Kind()}

const instrument = `"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge"}`

// programme reads one value. A rule limits it in another unit: 1 bar = 100 kPa (SI Brochure, 9th
// edition, table 8).
const programme = `"method":{"kind":"programme","text":"unit bar gauge\nset 5\nread p1 from gauge\nvent\n","rules":[{"name":"p1","low":"495","high":"505","unit":"kPa"}]},` + instrument

func TestRule(t *testing.T) {
	for value, want := range map[string]string{"5.05": "pass", "5.06": "fail", "4.95": "pass", "4.94": "fail"} {
		id := ""
		for _, s := range calctest.Run(t, kinds.ExpandMethod, `{`+programme+`}`).List("steps") {
			if s.Text("do") == "read" {
				id = s.Text("id")
			}
		}
		r := calctest.Run(t, kinds.EvaluateSheet, `{`+programme+`,"complete":true,"captures":[{"step":"`+id+`","of":"indicated","value":"`+value+`","unit":"bar","at":"2026-03-04T08:00:00Z"}]}`)
		if got := r.Text("verdict"); got != want {
			t.Errorf("%s bar: %s (%s), want %s", value, got, r.TextOr("reason", ""), want)
		}
	}
}

func TestProgrammeOfAnErrorIsRefused(t *testing.T) {
	_, err := calctest.Try(
		kinds.ExpandMethod,
		`{"method":{"kind":"programme","text":"unit bar gauge\nset 12\nvent\n"},`+instrument+`}`,
	)
	if err == nil || !strings.Contains(err.Error(), "line 2") {
		t.Errorf("12 bar on an instrument of 10 bar: %v", err)
	}
	_, err = calctest.Try(kinds.ExpandMethod, `{"method":{"kind":"programme","text":"unit bar gauge\nset 5\nvent\n","rules":[{"name":"p9","high":"1"}]},`+instrument+`}`)
	if err == nil || !strings.Contains(err.Error(), "p9") {
		t.Errorf("a rule for a value that nothing gives: %v", err)
	}
}
