package entry_test

import (
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/document"
	"gaugewright/calc/entry"
	"gaugewright/calc/work"
)

// kinds has one kind with two readings, at 2 and at 8 bar, and one kind with doubts of its own.
func kinds() work.Kinds {
	expand := func(in *document.Reader, p *work.Plan) error {
		work.Skim(in.Object("method"))
		for _, target := range []string{"2", "8"} {
			p.Step(work.Step{ID: "at." + target, Do: "read", Target: target, Unit: "bar", Of: "indicated"})
		}
		return in.Err()
	}
	own := func(in *document.Reader, e *work.Entry, kept []work.Entry) ([]work.Doubt, error) {
		work.Skim(in.Object("method"))
		work.Skim(in.Object("instrument"))
		return work.DoubtOf(work.LevelAsk, "own", "kept "+kept[0].Text+", now "+e.Text), in.Err()
	}
	return work.Kinds{{Name: "plain", Expand: expand}, {Name: "own", Expand: expand, Doubts: own}}
}

func codes(t *testing.T, kind, captures, value string) (list []string) {
	t.Helper()
	for _, f := range calctest.Run(t, entry.Calculations(kinds())[0].Call, `{"method":{"kind":"`+kind+`"},"instrument":{"low":"0","high":"10","unit":"bar"},"captures":[`+captures+`],"entry":`+value+`}`).List("findings") {
		list = append(list, f.Text("level")+" "+f.Text("code"))
	}
	return list
}

// A fifth of the span is common practice, no source: here 2 bar.
func TestEntry(t *testing.T) {
	value := func(step, x string) string {
		return `{"step":"` + step + `","of":"indicated","value":"` + x + `","unit":"bar"}`
	}
	field := func(x string) string { return `{"step":"field","of":"answer","value":"` + x + `"}` }
	for name, tt := range map[string]struct {
		kind, kept, value, want string
	}{
		"near":             {"plain", value("at.2", "0"), value("at.8", "6.1"), ""},
		"one far":          {"plain", value("at.2", "2"), value("at.8", "0"), "ask far"},
		"two far":          {"plain", value("at.2", "4.5"), value("at.8", "0"), "stop not_connected" + "ask far"},
		"a field in inHg":  {"plain", "", field("29.92"), "refuse no_place"}, // 29.92 inHg is 1013.2 hPa
		"a field in hPa":   {"plain", "", field("1013.2"), ""},
		"the kind's doubt": {"own", value("at.2", "2"), value("at.8", "0"), "ask own"},
	} {
		got := ""
		for _, c := range codes(t, tt.kind, tt.kept, tt.value) {
			got += c
		}
		if got != tt.want {
			t.Errorf("%s: %q, want %q", name, got, tt.want)
		}
	}
}
