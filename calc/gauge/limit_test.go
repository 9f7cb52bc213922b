package gauge_test

import (
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
)

// Grade B is 3-2-3 % of span over the lower quarter, the middle half and the upper quarter: ASME
// B40.100-2013, table 3 (from memory). EN 837-1:1996, table 11: ± the class in per cent of span.
// GB/T 1226-2001: the next class's error from 90 % on.
func TestLimits(t *testing.T) {
	for _, tt := range []struct{ rule, at, want string }{
		{`{"rule":"b40.100","grade":"B"}`, "20", "6"},
		{`{"rule":"b40.100","grade":"B"}`, "50", "4"}, // the boundary belongs to the middle
		{`{"rule":"b40.100","grade":"B"}`, "150", "4"},
		{`{"rule":"b40.100","grade":"B"}`, "150.1", "6"},
		{`{"rule":"b40.100","grade":"3A"}`, "100", "0.5"},
		{`{"rule":"en837","class":"1.6"}`, "100", "3.2"},
		{`{"rule":"en837","class":"1.6","stop_pin":true}`, "19", ""},
		{`{"rule":"gb1226","class":"1.6"}`, "179", "3.2"},
		{`{"rule":"gb1226","class":"1.6"}`, "180", "5"},
		{`{"rule":"terms","of_span_percent":"0.05","of_reading_percent":"0.1","absolute":"0.02"}`, "100", "0.22"},
	} {
		in := calctest.Open(t, tt.rule)
		high, _ := numeric.ParseExact("200")
		l := gauge.ReadLimit(in, numeric.ExactInt(0), high, nil)
		if err := in.Err(); err != nil {
			t.Fatal(err)
		}
		at, _ := numeric.ParseExact(tt.at)
		limit, judged := l.At(at, at)
		if got, _ := limit.Text(9); judged != (tt.want != "") || judged && got != tt.want {
			t.Errorf("%s at %s of 200: ± %s (%t), want ± %s", tt.rule, tt.at, got, judged, tt.want)
		}
	}
}
