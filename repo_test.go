package gaugewright_test

// This table is policy: change it in a commit of its own, with the reason.

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// row is one package: its path inside the module, the packages of this module that it may import,
// and those that its tests may import in addition. Every arrow is listed: there is no wildcard. The
// package comment says what a package is for.
type row struct{ path, may, tests string }

const basis = "calc/document calc/units calc/numeric"

var table = []row{
	{"calc", basis + " calc/kinds/bursttest calc/kinds/gaugetest calc/kinds/leaktest calc/kinds/pitotstatic calc/kinds/programmed calc/kinds/switchtest " +
		"calc/after calc/airdata calc/balance calc/burst calc/choose calc/serves calc/conformity calc/energy calc/entry calc/gauge calc/head calc/history calc/leak calc/medium calc/points calc/programme calc/reverse calc/rounding calc/rounds calc/standard calc/switches calc/trace calc/uncertainty calc/visit calc/work",
		"calc/calctest calc/schema"}, // the table of the calculations and of the kinds
	{"calc/calctest", "calc/document", ""}, // imports package testing, so that only tests may import it
	{"calc/document", "", ""},
	{"calc/schema", "", "calc calc/document"},          // its reference shows calculated examples
	{"calc/numeric", "calc/document", "calc/calctest"}, // its calculation: quantile
	{"calc/units", "calc/document calc/numeric", "calc/calctest"},
	{"calc/points", basis, "calc/calctest"},
	{"calc/formula", "calc/document calc/numeric", "calc/calctest"},
	{"calc/uncertainty", basis + " calc/formula", "calc/calctest"},
	{"calc/conformity", basis, "calc/calctest"},
	{"calc/medium", basis, "calc/calctest"},
	{"calc/standard", basis + " calc/uncertainty", "calc/calctest"},
	{"calc/head", basis + " calc/medium calc/uncertainty", "calc/calctest"},
	{"calc/balance", basis + " calc/medium calc/uncertainty", "calc/calctest"},
	{
		"calc/applied", basis + " calc/uncertainty calc/standard calc/head", "calc/calctest",
	}, // a reading of a standard and the column below it make one pressure
	{
		"calc/gauge",
		basis + " calc/uncertainty calc/conformity calc/standard calc/head calc/points calc/applied",
		"calc/calctest",
	}, // a gauge's verdict needs its standard, its rule and the column between them
	{"calc/leak", basis + " calc/uncertainty", "calc/calctest"},
	{"calc/switches", basis + " calc/uncertainty", "calc/calctest"},
	{"calc/burst", basis + " calc/uncertainty", "calc/calctest"},
	{"calc/energy", basis + " calc/uncertainty", "calc/calctest"},
	{"calc/airdata", basis + " calc/uncertainty", "calc/calctest"},
	{"calc/trace", basis, ""},
	{"calc/history", basis, "calc/calctest"},
	{
		"calc/programme", basis + " calc/energy calc/leak", "calc/schema",
	}, // a programme's steps are judged by these calculations
	// A kind of work knows no other kind, and what they share knows none.
	{"calc/work", basis + " calc/airdata calc/applied calc/conformity calc/energy calc/gauge calc/head calc/leak calc/standard calc/uncertainty", "calc/calctest"},
	{
		"calc/kinds/gaugetest", basis + " calc/conformity calc/gauge calc/points calc/standard calc/work",
		"calc/calctest",
	},
	{
		"calc/kinds/leaktest",
		basis + " calc/conformity calc/gauge calc/leak calc/standard calc/uncertainty calc/work",
		"calc/calctest",
	},
	{
		"calc/kinds/switchtest",
		basis + " calc/conformity calc/gauge calc/standard calc/switches calc/uncertainty calc/work",
		"calc/calctest",
	},
	{
		"calc/kinds/bursttest",
		basis + " calc/burst calc/conformity calc/gauge calc/standard calc/uncertainty calc/work",
		"calc/calctest",
	},
	{
		"calc/kinds/pitotstatic",
		basis + " calc/airdata calc/conformity calc/gauge calc/standard calc/work", "calc/calctest",
	},
	{"calc/kinds/programmed", basis + " calc/conformity calc/programme calc/work", "calc/calctest"},
	{
		"calc/entry", basis + " calc/work", "calc/calctest",
	}, // a kind says what it doubts; entry knows none
	{"calc/reverse", basis + " calc/rounding calc/standard calc/work", "calc/calctest"}, // sheets of any kind, judged twice
	{
		"calc/serves", basis + " calc/airdata calc/gauge calc/standard calc/work", "calc/calctest",
	}, // a plan of any kind makes the demand
	{"calc/choose", "calc/document calc/numeric calc/visit", "calc"},
	{"calc/after", "calc/conformity calc/document calc/visit", "calc/calctest"},
	{"calc/visit", basis + " calc/rounding", "calc"}, // its cases go through the calculations
	{"calc/rounds", "calc/document", "calc/calctest"},
	{"calc/rounding", "calc/document calc/numeric", "calc/calctest"},
	{"calc/internal/bitdigest", "calc calc/document", ""},
	{"calc/internal/coverage", "", "calc calc/leak calc/uncertainty"},
	{"sync/clock", "", ""},
	{"sync/change", "sync/clock calc/document", ""},
	{"sync/journal", "sync/clock sync/change", ""},
	{"sync/merge", "sync/clock sync/change sync/journal calc/document", ""},
	{"sync/canonical", "calc/document", ""},
	{"sync/statement", "sync/canonical sync/merge", "sync/change"},
	{"sync/tight", "", ""},
	{"sync/engine", "", ""},
	{"sync/objects", "", "sync/objects/objectstest"},
	{"sync/objects/objectstest", "", ""}, // imports package testing, so that only tests may import it
	{"sync/postgres", "sync/engine", "sync/postgres/pgtest"},
	{"sync/postgres/pgtest", "", ""}, // imports package testing, so that only tests may import it
	{"sync/store", "sync/clock sync/change sync/engine sync/journal sync/merge", "sync/objects sync/objects/objectstest sync/postgres sync/postgres/pgtest sync/tight"},
	{"sync/link", "sync/clock sync/change sync/journal sync/merge sync/store calc/document", ""},
	{"sync/hub", "sync/clock sync/change sync/journal sync/merge sync/store sync/link", ""},
	{"sync/world", "", "sync/change sync/engine sync/hub sync/journal sync/link sync/merge sync/postgres sync/postgres/pgtest sync/statement sync/store"},
	{"server/config", "server/copies sync/objects", ""},
	{"server/copies", "sync/store", "sync/change"},
	{"server/watch", "sync/store", "sync/change"},
	{
		"server/auth", "sync/change sync/merge sync/store server/plant", "",
	}, // only plant knows which fields of a visit the office alone writes
	{"server/openid", "", ""},
	{"server/secure", "server/config server/labels", ""},
	{"server/site", "webapp", ""},
	{
		"server/plant",
		"calc calc/document calc/units calc/visit sync/change sync/merge sync/statement sync/store",
		"sync/clock",
	},
	{
		"server/demo",
		basis + " calc calc/airdata sync/change sync/merge sync/store server/plant server/auth server/certificates",
		"calc/visit server/dcc server/dcc/dcctest server/german server/paper sync/statement",
	},
	{
		"server/demo/company",
		"sync/change sync/clock sync/merge sync/store server/certificates server/demo server/plant", "calc",
	},
	{"server/register", basis + " calc calc/visit sync/change sync/merge sync/store server/plant", ""},
	{"server/german", "", ""}, // what papers, labels and forms for machines say in German
	{"server/labels", "sync/change server/german", ""},
	{"server/certificates", "calc calc/conformity calc/gauge calc/rounding calc/visit calc/document calc/numeric calc/units sync/change sync/merge server/plant server/labels server/dcc server/german server/paper", "sync/store"},
	{"server/paper", "sync/canonical sync/statement", "server/dcc"},
	{"server/dcc", "calc/numeric calc/units server/german", "server/dcc/dcctest"},
	{"server/dcc/dcctest", "", ""}, // imports package testing, so that only tests may import it
	{"server/office", "calc calc/choose calc/conformity calc/document calc/history calc/numeric calc/rounding calc/rounds calc/units calc/visit sync/change sync/merge sync/statement sync/store " +
		"server/auth server/certificates server/dcc server/labels server/paper server/plant server/register", "server/demo sync/clock"},
	{
		"server/export", "calc/document calc/units sync/change sync/merge sync/store server/office server/plant",
		"server/demo",
	}, // the documents of certificates come from the office
	{"server/report", "calc/document server/export server/german", ""},
	{
		"server/desk",
		"calc calc/choose calc/conformity calc/document calc/numeric calc/rounding calc/standard " +
			"sync/change sync/merge sync/store " +
			"server/german server/office server/plant server/report",
		"server/auth server/demo",
	},
	{"server/verify", "calc sync/change sync/journal sync/merge sync/statement sync/store server/certificates server/export server/office server/plant", "server/auth server/demo"},
	{"server/mail", "calc/document server/auth server/office sync/change sync/store", "server/plant sync/merge"},
	{"server/refusal", "calc/document server/desk server/labels server/office server/plant sync/journal sync/store", ""},
	{"server/machine", "calc/document server/office server/plant server/refusal sync/change sync/merge sync/store", "server/auth server/demo server/machine/client"},
	{"server/calendar", "calc/document server/office server/plant sync/change sync/merge sync/store", "server/auth"},
	{"server/hooks", "calc/document server/office sync/change sync/store", "server/auth server/plant sync/merge sync/postgres sync/postgres/pgtest"},
	{"server/machine/client", "", ""}, // generated from the description, for the tests of machine
	{"server/holdings", "calc/document server/auth server/office sync/change sync/merge sync/store", "sync/clock"},
	{"server/api", "calc calc/document sync/change sync/hub sync/journal sync/link sync/merge sync/store " +
		"server/auth server/calendar server/desk server/export server/holdings server/hooks server/labels server/machine server/mail server/office server/openid server/plant server/refusal server/report server/site server/watch", "server/certificates server/dcc server/paper server/verify sync/clock sync/merge sync/postgres sync/postgres/pgtest sync/statement sync/tight"},
	{"webapp", "", ""},
	{"cmd/gaugewright", "calc calc/document calc/programme calc/schema sync/change sync/hub sync/statement sync/store " +
		"sync/objects sync/postgres server/api server/auth server/config server/copies server/demo server/export server/hooks server/labels server/machine server/mail server/office server/openid server/paper server/plant server/register server/secure server/verify server/watch webapp", "sync/clock sync/objects/objectstest sync/postgres/pgtest"},
	{"cmd/scale", "server/auth server/demo/company server/plant sync/change sync/clock sync/store", ""},
	{"cmd/gaugewasm", "calc sync/merge", ""},
	{"cmd/webbuild", "calc/units", "calc server/german"}, // its tests compare the sentences of calc with their German
}

// barred lists imports that are barred at and below a path, each with its reason. Tests may import
// them.
var barred = []struct{ under, imports, reason string }{
	{
		"calc", "net/http os log math/rand math/rand/v2 time syscall/js",
		"calc knows pressure only: no I/O, clock or chance",
	},
	{"calc", "fmt encoding/json reflect", "the phone loads it: no reflection (hundreds of kB)"},
	{"calc", "math/big", "numeric.Exact holds decimals exactly; a second way to do it would be loaded by every phone"},
	{"sync/clock", "net/http os log time fmt encoding/json reflect", "pure; time arrives as a value"},
	{"sync/change", "net/http os log time fmt encoding/json reflect", "pure; the phone loads it"},
	{"sync/journal", "net/http os log", "pure"},
	{"sync/merge", "net/http os log time fmt encoding/json reflect", "pure; the phone loads it"},
	{"sync/link", "net/http os log", "the transport is given to it"},
	{"server/auth", "net/http/httputil", "no proxying here"},
	{"server/office", "net/http github.com/labstack/echo/v4", "HTTP belongs to server/api"},
}

// apart are packages under a barred path that the phone never loads.
var apart = map[string]bool{
	"calc/schema": true, "calc/calctest": true, "calc/internal/bitdigest": true,
	"calc/internal/coverage": true,
}

type pkg struct {
	ImportPath, Doc                    string
	Imports, TestImports, XTestImports []string
}

// list asks the go command about packages, as built for the machine in env.
func list(t *testing.T, env []string, patterns ...string) []pkg {
	t.Helper()
	cmd := exec.Command(
		"go",
		append([]string{"list", "-json=ImportPath,Doc,Imports,TestImports,XTestImports"}, patterns...)...,
	)
	cmd.Env = append(os.Environ(), env...)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all []pkg
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p pkg
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	if len(all) == 0 {
		t.Fatal("no packages listed")
	}
	return all
}

func names(list, path string) bool { return slices.Contains(strings.Fields(list), path) }

// arrows returns the imports that break the table, and the rows of the table without a package.
func arrows(rows []row, all []pkg) (wrong []string) {
	complain := func(format string, a ...any) { wrong = append(wrong, fmt.Sprintf(format, a...)) }
	table, met := map[string]row{}, map[string]bool{}
	for _, r := range rows {
		table[r.path] = r
	}
	for _, p := range all {
		path, inside := strings.CutPrefix(p.ImportPath, "gaugewright/")
		if !inside {
			continue // the root holds tests only
		}
		met[path] = true
		r, ok := table[path]
		if !ok {
			complain("%s: a package without a row in the table", path)
			continue
		}
		if !strings.HasPrefix(p.Doc, "Package ") && !strings.HasPrefix(p.Doc, "Command ") {
			complain("%s: no package comment that begins with Package or Command", path)
		}
		for _, imp := range p.Imports {
			if in, ok := strings.CutPrefix(imp, "gaugewright/"); ok && (!names(r.may, in) || in == "calc/calctest") {
				complain("%s imports %s: no arrow from the one to the other", path, in)
			}
			for _, b := range barred {
				if (path == b.under || strings.HasPrefix(path, b.under+"/")) && !apart[path] && names(b.imports, imp) {
					complain("%s imports %s: %s", path, imp, b.reason)
				}
			}
		}
		for _, imp := range slices.Concat(p.TestImports, p.XTestImports) {
			if in, ok := strings.CutPrefix(imp, "gaugewright/"); ok && in != path && !names(r.may+" "+r.tests, in) {
				complain("the tests of %s import %s: no arrow from the one to the other", path, in)
			}
		}
	}
	for _, r := range rows {
		if !met[r.path] {
			complain("%s: a row of the table without a package", r.path)
		}
		for _, path := range strings.Fields(r.may + " " + r.tests) {
			if _, ok := table[path]; !ok {
				complain("%s may import %s, which has no row", r.path, path)
			}
		}
	}
	return wrong
}

func TestArrows(t *testing.T) {
	for _, w := range arrows(table, list(t, nil, "./...")) {
		t.Error(w)
	}
	// The phone's module has files of its own.
	inside := list(t, []string{"GOOS=wasip1", "GOARCH=wasm"}, "-deps", "./cmd/gaugewasm")
	var ours []pkg
	var rows []row
	for _, p := range inside {
		if path, ok := strings.CutPrefix(p.ImportPath, "gaugewright/"); ok {
			ours = append(ours, p)
			for _, r := range table {
				if r.path == path {
					rows = append(rows, r)
				}
			}
		}
	}
	if len(ours) < 10 {
		t.Fatalf("the phone's module holds only %d packages", len(ours))
	}
	for _, w := range arrows(rows, ours) {
		if !strings.HasSuffix(w, "which has no row") { // a row names more packages than the module has
			t.Errorf("in the phone's module: %s", w)
		}
	}
}

// TestArrowsAreSeen checks that arrows finds each kind of fault.
func TestArrowsAreSeen(t *testing.T) {
	good := pkg{
		ImportPath: "gaugewright/calc/a", Doc: "Package a counts.",
		Imports:      []string{"math", "gaugewright/calc/b"},
		XTestImports: []string{"os", "gaugewright/calc/a", "gaugewright/calc/c"},
	}
	rows := []row{{"calc/a", "calc/b", "calc/c"}, {"calc/b", "", ""}, {"calc/c", "", ""}}
	rest := []pkg{
		{ImportPath: "gaugewright/calc/b", Doc: "Package b."},
		{ImportPath: "gaugewright/calc/c", Doc: "Package c."},
	}
	for name, tt := range map[string]struct {
		change func(p *pkg, rows []row) []row
		want   string
	}{
		"nothing": {func(_ *pkg, rows []row) []row { return rows }, ""},
		"import": {
			func(p *pkg, rows []row) []row { p.Imports = append(p.Imports, "gaugewright/calc/c"); return rows },
			"calc/a imports calc/c: no arrow",
		},
		"test import": {
			func(p *pkg, rows []row) []row { p.TestImports = []string{"gaugewright/calc/d"}; return rows },
			"the tests of calc/a import calc/d",
		},
		"barred": {
			func(p *pkg, rows []row) []row { p.Imports = append(p.Imports, "time"); return rows },
			"no I/O, clock or chance",
		},
		"no comment": {func(p *pkg, rows []row) []row { p.Doc = ""; return rows }, "no package comment"},
		"no row":     {func(_ *pkg, rows []row) []row { return rows[1:] }, "calc/a: a package without a row"},
		"no package": {
			func(_ *pkg, rows []row) []row { return append(rows, row{"calc/sheet", "", ""}) },
			"calc/sheet: a row of the table without a package",
		},
		"unknown path": {
			func(_ *pkg, rows []row) []row { rows[1].may = "calc/..."; return rows },
			"calc/b may import calc/..., which has no row",
		},
	} {
		p := good
		p.Imports = slices.Clone(good.Imports)
		table := tt.change(&p, slices.Clone(rows))
		wrong := arrows(table, append([]pkg{p}, rest...))
		if tt.want == "" && len(wrong) > 0 || tt.want != "" &&
			!slices.ContainsFunc(wrong, func(w string) bool { return strings.Contains(w, tt.want) }) {
			t.Errorf("%s: %q, want %q", name, wrong, tt.want)
		}
	}
}

func TestNoLongFiles(t *testing.T) {
	const most = 600
	seen := 0
	for _, top := range []string{"calc", "sync", "server", "cmd", "webapp/src", "webapp/e2e", "webapp/test"} {
		err := filepath.WalkDir(top, func(path string, d os.DirEntry, err error) error {
			if errors.Is(err, os.ErrNotExist) {
				return nil
			}
			if err != nil || d.IsDir() {
				return err
			}
			switch filepath.Ext(path) {
			case ".go", ".ts", ".tsx", ".css", ".mjs":
				if strings.HasSuffix(path, ".gen.ts") || strings.HasSuffix(path, ".gen.go") {
					return nil
				}
				b, err := os.ReadFile(path)
				if err != nil {
					return err
				}
				seen++
				if n := bytes.Count(b, []byte("\n")); n > most {
					t.Errorf("%s has %d lines; a file over %d holds two things", path, n, most)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if seen == 0 {
		t.Fatal("no file seen")
	}
}
