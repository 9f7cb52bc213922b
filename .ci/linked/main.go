// Linked names each function of this module that the linker leaves out of every command, as deadcode
// does, and in a tenth of the time: it builds the commands without inlining, from the build cache,
// and compares their symbols with what the source declares. The linker keeps some methods that
// nothing calls, where a library looks methods up by name; make test runs deadcode itself.
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
)

// commands are what is held together; cmd/... has those that are shipped.
var commands = []string{"./cmd/...", "./calc/internal/bitdigest"}

func main() {
	if err := run(os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(out io.Writer) error {
	tool := os.Getenv("GO")
	if tool == "" {
		tool = "go"
	}
	dir, err := os.MkdirTemp("", "linked")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	packages, err := list(tool)
	if err != nil {
		return err
	}
	if _, err := output(tool, append([]string{"build", "-gcflags=gaugewright/...=-l", "-o", dir + "/"}, commands...)...); err != nil {
		return err
	}
	binaries, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil || len(binaries) == 0 {
		return errors.Join(err, errors.New("no command was built"))
	}
	there := map[string]bool{}
	for _, b := range binaries {
		if err := symbols(tool, b, there); err != nil {
			return err
		}
	}
	for _, p := range packages {
		if err := p.missing(there, out); err != nil {
			return err
		}
	}
	return nil
}

type pack struct {
	ImportPath, Dir, Name string
	GoFiles               []string
	Module                *struct{ Path string }
}

// list returns the packages of this module that the commands are made of.
func list(tool string) (all []pack, err error) {
	b, err := output(tool, append([]string{"list", "-deps", "-json=ImportPath,Dir,Name,GoFiles,Module"}, commands...)...)
	if err != nil {
		return nil, err
	}
	for d := json.NewDecoder(bytes.NewReader(b)); ; {
		var p pack
		switch err := d.Decode(&p); {
		case errors.Is(err, io.EOF):
			return all, nil
		case err != nil:
			return nil, err
		}
		if p.Module != nil && p.Module.Path == "gaugewright" {
			all = append(all, p)
		}
	}
}

// kinds of a generic function stand in brackets, which may hold others.
var kinds = regexp.MustCompile(`\[[^\[\]]*\]`)

// symbols adds the functions of a binary: PACKAGE.FUNC, PACKAGE.TYPE.METHOD. Those of a command's own
// package are called main by the linker, whichever command it is.
func symbols(tool, binary string, there map[string]bool) error {
	b, err := output(tool, "tool", "nm", binary)
	if err != nil {
		return err
	}
	for line := range bytes.Lines(b) {
		fields := bytes.Fields(line)
		if len(fields) < 3 || fields[1][0]|0x20 != 't' {
			continue
		}
		name := string(bytes.Join(fields[2:], []byte(" ")))
		for at := kinds.FindString(name); at != ""; at = kinds.FindString(name) {
			name = strings.ReplaceAll(name, at, "")
		}
		if own, ok := strings.CutPrefix(name, "main."); ok {
			name = "gaugewright/cmd." + own
		}
		if strings.HasPrefix(name, "gaugewright/") {
			there[strings.NewReplacer("(*", "", ")", "").Replace(name)] = true
		}
	}
	return nil
}

// missing writes what a package declares and no command has.
func (p *pack) missing(there map[string]bool, out io.Writer) error {
	of := p.ImportPath
	if p.Name == "main" {
		of = "gaugewright/cmd"
	}
	root, err := os.Getwd()
	if err != nil {
		return err
	}
	for _, name := range p.GoFiles {
		files := token.NewFileSet()
		f, err := parser.ParseFile(files, filepath.Join(p.Dir, name), nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Body == nil || fn.Name.Name == "_" || fn.Recv == nil && (fn.Name.Name == "init" || fn.Name.Name == "main") {
				continue
			}
			called := fn.Name.Name
			if fn.Recv != nil {
				called = receiver(fn.Recv.List[0].Type) + "." + called
			}
			if there[of+"."+called] {
				continue
			}
			at := files.Position(fn.Pos())
			place, err := filepath.Rel(root, at.Filename)
			if err != nil {
				return err
			}
			fmt.Fprintf(out, "%s:%d:%d: unreachable func: %s\n", place, at.Line, at.Column, called)
		}
	}
	return nil
}

// receiver returns the name of a method's type.
func receiver(e ast.Expr) string {
	switch t := e.(type) {
	case *ast.StarExpr:
		return receiver(t.X)
	case *ast.IndexExpr:
		return receiver(t.X)
	case *ast.IndexListExpr:
		return receiver(t.X)
	case *ast.Ident:
		return t.Name
	}
	return ""
}

func output(name string, args ...string) ([]byte, error) {
	c := exec.Command(name, args...)
	c.Stderr = os.Stderr
	b, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("%s %s: %w", name, strings.Join(args, " "), err)
	}
	return b, nil
}
