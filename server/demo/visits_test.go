package demo_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"gaugewright/server/demo"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

const visitCases = "../../testdata/visits/demo.json"

// visitCase is a case of testdata/visits: a visit, its runs, and what the rules say about them.
type visitCase struct {
	About string            `json:"about"`
	Visit json.RawMessage   `json:"visit"`
	Runs  []json.RawMessage `json:"runs"`
	Want  map[string]any    `json:"want"`
}

// without returns a state's bytes without fields that are long and irrelevant to the rules.
func without(s merge.State, names ...string) json.RawMessage {
	kept := s
	kept.Fields = nil
	for _, f := range s.Fields {
		long := false
		for _, n := range names {
			long = long || f.Name == n
		}
		if !long {
			kept.Fields = append(kept.Fields, f)
		}
	}
	return kept.Bytes()
}

// caseOf writes a case of a visit, with what the office says about it.
func caseOf(t *testing.T, src plant.Source, about string, v plant.Visit) visitCase {
	t.Helper()
	state, _, err := src.Record(v.ID)
	if err != nil {
		t.Fatal(err)
	}
	kids, err := src.Children(v.ID)
	if err != nil {
		t.Fatal(err)
	}
	c := visitCase{About: about, Visit: state.Bytes()}
	var runs []plant.Run
	for _, k := range kids {
		if k.Kind == "run" {
			c.Runs = append(c.Runs, without(k, "plan"))
		}
	}
	if runs, err = plant.Runs(src, v.ID); err != nil {
		t.Fatal(err)
	}
	reported, order, effective := map[string]any{}, []string{}, map[string]any{}
	found, left := v.Speaking(runs)
	if found != nil {
		reported["as_found"] = found.ID
	}
	if left != nil {
		reported["as_left"] = left.ID
	}
	for i := range runs {
		order = append(order, runs[i].ID)
		chains := [][]string{}
		for _, e := range runs[i].Effective() {
			chain := []string{e.ID}
			if e.Supersedes != "" {
				chain = append(chain, e.Supersedes)
			}
			chains = append(chains, chain)
		}
		effective[runs[i].ID] = chains
	}
	c.Want = map[string]any{
		"status": v.Status, "reported": reported, "runs": order, "effective": effective,
		"summary": v.Summary,
	}
	return c
}

// TestVisitsOfThePlantAreCases keeps testdata/visits/demo.json current: visits of the demo plant in
// their states, with what plant says about them. Go's tests and the browser's read the file.
func TestVisitsOfThePlantAreCases(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 1, Today: today, Call: simple})
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	var list []visitCase
	met := map[string]bool{}
	for _, v := range all(t, visits, err) {
		var m struct{ Kind string }
		if err := json.Unmarshal(v.Method.Definition, &m); err != nil {
			t.Fatal(err)
		}
		about := m.Kind + ", " + string(v.Status)
		if v.Adjusted != nil && v.Adjusted.Done {
			about += ", adjusted"
		}
		if met[about] || m.Kind == "" || len(list) >= 24 {
			continue
		}
		met[about] = true
		list = append(list, caseOf(t, s, about, v))
	}
	b, err := json.MarshalIndent(list, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	b = append(b, '\n')
	if *write {
		if err := os.WriteFile(visitCases, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if old, err := os.ReadFile(visitCases); err != nil || !bytes.Equal(old, b) {
		t.Errorf(
			"%s no longer holds what there is: go test ./server/demo -run TestVisitsOfThePlantAreCases -args -write",
			visitCases,
		)
	}
}
