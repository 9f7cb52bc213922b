package calc_test

import (
	"bytes"
	"go/ast"
	"go/build"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// mathAllowed are the functions of package math with the same bits on every machine. Constants are
// allowed too.
var mathAllowed = map[string]bool{
	"Sqrt": true, "Floor": true, "Ceil": true, "Trunc": true, "Round": true, "Abs": true, "Frexp": true, "Ldexp": true,
	"IsNaN": true, "IsInf": true, "Inf": true, "Float64bits": true, "Float64frombits": true,
}

// importsBarred would bring reflection, a clock, the outside world or other bits into the phone's
// module.
var importsBarred = map[string]bool{
	"fmt": true, "encoding/json": true, "reflect": true, "os": true, "time": true, "net": true, "net/http": true, "log": true,
	"math/rand": true, "math/rand/v2": true, "math/big": true, "math/cmplx": true, "maps": true, "sync": true, "context": true,
}

// owed are packages that still break a rule. The test fails until the row of a clean package is
// removed.
var owed = map[string]struct{ source, object bool }{}

// linter walks one package and reports what could give other bits on another machine.
type linter struct {
	fset   *token.FileSet
	info   *types.Info
	report func(pos token.Pos, what string)
}

func (l *linter) float(e ast.Expr) bool {
	tv := l.info.Types[e]
	if tv.Value != nil || tv.Type == nil {
		return false // constants are exact
	}
	b, ok := tv.Type.Underlying().(*types.Basic)
	return ok && b.Info()&types.IsFloat != 0
}

func powerOfTwo(tv types.TypeAndValue) bool {
	if tv.Value == nil {
		return false
	}
	x, err := strconv.ParseFloat(tv.Value.ExactString(), 64)
	if err != nil {
		return false
	}
	for x > 1 {
		x /= 2
	}
	return x == 1
}

// fusible reports whether the compiler may fuse e into an addition: a product, or a quotient by a
// power of two, which becomes a product. Parentheses and signs do not stop it.
func (l *linter) fusible(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.ParenExpr:
		return l.fusible(e.X)
	case *ast.UnaryExpr:
		return l.fusible(e.X)
	case *ast.BinaryExpr:
		if !l.float(e) {
			return false
		}
		return e.Op == token.MUL || e.Op == token.QUO && powerOfTwo(l.info.Types[e.Y])
	}
	return false
}

// visit checks one file. A product may occur only inside a float conversion or under * and /: if it
// is stored, returned or passed on, a variable or an inlined function may carry it into an
// addition.
func (l *linter) visit(file *ast.File) {
	var stack []ast.Node
	ast.Inspect(file, func(n ast.Node) bool {
		if n == nil {
			stack = stack[:len(stack)-1]
			return false
		}
		stack = append(stack, n)
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if l.fusible(n) && !l.guarded(stack) {
				l.report(n.Pos(), "a float product that is not converted can be fused with an addition")
			}
		case *ast.AssignStmt:
			if n.Tok == token.MUL_ASSIGN && l.float(n.Lhs[0]) && !powerOfTwo(l.info.Types[n.Rhs[0]]) {
				l.report(n.Pos(), "a float product that is not converted can be fused with an addition")
			}
		case *ast.RangeStmt:
			if t := l.info.Types[n.X].Type; t != nil {
				if _, ok := t.Underlying().(*types.Map); ok {
					l.report(n.Pos(), "a map is walked in another order each time")
				}
			}
		case *ast.GoStmt:
			l.report(n.Pos(), "a goroutine")
		case *ast.SelectorExpr:
			if id, ok := n.X.(*ast.Ident); ok {
				if p, ok := l.info.Uses[id].(*types.PkgName); ok && p.Imported().Path() == "math" {
					if _, constant := l.info.Uses[n.Sel].(*types.Const); !constant && !mathAllowed[n.Sel.Name] {
						l.report(n.Pos(), "math."+n.Sel.Name+" differs between machines")
					}
				}
			}
		}
		return true
	})
	for _, imp := range file.Imports {
		if path, _ := strconv.Unquote(imp.Path.Value); importsBarred[path] {
			l.report(imp.Pos(), "import of "+path)
		}
	}
}

// math reports whether a call is of package math.
func (l *linter) math(call *ast.CallExpr) bool {
	sel, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	id, ok := sel.X.(*ast.Ident)
	if !ok {
		return false
	}
	p, ok := l.info.Uses[id].(*types.PkgName)
	return ok && p.Imported().Path() == "math"
}

// guarded reports whether the product at the top of the stack goes only into a conversion, another
// product or quotient, a comparison or a function that is not inlined.
func (l *linter) guarded(stack []ast.Node) bool {
	for i := len(stack) - 2; i >= 0; i-- {
		switch p := stack[i].(type) {
		case *ast.ParenExpr, *ast.UnaryExpr:
		case *ast.BinaryExpr:
			switch p.Op {
			case token.ADD, token.SUB:
				return false
			case token.MUL:
				return true // reported only as a part of the larger product
			}
			return true
		case *ast.CallExpr:
			if tv := l.info.Types[p.Fun]; tv.IsType() {
				b, ok := tv.Type.Underlying().(*types.Basic)
				return ok && b.Info()&types.IsFloat != 0
			}
			return l.math(p) // no function of math adds to its argument
		default:
			return false // stored, passed on or returned, perhaps into an addition
		}
	}
	return true
}

// pure lists the packages that must give the same bits, relative to the root.
func pure(t *testing.T) (root string, paths []string) {
	t.Helper()
	root, err := filepath.Abs("..")
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("go", "list", "./calc/...", "./sync/merge", "./sync/change", "./sync/clock")
	cmd.Dir = root
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range strings.Fields(string(out)) {
		if p != "gaugewright/calc/schema" && p != "gaugewright/calc/calctest" && !strings.Contains(p, "/internal/") {
			paths = append(paths, p)
		}
	}
	if len(paths) < 5 {
		t.Fatalf("only %d packages", len(paths))
	}
	return root, paths
}

func lint(
	fset *token.FileSet, path string, files []*ast.File, imp types.Importer,
	report func(token.Pos, string),
) error {
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}}
	conf := types.Config{Importer: imp}
	if _, err := conf.Check(path, fset, files, info); err != nil {
		return err
	}
	l := &linter{fset, info, report}
	for _, f := range files {
		l.visit(f)
	}
	return nil
}

func TestSourceIsDeterministic(t *testing.T) {
	if testing.Short() {
		t.Skip("type-checks every package from source")
	}
	root, paths := pure(t)
	fset := token.NewFileSet()
	imp := importer.ForCompiler(fset, "source", nil)
	for _, path := range paths {
		dir := filepath.Join(root, strings.TrimPrefix(path, "gaugewright/"))
		names, _ := filepath.Glob(filepath.Join(dir, "*.go"))
		var files []*ast.File
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			if built, err := build.Default.MatchFile(dir, filepath.Base(name)); err != nil {
				t.Fatal(err)
			} else if !built { // behind a build tag: errors that a test plants on purpose
				continue
			}
			f, err := parser.ParseFile(fset, name, nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, f)
		}
		findings := 0
		err := lint(fset, path, files, imp, func(pos token.Pos, what string) {
			findings++
			if owed[path].source {
				t.Logf("owed: %s: %s", fset.Position(pos), what)
				return
			}
			t.Errorf("%s: %s", fset.Position(pos), what)
		})
		if err != nil {
			t.Errorf("%s: %v", path, err)
		}
		if owed[path].source && findings == 0 {
			t.Errorf("%s is clean: take its source row out of owed", path)
		}
	}
}

// TestLinterSees checks that the source check finds unsafe products and leaves converted ones
// alone.
func TestLinterSees(t *testing.T) {
	for body, want := range map[string]int{
		"return x*y + z": 1, "return z - x*y": 1, "z += 1; return (x*y) + z": 1, "return -(x*y) + z": 1, "return x*x + y*y": 2,
		"return float64(x*y) + z": 0, "return x*y/z": 0, "return z + x/2": 1, "return z + x/3": 0, "return float64(x*y+z)": 1,
		"p := x*y; return p + z": 1, "return x*y": 1, "z *= x; return z": 1, "return math.Exp(x)": 1, "return math.Sqrt(x)": 0, "for range map[int]int{} {}; return x": 1, "return 2*math.Pi + x": 0,
		"return float64(x*(y+z))": 0, "return x*(y+z)": 1, "z += x*y; return z": 1, "z -= x*y; return z": 1, "go func() {}(); return x": 1,
	} {
		src := "package p\nimport \"math\"\nvar _ = math.Pi\nfunc f(x, y, z float64) float64 { " + body + " }"
		fset := token.NewFileSet()
		f, err := parser.ParseFile(fset, "p.go", src, 0)
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		if err := lint(fset, "p", []*ast.File{f}, importer.ForCompiler(fset, "source", nil), func(token.Pos, string) { n++ }); err != nil {
			t.Fatal(err)
		}
		if n != want {
			t.Errorf("%s: %d findings, want %d", body, n, want)
		}
	}
}

// TestObjectsHaveNoFusedOperation compiles for processors with fused operations and searches for
// the instruction.
func TestObjectsHaveNoFusedOperation(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles every package for two more machines")
	}
	root, paths := pure(t)
	fused := regexp.MustCompile(`\tFN?M(ADD|SUB)[SD]\t`)
	for _, arch := range []string{"arm64", "riscv64"} {
		args := []string{"build"}
		for _, p := range paths {
			args = append(args, "-gcflags="+p+"=-S")
		}
		cmd := exec.Command("go", append(args, paths...)...)
		cmd.Dir = root
		cmd.Env = append(os.Environ(), "GOOS=linux", "GOARCH="+arch, "CGO_ENABLED=0")
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%.2000s", arch, err, out)
		}
		if !bytes.Contains(out, []byte("TEXT\tgaugewright/calc/numeric.Exp")) {
			t.Fatalf("%s: no listing of calc/numeric came out", arch)
		}
		found := map[string]bool{}
		for _, line := range bytes.Split(out, []byte("\n")) {
			at := bytes.Index(line, []byte("("+root+"/"))
			if !fused.Match(line) || at < 0 {
				continue
			}
			file, _, _ := strings.Cut(string(line[at+len(root)+2:]), ":")
			path := "gaugewright/" + filepath.Dir(file)
			found[path] = true
			if owed[path].object {
				t.Logf("owed: %s: %s", arch, bytes.TrimSpace(line))
				continue
			}
			t.Errorf("%s: %s", arch, bytes.TrimSpace(line))
		}
		for path, o := range owed {
			if o.object && !found[path] {
				t.Errorf("%s: %s is clean: take its object row out of owed", arch, path)
			}
		}
	}
}
