package office

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"gaugewright/sync/merge"
)

// searchCases are the cases that the phone's search is tested with too.
const searchCases = "../../testdata/search.json"

func TestSearch(t *testing.T) {
	b, err := os.ReadFile(searchCases)
	if err != nil {
		t.Fatal(err)
	}
	var groups []struct {
		Instrument map[string]json.RawMessage
		Today      string
		Cases      []struct {
			Search string
			Fit    int
		}
	}
	if err := json.Unmarshal(b, &groups); err != nil || len(groups) == 0 {
		t.Fatal(len(groups), err)
	}
	for _, g := range groups {
		if len(g.Cases) == 0 {
			t.Fatal("a group has no cases")
		}
		c := newCard(readFacts(stateOf(g.Instrument)))
		for _, one := range g.Cases {
			if got := newSearch(one.Search).fits(&c.texts, c.overdue(g.Today), nearFit); int(got) != one.Fit {
				t.Errorf("%q on %s: fit %d, want %d", one.Search, c.Tag, got, one.Fit)
			}
		}
	}
}

// stateOf makes a record of an instrument with some fields.
func stateOf(fields map[string]json.RawMessage) merge.State {
	s := merge.State{ID: "i", Kind: "instrument"}
	for name, v := range fields {
		s.Fields = append(s.Fields, merge.Field{Name: name, Heads: []merge.Head{{Change: "c", Value: v}}})
	}
	slices.SortFunc(s.Fields, func(a, b merge.Field) int { return strings.Compare(a.Name, b.Name) })
	return s
}

func TestNatural(t *testing.T) {
	order := []string{"PI-2", "PI-10", "pi-11", "PI-100", "PT-1"}
	for i := 1; i < len(order); i++ {
		if natural(order[i-1]) >= natural(order[i]) {
			t.Errorf("%s does not come before %s", order[i-1], order[i])
		}
	}
}

func TestSlips(t *testing.T) {
	// Worked by hand: one letter wrong, left out, too many, two changed places, and one of each of two.
	for _, c := range []struct {
		a, b string
		n    int
	}{{"valve", "valve", 0}, {"valve", "volve", 1}, {"valve", "vlve", 1}, {"valve", "vallve", 1},
		{"valve", "vavle", 1}, {"valve", "vavel", 2}, {"valve", "pump", 3}} {
		if got := slips(c.a, c.b, 2); got != c.n {
			t.Errorf("slips(%q, %q) = %d, want %d", c.a, c.b, got, c.n)
		}
	}
}
