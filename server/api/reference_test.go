package api

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/server/refusal"
)

//go:generate go test -run TestReference$ -args -write

var writeReference = flag.Bool("write", false, "write README.md from the route table")

const guest = "anybody"

// route is a line of the table in New.
type route struct{ method, path, handler, who string }

// TestReference holds README.md to the route table, the bodies that handlers decode and the codes
// of refusals. go generate writes it.
func TestReference(t *testing.T) {
	p := source(t)
	var b strings.Builder
	b.WriteString("# The HTTP API\n\nGenerated from the route table in `api.go` by `go generate ./server/api`; do not edit.\n\n" +
		"Bodies and replies are JSON unless said otherwise. An access token goes into the header\n" +
		"`Authorization: Bearer …`. Every refusal is `{\"error\":{\"code\",\"field\",\"message\"}}`.\n" +
		"A part of a path that begins with a colon is a value.\n")
	described := map[string]bool{}
	for _, r := range p.routes(t) {
		key := r.method + " " + r.path
		described[key] = true
		if purposes[key] == "" {
			t.Errorf("%s has no sentence in the table purposes of purposes_test.go", key)
		}
		fmt.Fprintf(&b, "\n## %s\n\n%s\n\n- For: %s\n", key, purposes[key], r.who)
		f := p.read(r.handler)
		list(&b, "Query", f.query)
		list(&b, "Body", f.body)
		list(&b, "Reply", f.reply)
	}
	for key := range purposes {
		if !described[key] {
			t.Errorf("the table purposes has %s, which is not a route", key)
		}
	}
	b.WriteString("\n## Refusals\n\n| status | codes |\n|---|---|\n")
	codes := map[int][]string{
		400: {"syntax", "unknown_field", "missing", "shape"}, 404: {"not_found"}, 405: {"method"},
		413: {"too_large"}, 500: {"internal"}, 507: {"full"},
	}
	for _, s := range slices.Concat(statuses, refusal.Shared) {
		if !slices.Contains(codes[s.Status], s.Code) {
			codes[s.Status] = append(codes[s.Status], s.Code)
		}
	}
	for status := 400; status < 600; status++ {
		if len(codes[status]) > 0 {
			slices.Sort(codes[status])
			fmt.Fprintf(&b, "| %d | `%s` |\n", status, strings.Join(codes[status], "` `"))
		}
	}
	b.WriteString("\n429 and 503 have `Retry-After`, 405 has `Allow`. Nothing of a request that got 507 is kept.\n")
	if *writeReference {
		if err := os.WriteFile("README.md", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	have, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	if string(have) != b.String() {
		t.Error("server/api/README.md is not what the route table says; run: go generate ./server/api")
	}
}

func list(b *strings.Builder, name string, items []string) {
	if len(items) > 0 {
		fmt.Fprintf(b, "- %s: %s\n", name, strings.Join(items, ", "))
	}
}

// code is the package's own source, without tests, and the types of package office that replies
// use.
type code struct {
	funcs map[string]*ast.FuncDecl
	types map[string]ast.Expr
}

func source(t *testing.T) code {
	t.Helper()
	c := code{map[string]*ast.FuncDecl{}, map[string]ast.Expr{}}
	for _, f := range parsed(t, ".") {
		for _, d := range f.Decls {
			if d, ok := d.(*ast.FuncDecl); ok && (receiver(d) == "server" || d.Recv == nil) {
				c.funcs[d.Name.Name] = d
			}
		}
		c.note("", f)
	}
	for _, name := range []string{"office", "desk", "plant"} {
		for _, f := range parsed(t, "../"+name) {
			c.note(name+".", f)
		}
	}
	return c
}

// note keeps the types of a file, with a prefix before their names.
func (c code) note(prefix string, f *ast.File) {
	for _, d := range f.Decls {
		if d, ok := d.(*ast.GenDecl); ok {
			for _, s := range d.Specs {
				if s, ok := s.(*ast.TypeSpec); ok {
					c.types[prefix+s.Name.Name] = s.Type
				}
			}
		}
	}
}

// parsed reads the Go files of a folder, without tests.
func parsed(t *testing.T, folder string) (all []*ast.File) {
	t.Helper()
	files, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		one, err := parser.ParseFile(token.NewFileSet(), folder+"/"+f.Name(), nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, one)
	}
	return all
}

func receiver(f *ast.FuncDecl) string {
	if f.Recv == nil {
		return ""
	}
	if star, ok := f.Recv.List[0].Type.(*ast.StarExpr); ok {
		return name(star.X)
	}
	return name(f.Recv.List[0].Type)
}

// name is the last part of a qualified name: Reviewer of auth.Reviewer.
func name(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

// qualified is a name with its package: office.Letterhead.
func qualified(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return name(e.X) + "." + e.Sel.Name
	}
	return ""
}

func literal(e ast.Expr) (string, bool) {
	l, ok := e.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(l.Value)
	return s, err == nil
}

// routes reads the table in New: groups with their prefix, variables that hold the roles, routes.
func (c code) routes(t *testing.T) []route {
	t.Helper()
	table := c.funcs["New"]
	if table == nil {
		t.Fatal("no function New")
	}
	prefix, inherited, roles := map[string]string{"e": ""}, map[string]string{}, map[string]string{}
	whose := func(args []ast.Expr) string {
		who := ""
		for _, a := range args {
			if w := allowed(a, roles); w != "" {
				who = w
			}
		}
		return who
	}
	var all []route
	ast.Inspect(table.Body, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.AssignStmt:
			call, ok := n.Rhs[0].(*ast.CallExpr)
			if !ok || len(n.Lhs) != 1 {
				return true
			}
			to := name(n.Lhs[0])
			if on, ok := call.Fun.(*ast.SelectorExpr); ok && on.Sel.Name == "Group" {
				if path, ok := literal(call.Args[0]); ok {
					prefix[to] = prefix[name(on.X)] + path
					inherited[to] = whose(call.Args[1:])
					if inherited[to] == "" {
						inherited[to] = inherited[name(on.X)]
					}
				}
			} else if w := allowed(call, roles); w != "" {
				roles[to] = w
			}
		case *ast.CallExpr:
			on, ok := n.Fun.(*ast.SelectorExpr)
			if !ok || !slices.Contains([]string{"GET", "HEAD", "POST", "PUT", "DELETE", "PATCH"}, on.Sel.Name) {
				return true
			}
			if _, known := prefix[name(on.X)]; !known {
				return true
			}
			path, ok := literal(n.Args[0])
			if !ok {
				return true
			}
			r := route{on.Sel.Name, prefix[name(on.X)] + path, name(n.Args[1]), whose(n.Args[2:])}
			if r.who == "" {
				r.who = inherited[name(on.X)]
			}
			if r.who == "" {
				r.who = guest
			}
			if r.handler == "sync" {
				r.who = "whoever has a token"
			}
			all = append(all, r)
		}
		return true
	})
	if len(all) < 30 {
		t.Fatalf("%d routes: the table is not read", len(all))
	}
	return all
}

// allowed returns the roles of s.allow(…), of a variable that holds it, or of what wraps either.
func allowed(e ast.Expr, roles map[string]string) string {
	if id, ok := e.(*ast.Ident); ok {
		return roles[id.Name]
	}
	call, ok := e.(*ast.CallExpr)
	if !ok {
		return ""
	}
	if name(call.Fun) == "allow" {
		var names []string
		for _, a := range call.Args {
			names = append(names, strings.ToLower(name(a)))
		}
		if len(names) == 1 && names[0] == "roles" {
			return "every role, hubs too"
		}
		return strings.Join(names, ", ")
	}
	for _, a := range call.Args {
		if w := allowed(a, roles); w != "" {
			return w
		}
	}
	return ""
}

type facts struct{ query, body, reply []string }

// read collects what a handler and the methods it calls read and reply.
func (c code) read(handler string) facts {
	var f facts
	seen := map[string]bool{}
	var walk func(string, int)
	add := func(to *[]string, item string) {
		if item != "" && !slices.Contains(*to, item) {
			*to = append(*to, item)
		}
	}
	walk = func(fn string, depth int) {
		d := c.funcs[fn]
		if d == nil || d.Body == nil || seen[fn] || depth > 2 {
			return
		}
		seen[fn] = true
		vars := map[string]ast.Expr{}
		ast.Inspect(d.Body, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ValueSpec:
				for _, v := range n.Names {
					vars[v.Name] = n.Type
				}
			case *ast.CallExpr:
				switch called := name(n.Fun); called {
				case "decode", "ownBody":
					if u, ok := n.Args[1].(*ast.UnaryExpr); ok {
						add(&f.body, c.shape(vars[name(u.X)]))
					}
				case "QueryParam":
					if q, ok := literal(n.Args[0]); ok {
						add(&f.query, "`"+q+"`")
					}
				case "JSON":
					if len(n.Args) == 2 {
						add(&f.reply, status(n.Args[0])+c.reply(n.Args[1], vars))
					}
				case "NoContent":
					add(&f.reply, strings.TrimSpace(status(n.Args[0])))
				case "Blob", "Stream":
					if len(n.Args) == 3 {
						add(&f.reply, status(n.Args[0])+media(n.Args[1]))
					}
				default:
					if on, ok := n.Fun.(*ast.SelectorExpr); ok && name(on.X) == "s" {
						walk(called, depth+1)
					}
				}
			}
			return true
		})
	}
	walk(handler, 0)
	return f
}

func media(e ast.Expr) string {
	switch name(e) {
	case "MIMEApplicationJSON":
		return "JSON"
	case "MIMEOctetStream":
		return "bytes"
	}
	if s, ok := literal(e); ok {
		return s
	}
	return "a file"
}

func status(e ast.Expr) string {
	return map[string]string{
		"StatusOK": "200 ", "StatusCreated": "201 ", "StatusAccepted": "202 ", "StatusNoContent": "204 ",
		"StatusNotFound": "404 ",
	}[name(e)]
}

// shape writes the fields of a type: `{covers: [text]}`.
func (c code) shape(e ast.Expr) string {
	if known := c.types[qualified(e)]; known != nil {
		e = known
	}
	s, ok := e.(*ast.StructType)
	if !ok {
		return ""
	}
	var fields []string
	for _, f := range s.Fields.List {
		if len(f.Names) == 0 {
			fields = append(fields, "and the fields of "+name(f.Type))
		}
		for i := range f.Names {
			fields = append(fields, tagged(f, i)+": "+c.kind(f.Type))
		}
	}
	return "`{" + strings.Join(fields, ", ") + "}`"
}

// tagged is the JSON name of a field; without a tag a decoder ignores the case of names.
func tagged(f *ast.Field, i int) string {
	if f.Tag != nil {
		_, rest, _ := strings.Cut(f.Tag.Value, `json:"`)
		tag, _, _ := strings.Cut(rest, `"`)
		if named, options, _ := strings.Cut(tag, ","); named != "" {
			if strings.Contains(options, "omit") {
				named += "?"
			}
			return named
		}
	}
	return strings.ToLower(f.Names[i].Name)
}

func (c code) kind(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.ArrayType:
		return "[" + c.kind(e.Elt) + "]"
	case *ast.StarExpr:
		return c.kind(e.X)
	case *ast.StructType:
		return strings.Trim(c.shape(e), "`")
	case *ast.MapType:
		return "{" + c.kind(e.Key) + ": " + c.kind(e.Value) + "}"
	}
	switch n := name(e); n {
	case "string":
		return "text"
	case "int", "int64", "uint64", "float64":
		return "number"
	case "bool":
		return "true or false"
	case "RawMessage":
		return "JSON"
	default:
		if s := c.shape(e); s != "" {
			return strings.Trim(s, "`")
		}
		return strings.ToLower(n)
	}
}

// reply writes the names of a reply's fields.
func (c code) reply(e ast.Expr, vars map[string]ast.Expr) string {
	if l, ok := e.(*ast.CompositeLit); ok {
		if _, isMap := l.Type.(*ast.MapType); isMap {
			var names []string
			for _, el := range l.Elts {
				pair, ok := el.(*ast.KeyValueExpr)
				if !ok {
					continue
				}
				key, _ := literal(pair.Key)
				if inner, ok := pair.Value.(*ast.CompositeLit); ok {
					if _, nested := inner.Type.(*ast.MapType); nested {
						key += ": " + strings.Trim(c.reply(inner, vars), "`")
					}
				}
				names = append(names, key)
			}
			return "`{" + strings.Join(names, ", ") + "}`"
		}
		return c.shape(l.Type)
	}
	if s := c.shape(vars[name(e)]); s != "" {
		return s
	}
	return "JSON"
}
