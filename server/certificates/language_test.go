package certificates_test

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/server/certificates"
	"gaugewright/server/german"
)

// phrases lists the English phrases that have German.
func phrases(t *testing.T) (list []string) {
	t.Helper()
	for _, name := range []string{"papers.json", "things.json"} {
		b, err := os.ReadFile(filepath.Join("..", "german", name))
		if err != nil {
			t.Fatal(err)
		}
		var table map[string]string
		if err := json.Unmarshal(b, &table); err != nil {
			t.Fatal(name, err)
		}
		list = slices.AppendSeq(list, maps.Keys(table))
	}
	return list
}

// literal returns the text of an expression that is a constant sum of literals, else "".
func literal(e ast.Expr) string {
	switch x := e.(type) {
	case *ast.BasicLit:
		if s, err := strconv.Unquote(x.Value); x.Kind == token.STRING && err == nil {
			return s
		}
	case *ast.BinaryExpr:
		if a, b := literal(x.X), literal(x.Y); a != "" && b != "" {
			return a + b
		}
	}
	return ""
}

// unprinted are functions whose texts are never printed: errors, parts of a PDF, file names,
// words that are looked for.
var unprinted = map[string]bool{
	"Errorf": true, "New": true, "no": true, "notReady": true, "SetFont": true, "AddUTF8FontFromBytes": true, "Format": true,
	"Parse": true, "SetProducer": true, "Sprintf": true, "TrimLeft": true, "Trim": true, "HasPrefix": true, "HasSuffix": true,
	"Fields": true,
}

// drawing are functions whose first text is printed as it is.
var drawing = map[string]bool{"fact": true, "heading": true, "paragraph": true, "course": true, "run": true, "curves": true}

// codes are texts that are not words: the names that records, schemas and drawings use.
var codes = regexp.MustCompile(`^[a-z0-9_.:/-]*$|^(beforeAdjustment|afterAdjustment|conditionalPass|conditionalFail|FD|A4)$` +
	`|^(basic|gp|gw)_\w+$|^gaugewright-|^[^A-Za-z]*$|^(10\^| Pa| hPa|hPa| ft| s| min| m³| °C|%\.[24]g|\[U\+%04X\]|both sides| pressure|set point|dead band|no actuation|no reset|actuated at start|DCC 3\.3\.0|degC|R|L|C|B|D|F|JCGM 100:2008)$` +
	`|^(digital calibration certificate, DCC 3\.3\.0|the record, canonical JSON|the laboratory's signature over the record)`)

// TestEveryPhraseHasGerman checks that every printed text is in the table of German, and that the
// table has none that is not printed.
func TestEveryPhraseHasGerman(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]bool{}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		source, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, source, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			switch x := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.Field:
				return x.Tag == nil
			case *ast.ValueSpec:
				return !strings.HasPrefix(x.Names[0].Name, "Err")
			case *ast.CompositeLit:
				if l, ok := x.Type.(*ast.ArrayType); ok { // the refusals for what a certificate lacks
					if _, ok := l.Elt.(*ast.StructType); ok && strings.Contains(string(source[x.Pos()-1:x.End()-1]), "what string") {
						return false
					}
				}
			case *ast.CallExpr:
				name := ""
				switch f := x.Fun.(type) {
				case *ast.SelectorExpr:
					name = f.Sel.Name
				case *ast.Ident:
					name = f.Name
				}
				if unprinted[name] {
					return false
				}
				if drawing[name] && len(x.Args) > 0 && strings.Contains(literal(x.Args[0]), "e") {
					t.Errorf("%s: %s(%q) is in no language", file, name, literal(x.Args[0]))
				}
				if name == "say" || name == "labelled" {
					phrase := literal(x.Args[0])
					if id, ok := x.Args[0].(*ast.Ident); ok && phrase == "" && id.Name != "phrase" {
						phrase = constant(f, id)
					}
					said[phrase] = true
					if _, ok := german.Phrase(phrase); !ok && phrase != "" {
						t.Errorf("%s: no German for %q", file, phrase)
					}
					for _, a := range x.Args[1:] {
						ast.Inspect(a, func(n ast.Node) bool { return look(t, file, n, said) })
					}
					return false
				}
			}
			return look(t, file, n, said)
		})
	}
	for _, dir := range []string{"labels", "dcc", "office", "desk"} {
		besides(t, dir, said)
	}
	for _, english := range phrases(t) {
		if !said[english] && !slices.Contains(elsewhere, english) {
			t.Errorf("nothing says %q", english)
		}
	}
}

// besides finds the phrases of labels, machine-readable forms and the office; each has its German.
func besides(t *testing.T, dir string, said map[string]bool) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", dir, "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatal(dir, err)
	}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if e, ok := n.(ast.Expr); ok {
				if s := literal(e); s != "" {
					said[s] = true
				}
			}
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) == 0 {
				return true
			}
			name := ""
			switch f := call.Fun.(type) {
			case *ast.SelectorExpr:
				name = f.Sel.Name
			case *ast.Ident:
				name = f.Name
			}
			phrase := literal(call.Args[0])
			if name == "In" && len(call.Args) > 1 {
				phrase = literal(call.Args[1])
			} else if name != "Phrase" && (name != "say" || dir == "office") {
				return true
			}
			if _, ok := german.Phrase(phrase); !ok && phrase != "" && strings.Trim(phrase, "{} ") != "" {
				t.Errorf("%s: no German for %q", file, phrase)
			}
			return true
		})
	}
}

// look finds a printed text that has no German.
func look(t *testing.T, file string, n ast.Node, said map[string]bool) bool {
	t.Helper()
	e, ok := n.(ast.Expr)
	if !ok {
		return true
	}
	s := literal(e)
	if s == "" {
		return true
	}
	said[s] = true
	if _, ok := german.Phrase(s); !ok && !codes.MatchString(s) {
		t.Errorf("%s: %q is not among the German phrases", file, s)
	}
	return false
}

// constant returns the value of a constant of a file.
func constant(f *ast.File, id *ast.Ident) (value string) {
	ast.Inspect(f, func(n ast.Node) bool {
		if s, ok := n.(*ast.ValueSpec); ok && s.Names[0].Name == id.Name && len(s.Values) == 1 {
			value = literal(s.Values[0])
		}
		return true
	})
	return value
}

// elsewhere are words that come from records and calculations.
var elsewhere = []string{
	"conditional pass", "conditional fail", // plant.VerdictWords
	"undecided", "not judged", "differential", "technician", "reviewer", "administrator", "rising pressure",
	"falling pressure", "open", "closed", "yes", "no", "water", "oil", "air", "nitrogen", "mercury", "helium", "argon", "co2",
	"as found", "as left", "repeat", "before tap", "vacuum", "pressure",
}

// TestFillsEveryPlace checks that a German phrase has the same places for values as its English
// one.
func TestFillsEveryPlace(t *testing.T) {
	place := regexp.MustCompile(`\{\d*\}`)
	for _, english := range phrases(t) {
		translated, _ := german.Phrase(english)
		if a, b := len(place.FindAllString(english, -1)), len(place.FindAllString(translated, -1)); a != b {
			t.Errorf("%q has %d values, %q has %d", english, a, translated, b)
		}
		if english[0] == ' ' != (translated[0] == ' ') || strings.HasSuffix(english, " ") != strings.HasSuffix(translated, " ") {
			t.Errorf("%q and %q differ in their blanks", english, translated)
		}
	}
}

func TestLanguageOf(t *testing.T) {
	for code, want := range map[string]string{"": "", " DE": "de", "en": "en"} {
		if got, err := certificates.LanguageOf(code); got != want || err != nil {
			t.Error(code, got, err)
		}
	}
	if _, err := certificates.LanguageOf("fr"); !errors.Is(err, certificates.ErrLanguage) {
		t.Error(err)
	}
}
