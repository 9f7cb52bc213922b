package demo_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"gaugewright/calc"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
)

// kept is what a visit keeps of its standard.
type kept struct {
	ID    string
	Range struct {
		Low, High, Unit string
		Years           string `json:"years_since"`
		Drift           string `json:"drift_per_year"`
		Points          []struct{ Applied, Error, Expanded, K string }
	}
	Snapshot struct {
		CertificateNo string `json:"certificate_no"`
		Calibrated    string
		Range         struct {
			Unit   string
			Points json.RawMessage
		}
	}
}

// TestStandardsHavePoints checks that every visit to a gauge keeps the points of the certificate
// then in force. One standard was out at its latest calibration, which makes some, not all, of the
// results since the previous one doubtful.
func TestStandardsHavePoints(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 4, Today: today, Instruments: 160, Years: 2})
	points := map[string]json.RawMessage{} // of every certificate, by its number, standard, unit and range
	states := map[string]string{}
	list, err := plant.All(s, "standard", plant.ReadStandard)
	for _, x := range all(t, list, err) {
		state, ok, err := s.Record(x.ID)
		if err != nil || !ok {
			t.Fatal(err)
		}
		states[x.ID] = x.Serial
		certificates := 0
		for i := range state.Fields {
			if !strings.HasPrefix(state.Fields[i].Name, "certificate.") {
				continue
			}
			certificates++
			var c struct {
				Number, Calibrated, Due, By string
				Range                       struct{ Low, High, Unit, Mode string }
				Points                      json.RawMessage
			}
			b, _ := state.Value(state.Fields[i].Name)
			if err := json.Unmarshal(b, &c); err != nil || c.Due <= c.Calibrated || c.By == "" {
				t.Fatal(x.Serial, string(b), err)
			}
			points[c.Number+x.Serial+string(c.Points)] = c.Points
		}
		if certificates == 0 && x.Name != "Air data set" && x.Name != "Test rack" {
			t.Error(x.Name, "has no certificates")
		}
	}
	var affected []map[string]any
	var before, after json.RawMessage
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	for _, v := range all(t, visits, err) {
		if kindOf(t, &v) != "gauge" {
			continue
		}
		var k kept
		if err := json.Unmarshal(v.AsKept("standard"), &k); err != nil {
			t.Fatal(err)
		}
		if states[k.ID] == "TR-3" { // the transmitters' rack, which has no points
			continue
		}
		started, _ := time.Parse(time.RFC3339, v.Started)
		calibrated, err := time.Parse(time.DateOnly, k.Snapshot.Calibrated)
		age := started.Sub(calibrated).Hours() / 24
		if err != nil || age < -1 || age > 366 && states[k.ID] != "WC-2" || len(k.Range.Points) < 5 ||
			k.Range.Drift == "" || k.Range.Years == "" {
			t.Fatalf("%s: %.0f days after its standard's calibration, %+v", v.ID, age, k)
		}
		if points[k.Snapshot.CertificateNo+states[k.ID]+string(k.Snapshot.Range.Points)] == nil {
			t.Fatalf("%s: the points of %s are on no certificate of that number", v.ID, k.Snapshot.CertificateNo)
		}
		if states[k.ID] != "HP-102" || k.Range.Unit != "bar" || k.Range.High != "70" ||
			started.Before(today.AddDate(-1, -4, -6)) || started.After(today.AddDate(0, -4, -6)) {
			continue
		}
		runs, err := plant.Runs(s, v.ID)
		for i := range all(t, runs, err) {
			sheet, err := v.Sheet(&runs[i], true)
			if err != nil {
				t.Fatal(err)
			}
			var parts map[string]json.RawMessage
			if err := json.Unmarshal(sheet, &parts); err != nil {
				t.Fatal(err)
			}
			before = parts["standard"]
			delete(parts, "standard")
			affected = append(affected, map[string]any{"sheet": parts})
		}
	}
	// present values: the points in force
	for _, x := range list {
		if x.Serial == "HP-102" {
			state, _, err := s.Record(x.ID)
			if err != nil {
				t.Fatal(err)
			}
			var ranges []map[string]json.RawMessage
			b, _ := state.Value("ranges")
			if err := json.Unmarshal(b, &ranges); err != nil {
				t.Fatal(err)
			}
			var standard map[string]json.RawMessage
			if err := json.Unmarshal(before, &standard); err != nil {
				t.Fatal(err)
			}
			standard["certificate"], _ = json.Marshal(map[string]json.RawMessage{"points": ranges[0]["points"]})
			after, _ = json.Marshal(standard)
		}
	}
	asked, err := json.Marshal(map[string]any{"unit": "bar", "before": before, "after": after, "affected": affected})
	if err != nil {
		t.Fatal(err)
	}
	var reply struct {
		Changed, Faults int
		Sheets          []json.RawMessage
		Error           json.RawMessage
	}
	if err := json.Unmarshal(calc.Call("reverse", asked), &reply); err != nil || reply.Error != nil {
		t.Fatalf("%s %v", reply.Error, err)
	}
	t.Logf("%d of %d verdicts change", reply.Changed, len(reply.Sheets))
	if reply.Faults > 0 || reply.Changed == 0 || reply.Changed == len(reply.Sheets) {
		t.Errorf("%d of %d verdicts change, %d faults", reply.Changed, len(reply.Sheets), reply.Faults)
	}
}
