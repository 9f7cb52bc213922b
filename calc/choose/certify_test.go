package choose_test

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/calc"
)

// TestCertify: the certificate calibrated last is in force for its range.
func TestCertify(t *testing.T) {
	const small, large = `{"low":"0","high":"10","unit":"bar","of_span_percent":"0.05"}`, `{"low":"0","high":"20.0","unit":"bar","mode":"gauge","k":"2"}`
	const points = `[{"applied":"0","error":"0","expanded":"0.01","k":"2"}]`
	withPoints := func(r string) string { return r[:len(r)-1] + `,"points":` + points + `}` }
	for _, c := range []struct{ about, calibrated, kept, certificate, want string }{
		{"the first, of a standard without a date", "", ``, `{"number":"A","calibrated":"2026-05-01","due":"2027-05-01","range":` + small + `,"points":` + points + `}`,
			`{"in_force":true,"ranges":[` + withPoints(small) + `,` + large + `],"certificate_no":"A","calibrated":"2026-05-01","due":"2027-05-01"}`},
		{"its range is known by ends, unit and mode, not by what is stated of it", "2026-05-01", ``,
			`{"number":"A","calibrated":"2026-05-01","due":"","range":{"low":"0.0","high":"20","unit":"bar"},"points":` + points + `}`,
			`{"in_force":true,"ranges":[` + small + `,` + withPoints(large) + `],"certificate_no":"A","calibrated":"2026-05-01","due":""}`},
		{"one of this range that is older than one of the other counts for its range, and the dates stay", "2026-05-01",
			`{"calibrated":"2026-05-01","range":` + large + `}`, `{"number":"B","calibrated":"2025-01-01","range":` + small + `,"points":` + points + `}`,
			`{"in_force":true,"ranges":[` + withPoints(small) + `,` + large + `]}`},
		{"one that is older than another of its range changes nothing", "2026-05-01",
			`{"calibrated":"2026-05-01","range":` + small + `}`, `{"number":"B","calibrated":"2025-01-01","range":` + small + `,"points":` + points + `}`, `{"in_force":false}`},
	} {
		var got, want map[string]any
		doc := `{"calibrated":"` + c.calibrated + `","ranges":[` + small + `,` + large + `],"certificates":[` + c.kept + `],"certificate":` + c.certificate + `}`
		if err := json.Unmarshal(calc.Call("certify", []byte(doc)), &got); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal([]byte(c.want), &want); err != nil {
			t.Fatal(err)
		}
		delete(got, "calc")
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: %s", c.about, diff)
		}
	}
}
