package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gaugewright/calc/units"
)

// typesFile is the file of the client's types of the calculations, relative to the root.
const typesFile = "webapp/src/wire/calculations.gen.ts"

// schemaNode is a JSON Schema (2020-12), as far as calc/schema uses it for the form of a value.
type schemaNode struct {
	Ref        string                 `json:"$ref"`
	Defs       map[string]*schemaNode `json:"$defs"`
	Type       json.RawMessage        `json:"type"`
	Const      json.RawMessage        `json:"const"`
	Enum       []json.RawMessage      `json:"enum"`
	AnyOf      []*schemaNode          `json:"anyOf"`
	OneOf      []*schemaNode          `json:"oneOf"`
	Items      json.RawMessage        `json:"items"`
	Properties map[string]*schemaNode `json:"properties"`
	Required   []string               `json:"required"`
	Additional json.RawMessage        `json:"additionalProperties"`
}

// UnmarshalJSON reads a node. true and false, which restrict nothing, give an empty node.
func (n *schemaNode) UnmarshalJSON(text []byte) error {
	if text[0] != '{' {
		*n = schemaNode{}
		return nil
	}
	type plain schemaNode
	return json.Unmarshal(text, (*plain)(n))
}

// writeTypes writes the TypeScript types of every calculation from its schema. With check it writes
// nothing and returns an error if the file on disk differs.
func writeTypes(root string, check bool) error {
	names, err := filepath.Glob(filepath.Join(root, "calc/schema/calculations/*.json"))
	if err != nil {
		return err
	}
	if len(names) == 0 {
		return fmt.Errorf("%s has no schemas", filepath.Join(root, "calc/schema"))
	}
	slices.Sort(names)
	var out bytes.Buffer
	out.WriteString(`// Written by cmd/webbuild -types from calc/schema; do not edit.

import type { Json } from "./records";

/** Decimal is a number, or its decimal text, which keeps the last digit as typed. */
export type Decimal = number | string;
`)
	var table []string
	for _, path := range names {
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		name := strings.TrimSuffix(filepath.Base(path), ".json")
		var doc schemaNode
		if err := json.Unmarshal(text, &doc); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		t := typeWriter{calculation: name}
		if err := t.definitions(&out, doc.Defs); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		table = append(
			table, fmt.Sprintf("  %s: { input: %s; output: %s };", name, t.named("input"), t.named("output")),
		)
	}
	out.WriteString("\n/** Calculations maps the name of every calculation to its input and its output. */\nexport type Calculations = {\n")
	out.WriteString(strings.Join(table, "\n") + "\n};\n")
	writeModeless(&out)
	file := filepath.Join(root, typesFile)
	if !check {
		return os.WriteFile(file, out.Bytes(), 0o644)
	}
	old, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	if !bytes.Equal(old, out.Bytes()) {
		return fmt.Errorf("%s is out of date: run go run ./cmd/webbuild -types", typesFile)
	}
	return nil
}

// writeModeless writes the units of every quantity except pressure.
func writeModeless(out *bytes.Buffer) {
	out.WriteString("\n/** Units of what is no pressure, and so neither gauge, absolute nor differential. */\n" +
		"export const modeless: ReadonlySet<string> = new Set([\n")
	for _, u := range units.All() {
		for _, name := range append([]string{u.Name}, u.Spellings...) {
			if !units.HasMode(name) {
				fmt.Fprintf(out, "  %q,\n", name)
			}
		}
	}
	out.WriteString("]);\n")
}

// typeWriter writes the types of one calculation.
type typeWriter struct{ calculation string }

// named is the TypeScript name of a definition.
func (t typeWriter) named(def string) string {
	if def == "number" {
		return "Decimal"
	}
	var b strings.Builder
	for part := range strings.FieldsFuncSeq(t.calculation+"_"+def, func(r rune) bool { return r == '_' || r == '-' }) {
		b.WriteString(strings.ToUpper(part[:1]) + part[1:])
	}
	return b.String()
}

func (t typeWriter) definitions(out *bytes.Buffer, defs map[string]*schemaNode) error {
	names := make([]string, 0, len(defs))
	for name := range defs {
		if name != "number" {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		text, err := t.typeOf(defs[name], "")
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		fmt.Fprintf(out, "\nexport type %s = %s;\n", t.named(name), text)
	}
	return nil
}

// typeOf writes the type of a node. indent is the indent of its first line.
func (t typeWriter) typeOf(n *schemaNode, indent string) (string, error) {
	switch {
	case n.Ref != "":
		return t.named(strings.TrimPrefix(n.Ref, "#/$defs/")), nil
	case n.Const != nil:
		return string(n.Const), nil
	case n.Enum != nil:
		var parts []string
		for _, v := range n.Enum {
			parts = append(parts, string(v))
		}
		return strings.Join(parts, " | "), nil
	case n.Properties == nil && (n.AnyOf != nil || n.OneOf != nil):
		return t.union(append(slices.Clone(n.AnyOf), n.OneOf...), indent)
	}
	var types []string
	switch {
	case n.Type == nil:
		if n.Properties == nil {
			return "Json", nil
		}
		types = []string{"object"}
	case n.Type[0] == '[':
		if err := json.Unmarshal(n.Type, &types); err != nil {
			return "", err
		}
	default:
		types = []string{strings.Trim(string(n.Type), `"`)}
	}
	var parts []string
	for _, name := range types {
		one, err := t.plain(n, name, indent)
		if err != nil {
			return "", err
		}
		if !slices.Contains(parts, one) {
			parts = append(parts, one)
		}
	}
	return strings.Join(parts, " | "), nil
}

func (t typeWriter) union(nodes []*schemaNode, indent string) (string, error) {
	var parts []string
	for _, n := range nodes {
		one, err := t.typeOf(n, indent)
		if err != nil {
			return "", err
		}
		if one != "Json" && !slices.Contains(parts, one) {
			parts = append(parts, one)
		}
	}
	if len(parts) == 0 {
		return "Json", nil
	}
	return strings.Join(parts, " | "), nil
}

// plain writes the type of a node for one of the names in its type.
func (t typeWriter) plain(n *schemaNode, name, indent string) (string, error) {
	switch name {
	case "string", "boolean", "null":
		return name, nil
	case "number", "integer":
		return "number", nil
	case "array":
		var item schemaNode
		if n.Items != nil {
			if err := json.Unmarshal(n.Items, &item); err != nil {
				return "", err
			}
		}
		one, err := t.typeOf(&item, indent)
		if err != nil {
			return "", err
		}
		if strings.Contains(one, " | ") && (one[0] != '{' || strings.Contains(one, "\n"+indent+"} | ")) {
			one = "(" + one + ")"
		}
		return one + "[]", nil
	case "object":
		return t.object(n, indent)
	}
	return "", fmt.Errorf("there is no type called %q", name)
}

func (t typeWriter) object(n *schemaNode, indent string) (string, error) {
	names := make([]string, 0, len(n.Properties))
	for name := range n.Properties {
		names = append(names, name)
	}
	slices.Sort(names)
	inner := indent + "  "
	var b strings.Builder
	b.WriteString("{\n")
	for _, name := range names {
		one, err := t.typeOf(n.Properties[name], inner)
		if err != nil {
			return "", fmt.Errorf("%s: %w", name, err)
		}
		mark := "?"
		if slices.Contains(n.Required, name) {
			mark = ""
		}
		key := name
		if strings.ContainsAny(name, "-. ") {
			key = `"` + name + `"`
		}
		fmt.Fprintf(&b, "%s%s%s: %s;\n", inner, key, mark, one)
	}
	if len(names) == 0 {
		more := "Json"
		if len(n.Additional) > 0 && n.Additional[0] == '{' {
			var of schemaNode
			if err := json.Unmarshal(n.Additional, &of); err != nil {
				return "", err
			}
			one, err := t.typeOf(&of, inner)
			if err != nil {
				return "", err
			}
			more = one
		}
		return "{ [name: string]: " + more + " }", nil
	}
	b.WriteString(indent + "}")
	return b.String(), nil
}
