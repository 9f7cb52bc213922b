package calctest

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestMissingValuesFail checks that a missing or empty file gives an error and no values.
func TestMissingValuesFail(t *testing.T) {
	root := t.TempDir()
	inner := filepath.Join(root, "calc", "leak")
	published := filepath.Join(root, "testdata", "published")
	for _, dir := range []string{inner, published} {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	write := func(path, text string) {
		t.Helper()
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := read(inner, "a"); err == nil || !strings.Contains(err.Error(), "no go.mod") {
		t.Error("outside a module:", err)
	}
	write(filepath.Join(root, "go.mod"), "module m\n")
	if _, err := read(inner, "a"); !errors.Is(err, fs.ErrNotExist) {
		t.Error("missing:", err)
	}
	for text, want := range map[string]string{
		``:                                "unexpected end",
		`{}`:                              "no rows",
		`[]`:                              "cannot unmarshal",
		`{"description": "x"}`:            "no rows",
		`{"equations": ["a = b"]}`:        "no rows",
		`{"cases": []}`:                   "cases is empty",
		`{"cases": [{}]}`:                 "cases has an empty row",
		`{"cases": [{"a":1}], "lots":[]}`: "lots is empty",
		`{"cases": [{"a":1}]}`:            "",
	} {
		write(filepath.Join(published, "a.json"), text)
		_, err := read(inner, "a")
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

// TestEveryFileIsUsed checks that each file has a section in the README, and that a test reads it.
func TestEveryFileIsUsed(t *testing.T) {
	root := filepath.Join("..", "..")
	files, err := filepath.Glob(filepath.Join(root, "testdata", "published", "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	readme, err := os.ReadFile(filepath.Join(root, "testdata", "published", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	call := regexp.MustCompile(`calctest\.Published\(t, "([a-z_]+)"`)
	err = filepath.WalkDir(filepath.Join(root, "calc"), func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		b, err := os.ReadFile(path)
		for _, m := range call.FindAllSubmatch(b, -1) {
			used[string(m[1])] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".json")
		if !used[name] {
			t.Errorf("no test reads %s.json", name)
		}
		if !strings.Contains(string(readme), "`"+name+".json`") {
			t.Errorf("README.md names no sources of %s.json", name)
		}
		if b, err := os.ReadFile(f); err != nil {
			t.Error(err)
		} else if err := rows(b); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
