package reverse_test

import (
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/document"
	"gaugewright/calc/reverse"
	"gaugewright/calc/standard"
	"gaugewright/calc/work"
)

// kinds has one kind. Its verdict is whether a pressure of 5 bar is above 5 bar after the
// standard's correction; beyond the points of the sheet's standard it uses the fallback.
func kinds() work.Kinds {
	look := func(in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(float64)) error {
		work.Skim(in.Object("method"))
		work.Skim(in.Object("instrument"))
		s := standard.Read(in.Object("standard"))
		s.Elsewhere = elsewhere
		c, _ := s.Correction(5)
		taken(5)
		verdict := "pass"
		if 5+c > 5 {
			verdict = "fail"
		}
		out.Text("verdict", verdict)
		return in.Err()
	}
	return work.Kinds{work.Measured("plain", nil, look, nil)}
}

func standardOf(high, errorAt string) string {
	return `{"ranges":[{"low":"0","high":"10","absolute":"0.001"}],"certificate":{"points":[{"applied":"0","error":"0","expanded":"0.001"},{"applied":"` + high + `","error":"` + errorAt + `","expanded":"0.001"}]}}`
}

// The correction is minus the error, on the straight line between the certificate's points: at 5
// bar half of the error at 10 bar. Worked by hand.
func TestReverse(t *testing.T) {
	for name, tt := range map[string]struct {
		before, after string
		changed       bool
	}{
		"the same":      {standardOf("10", "0.01"), standardOf("10", "0.01"), false},
		"was out":       {standardOf("10", "0.01"), standardOf("10", "-0.01"), true},
		"known in part": {standardOf("10", "0.01"), standardOf("4", "-0.01"), false}, // 5 bar is judged as before
	} {
		r := calctest.Run(t, reverse.Calculations(kinds())[0].Call, `{"unit":"bar","before":`+tt.before+`,"after":`+tt.after+`,"affected":[{"id":"a","sheet":{"method":{"kind":"plain"},"instrument":{"unit":"bar"}}}]}`)
		one := r.List("sheets")[0]
		if got := one.Flag("changed", false); got != tt.changed {
			t.Errorf("%s: changed %t, want %t", name, got, tt.changed)
		}
		if got := one.Object("taken").Whole("readings", 0, 9); got != 1 {
			t.Errorf("%s: %d readings taken, want 1", name, got)
		}
	}
}

// A sheet that cannot be judged is listed with its fault, and the others are still judged.
func TestFaultOfOneSheet(t *testing.T) {
	r := calctest.Run(t, reverse.Calculations(kinds())[0].Call, `{"unit":"bar","before":`+standardOf("10", "0.01")+`,"after":`+standardOf("10", "-0.01")+
		`,"affected":[{"sheet":{"method":{"kind":"none"}}},{"sheet":{"method":{"kind":"plain"},"instrument":{"unit":"bar"}}}]}`)
	sheets := r.List("sheets")
	if field := sheets[0].Object("error").Text("field"); field != "affected[0].sheet.method.kind" {
		t.Errorf("the fault is in %s", field)
	}
	if !sheets[1].Flag("changed", false) || r.Whole("faults", 0, 9) != 1 || r.Whole("changed", 0, 9) != 1 {
		t.Error("the second sheet is not judged")
	}
}
