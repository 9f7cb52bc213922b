package gaugewright_test

// The documents of the repository are held to the code: package comments, the size of DEVELOPERS.md
// and the paths that it names.

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"gaugewright/calc"
)

const (
	filesWithoutDoc = 4   // a package with more non-test files than these has a doc.go
	leastDocLines   = 5   // lines of comment in a doc.go
	longestGuide    = 150 // lines of DEVELOPERS.md
	widestGuide     = 100 // columns of a line of DEVELOPERS.md
)

// goFiles returns the files of each folder with Go code, without tests and without doc.go.
func goFiles(t *testing.T) map[string][]string {
	t.Helper()
	folders := map[string][]string{}
	err := filepath.WalkDir(".", func(path string, entry os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if name := entry.Name(); entry.IsDir() {
			if path != "." && strings.HasPrefix(name, ".") || name == "node_modules" || name == "testdata" {
				return filepath.SkipDir
			}
			return nil
		}
		if strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
			folder := filepath.Dir(path)
			if folders[folder] == nil {
				folders[folder] = []string{}
			}
			if filepath.Base(path) != "doc.go" {
				folders[folder] = append(folders[folder], path)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(folders) < 30 {
		t.Fatalf("%d folders with Go code: the walk missed some", len(folders))
	}
	return folders
}

// packageComment returns the lines of comment directly above the package clause.
func packageComment(source string) []string {
	var comment []string
	for line := range strings.Lines(source) {
		line = strings.TrimRight(line, "\n")
		if strings.HasPrefix(line, "package ") {
			return comment
		}
		if strings.HasPrefix(line, "//") && !strings.HasPrefix(line, "//go:") {
			comment = append(comment, line)
		} else {
			comment = nil
		}
	}
	return nil
}

func TestPackageComments(t *testing.T) {
	for folder, files := range goFiles(t) {
		doc, err := os.ReadFile(filepath.Join(folder, "doc.go"))
		switch {
		case err == nil:
			comment := packageComment(string(doc))
			if len(comment) < leastDocLines {
				t.Errorf("%s/doc.go has %d lines of comment, less than %d: say what the package is for, its words, its flow and what it must never do",
					folder, len(comment), leastDocLines)
			}
			for i, line := range comment {
				if n := utf8.RuneCountInString(line); n > widestGuide {
					t.Errorf(
						"%s/doc.go: line %d of the comment has %d columns, more than %d", folder, i+1, n, widestGuide,
					)
				}
			}
			for _, file := range files {
				if again, err := os.ReadFile(file); err != nil {
					t.Error(err)
				} else if len(packageComment(string(again))) > 0 {
					t.Errorf("%s has a package comment; it belongs in %s/doc.go", file, folder)
				}
			}
		case !os.IsNotExist(err):
			t.Error(err)
		case len(files) > filesWithoutDoc:
			t.Errorf("%s has %d files and no doc.go", folder, len(files))
		default:
			found := false
			for _, file := range files {
				source, err := os.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				found = found || len(packageComment(string(source))) > 0
			}
			if !found {
				t.Errorf("%s has no package comment", folder)
			}
		}
	}
}

// guidePath finds what looks like a path of the repository between back-quotes.
var guidePath = regexp.MustCompile(
	"`((?:cmd|server|sync|calc|webapp|testdata|\\.ci)/[^` ]*|[A-Z]+\\.md|Makefile|[a-z]+_test\\.go)`",
)

// guideCell finds the index's rows: what, and where.
var guideCell = regexp.MustCompile(`(?m)^\| ([^|]+) \| ([^|]+) \|$`)

// missing returns the paths of a text that the repository does not have. A path may end in a symbol
// of the file behind a blank, and stars mean any name.
func missing(text string) (paths, absent []string) {
	for _, m := range guidePath.FindAllStringSubmatch(text, -1) {
		paths = append(paths, m[1])
		if found, err := filepath.Glob(m[1]); err != nil || len(found) == 0 {
			absent = append(absent, m[1])
		}
	}
	return paths, absent
}

func TestDevelopersGuide(t *testing.T) {
	source, err := os.ReadFile("DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	text := string(source)
	if n := strings.Count(text, "\n"); n > longestGuide {
		t.Errorf("DEVELOPERS.md has %d lines, more than %d: a format belongs in the package's doc.go, a decision in DECISIONS.md", n, longestGuide)
	}
	for i, line := range strings.Split(text, "\n") {
		if n := utf8.RuneCountInString(line); n > widestGuide {
			t.Errorf("DEVELOPERS.md:%d has %d columns, more than %d", i+1, n, widestGuide)
		}
	}
	if paths, absent := missing(text); len(paths) < 40 {
		t.Errorf("DEVELOPERS.md names %d paths: the index is not read", len(paths))
	} else {
		for _, path := range absent {
			t.Errorf("DEVELOPERS.md names %s, which is not there", path)
		}
	}
	_, index, found := strings.Cut(text, "## Where to find it\n")
	if !found {
		t.Fatal("DEVELOPERS.md has no index \"Where to find it\"")
	}
	index, _, _ = strings.Cut(index, "\n## ")
	rows := guideCell.FindAllStringSubmatch(index, -1)
	if len(rows) < 30 {
		t.Errorf("the index has %d rows", len(rows))
	}
	for _, row := range rows {
		if strings.Trim(row[1], "- ") == "" || row[1] == "question" {
			continue
		}
		if paths, _ := missing(row[2]); len(paths) == 0 {
			t.Errorf("the index names no path for %q", row[1])
		}
		checkSymbols(t, row[2])
	}
}

// guideSymbol finds the symbols of a row: names in back-quotes that are no path.
var guideSymbol = regexp.MustCompile("`([A-Za-z][A-Za-z0-9.]*)`")

// checkSymbols holds the names of a row to the files of that row.
func checkSymbols(t *testing.T, cell string) {
	t.Helper()
	paths, _ := missing(cell)
	var code strings.Builder
	for _, path := range paths {
		found, _ := filepath.Glob(path)
		for _, file := range found {
			if info, err := os.Stat(file); err == nil && info.IsDir() {
				inside, _ := filepath.Glob(file + "/*")
				found = append(found, inside...)
				continue
			}
			if source, err := os.ReadFile(file); err == nil {
				code.Write(source)
			}
		}
		for _, file := range found {
			if source, err := os.ReadFile(file); err == nil {
				code.Write(source)
			}
		}
	}
	for _, m := range guideSymbol.FindAllStringSubmatch(cell, -1) {
		name := m[1][strings.LastIndexByte(m[1], '.')+1:]
		if len(guidePath.FindString("`"+m[1]+"`")) == 0 && !strings.Contains(code.String(), name) {
			t.Errorf("the index names %s, which none of %v has", m[1], paths)
		}
	}
}

// Every document that a reader may follow a link from leads somewhere.
func TestLinks(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)#:]+)\)`)
	seen := 0
	err := filepath.WalkDir(".", func(path string, entry os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() && (path != "." && strings.HasPrefix(entry.Name(), ".") || entry.Name() == "node_modules") {
			return filepath.SkipDir
		}
		if filepath.Ext(path) != ".md" {
			return nil
		}
		source, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, m := range link.FindAllStringSubmatch(string(source), -1) {
			seen++
			if _, err := os.Stat(filepath.Join(filepath.Dir(path), m[1])); err != nil {
				t.Errorf("%s links to %s, which is not there", path, m[1])
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen == 0 {
		t.Fatal("no link seen")
	}
}

// TestReadmeSession runs the calculation that README.md shows and holds each shown part of the reply
// to what it gives.
func TestReadmeSession(t *testing.T) {
	source, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(
		`(?s)\$ cat sheet\.json\n(.*?)\n\$ bin/gaugewright calc (\w+) < sheet\.json\n(.*?)\n` + "```",
	).FindStringSubmatch(string(source))
	if m == nil {
		t.Fatal("README.md shows no session")
	}
	reply := string(calc.Call(m[2], []byte(m[1])))
	parts := strings.Split(strings.ReplaceAll(m[3], "\n ", " "), "…")
	if len(parts) < 3 {
		t.Fatalf("README.md shows %d parts of the reply", len(parts))
	}
	rest := reply
	for _, part := range parts {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		_, behind, found := strings.Cut(rest, part)
		if !found {
			t.Fatalf("README.md shows %s; calc %s gives %s", part, m[2], reply)
		}
		rest = behind
	}
}

// TestSecurityTable: each test that server/SECURITY.md names is there, and what is not met as a
// whole has a reason.
func TestSecurityTable(t *testing.T) {
	b, err := os.ReadFile("server/SECURITY.md")
	if err != nil {
		t.Fatal(err)
	}
	declared := map[string]bool{}
	err = filepath.WalkDir(".", func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() && entry.Name() == "node_modules" {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, "_test.go") {
			return nil
		}
		source, err := os.ReadFile(path)
		for _, m := range regexp.MustCompile(`(?m)^func (Test\w+)\(`).FindAllSubmatch(source, -1) {
			declared[string(m[1])] = true
		}
		return err
	})
	if err != nil || len(declared) < 100 {
		t.Fatalf("%d tests found: %v", len(declared), err)
	}
	rows := 0
	for line := range strings.Lines(string(b)) {
		cells := strings.Split(strings.TrimSpace(line), " | ")
		if !strings.HasPrefix(line, "| ") || len(cells) != 3 || cells[1] == "state" {
			continue
		}
		rows++
		named := regexp.MustCompile("`(Test\\w+)`").FindAllStringSubmatch(cells[2], -1)
		for _, m := range named {
			if !declared[m[1]] {
				t.Errorf("%s names %s, which is no test", cells[0], m[1])
			}
		}
		reason := regexp.MustCompile("`Test\\w+`").ReplaceAllString(cells[2], "")
		switch cells[1] {
		case "met":
			if len(named) == 0 && !strings.Contains(reason, "server/PRIVACY.md") {
				t.Errorf("%s: met, by no test", cells[0])
			}
		case "partly", "not":
			if len(strings.Fields(reason)) < 8 {
				t.Errorf("%s: %s, without a reason", cells[0], cells[1])
			}
		default:
			t.Errorf("%s: the state is %q", cells[0], cells[1])
		}
	}
	if rows < 50 {
		t.Errorf("%d rows: the table is not read", rows)
	}
}
