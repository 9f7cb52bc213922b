package choose_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/calc"
)

type brought struct {
	Minutes, Unknown int
	Standards        []struct {
		Standard string
		Stops    []string
	}
	Unserved []struct {
		Stop             string
		Meter, Barometer bool
	}
	Areas []struct {
		Area               string
		Stops              []string
		Minutes            int
		Connections, Media []struct {
			Name  string
			Stops int
		}
		Oxygen bool
	}
	Stops []struct {
		ID      string
		Minutes int
	}
	Error *struct{ Field, Message string }
}

func bring(t *testing.T, stops, standards string) brought {
	t.Helper()
	var got brought
	doc := `{"today":"2026-05-01","stops":[` + stops + `],"standards":[` + standards + `]}`
	if err := json.Unmarshal(calc.Call("bring", []byte(doc)), &got); err != nil {
		t.Fatal(err)
	}
	if got.Error != nil {
		t.Fatal(*got.Error)
	}
	return got
}

// ofBar is a stop at a class 1.6 gauge up to high bar, with more fields of its record.
func ofBar(id, high, more string) string {
	return `{"id":"` + id + `","method":` + gauge3 + `,"instrument":{"low":"0","high":"` + high +
		`","unit":"bar","mode":"gauge","resolution":"0.05","limit":{"rule":"en837","class":"1.6"}}` + more + `}`
}

const gauge3 = `{"kind":"gauge","points":{"count":3},"directions":"up-down","hold_s":30}`

func reference(id, name, high, due string) string {
	return `{"id":"` + id + `","name":"` + name + `","due":"` + due + `","calibrated":"2026-01-01","medium":"gas","cleaned_for_oxygen":"2026-01-05","ranges":[` +
		`{"low":"0","high":"` + high + `","unit":"bar","mode":"gauge","of_span_percent":"0.02","k":"2"}]}`
}

// TestBringForOxygen: a standard that held oil serves every stop but the one in oxygen service.
func TestBringForOxygen(t *testing.T) {
	stops := ofBar("g10", "10", `,"medium":"steam"`) + "," + ofBar("o10", "10", `,"medium":"oxygen"`)
	oily := strings.Replace(reference("a", "A", "16", "2027-01-01"), `"gas"`, `"oil"`, 1)
	got := bring(t, stops, oily)
	if len(got.Standards) != 1 || !cmp.Equal(got.Standards[0].Stops, []string{"g10"}) || len(got.Unserved) != 1 ||
		got.Unserved[0].Stop != "o10" {
		t.Errorf("%+v", got)
	}
}

// TestBring is worked by hand. Kit A serves 10 and 16 bar, B 16 and 25, C all from 10 to 25, so
// that C alone is enough. No kit serves the 400 bar gauge: D would, but is out of date.
func TestBring(t *testing.T) {
	stops := ofBar("g10", "10", `,"area":"Boilers","medium":"steam","connection":"G 1/2"`) + "," +
		ofBar("g16", "16", `,"area":"Yard","medium":"oxygen","connection":"NPT  1/4"`) + "," +
		ofBar("g25", "25", `,"area":"Boilers","medium":"Steam","connection":"g 1/2 "`) + "," +
		ofBar("g400", "400", `,"area":"Yard","cautions":["oxygen"]`) + `,{"id":"bare","area":"Yard"}`
	kits := reference("a", "A", "16", "2027-01-01") + "," + reference("c", "C", "30", "2027-01-01") + "," +
		reference("d", "D", "400", "2026-04-30")
	got := bring(t, stops, kits)
	if len(got.Standards) != 1 || got.Standards[0].Standard != "c" ||
		!cmp.Equal(got.Standards[0].Stops, []string{"g10", "g16", "g25"}) {
		t.Errorf("standards to bring: %+v", got.Standards)
	}
	if len(got.Unserved) != 1 || got.Unserved[0].Stop != "g400" {
		t.Errorf("unserved: %+v", got.Unserved)
	}
	if got.Unknown != 1 || got.Stops[4].Minutes != 0 || got.Stops[0].Minutes < 2 {
		t.Errorf("times: %d unknown, %+v", got.Unknown, got.Stops)
	}
	sum := 0
	for _, s := range got.Stops {
		sum += s.Minutes
	}
	if sum != got.Minutes || got.Areas[0].Minutes+got.Areas[1].Minutes != sum {
		t.Errorf("%d minutes, by stop %d, by area %+v", got.Minutes, sum, got.Areas)
	}
	boilers, yard := got.Areas[0], got.Areas[1]
	if boilers.Area != "Boilers" || boilers.Oxygen || len(boilers.Connections) != 1 || boilers.Connections[0].Name != "G 1/2" ||
		boilers.Connections[0].Stops != 2 || len(boilers.Media) != 1 || boilers.Media[0].Stops != 2 {
		t.Errorf("the boilers: %+v", boilers)
	}
	if yard.Area != "Yard" || !yard.Oxygen || len(yard.Stops) != 3 || yard.Connections[0].Name != "NPT 1/4" {
		t.Errorf("the yard: %+v", yard)
	}
}

// TestBringForATransmitter: its signal needs a meter besides the standard for its pressure, and an
// instrument at a stop is no standard for that stop.
func TestBringForATransmitter(t *testing.T) {
	stop := `{"id":"t","own":"c","method":{"kind":"gauge","points":{"count":3},"directions":"up"},"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge",` +
		`"resolution":"0.01","limit":{"rule":"terms","of_span_percent":"0.5"},"output":{"low":"4","high":"20","unit":"mA","resolution":"0.001"}}}`
	meter := `{"id":"m","name":"loop meter","due":"2027-01-01","calibrated":"2026-01-01","ranges":[{"low":"0","high":"24","unit":"mA","of_reading_percent":"0.02","k":"2"}]}`
	got := bring(t, stop, reference("c", "C", "20", "2027-01-01"))
	if len(got.Unserved) != 2 || got.Unserved[0].Meter || !got.Unserved[1].Meter {
		t.Errorf("itself alone: %+v", got.Unserved)
	}
	got = bring(t, stop, reference("c", "C", "20", "2027-01-01")+","+reference("e", "E", "16", "2027-01-01")+","+meter)
	if len(got.Unserved) != 0 || len(got.Standards) != 2 || got.Standards[0].Standard != "e" ||
		got.Standards[1].Standard != "m" {
		t.Errorf("with a standard and a meter: %+v, unserved %+v", got.Standards, got.Unserved)
	}
}

// TestBringABarometer: a gauge standard needs a barometer for an absolute pressure. If a standard
// measures it alone, no barometer is taken along.
func TestBringABarometer(t *testing.T) {
	stop := `{"id":"p","method":{"kind":"gauge","points":{"values":["1","4"]},"directions":"up"},"instrument":{"low":"0","high":"4","unit":"bar","mode":"absolute",` +
		`"limit":{"rule":"terms","of_span_percent":"1"}}}`
	device := func(id, low, high, unit, mode string) string {
		return `{"id":"` + id + `","name":"` + id + `","due":"2027-01-01","calibrated":"2026-01-01","ranges":[` +
			`{"low":"` + low + `","high":"` + high + `","unit":"` + unit + `","mode":"` + mode + `","of_span_percent":"0.02","k":"2"}]}`
	}
	gauge, air := device("g", "-1", "5", "bar", "gauge"), device("b", "800", "1100", "hPa", "absolute")
	got := bring(t, stop, gauge)
	if len(got.Standards) != 1 || len(got.Unserved) != 1 || !got.Unserved[0].Barometer {
		t.Errorf("without a barometer: %+v, unserved %+v", got.Standards, got.Unserved)
	}
	got = bring(t, stop, gauge+","+air)
	if len(got.Standards) != 2 || got.Standards[0].Standard != "b" || got.Standards[1].Standard != "g" ||
		len(got.Unserved) != 0 {
		t.Errorf("with a barometer: %+v, unserved %+v", got.Standards, got.Unserved)
	}
	got = bring(t, stop, gauge+","+air+","+device("z", "0", "5", "bar", "absolute"))
	if len(got.Standards) != 1 || got.Standards[0].Standard != "z" || len(got.Unserved) != 0 {
		t.Errorf("with an absolute standard: %+v, unserved %+v", got.Standards, got.Unserved)
	}
}

// TestBringNoMeter: a leak test on an instrument with an output reads no signal.
func TestBringNoMeter(t *testing.T) {
	stop := `{"id":"l","method":{"kind":"leak","phases":[{"name":"pressure","pressure":"4","measure_s":120,"every_s":10}]},"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge",` +
		`"output":{"low":"4","high":"20","unit":"mA"}}}`
	for _, u := range bring(t, stop, reference("c", "C", "20", "2027-01-01")).Unserved {
		if u.Meter {
			t.Error("a meter is wanted")
		}
	}
}

// TestBringNeedsADay names the field that is wrong.
func TestBringNeedsADay(t *testing.T) {
	var got brought
	if err := json.Unmarshal(calc.Call("bring", []byte(`{"today":"tomorrow","stops":[],"standards":[]}`)), &got); err != nil {
		t.Fatal(err)
	}
	if got.Error == nil || got.Error.Field != "today" {
		t.Errorf("error %+v", got.Error)
	}
}
