// Package calctest gives tests the check values in testdata/published. Only tests import it.
package calctest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// Published decodes the check values called name, without ".json", into the value that into points
// to. The test fails if the file is missing, is no object of rows, or has an empty list: a test of
// published values that has no values must not pass.
func Published(t testing.TB, name string, into any) {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	b, err := read(dir, name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// read finds the module's root above dir and returns a file of check values that holds rows.
func read(dir, name string) ([]byte, error) {
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		up := filepath.Dir(dir)
		if up == dir {
			return nil, fmt.Errorf("%s: no go.mod above the test's folder", name)
		}
		dir = up
	}
	b, err := os.ReadFile(filepath.Join(dir, "testdata", "published", name+".json"))
	if err != nil {
		return nil, err
	}
	if err := rows(b); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return b, nil
}

// rows checks that a file has at least one list of objects, and that no list of it is empty.
func rows(b []byte) error {
	var file map[string]json.RawMessage
	if err := json.Unmarshal(b, &file); err != nil {
		return err
	}
	n := 0
	for key, value := range file {
		if !bytes.HasPrefix(value, []byte("[")) {
			continue
		}
		var list []json.RawMessage
		if err := json.Unmarshal(value, &list); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
		if len(list) == 0 {
			return fmt.Errorf("%s is empty", key)
		}
		for _, row := range list {
			if bytes.Equal(row, []byte("{}")) {
				return fmt.Errorf("%s has an empty row", key)
			}
			if bytes.HasPrefix(row, []byte("{")) {
				n++
			}
		}
	}
	if n == 0 {
		return fmt.Errorf("no rows")
	}
	return nil
}
