package schema_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/calc/schema"
)

var write = flag.Bool("write", false, "write README.md from the schemas")

const (
	referenceFile = "README.md"
	triedSeeds    = 30  // samples among which the example is the shortest
	longExample   = 900 // characters of an example's document or reply
)

// TestReference checks that README.md matches the schemas and the samples. go generate writes it.
func TestReference(t *testing.T) {
	var b strings.Builder
	b.WriteString("# The calculations\n\n" +
		"Generated from the schemas in `calculations/` by `go generate ./calc/schema`; do not edit.\n\n" +
		"`gaugewright calc NAME < document.json` runs a calculation; `gaugewright calc NAME --schema` prints\n" +
		"its JSON Schema. The server offers the same as `POST /api/calc/NAME`.\n\n" +
		"- A number of the input may be a JSON number or a decimal text (`\"2.50\"`), which keeps its digits.\n" +
		"- A field whose name ends in a unit is in that unit. A document with `unit` has its pressures in\n" +
		"  that unit, in and out.\n" +
		"- An unknown field is an error. An error is `{\"error\":{\"code\",\"field\",\"message\"}}`.\n" +
		"- Every reply carries `calc`, the version of the calculations.\n" +
		"- [KINDS.md](KINDS.md) says what the fields of methods, plans, sheets and findings mean together.\n\n")
	samples := map[string]document.Sample{}
	for _, s := range calc.Samples() {
		samples[s.Calculation] = s
	}
	for _, d := range calc.Calculations() {
		fmt.Fprintf(&b, "[%s](#%s)\n", d.Name, d.Name)
	}
	for _, d := range calc.Calculations() {
		one(t, &b, d.Name, samples[d.Name])
	}
	want := b.String()
	if *write {
		if err := os.WriteFile(referenceFile, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	have, err := os.ReadFile(referenceFile)
	if err != nil {
		t.Fatal(err)
	}
	if string(have) != want {
		t.Errorf("calc/schema/%s is not what the schemas say; run: go generate ./calc/schema", referenceFile)
	}
}

// one writes the section of a calculation.
func one(t *testing.T, b *strings.Builder, name string, sample document.Sample) {
	t.Helper()
	text, err := schema.Of(name)
	if err != nil {
		t.Fatal(err)
	}
	root := ordered(t, text)
	title, description := root.text("title"), root.text("description")
	if description == "" {
		t.Errorf("calc/schema/calculations/%s.json has no description", name)
	}
	fmt.Fprintf(b, "\n## %s\n\n", title)
	paragraph(b, description)
	for _, part := range []string{"input", "output"} {
		fmt.Fprintf(b, "\n%s%s\n\n", strings.ToUpper(part[:1]), part[1:])
		defs := root.object("$defs")
		forms := alternatives(defs, defs.object(part))
		for i, form := range forms {
			if len(forms) > 1 {
				fmt.Fprintf(
					b, "%sForm %d%s\n\n", map[bool]string{true: "\n"}[i > 0], i+1,
					map[bool]string{true: ": `" + form.name + "`"}[form.name != ""],
				)
			}
			b.WriteString("| field | value | unit | needed |\n|---|---|---|---|\n")
			fields(b, defs, form.node, "", 0)
		}
	}
	if sample.Make == nil {
		t.Errorf("%s has no samples", name)
		return
	}
	var doc, reply []byte
	for seed := range uint64(triedSeeds) {
		in := sample.Make(seed + 1)
		out := calc.Call(name, in)
		if !bytes.HasPrefix(out, []byte(`{"error":`)) && (doc == nil || len(in)+len(out) < len(doc)+len(reply)) {
			doc, reply = in, out
		}
	}
	if doc == nil {
		t.Errorf("%s: no sample among %d is calculated", name, triedSeeds)
	}
	fmt.Fprintf(b, "\nExample\n\n```json\n%s\n%s\n```\n", cut(string(doc)), cut(string(reply)))
}

// cut shortens a long document and says so.
func cut(s string) string {
	if utf8.RuneCountInString(s) <= longExample {
		return s
	}
	return string([]rune(s)[:longExample]) + fmt.Sprintf(" … (%d bytes)", len(s))
}

// paragraph writes a text in lines of at most 100 columns.
func paragraph(b *strings.Builder, text string) {
	const wide = 100
	column := 0
	for _, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case column == 0:
		case column+1+n > wide:
			b.WriteByte('\n')
			column = 0
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += n
	}
	b.WriteByte('\n')
}

// node is a JSON value whose objects keep the order of their names.
type node struct {
	names  []string
	fields map[string]*node
	items  []*node
	value  any
}

func (n *node) object(name string) *node {
	if n == nil {
		return nil
	}
	return n.fields[name]
}

func (n *node) text(name string) string {
	if f := n.object(name); f != nil {
		if s, ok := f.value.(string); ok {
			return s
		}
	}
	return ""
}

func ordered(t *testing.T, text []byte) *node {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	n, err := readNode(d)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func readNode(d *json.Decoder) (*node, error) {
	token, err := d.Token()
	if err != nil {
		return nil, err
	}
	n := &node{value: token}
	switch token {
	case json.Delim('{'):
		n.fields = map[string]*node{}
		for d.More() {
			name, err := d.Token()
			if err != nil {
				return nil, err
			}
			field, err := readNode(d)
			if err != nil {
				return nil, err
			}
			n.names = append(n.names, name.(string))
			n.fields[name.(string)] = field
		}
		_, err = d.Token()
	case json.Delim('['):
		for d.More() {
			item, err := readNode(d)
			if err != nil {
				return nil, err
			}
			n.items = append(n.items, item)
		}
		_, err = d.Token()
	}
	return n, err
}

// form is one form that a document may have; name is that of its definition, if it has one.
type form struct {
	name string
	node *node
}

const refersTo = "#/$defs/"

// alternatives returns the forms of a schema: those of anyOf or oneOf, if these contain objects.
func alternatives(defs, n *node) []form {
	for _, choice := range []string{"anyOf", "oneOf"} {
		list := n.object(choice)
		if list == nil || n.object("properties") != nil {
			continue
		}
		var all []form
		for _, item := range list.items {
			name := strings.TrimPrefix(item.text("$ref"), refersTo)
			for _, f := range alternatives(defs, resolve(defs, item)) {
				if f.name == "" {
					f.name = name
				}
				all = append(all, f)
			}
		}
		return all
	}
	return []form{{node: n}}
}

func resolve(defs, n *node) *node {
	for range 8 { // a definition may refer to another one
		name, refers := strings.CutPrefix(n.text("$ref"), refersTo)
		if !refers {
			return n
		}
		n = defs.object(name)
	}
	return n
}

// deepest is how many levels of nested objects the tables follow.
const deepest = 1

// fields writes a row for each field. Fields of nested objects have their path in front.
func fields(b *strings.Builder, defs, n *node, path string, depth int) {
	properties := n.object("properties")
	if properties == nil {
		return
	}
	var needed []string
	if required := n.object("required"); required != nil {
		for _, r := range required.items {
			needed = append(needed, r.value.(string))
		}
	}
	for _, name := range properties.names {
		p := properties.fields[name]
		mark := ""
		if slices.Contains(needed, name) {
			mark = "yes"
		}
		says, inner, list := value(defs, p)
		fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", path+name, says, unit(name), mark)
		if inner != nil && depth < deepest {
			fields(b, defs, inner, path+name+list+".", depth+1)
		}
	}
}

// value returns in words what a field may be. For an object, or a list of objects, it also returns
// the object's schema, and "[]" for a list.
func value(defs, p *node) (says string, inner *node, list string) {
	if p.text("$ref") == refersTo+"number" {
		return "number", nil, ""
	}
	p = resolve(defs, p)
	for _, choice := range []string{"anyOf", "oneOf"} {
		if c := p.object(choice); c != nil && p.object("properties") == nil {
			var kinds []string
			for _, item := range c.items {
				s, deeper, brackets := value(defs, item)
				if !slices.Contains(kinds, s) {
					kinds = append(kinds, s)
				}
				if inner == nil && deeper != nil {
					inner, list = deeper, brackets
				}
			}
			return strings.Join(kinds, " or "), inner, list
		}
	}
	switch {
	case p.object("enum") != nil:
		var words []string
		for _, item := range p.object("enum").items {
			words = append(words, fmt.Sprintf("`%v`", item.value))
		}
		return strings.Join(words, " "), nil, ""
	case p.object("const") != nil:
		return fmt.Sprintf("`%v`", p.object("const").value), nil, ""
	case p.text("type") == "array":
		if items := p.object("items"); items != nil {
			s, deeper, _ := value(defs, items)
			return "list of " + s, deeper, "[]"
		}
		return "list", nil, ""
	case p.object("properties") != nil:
		return "object", p, ""
	case p.text("type") == "string":
		return "text", nil, ""
	case p.text("type") == "boolean":
		return "true or false", nil, ""
	case p.text("type") != "":
		return p.text("type"), nil, ""
	}
	return "any", nil, ""
}

// unit returns the unit at the end of a field's name.
func unit(name string) string {
	for _, u := range []struct{ ending, unit string }{
		{"_pa_m3_s", "Pa·m³/s"}, {"_kg_m3", "kg/m³"}, {"_m_s2", "m/s²"}, {"_pa_s", "Pa/s"}, {"_mbar_l_s", "mbar·L/s"}, {"mbar_l_s", "mbar·L/s"},
		{"_ft_min", "ft/min"}, {"_kt_min", "kt/min"}, {"_n_m", "N/m"}, {"_per_pa", "1/Pa"}, {"_per_k", "1/K"}, {"_per_year", "per year"},
		{"mol_s", "mol/s"}, {"_m_s", "m/s"}, {"_hpa", "hPa"}, {"_psi", "psi"}, {"inhg", "inHg"}, {"_percent", "%"}, {"_ppm", "ppm"},
		{"_pa", "Pa"}, {"_m3", "m³"}, {"_m2", "m²"}, {"_kg", "kg"}, {"_deg", "°"}, {"_ft", "ft"}, {"_kt", "kt"}, {"_j", "J"}, {"_m", "m"}, {"_k", "K"},
		{"_c", "°C"}, {"_s", "s"},
	} {
		if strings.HasSuffix(name, u.ending) {
			return u.unit
		}
	}
	return ""
}
