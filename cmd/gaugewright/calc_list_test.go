package main

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestListAndSchemasAgree: --list names what the folder of schemas holds, and --schema prints each.
func TestListAndSchemasAgree(t *testing.T) {
	var out bytes.Buffer
	if err := calculate([]string{"--list"}, strings.NewReader(""), &out, io.Discard); err != nil {
		t.Fatal(err)
	}
	listed := strings.Fields(out.String())
	slices.Sort(listed)
	files, err := os.ReadDir(filepath.Join("..", "..", "calc", "schema", "calculations"))
	if err != nil {
		t.Fatal(err)
	}
	var held []string
	for _, f := range files {
		held = append(held, strings.TrimSuffix(f.Name(), ".json"))
	}
	slices.Sort(held)
	if !slices.Equal(listed, held) {
		t.Errorf("listed %v\n  held %v", listed, held)
	}
	for _, calculation := range listed {
		out.Reset()
		if err := calculate([]string{calculation, "--schema"}, strings.NewReader(""), &out, io.Discard); err != nil {
			t.Errorf("%s: %v", calculation, err)
		}
		var form struct {
			Defs map[string]json.RawMessage `json:"$defs"`
		}
		if err := json.Unmarshal(out.Bytes(), &form); err != nil || form.Defs["input"] == nil ||
			form.Defs["output"] == nil {
			t.Errorf("%s --schema: %v, %d definitions", calculation, err, len(form.Defs))
		}
	}
}
