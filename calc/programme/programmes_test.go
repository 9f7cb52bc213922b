package programme_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gaugewright/calc/document"
	"gaugewright/calc/programme"
)

// run checks a programme against the facts of a document.
func run(t *testing.T, text, facts string) programme.Report {
	t.Helper()
	v, err := document.Parse([]byte(facts))
	if err != nil {
		t.Fatal(err)
	}
	steps, err := programme.Parse(text)
	in := document.Open(v)
	f := programme.ReadFacts(in, steps)
	if err := in.Done(); err != nil {
		t.Fatal(err)
	}
	if fault, ok := err.(*programme.Fault); ok {
		return programme.Report{Findings: []programme.Finding{
			{Level: "error", Code: fault.Code, Line: fault.Line, Message: fault.Message},
		}}
	} else if err != nil {
		t.Fatal(err)
	}
	return programme.Check(steps, f)
}

func file(t *testing.T, names ...string) string {
	t.Helper()
	for _, name := range names {
		b, err := os.ReadFile(filepath.Join("testdata", "programmes", name))
		if err == nil {
			return string(b)
		} else if !os.IsNotExist(err) {
			t.Fatal(err)
		}
	}
	t.Fatal("none of these is there: ", names)
	return ""
}

// TestProgrammes: every CODE.bad.txt has exactly that finding, at the level and line stated in the
// file; its near twin CODE.good.txt has none.
func TestProgrammes(t *testing.T) {
	bad, err := filepath.Glob("testdata/programmes/*.bad.txt")
	if err != nil || len(bad) == 0 {
		t.Fatal("no programmes", err)
	}
	seen := map[string]bool{}
	for _, path := range bad {
		name := strings.TrimSuffix(filepath.Base(path), ".bad.txt")
		code, _, _ := strings.Cut(name, ".")
		seen[code] = true
		t.Run(name, func(t *testing.T) {
			text := file(t, name+".bad.txt")
			first, _, _ := strings.Cut(text, "\n")
			var level string
			var line int
			if _, err := fmt.Sscanf(first, "# %s on line %d", &level, &line); err != nil {
				t.Fatal("the first line does not say what is expected:", err)
			}
			found := false
			for _, f := range run(t, text, file(t, name+".bad.json", name+".json", "default.json")).Findings {
				if f.Code != code {
					t.Errorf("also found: %+v", f)
				}
				found = found || f.Level == level && f.Line == line
				t.Logf("%+v", f)
			}
			if !found {
				t.Errorf("no %s %s on line %d", level, code, line)
			}
			for _, f := range run(t, file(t, name+".good.txt"), file(t, name+".json", "default.json")).Findings {
				t.Errorf("the twin: %+v", f)
			}
		})
	}
	source, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	codes := 0
	for _, path := range source {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?:\.say\("\w+"|\.fail\(), "(\w+)"|\.fail\("(\w+)"|(?:outside|fast)\(f\.\w+, "(\w+)"`).FindAllStringSubmatch(string(b), -1) {
			codes++
			if code := m[1] + m[2] + m[3]; !seen[code] {
				t.Errorf("%s: no programme shows %s", path, code)
			}
		}
	}
	if codes < 20 {
		t.Errorf("only %d codes found in the source", codes)
	}
}
