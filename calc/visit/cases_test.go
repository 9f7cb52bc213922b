package visit_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/calc"
)

// visitCase is a visit with its runs and the result of the rules. Want has the parts that the case
// is about. The browser's tests read the same files, and so do those of server/plant.
type visitCase struct {
	About string
	Visit json.RawMessage
	Runs  []json.RawMessage
	Want  map[string]any
}

func cases(t *testing.T) []visitCase {
	t.Helper()
	files, err := filepath.Glob("../../testdata/visits/*.json")
	if err != nil || len(files) < 2 {
		t.Fatal("there are no cases of visits:", files, err)
	}
	var all []visitCase
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var list []visitCase
		if err := json.Unmarshal(b, &list); err != nil || len(list) == 0 {
			t.Fatal(f, len(list), err)
		}
		all = append(all, list...)
	}
	return all
}

// said returns the reply of the calculation visit, with its runs reduced to their order and their
// effective captures, each with those it replaced.
func said(t *testing.T, c *visitCase) map[string]any {
	t.Helper()
	if c.Runs == nil {
		c.Runs = []json.RawMessage{}
	}
	doc, err := json.Marshal(map[string]any{"visit": c.Visit, "runs": c.Runs})
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(calc.Call("visit", doc), &got); err != nil {
		t.Fatal(err)
	}
	if got["error"] != nil {
		t.Fatalf("%s: %v", c.About, got["error"])
	}
	order, effective := []any{}, map[string]any{}
	for _, r := range got["runs"].([]any) {
		run := r.(map[string]any)
		order = append(order, run["id"])
		chains := []any{}
		for _, e := range run["effective"].([]any) {
			one := e.(map[string]any)
			chain := []any{one["id"]}
			if old, ok := one["earlier"].([]any); ok {
				chain = append(chain, old...)
			}
			chains = append(chains, chain)
		}
		effective[run["id"].(string)] = chains
	}
	got["runs"], got["effective"] = order, effective
	return got
}

func TestVisits(t *testing.T) {
	for _, c := range cases(t) {
		t.Run(c.About, func(t *testing.T) {
			if len(c.Want) == 0 {
				t.Fatal("the case wants nothing")
			}
			got := said(t, &c)
			for name, want := range c.Want {
				if diff := cmp.Diff(want, got[name]); diff != "" {
					t.Errorf("%s: %s", name, diff)
				}
			}
		})
	}
}
