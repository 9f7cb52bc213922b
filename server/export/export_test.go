package export_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/server/demo"
	"gaugewright/server/export"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

func open(t *testing.T, dir string) *store.Store {
	t.Helper()
	s, err := store.OpenWith(dir, store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// madePlant is the folder of a small invented plant with a photo, made by the first test that wants it.
var madePlant struct {
	sync.Once
	dir string
	err error
}

func TestMain(m *testing.M) {
	code := m.Run()
	_ = os.RemoveAll(madePlant.dir)
	os.Exit(code)
}

// plantOf is a copy of the small invented plant.
func plantOf(t *testing.T) *store.Store {
	t.Helper()
	madePlant.Do(func() { madePlant.dir, madePlant.err = makePlant() })
	if madePlant.err != nil {
		t.Fatal(madePlant.err)
	}
	dir := filepath.Join(t.TempDir(), "plant")
	if err := os.CopyFS(dir, os.DirFS(madePlant.dir)); err != nil {
		t.Fatal(err)
	}
	return open(t, dir)
}

func makePlant() (dir string, err error) {
	dir, err = os.MkdirTemp("", "export")
	if err != nil {
		return "", err
	}
	s, err := store.OpenWith(dir, store.Options{NoSync: true})
	if err != nil {
		return dir, err
	}
	_, err = demo.Seed(context.Background(), s, demo.Options{
		Seed: 3, Today: time.Date(2026, 9, 14, 9, 0, 0, 0, time.UTC), Instruments: 8, Years: 1,
	})
	return dir, errors.Join(err, s.Close())
}

func officeOf(s *store.Store) *office.Office { return office.New(s, nil, time.Now) }

func taken(t *testing.T, s *store.Store, want export.Wanted) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "out")
	to, err := export.Folder(dir)
	if err == nil {
		_, err = export.Write(s, officeOf(s), want, to)
	}
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

func files(t *testing.T, dir string) map[string]string {
	t.Helper()
	list := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		name, _ := filepath.Rel(dir, path)
		list[name] = string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func same(t *testing.T, got, want map[string]string) {
	t.Helper()
	for name := range want {
		if got[name] != want[name] {
			t.Errorf("%s: %d bytes came back as %d", name, len(want[name]), len(got[name]))
		}
	}
	for name := range got {
		if _, ok := want[name]; !ok {
			t.Errorf("%s was not there before", name)
		}
	}
}

func TestAnExportBroughtInIsTheSameExport(t *testing.T) {
	s := plantOf(t)
	first := taken(t, s, export.Wanted{})
	fresh := open(t, t.TempDir())
	if _, err := export.Bring(context.Background(), fresh, os.DirFS(first)); err != nil {
		t.Fatal(err)
	}
	want := files(t, first)
	same(t, files(t, taken(t, fresh, export.Wanted{})), want)
	// It continues where it broke off, and does nothing twice.
	if _, err := export.Bring(context.Background(), fresh, os.DirFS(first)); err != nil {
		t.Fatal(err)
	}
	same(t, files(t, taken(t, fresh, export.Wanted{})), want)
	pdfs := 0
	for name, b := range want {
		if strings.HasPrefix(name, "certificates/") && strings.HasPrefix(b, "%PDF") {
			pdfs++
		}
	}
	if pdfs == 0 {
		t.Error("no certificate's document was taken out")
	}
}

func TestTablesHaveWhatTheRecordsHave(t *testing.T) {
	s := plantOf(t)
	got := files(t, taken(t, s, export.Wanted{}))
	for kind, table := range map[string]string{
		"instrument": "instruments", "visit": "visits", "standard": "standards", "method": "methods",
		"certificate": "certificates", "round": "rounds", "site": "sites", "person": "people",
	} {
		states, err := s.ByKind(kind, "", 0)
		if err != nil {
			t.Fatal(err)
		}
		var rows []map[string]json.RawMessage
		if err := json.Unmarshal([]byte(got[table+".json"]), &rows); err != nil {
			t.Fatalf("%s.json: %v", table, err)
		}
		lines, err := csv.NewReader(strings.NewReader(got[table+".csv"])).ReadAll()
		if err != nil {
			t.Fatalf("%s.csv: %v", table, err)
		}
		if len(rows) != len(states) || len(lines) != len(states)+1 || len(states) == 0 {
			t.Errorf("%s: %d records, %d rows in JSON, %d lines", table, len(states), len(rows), len(lines))
		}
	}
	captures := 0
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	if err != nil {
		t.Fatal(err)
	}
	for i := range visits {
		runs, err := plant.Runs(s, visits[i].ID)
		if err != nil {
			t.Fatal(err)
		}
		for k := range runs {
			captures += len(runs[k].Captures)
		}
	}
	if n := strings.Count(got["readings.json"], "\n{"); n != captures || n == 0 {
		t.Errorf("%d readings were taken out of %d", n, captures)
	}
}

// TestEveryTableFitsItsSchema checks each row against the columns that the schema names, and their
// types.
func TestEveryTableFitsItsSchema(t *testing.T) {
	got := files(t, taken(t, plantOf(t), export.Wanted{}))
	var schema struct {
		Defs map[string]struct {
			Items struct {
				Properties map[string]struct{ Type any }
				Required   []string
			}
		} `json:"$defs"`
	}
	if err := json.Unmarshal([]byte(got["tables.schema.json"]), &schema); err != nil {
		t.Fatal(err)
	}
	if len(schema.Defs) < 12 {
		t.Fatalf("%d tables are described", len(schema.Defs))
	}
	for name, def := range schema.Defs {
		var rows []map[string]any
		if err := json.Unmarshal([]byte(got[name+".json"]), &rows); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for i, row := range rows {
			if len(row) != len(def.Items.Required) {
				t.Fatalf("%s, row %d: %d members for %d", name, i, len(row), len(def.Items.Required))
			}
			for _, member := range def.Items.Required {
				v, ok := row[member]
				types, _ := json.Marshal(def.Items.Properties[member].Type)
				is := map[bool]string{true: "null"}[v == nil]
				switch v.(type) {
				case string:
					is = "string"
				case float64:
					is = "number"
				case map[string]any:
					is = "object"
				}
				if !ok || !strings.Contains(string(types), is) {
					t.Fatalf("%s, row %d: %s is %s, not %s", name, i, member, is, types)
				}
			}
		}
	}
}

func TestACorrectedReadingIsListedTwice(t *testing.T) {
	s := plantOf(t)
	runs, err := s.ByKind("run", "", 1)
	if err != nil || len(runs) == 0 {
		t.Fatal("no run", err)
	}
	r, err := plant.ReadRun(runs[0])
	if err != nil {
		t.Fatal(err)
	}
	was := r.Captures[len(r.Captures)-1]
	count, err := plant.HighestCount(s)
	if err != nil {
		t.Fatal(err)
	}
	device, _ := change.NewID(strings.NewReader(strings.Repeat("d", 64)))
	drafter := &plant.Drafter{Device: device, Author: device, Count: count, Random: strings.NewReader(strings.Repeat("x", 640))}
	one, _, err := drafter.Edit(runs[0], time.Now(), plant.Set{Field: "capture.later", Value: map[string]string{
		"step": was.Step, "of": was.Of, "value": "1.25", "unit": was.Unit, "at": was.At,
		"supersedes": was.ID, "reason": "misread",
	}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(context.Background(), []change.Change{one}); err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	got := files(t, taken(t, s, export.Wanted{}))
	if err := json.Unmarshal([]byte(got["readings.json"]), &rows); err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, row := range rows {
		switch {
		case row["run"] == r.ID && row["reading"] == was.ID:
			found++
			if row["stands"] != "no" || row["corrected_value"] != "1.25" || row["value"] != string(was.Value) {
				t.Errorf("as typed: %v", row)
			}
		case row["run"] == r.ID && row["reading"] == "later":
			found++
			if row["stands"] != "yes" || row["value"] != "1.25" || row["reason"] != "misread" {
				t.Errorf("the correction: %v", row)
			}
		}
	}
	if found != 2 {
		t.Errorf("%d of two rows", found)
	}
}

// TestAVisitByAnotherMethodSaysWhy checks that the table of visits has the reason for a method that
// was taken instead of the one that was set, and nothing for a visit by the usual one.
func TestAVisitByAnotherMethodSaysWhy(t *testing.T) {
	s := plantOf(t)
	visits, err := s.ByKind("visit", "", 1)
	if err != nil || len(visits) == 0 {
		t.Fatal("no visit", err)
	}
	v, err := plant.ReadVisit(visits[0])
	if err != nil {
		t.Fatal(err)
	}
	count, err := plant.HighestCount(s)
	if err != nil {
		t.Fatal(err)
	}
	device, _ := change.NewID(strings.NewReader(strings.Repeat("d", 64)))
	drafter := &plant.Drafter{Device: device, Author: device, Count: count, Random: strings.NewReader(strings.Repeat("x", 640))}
	one, _, err := drafter.Edit(visits[0], time.Now(), plant.Set{Field: "method", Value: map[string]any{
		"id": v.Method.ID, "version": v.Method.Version, "name": v.Method.Name, "definition": v.Method.Definition,
		"reason": "the customer asked for 3 points",
	}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(context.Background(), []change.Change{one}); err != nil {
		t.Fatal(err)
	}
	var rows []struct {
		ID     string `json:"visit"`
		Reason string `json:"method_reason"`
	}
	got := files(t, taken(t, s, export.Wanted{}))
	if err := json.Unmarshal([]byte(got["visits.json"]), &rows); err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, row := range rows {
		want := ""
		if row.ID == v.ID {
			found++
			want = "the customer asked for 3 points"
		}
		if row.Reason != want {
			t.Errorf("visit %s: reason %q, want %q", row.ID, row.Reason, want)
		}
	}
	if found != 1 || len(rows) < 2 {
		t.Errorf("%d of %d rows are of the visit", found, len(rows))
	}
}

// TestAPartIsWholeByItself exports one instrument: its own records and those they depend on are
// enough for a plant, and none of another instrument's are among them.
func TestAPartIsWholeByItself(t *testing.T) {
	s := plantOf(t)
	all, err := plant.All(s, "instrument", plant.ReadInstrument)
	if err != nil {
		t.Fatal(err)
	}
	want := export.Wanted{Instruments: []string{all[2].ID}, Part: "tag " + all[2].Tag}
	first := taken(t, s, want)
	got := files(t, first)
	if n := strings.Count(got["instruments.json"], "\n{"); n != 1 {
		t.Fatalf("%d instruments", n)
	}
	if !strings.Contains(got["README.txt"], "IT IS A PART: tag "+all[2].Tag) {
		t.Error("the read-me does not say that it is a part")
	}
	if strings.Contains(got["record/changes.jsonl"], all[3].ID) {
		t.Error("another instrument's record is among the changes")
	}
	fresh := open(t, t.TempDir())
	if _, err := export.Bring(context.Background(), fresh, os.DirFS(first)); err != nil {
		t.Fatal(err)
	}
	same(t, files(t, taken(t, fresh, export.Wanted{Part: want.Part})), got)
}

func TestWhatWasAlteredIsNotBroughtIn(t *testing.T) {
	s := plantOf(t)
	dir := taken(t, s, export.Wanted{})
	name := filepath.Join(dir, "visits.csv")
	b, err := os.ReadFile(name)
	if err == nil {
		err = os.WriteFile(name, bytes.Replace(b, []byte("pass"), []byte("fail"), 1), 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	_, err = export.Bring(context.Background(), open(t, t.TempDir()), os.DirFS(dir))
	if !errors.Is(err, export.ErrNot) || !strings.Contains(err.Error(), "visits.csv") {
		t.Errorf("an altered export: %v", err)
	}
	dir = taken(t, s, export.Wanted{})
	other := open(t, t.TempDir())
	if _, err := demo.Seed(context.Background(), other, demo.Options{
		Seed: 9, Today: time.Now(), Instruments: 2, Years: 1,
	}); err != nil {
		t.Fatal(err)
	}
	if _, err := export.Bring(context.Background(), other, os.DirFS(dir)); !errors.Is(err, export.ErrUsed) {
		t.Errorf("into a plant with work of its own: %v", err)
	}
}

func TestNoCellIsAFormula(t *testing.T) {
	for text, want := range map[string]string{
		"=1+1": "'=1+1", " @x": "' @x", "plain": "plain", "-": "'-", "": "",
	} {
		if got := export.Cell(text); got != want {
			t.Errorf("%q became %q", text, got)
		}
	}
}
