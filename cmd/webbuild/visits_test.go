package main

import (
	"io"
	"testing"
)

// TestVisitsHaveALineOfTheirOwn: what the page shares with a visit counts for the page, what only a visit brings for the visit.
func TestVisitsHaveALineOfTheirOwn(t *testing.T) {
	out := files{
		"assets/main-A.js":   []byte(`import"./chunk-1.js";()=>import("./visit-A.js");()=>import("./office-A.js")`),
		"assets/visit-A.js":  []byte(`import"./chunk-1.js";import"./chunk-2.js"`),
		"assets/office-A.js": []byte(`import"./chunk-2.js"`),
		"assets/chunk-1.js":  nil,
		"assets/chunk-2.js":  nil,
	}
	for _, c := range []struct {
		name   string
		packed int
		ok     bool
	}{
		{"assets/chunk-1.js", 60_000, true},
		{"assets/chunk-1.js", 60_001, false},
		{"assets/chunk-2.js", 26_000, true},
		{"assets/visit-A.js", 26_001, false},
	} {
		if err := report(io.Discard, []size{{name: c.name, packed: c.packed}}, withVisits(budgets, out)); (err == nil) != c.ok {
			t.Errorf("%s of %d bytes: %v", c.name, c.packed, err)
		}
	}
}
