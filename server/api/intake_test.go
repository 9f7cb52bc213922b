package api_test

import (
	"encoding/base64"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"
)

// intake imports a register from the tests as office staff.
type intake struct {
	p    *testPlant
	file string
}

func (p *testPlant) intake(name string) intake {
	p.t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "register", "testdata", "messy", name))
	if err != nil {
		p.t.Fatal(err)
	}
	return intake{p, base64.StdEncoding.EncodeToString(b)}
}

func (in intake) try(how *office.Reading) (t office.Trial) {
	in.p.t.Helper()
	b, err := json.Marshal(map[string]any{"file": in.file, "reading": how})
	if err != nil {
		in.p.t.Fatal(err)
	}
	a := in.p.do("reviewer", "POST", "/api/office/import/try", string(b))
	if err := json.Unmarshal(a.body, &t); err != nil || a.status != 200 {
		in.p.t.Fatalf("%d %s", a.status, a.body)
	}
	return t
}

func (in intake) take(t office.Trial) (done office.Imported, status int) {
	in.p.t.Helper()
	b, err := json.Marshal(map[string]any{"file": in.file, "reading": t.Reading, "shown": t.Shown})
	if err != nil {
		in.p.t.Fatal(err)
	}
	a := in.p.do("reviewer", "POST", "/api/office/import", string(b))
	if err := json.Unmarshal(a.body, &done); err != nil {
		in.p.t.Fatalf("%d %s", a.status, a.body)
	}
	return done, a.status
}

func (p *testPlant) instruments() map[string]plant.Instrument {
	p.t.Helper()
	all, err := plant.All(p.store, "instrument", plant.ReadInstrument)
	if err != nil {
		p.t.Fatal(err)
	}
	by := map[string]plant.Instrument{}
	for _, i := range all {
		by[i.Tag] = i
	}
	return by
}

// TestImportOfAGermanRegister covers a trial, its repairs, the import, and the reading that is
// kept.
func TestImportOfAGermanRegister(t *testing.T) {
	p := newPlant(t)
	in := p.intake("werk-nord.csv")
	trial := in.try(nil)
	if trial.Kept || trial.Count["bad"] != 4 || trial.Count["new"] != 4 || len(trial.Causes) != 4 || trial.Header != 4 {
		t.Fatalf("%+v", trial)
	}
	for _, h := range trial.Headings {
		if h.Field == "" {
			t.Errorf("the column %q is taken for nothing", h.Text)
		}
	}
	if len(p.instruments()) != 0 {
		t.Error("a trial wrote something")
	}
	how := trial.Reading
	how.Set, how.Twice = map[string]string{"unit": "bar"}, "last"
	how.Values = map[string]map[string]string{"due": {"demnächst": "2026-12-31"}}
	trial = in.try(&how)
	if trial.Count["bad"] != 1 || trial.Count["new"] != 6 || trial.Count["dropped"] != 1 {
		t.Fatalf("%+v", trial.Count)
	}
	if _, status := in.take(office.Trial{Reading: how, Shown: "0"}); status != 409 {
		t.Error("something else than was shown:", status)
	}
	done, status := in.take(trial)
	if status != 200 || done != (office.Imported{New: 6, Left: 1}) {
		t.Fatal(status, done)
	}
	if i := p.instruments()["PI-20103"]; i.Range.Unit != "bar" || i.Due != "2027-03-28" || i.Serial != "N-4414" {
		t.Errorf("%+v", i)
	}
	again := in.try(nil)
	if !again.Kept || again.Count["same"] != 6 || again.Count["new"]+again.Count["changed"] != 0 {
		t.Errorf("the same file again: %+v, kept %v", again.Count, again.Kept)
	}
	if a := p.do("technician", "POST", "/api/office/import/try", `{"file":"","reading":null}`); a.status != 403 {
		t.Error("a technician:", a.status)
	}
}

func TestImportOfAFrenchRegister(t *testing.T) {
	p := newPlant(t)
	in := p.intake("atelier-sud.tsv")
	trial := in.try(nil)
	if trial.Count["bad"] != 5 { // an unknown site makes every row bad
		t.Fatalf("%+v", trial.Causes)
	}
	how := office.Reading{NewSites: true, Dates: "dmy", Values: map[string]map[string]string{"class": {"1,5": "1,6"}}}
	trial = in.try(&how)
	if trial.Count["new"] != 5 || len(trial.NewSites) != 1 {
		t.Fatalf("%+v", trial)
	}
	if done, status := in.take(trial); status != 200 || done.New != 5 {
		t.Fatal(status, done)
	}
	i := p.instruments()["M-305"] // no known status, and a duplicate serial number: it is imported
	if i.Status != "in service" || i.Serial != "FR 0017" || i.Site == "" {
		t.Errorf("%+v", i)
	}
}

func TestImportOfASpanishRegister(t *testing.T) {
	p := newPlant(t)
	in := p.intake("planta-este.csv")
	how := office.Reading{
		Set: map[string]string{"unit": "psi"}, Decimal: "point", Dates: "mdy",
		Values: map[string]map[string]string{"class": {"1,0 %": "1.0 %"}},
	}
	trial := in.try(&how)
	if trial.Count["new"] != 6 || len(trial.Causes) != 1 || !trial.Causes[0].Lost {
		t.Fatalf("%+v", trial)
	}
	if _, status := in.take(trial); status != 200 {
		t.Fatal(status)
	}
	// The instruments were edited in the office; the file changes what it states back, and nothing
	// else.
	i := p.instruments()["PG 7001"]
	was, _, err := p.store.Record(i.ID)
	if err != nil {
		t.Fatal(err)
	}
	p.phone().edit(was, set("area", "Boiler house"), set("due", "2030-01-01"))
	trial = in.try(nil)
	if trial.Count["changed"] != 1 || !trial.Kept {
		t.Fatalf("%+v", trial)
	}
	for _, row := range trial.Rows {
		if row.State == "changed" && (len(row.Changes) != 1 || row.Changes[0].Field != "due") {
			t.Errorf("%+v", row.Changes)
		}
	}
	if done, status := in.take(trial); status != 200 || done.Changed != 1 {
		t.Fatal(status, done)
	}
	if i := p.instruments()["PG 7001"]; i.Due != "2026-12-31" || i.Area != "Boiler house" {
		t.Errorf("%+v", i)
	}
	for body, want := range map[string]int{
		`{"file":"AAAA","reading":null}`:                             400,
		`{"file":"YQ==","reading":null}`:                             400,
		`{"file":"YSxiCjEsMgo=","reading":{"dates":"ymd"}}`:          400,
		`{"file":"YSxiCjEsMgo=","reading":null}`:                     200, // no tag column: columns are shown
		`{"file":"YSxiCjEsMgo=","reading":{"map":{"a":"nonsense"}}}`: 200,
	} {
		if a := p.do("reviewer", "POST", "/api/office/import/try", body); a.status != want {
			t.Errorf("%s: %d %s", body, a.status, a.body)
		}
	}
}

// TestNobodyBringsResultsOfThePast: no device may push them, since they could be invented as easily
// as a certificate.
func TestNobodyBringsResultsOfThePast(t *testing.T) {
	p := newPlant(t)
	f := p.another("forger", auth.Reviewer)
	c, _, err := f.drafter.New("result", "", id("i1"), p.now, set("instrument", id("i1")), set("started", "2019-01-01"))
	if err != nil {
		t.Fatal(err)
	}
	if why := p.sends("forger", c)[0]; !strings.Contains(why, "brought in at the office only") {
		t.Errorf("%q", why)
	}
}

// TestResultsOfThePastAreBroughtIn checks that they come with their certificates, and that the
// history keeps them apart from visits.
func TestResultsOfThePastAreBroughtIn(t *testing.T) {
	p := newPlant(t)
	in := p.intake("planta-este.csv")
	how := office.Reading{Set: map[string]string{"unit": "psi"}, Decimal: "point", Dates: "mdy"}
	if _, status := in.take(in.try(&how)); status != 200 {
		t.Fatal(status)
	}
	sheet := map[string]any{
		"name": "past.csv", "reading": office.Reading{},
		"file":   []byte("tag,date,point,error,limit,certificate,file\nPG7006,2020-05-06,8,0.2,0.256,C-1,c1.pdf\nPG-9,2020-05-06,8,0.2,,,\n"),
		"papers": map[string][]byte{},
	}
	post := func(path string, into any) int {
		t.Helper()
		b, err := json.Marshal(sheet)
		if err != nil {
			t.Fatal(err)
		}
		a := p.do("reviewer", "POST", path, string(b))
		if err := json.Unmarshal(a.body, into); err != nil {
			t.Fatal(err, string(a.body))
		}
		return a.status
	}
	var trial office.PastTrial
	if status := post("/api/office/results/try", &trial); status != 200 || trial.Count["new"] != 1 || trial.Count["bad"] != 1 ||
		len(trial.Missing) != 1 || trial.Tests[0].Found != "pass" {
		t.Fatalf("%d %+v", status, trial)
	}
	sheet["shown"] = trial.Shown
	var done struct{ Written int }
	if status := post("/api/office/results", &done); status != 400 {
		t.Error("without the file of the certificate:", status)
	}
	sheet["papers"] = map[string][]byte{"c1.pdf": []byte("%PDF-1.7 of the past")}
	if status := post("/api/office/results", &done); status != 200 || done.Written != 1 {
		t.Fatal(status, done)
	}
	all, err := plant.All(p.store, "result", plant.ReadPastResult)
	if err != nil || len(all) != 1 || all[0].Brought.Name != "past.csv" {
		t.Fatal(all, err)
	}
	if b, err := p.store.Blob(all[0].Certificate.File); err != nil || !strings.HasPrefix(string(b), "%PDF") {
		t.Error(string(b), err)
	}
	if status := post("/api/office/results", &done); status != 409 {
		t.Error("once more as it was shown before:", status)
	}
}
