package main

import (
	"bytes"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/german"

	"github.com/evanw/esbuild/pkg/api"
)

// unseen are files of calc whose sentences reach no screen: they refuse documents that the client
// does not write, or belong to calculations that it does not call.
var unseen = []string{
	"balance/", "document/parse.go", "energy/", "internal/", "medium/", "numeric/", "schema/", "calctest/",
	"units/calculation.go",
}

// pieces are not sentences: they join values, are names of a reading's fields or a programme's own
// language, or are parts of a sentence that the German list has as a whole.
var pieces = regexp.MustCompile(`^[{}×,:= %°C()]*$|^[<>] 100$` +
	`|^[\w.]*(\{\})? ?(answer|indicated|applied|before_tap)$` +
	`|^(unit mode|set rate|ask name|planned end|sccm \(\{\} °C\)|\{\} × 10\{\})$` +
	`|^(set 500|ramp 500|hold 60|settle within 0\.2|read a from|ask "the|exercise 3|repeat until a|note "the|stop "the|repeat 3 \{ …|unit kPa)` +
	`|^(/s until|s, at most|, at most|is not|\{\} is \{\}|\{\}\{\}\{\} \{\}|\{\} \{\}|, run \{\}|, falling|, and \{\} s are over)$` +
	`|^(\{\} (inHg|ft)|\{\} hPa \(\{\} inHg\)|RVSM \{\})$` +
	`|^(Kept in this plan:|\{\} to \{\},|\{\} ft/min,|not above \{\} kt,|\{\} kt/min|, \{\} Pa on \{\})$` +
	`|^14 CFR Part 43 Appendix E \(2019 edition\),$` +
	`|^\{\} Local codes, the procedure of the owner`)

var verbs = regexp.MustCompile(`%[-+# 0-9.]*[a-zA-Z]`)

// template returns the text of an expression with {} in place of each value. ok says whether there
// is any text in it.
func template(e ast.Expr) (text string, ok bool) {
	switch x := e.(type) {
	case *ast.BasicLit:
		if x.Kind == token.STRING {
			s, err := strconv.Unquote(x.Value)
			return s, err == nil
		}
	case *ast.ParenExpr:
		return template(x.X)
	case *ast.BinaryExpr:
		if x.Op == token.ADD {
			a, left := template(x.X)
			b, right := template(x.Y)
			return a + b, left || right
		}
	}
	return "{}", false
}

// sentences finds the texts of a file that have more than one word.
func sentences(t *testing.T, path string) (found []string) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	add := func(s string) {
		if s = strings.TrimSpace(s); strings.Contains(s, " ") {
			found = append(found, s)
		}
	}
	var look func(n ast.Node) bool
	// values looks into the values between the texts of a sum.
	var values func(e ast.Expr)
	values = func(e ast.Expr) {
		switch x := e.(type) {
		case *ast.BasicLit:
		case *ast.ParenExpr:
			values(x.X)
		case *ast.BinaryExpr:
			values(x.X)
			values(x.Y)
		default:
			ast.Inspect(e, look)
		}
	}
	look = func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.ImportSpec:
			return false
		case *ast.Field:
			return x.Tag == nil
		case *ast.BinaryExpr:
			if s, ok := template(x); ok && x.Op == token.ADD {
				add(s)
				values(x)
				return false
			}
		case *ast.CallExpr:
			if s, ok := x.Fun.(*ast.SelectorExpr); ok && s.Sel.Name == "Sprintf" && len(x.Args) > 0 {
				if text, ok := template(x.Args[0]); ok {
					add(verbs.ReplaceAllString(text, "{}"))
					for _, a := range x.Args[1:] {
						ast.Inspect(a, look)
					}
					return false
				}
			}
		case *ast.BasicLit:
			if s, ok := template(x); ok {
				add(s)
			}
		}
		return true
	}
	ast.Inspect(f, look)
	return found
}

var entry = regexp.MustCompile(`(?m)^  ("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*'):`)

// inGerman reads which sentences the client has in German.
func inGerman(t *testing.T) map[string]bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", "webapp", "src", "words", "de", "sentences-*.ts"))
	if err != nil || len(files) == 0 {
		t.Fatal("no German sentences", err)
	}
	all := map[string]bool{}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range entry.FindAllStringSubmatch(string(b), -1) {
			var s string
			if text, single := strings.CutPrefix(m[1], "'"); single {
				s = strings.ReplaceAll(strings.TrimSuffix(text, "'"), `\\`, `\`)
			} else if err := json.Unmarshal([]byte(m[1]), &s); err != nil {
				t.Fatal(m[1], err)
			}
			all[strings.TrimSpace(s)] = true
		}
	}
	return all
}

// TestEverySentenceHasGerman: what calc says on a screen has its German sentence, and no German
// sentence belongs to one that calc no longer says.
func TestEverySentenceHasGerman(t *testing.T) {
	german := inGerman(t)
	root := filepath.Join("..", "..", "calc")
	said := map[string]bool{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") ||
			strings.Contains(d.Name(), "sample") {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		for _, s := range sentences(t, path) {
			said[s] = true
			away := false
			for _, u := range unseen {
				away = away || strings.HasPrefix(rel, u)
			}
			if !away && !german[s] && !pieces.MatchString(s) {
				t.Errorf("calc/%s: no German for %q", rel, s)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(said) < 500 {
		t.Fatalf("only %d sentences were found in calc", len(said))
	}
	for s := range german {
		if !said[s] && !special(s, said) {
			t.Errorf("calc says no %q", s)
		}
	}
}

// joined begins sentences that are put together from pieces or from several sentences, with some of
// their values written out.
var joined = []string{
	"Kept in this plan: ", "{} ft/min, ", "Slowly, until ", "Local codes, the procedure", "{}, run {}", "disc {}, {}",
	"airspeed {} kt, falling", "14 CFR Part 43 Appendix E (2019 edition), ", "the longest stretch within {} was", "{} is ",
	"out of service", "Look first at ", "For a pneumatic test", "The first change after", "{}. Find every",
}

// special reports whether a sentence is one of calc's with values written out, or put together from
// pieces.
func special(s string, said map[string]bool) bool {
	for _, j := range joined {
		if strings.HasPrefix(s, j) {
			return true
		}
	}
	for of := range said {
		if strings.Contains(of, "{}") &&
			regexp.MustCompile("^"+strings.ReplaceAll(regexp.QuoteMeta(of), `\{\}`, "(.+)")+"$").MatchString(s) {
			return true
		}
	}
	return false
}

const teller = `
import { readFileSync } from "node:fs";
import { said } from "./src/words/de/say";
const asked = JSON.parse(readFileSync(0, "utf8"));
const mark = (n) => n.replace("-", "\u2212").replace(".", ",");
console.log(JSON.stringify(asked.map((t) => said(t, mark))));
`

// tell returns sentences in German, as the client shows them.
func tell(t *testing.T, asked []string) (translated []string) {
	t.Helper()
	inNode(t, teller, asked, &translated)
	return translated
}

// inNode runs a script over the client's source: it reads a document and writes one.
func inNode(t *testing.T, text string, asked, translated any) {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatalf("install node (Debian package nodejs): %v", err)
	}
	o, err := bundler{web: filepath.Join("..", "..", "webapp")}.options()
	if err != nil {
		t.Fatal(err)
	}
	o.Stdin = &api.StdinOptions{Contents: text, ResolveDir: o.AbsWorkingDir, Loader: api.LoaderTS}
	o.Platform, o.Format = api.PlatformNode, api.FormatESModule
	r, err := run(o)
	if err != nil {
		t.Fatal(err)
	}
	script := filepath.Join(t.TempDir(), "tell.mjs")
	if err := os.WriteFile(script, r.OutputFiles[0].Contents, 0o600); err != nil {
		t.Fatal(err)
	}
	in, err := json.Marshal(asked)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(node, script)
	cmd.Stdin = bytes.NewReader(in)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(out, translated); err != nil {
		t.Fatal(err)
	}
}

// shownFields are the fields of replies whose text a screen shows.
var shownFields = map[string]bool{
	"message": true, "reason": true, "text": true, "make_safe": true, "title": true, "sentence": true, "refused": true,
	"source": true,
}

// gather collects those texts that have more than one word.
func gather(x any, into map[string]bool) {
	switch x := x.(type) {
	case []any:
		for _, v := range x {
			gather(v, into)
		}
	case map[string]any:
		for name, v := range x {
			if s, ok := v.(string); ok && shownFields[name] && strings.Contains(s, " ") {
				into[s] = true
			} else {
				gather(v, into)
			}
		}
	}
}

var englishLeft = regexp.MustCompile(
	`\b(the|of|and|is|are|not|with|this|that|from|for|has|have|be|it|its|by|at|to|or|on|no)\b`,
)

// invented are names and texts of the samples, as a person would write them, and programmes.
var invented = regexp.MustCompile(`the airspeed indicator|manual of the instrument|(?s)^(unit|set|exercise|vent|hold|read|ramp|ask|repeat|if|note|settle) .*\n.*`)

// TestSampledRepliesAreToldInGerman: the replies to the calculations' samples, and the refusals of
// spoilt samples, leave no English word in the German.
func TestSampledRepliesAreToldInGerman(t *testing.T) {
	away := map[string]bool{
		"balance": true, "energy": true, "fill": true, "air": true, "fluid": true, "gravity": true, "quantile": true,
		"units": true, "schema": true, "programme": true,
	}
	texts := map[string]bool{}
	for _, s := range calc.Samples() {
		if away[s.Calculation] {
			continue
		}
		for seed := range uint64(40) {
			doc := s.Make(seed)
			for _, spoilt := range [][]byte{doc, bytes.Replace(doc, []byte(`"0`), []byte(`"-9`), 1), bytes.Replace(doc, []byte(`bar`), []byte(`m`), 1)} {
				var reply any
				if err := json.Unmarshal(calc.Call(s.Calculation, spoilt), &reply); err != nil {
					t.Fatalf("%s: %v", s.Calculation, err)
				}
				gather(reply, texts)
			}
		}
	}
	asked := slices.Sorted(maps.Keys(texts))
	if len(asked) < 100 {
		t.Fatalf("the samples say only %d sentences", len(asked))
	}
	t.Logf("%d sentences", len(asked))
	for i, translated := range tell(t, asked) {
		if server := german.Sentence(asked[i]); server != translated {
			t.Errorf("%q\n  on screens %q\n  on papers  %q", asked[i], translated, server)
		}
		if englishLeft.MatchString(invented.ReplaceAllString(translated, "")) {
			t.Errorf("%q\n  on screens %q", asked[i], translated)
		}
	}
}
