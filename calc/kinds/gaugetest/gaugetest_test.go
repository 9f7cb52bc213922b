package gaugetest_test

import (
	"strings"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/document"
	"gaugewright/calc/kinds/gaugetest"
	"gaugewright/calc/work"
)

var kinds = work.Kinds{gaugetest.Kind()}

const gauge = `"method":{"kind":"gauge","points":{"values":["0","5","10"]},"directions":"up"},
	"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge","resolution":"0.02","limit":{"rule":"en837","class":"1.6"}}`

// A gauge of class 1.6 may be off by 1.6 % of its span: EN 837-1:1996, 6.1 (from memory).
func TestClassLimit(t *testing.T) {
	for reading, want := range map[string]string{"5.16": "pass", "5.17": "fail", "4.84": "pass", "4.83": "fail"} {
		r := calctest.Run(t, kinds.EvaluateSheet, `{`+gauge+`,"complete":true,"captures":[{"step":"s1.up.0","of":"indicated","value":"0","unit":"bar"},
			{"step":"s1.up.1","of":"indicated","value":"`+reading+`","unit":"bar"},{"step":"s1.up.2","of":"indicated","value":"10","unit":"bar"}]}`)
		if got := r.Text("verdict"); got != want {
			t.Errorf("%s bar: %s, want %s", reading, got, want)
		}
	}
	for _, s := range calctest.Run(t, kinds.ExpandMethod, `{`+gauge+`}`).List("steps") {
		if s.Text("id") == "s1.up.1" && (s.Text("low") != "4.84" || s.Text("high") != "5.16") {
			t.Errorf("the plan allows %s to %s bar", s.Text("low"), s.Text("high"))
		}
	}
}

// The order of a cycle: rising, then falling through the same points; a gauge's zero is a vent.
func TestPlanOrder(t *testing.T) {
	var ids []string
	for _, s := range calctest.Run(t, kinds.ExpandMethod, `{`+strings.Replace(gauge, `"up"}`, `"up-down"}`, 1)+`}`).List("steps") {
		ids = append(ids, s.Text("id"))
	}
	want := "vent.start s1.up.0.vent s1.up.0 s1.up.1.set s1.up.1 s1.up.2.set s1.up.2 s1.down.2.set s1.down.2 s1.down.1.set s1.down.1 s1.down.0.vent s1.down.0 vent.end"
	if got := strings.Join(ids, " "); got != want {
		t.Error(got)
	}
}

// Sequence A has nine points in six series, B nine in three, C five in two: DKD-R 6-1 (03/2014),
// restated and not read in the document. Every ready method must be one that expands.
func TestReadyMethodsExpand(t *testing.T) {
	ready := gaugetest.Calculations()[0].Call
	for _, m := range calctest.Run(t, ready, `{"list":true}`).List("methods") {
		name, definition := m.Text("name"), ""
		if v, ok := m.Raw("definition"); ok {
			definition = text(v)
		}
		steps := calctest.Run(
			t, kinds.ExpandMethod,
			`{"method":`+definition+`,"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge"}}`,
		).List("steps")
		reads := 0
		for _, s := range steps {
			if s.Text("do") == "read" {
				reads++
			}
		}
		if want := map[string]int{"dkd-r6-1-a": 54, "dkd-r6-1-b": 27, "dkd-r6-1-c": 10}[name]; want > 0 &&
			reads != want {
			t.Errorf("%s asks for %d readings, want %d", name, reads, want)
		} else if reads == 0 {
			t.Errorf("%s asks for no reading", name)
		}
	}
}

func text(v *document.Value) string {
	w := document.NewWriter(nil)
	w.Begin()
	w.Value("x", v)
	w.End()
	return strings.TrimSuffix(strings.TrimPrefix(string(w.Bytes()), `{"x":`), "}")
}
