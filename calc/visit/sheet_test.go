package visit_test

import (
	"strings"
	"testing"

	"gaugewright/calc/document"
	"gaugewright/calc/visit"
)

// A standard or a meter without a specification is left out, a barometer is not: without it the
// applied pressure would be wrong, without a warning.
func TestBarometerIsNeverLeftOut(t *testing.T) {
	used, err := document.Parse([]byte(`{"id":"b","range":{"low":"800","high":"1100","unit":"hPa"}}`))
	if err != nil {
		t.Fatal(err)
	}
	w := document.NewWriter(nil)
	w.Begin()
	b := visit.Basis{Standard: &used, Meter: &used, Barometer: &used}
	b.Write(w)
	w.End()
	got := string(w.Bytes())
	if !strings.Contains(got, `"barometer":{"ranges":[{"low":"800","high":"1100"}]}`) {
		t.Errorf("no barometer: %s", got)
	}
	if strings.Contains(got, `"standard"`) || strings.Contains(got, `"meter"`) {
		t.Errorf("a standard or a meter without a specification: %s", got)
	}
}
