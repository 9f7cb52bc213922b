package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// refusing are the files of the server whose errors a person sees.
var refusing = []string{
	"office/*.go", "auth/*.go", "api/*.go", "refusal/*.go", "plant/serving.go", "desk/*.go", "labels/*.go", "openid/*.go", "certificates/*.go", "dcc/read.go",
	"register/number.go", "register/table.go", "register/words.go", "register/range.go", "register/register.go",
	"register/same.go", "register/twice.go", "register/columns.go", "register/results.go",
	"register/kinds.go", "register/trial.go", "register/points.go",
}

// unshown are errors about damage at the server or about a broken program's request. They go to the
// log, or to the server's operator.
var unshown = regexp.MustCompile(`damaged|^the index is kept in another form$|^write |^qr code|^certificate \{\}: |^the method's definition` +
	`|^(the change|the record|a person's key in use|the person|the authorisation|the order|the instrument) \{\}|^visit \{\} |plain or in gzip|^passkeys (of|need) |is no origin|^line \{\} is no erasure|^--(set|decimal) |^line \{\}: \{\}$|^it needs a change and its fields$` +
	`|^(there is no logout_token|it is another kind of token|it is not of now|it came before|it has no ID token` +
	`|it answers another question|it was made for another client|it tells of two people)|^\{\} of visit \{\}: \{\}$` +
	`|^\{\} of \{\}$|^field \{\}$|^\{\}; \{\} is neither$|^(instrument|certificate|site|result)$` +
	`|^\{\} of visit \{\}: (the visit that it follows found|\{\} is no day on which)`)

var letters = regexp.MustCompile(`[a-z]{2}`)

// TestEveryRefusalHasGerman: every refusal of the server that the client shows has its German, and
// no German belongs to a refusal that is gone.
func TestEveryRefusalHasGerman(t *testing.T) {
	var german map[string]string
	inNode(t, `
import { refusals } from "./src/words/de/refusals";
console.log(JSON.stringify(refusals));
`, nil, &german)
	said := map[string]bool{}
	note := func(file, text string) {
		for _, part := range []string{text, strings.TrimPrefix(text, "{}: "), strings.TrimPrefix(strings.TrimPrefix(text, "{}: "), "{} ")} {
			said[part] = true
		}
		bare := strings.TrimPrefix(text, "{}: ")
		if letters.MatchString(strings.ReplaceAll(bare, "{}", "")) && !unshown.MatchString(bare) && german[bare] == "" &&
			german[strings.TrimSuffix(bare, "{}")] == "" &&
			german[strings.TrimSuffix(bare, ": {}")] == "" && german[strings.TrimPrefix(bare, "{}; ")] == "" {
			t.Errorf("%s: no German for %q", file, bare)
		}
	}
	for _, name := range refusing {
		files, err := filepath.Glob(filepath.Join("..", "..", "server", name))
		if err != nil || len(files) == 0 {
			t.Fatal(name, err)
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
				if text, ok := template(call.Args[0]); ok && (name == "New" || name == "Errorf" || name == "no") {
					note(file, verbs.ReplaceAllString(text, "{}"))
				}
				if name == "bad" || name == "fault" || name == "wrong" { // of a row that is brought in
					for _, arg := range call.Args[1:min(3, len(call.Args))] {
						if text, ok := template(arg); ok && strings.ContainsAny(text, " ") {
							note(file, verbs.ReplaceAllString(text, "{}"))
						}
					}
				}
				return true
			})
			ast.Inspect(f, func(n ast.Node) bool { // other texts, such as those of an answer without an error
				if e, ok := n.(ast.Expr); ok {
					if text, ok := template(e); ok {
						said[verbs.ReplaceAllString(text, "{}")] = true
					}
				}
				return true
			})
		}
	}
	for s := range german {
		if !said[s] && !composed[s] {
			t.Errorf("the server says no %q", s)
		}
	}
	if len(german) < 100 {
		t.Errorf("only %d refusals have their German", len(german))
	}
}

// composed are errors that join two others, or come from another package.
var composed = map[string]bool{
	"{} may be thousands or decimals": true, "{} may be day or month first": true,
	"the person {} is not here": true, "the authorisation {} is not here": true, "the instrument {} is not here": true,
	"the order {} is not here":                      true,
	"no certificate can be written of visit {}: {}": true, "{} is in service and gets no defect tag": true,
	"the visit that it follows found no failure of this instrument":                                                   true,
	"{} is no day on which the item was received":                                                                     true,
	"a certificate is in English (en) or German (de); {} is neither":                                                  true,
	"is no date and time of the calendar":                                                                             true,
	"two people changed it without seeing each other; choose a value first":                                           true,
	"it has no series of reference values with a value or an error beside them, in a unit that can be turned into {}": true,
}

// TestRefusalsAreToldWhole: wrapped errors are translated to their last word.
func TestRefusalsAreToldWhole(t *testing.T) {
	for _, row := range [][2]string{
		{
			"a certificate states the laboratory's name and address and the customer: from 1 to 8 " +
				"lines each, of 1 to 80 letters",
			"ein Kalibrierschein nennt Name und Anschrift des Labors und den Kunden: je 1 bis 8 " +
				"Zeilen von 1 bis 80 Buchstaben",
		},
		{
			"cannot make this account: the password needs 10 to 256 characters",
			"dieses Konto kann nicht angelegt werden: das Passwort braucht 10 bis 256 Zeichen",
		},
		{
			"column \"class\": has no limit: a class, a grade or a percentage of span",
			`Spalte "class": hat keine Grenze: eine Klasse (auch nach ASME B40.100) oder einen Anteil der Spanne in Prozent`,
		},
		{
			"PI-2101 is in service and gets no defect tag",
			"PI-2101 ist in Betrieb und bekommt keinen Sperranhänger",
		},
		{
			"no certificate can be written of visit abc: no standard is recorded",
			"es kann kein Kalibrierschein der Prüfung abc geschrieben werden: kein Normal ist erfasst",
		},
		{
			"a technician may not write the field approval of a record of kind visit",
			"die Rolle technician darf das Feld approval einer Aufzeichnung der Art visit nicht schreiben",
		},
		{
			"the run is closed; a further reading belongs to a new run",
			"der Durchgang ist abgeschlossen; eine weitere Ablesung gehört in einen neuen",
		},
		{
			`column "Fehler vorher": "0,1,2" is not a number`,
			`Spalte "Fehler vorher": "0,1,2" ist keine Zahl`,
		},
		{
			`column "Urteil": "fraglich" is neither pass nor fail`,
			`Spalte "Urteil": "fraglich" ist weder bestanden noch nicht bestanden`,
		},
		{
			`column "Datum": "1.13.2020" is not a likely date`,
			`Spalte "Datum": "1.13.2020" ist kein wahrscheinliches Datum`,
		},
		{
			"there is an error or a limit here but no point",
			"hier steht eine Abweichung oder eine Grenze, und kein Prüfpunkt",
		},
		{
			`no instrument here has the tag "PI 9" or the serial number ""`,
			`kein Gerät hier hat die Messstelle "PI 9" oder die Seriennummer ""`,
		},
		{
			`column "Klasse": the class "1.5" is not one of 0.1 0.25 0.6 1 1.6 2.5 4; a limit of another kind goes into a column "percent"`,
			`Spalte "Klasse": die Klasse "1.5" ist keine von 0.1 0.25 0.6 1 1.6 2.5 4; eine Grenze anderer Art gehört in eine Spalte "percent"`,
		},
	} {
		if got := tell(t, []string{row[0]})[0]; got != row[1] {
			t.Errorf("%q\n  on screens %q", row[0], got)
		}
	}
}
