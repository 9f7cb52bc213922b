package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestTypesAreUpToDate(t *testing.T) {
	if err := writeTypes("../..", true); err != nil {
		t.Fatal(err)
	}
}

func TestTypesFollowTheSchema(t *testing.T) {
	schema := `{"title": "levels", "$defs": {
		"number": {"anyOf": [{"type": "number"}, {"type": "string"}]},
		"input": {"type": "object", "properties": {"low": {"$ref": "#/$defs/number"}}, "required": ["low"]},
		"output": {"type": "object", "properties": {
			"verdict": {"enum": ["pass", "fail"]}, "list": {"type": "array", "items": {"enum": [1, 2]}}, "any": true,
			"deep": {"type": "object", "properties": {"x": {"type": ["number", "null"]}}}}, "required": ["verdict"]}}}`
	root := t.TempDir()
	for _, dir := range []string{"calc/schema/calculations", "webapp/src/wire"} {
		if err := os.MkdirAll(filepath.Join(root, dir), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(root, "calc/schema/calculations/levels.json")
	if err := os.WriteFile(path, []byte(schema), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := writeTypes(root, false); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(root, typesFile))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"export type LevelsInput = {\n  low: Decimal;\n};",
		"export type LevelsOutput = {\n  any?: Json;\n  deep?: {\n    x?: number | null;\n  };\n" +
			"  list?: (1 | 2)[];\n  verdict: \"pass\" | \"fail\";\n};",
		"  levels: { input: LevelsInput; output: LevelsOutput };",
	} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the types lack\n%s\nthey are\n%s", want, text)
		}
	}
	changed := strings.Replace(schema, `"pass", `, "", 1)
	if err := os.WriteFile(path, []byte(changed), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := writeTypes(root, true); err == nil {
		t.Error("a schema that changed is not noticed")
	}
	if err := writeTypes(t.TempDir(), true); err == nil {
		t.Error("a tree without schemas is not refused")
	}
}
