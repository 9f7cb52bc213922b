package programme_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"gaugewright/calc/programme"
)

const restText = "unit bar gauge\nset 5\nsettle within 0.01 for 10 s, at most 60 s else {\n  vent\n  stop \"no rest\"\n}\nread a from gauge\nvent\n"

// samples writes a record of one sample a second.
func samples(step, unit string, p ...float64) string {
	t := make([]int, len(p))
	for i := range t {
		t[i] = 100 + i
	}
	a, err1 := json.Marshal(t)
	b, err2 := json.Marshal(p)
	if err1 != nil || err2 != nil {
		panic("numbers cannot be written")
	}
	return fmt.Sprintf(`{"step":%q,"unit":%q,"t_s":%s,"p":%s}`, step, unit, a, b)
}

func run60(p float64, more ...float64) []float64 {
	list := append([]float64{}, more...)
	for len(list) < 70 {
		list = append(list, p)
	}
	return list
}

// TestRestInARecord: a logger's samples decide a wait for rest as typed values do: to the last
// digit, within its time, in any unit.
func TestRestInARecord(t *testing.T) {
	swinging := make([]float64, 70)
	for i := range swinging {
		swinging[i] = 5 + 0.03*float64(i%2)
	}
	for name, c := range map[string]struct {
		trace, taken, reason string
	}{
		"at rest from the first sample": {samples("l3.1", "bar", run60(5)...), "met", "all values of 10 s lie within 0"},
		"at rest after it has swung": {
			samples("l3.1", "bar", run60(5.02, 5, 5.1, 5.05)...), "met", "all values of 10 s lie within 0",
		},
		"just in the band": {
			samples("l3.1", "bar", run60(5.02, 5, 5, 5)...), "met", "all values of 10 s lie within 0.02",
		},
		"in another unit": {
			samples("l3.1", "kPa", run60(502, 500, 500, 500)...), "met",
			"all values of 10 s lie within 0.02",
		},
		"never at rest": {
			samples("l3.1", "bar", swinging...), "else",
			"the longest stretch within 0.02 was 0 s, not 10 s, and 60 s are over",
		},
		"the record ends before it is long": {
			samples("l3.1", "bar", 5, 5, 5, 5, 5), "else",
			"the longest stretch within 0.02 was 4 s, not 10 s",
		},
		"at rest only when it is too late": {
			samples("l3.1", "bar", append(swinging[:55:55], run60(5)...)...), "else", "60 s are over",
		},
	} {
		doc := fmt.Sprintf(`{"programme":%q,"captures":[],"done":[{"step":"l2.1","at":"2026-11-25T10:00:00Z"},{"step":"l3.1","at":"2026-11-25T10:02:00Z"}],"traces":[%s]}`, restText, c.trace)
		var got course
		if err := json.Unmarshal(programme.Calculations()[1].Run([]byte(doc), "test"), &got); err != nil ||
			got.Error != nil {
			t.Fatal(name, err, got.Error)
		}
		if len(got.Branches) == 0 || got.Branches[0].Taken != c.taken ||
			!strings.Contains(got.Branches[0].Reason, c.reason) {
			t.Errorf("%s: %+v, want %s: %s", name, got.Branches, c.taken, c.reason)
		}
		for _, f := range got.Flags {
			if f.Code == "clock" {
				t.Errorf("%s: the record's times were taken for the run's: %+v", name, f)
			}
		}
	}
}

func TestRecordsRefused(t *testing.T) {
	for trace, field := range map[string]string{
		samples("l7.1", "bar", 5):                                          "traces[0].step",
		samples("l3.1", "s", 5):                                            "traces[0].unit",
		samples("l3.1", "bar"):                                             "traces[0].p",
		`{"step":"l3.1","unit":"bar","t_s":[0,1],"p":[5]}`:                 "traces[0].p",
		`{"step":"l3.1","unit":"bar","t_s":[0,1,0.5],"p":[5,5,5]}`:         "traces[0].t_s",
		samples("l3.1", "bar", 5) + "," + samples("l3.1", "bar", 5):        "traces[1].step",
		`{"step":"l3.1","unit":"bar","t_s":[0,2e9],"p":[5,5]}`:             "traces[0].t_s",
		`{"step":"l3.1","unit":"bar","t_s":[0],"p":[5],"colour":"red"}`:    "traces[0].colour",
		samples("l3.1", "bar", make([]float64, programme.MaxSamples+1)...): "traces[0].p",
	} {
		var got struct{ Error *struct{ Field string } }
		doc := fmt.Sprintf(`{"programme":%q,"captures":[],"done":[],"traces":[%s]}`, restText, trace)
		if err := json.Unmarshal(programme.Calculations()[1].Run([]byte(doc), "test"), &got); err != nil {
			t.Fatal(err)
		}
		if got.Error == nil || got.Error.Field != field {
			t.Errorf("%.80s: %+v, want a fault on %s", trace, got.Error, field)
		}
	}
}
