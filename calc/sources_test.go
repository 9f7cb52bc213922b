package calc_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// sourced is a declaration whose comment has a Source line.
type sourced struct{ file, text string }

// sourceLines returns the declarations with a Source line, by package and name: "leak.Evaluate".
func sourceLines(t *testing.T) map[string]sourced {
	t.Helper()
	all := map[string]sourced{}
	err := filepath.WalkDir(".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, group := range file.Comments {
			if _, text, found := strings.Cut(group.Text(), "Source:"); found {
				key := file.Name.Name + "." + owner(file, group)
				if _, twice := all[key]; twice {
					t.Errorf("calc/%s: two comments of %s have a Source line", path, key)
				}
				all[key] = sourced{"calc/" + path, strings.Join(strings.Fields(text), " ")}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 100 {
		t.Fatalf("%d Source lines: the walk missed some", len(all))
	}
	return all
}

// owner returns the name of the declaration that a comment is above, inside, or after on the same
// line. For a comment above several constants or types it is the first one after the comment.
func owner(file *ast.File, group *ast.CommentGroup) string {
	found := ""
	for _, decl := range file.Decls {
		switch d := decl.(type) {
		case *ast.FuncDecl:
			start := d.Pos()
			if d.Doc != nil {
				start = d.Doc.Pos()
			}
			if group.Pos() >= start && group.Pos() < d.End() {
				return d.Name.Name
			}
		case *ast.GenDecl:
			start := d.Pos()
			if d.Doc != nil {
				start = d.Doc.Pos()
			}
			if group.Pos() < start {
				continue
			}
			for _, spec := range d.Specs {
				name := ""
				switch s := spec.(type) {
				case *ast.ValueSpec:
					name = s.Names[0].Name
					if s.Comment == group {
						return name
					}
				case *ast.TypeSpec:
					name = s.Name.Name
				}
				if group.Pos() < spec.End() {
					return name
				}
			}
		}
	}
	return found
}

// TestSources compares SOURCES.md with the Source lines of the code: one row for each line,
// "memory" if the line says so, and existing tests.
func TestSources(t *testing.T) {
	text, err := os.ReadFile("SOURCES.md")
	if err != nil {
		t.Fatal(err)
	}
	tests := map[string]bool{}
	err = filepath.WalkDir(".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		source, err := os.ReadFile(path)
		for _, m := range regexp.MustCompile(`(?m)^func (Test\w+)\(`).FindAllSubmatch(source, -1) {
			tests[string(m[1])] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{"text": true, "memory": true, "part memory": true, "derived": true, "practice": true}
	lines := sourceLines(t)
	seen := map[string]bool{}
	row := regexp.MustCompile("(?m)^\\| `(\\w+\\.\\w+)` \\| ([^|]+) \\| ([^|]+) \\| ([^|]+) \\|$")
	for _, m := range row.FindAllStringSubmatch(string(text), -1) {
		key, document, from, checks := m[1], m[2], m[3], m[4]
		line, there := lines[key]
		switch {
		case !there:
			t.Errorf("calc/SOURCES.md has a row for %s, which has no Source line", key)
		case seen[key]:
			t.Errorf("calc/SOURCES.md has two rows for %s", key)
		case strings.Contains(line.text, "from memory") && !strings.Contains(from, "memory"):
			t.Errorf("%s: the Source line of %s says from memory, its row in SOURCES.md says %s", line.file, key, from)
		case strings.Contains(from, "memory") && !strings.Contains(line.text, "memory"):
			t.Errorf("%s: the row of %s says %s, its Source line does not", line.file, key, from)
		}
		seen[key] = true
		if !known[from] {
			t.Errorf("%s: %q is none of text, memory, part memory, derived, practice", key, from)
		}
		if len(document) < 4 {
			t.Errorf("%s: no document", key)
		}
		if checks != "nothing from outside" {
			for _, name := range strings.Split(checks, ", ") {
				if !tests[strings.Trim(name, "`")] {
					t.Errorf("%s: there is no test %s", key, name)
				}
			}
		}
	}
	for key, line := range lines {
		if !seen[key] {
			t.Errorf("%s: %s has a Source line and no row in calc/SOURCES.md; add: | `%s` | document, clause | text, memory, derived or practice | `TestName` |", line.file, key, key)
		}
	}
}
