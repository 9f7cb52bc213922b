// Lint is go vet and staticcheck in one: a tool for go vet -vettool. Go runs it for each package
// and keeps the result in the build cache until the package, or an import, changes. Run separately,
// they load every package twice, and staticcheck loads everything again after each change.
//
// make test runs both in their original form; lint.test.mjs compares this list with theirs.
package main

import (
	"fmt"
	"go/token"
	"path/filepath"

	"golang.org/x/tools/go/analysis"
	"golang.org/x/tools/go/analysis/passes/appends"
	"golang.org/x/tools/go/analysis/passes/asmdecl"
	"golang.org/x/tools/go/analysis/passes/assign"
	"golang.org/x/tools/go/analysis/passes/atomic"
	"golang.org/x/tools/go/analysis/passes/bools"
	"golang.org/x/tools/go/analysis/passes/buildtag"
	"golang.org/x/tools/go/analysis/passes/cgocall"
	"golang.org/x/tools/go/analysis/passes/composite"
	"golang.org/x/tools/go/analysis/passes/copylock"
	"golang.org/x/tools/go/analysis/passes/defers"
	"golang.org/x/tools/go/analysis/passes/directive"
	"golang.org/x/tools/go/analysis/passes/errorsas"
	"golang.org/x/tools/go/analysis/passes/framepointer"
	"golang.org/x/tools/go/analysis/passes/hostport"
	"golang.org/x/tools/go/analysis/passes/httpresponse"
	"golang.org/x/tools/go/analysis/passes/ifaceassert"
	"golang.org/x/tools/go/analysis/passes/loopclosure"
	"golang.org/x/tools/go/analysis/passes/lostcancel"
	"golang.org/x/tools/go/analysis/passes/nilfunc"
	"golang.org/x/tools/go/analysis/passes/printf"
	"golang.org/x/tools/go/analysis/passes/shift"
	"golang.org/x/tools/go/analysis/passes/sigchanyzer"
	"golang.org/x/tools/go/analysis/passes/slog"
	"golang.org/x/tools/go/analysis/passes/stdmethods"
	"golang.org/x/tools/go/analysis/passes/stdversion"
	"golang.org/x/tools/go/analysis/passes/stringintconv"
	"golang.org/x/tools/go/analysis/passes/structtag"
	"golang.org/x/tools/go/analysis/passes/testinggoroutine"
	"golang.org/x/tools/go/analysis/passes/tests"
	"golang.org/x/tools/go/analysis/passes/timeformat"
	"golang.org/x/tools/go/analysis/passes/unmarshal"
	"golang.org/x/tools/go/analysis/passes/unreachable"
	"golang.org/x/tools/go/analysis/passes/unsafeptr"
	"golang.org/x/tools/go/analysis/passes/unusedresult"
	"golang.org/x/tools/go/analysis/passes/waitgroup"
	"golang.org/x/tools/go/analysis/unitchecker"
	"honnef.co/go/tools/analysis/lint"
	"honnef.co/go/tools/simple"
	"honnef.co/go/tools/staticcheck"
	"honnef.co/go/tools/stylecheck"
	"honnef.co/go/tools/unused"
)

// vet lists the analysers of go vet.
var vet = []*analysis.Analyzer{
	appends.Analyzer, asmdecl.Analyzer, assign.Analyzer, atomic.Analyzer, bools.Analyzer,
	buildtag.Analyzer, cgocall.Analyzer, composite.Analyzer, copylock.Analyzer, defers.Analyzer,
	directive.Analyzer, errorsas.Analyzer, framepointer.Analyzer, hostport.Analyzer,
	httpresponse.Analyzer, ifaceassert.Analyzer, loopclosure.Analyzer, lostcancel.Analyzer,
	nilfunc.Analyzer, printf.Analyzer, shift.Analyzer, sigchanyzer.Analyzer, slog.Analyzer,
	stdmethods.Analyzer, stdversion.Analyzer, stringintconv.Analyzer, structtag.Analyzer,
	testinggoroutine.Analyzer, tests.Analyzer, timeformat.Analyzer, unmarshal.Analyzer,
	unreachable.Analyzer, unsafeptr.Analyzer, unusedresult.Analyzer, waitgroup.Analyzer,
}

// unusedCode is staticcheck's U1000. On its own it reports nothing, since staticcheck combines it
// over all packages. Go vet checks a package together with its tests, so code that only a test uses
// counts as used here too.
var unusedCode = &analysis.Analyzer{
	Name:     "U1000report",
	Doc:      "code that nothing uses",
	Requires: []*analysis.Analyzer{unused.Analyzer.Analyzer},
	Run: func(pass *analysis.Pass) (any, error) {
		result := pass.ResultOf[unused.Analyzer.Analyzer].(unused.Result)
		used := map[string]bool{}
		key := func(o *unused.Object) string {
			return fmt.Sprint(filepath.Base(o.Position.Filename), o.Position.Line, o.Name)
		}
		for i := range result.Used {
			used[key(&result.Used[i])] = true
		}
		for i := range result.Unused {
			if o := &result.Unused[i]; !used[key(o)] {
				pass.Reportf(place(pass, o.Position), "%s %s is unused (U1000)", o.Kind, o.Name)
			}
		}
		return nil, nil
	},
}

// place converts a position into one in the files of a package.
func place(pass *analysis.Pass, at token.Position) token.Pos {
	for _, f := range pass.Files {
		if file := pass.Fset.File(f.FileStart); file.Name() == at.Filename {
			return file.Pos(at.Offset)
		}
	}
	return token.NoPos
}

func main() {
	all := append(vet, unusedCode)
	for _, list := range [][]*lint.Analyzer{simple.Analyzers, staticcheck.Analyzers, stylecheck.Analyzers} {
		for _, a := range list {
			if a.Analyzer.Name != "ST1000" { // repo_test.go checks for a comment above each package clause
				all = append(all, a.Analyzer)
			}
		}
	}
	unitchecker.Main(all...)
}
