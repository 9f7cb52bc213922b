package calc_test

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"gaugewright/calc"
	"gaugewright/calc/schema"
)

// compiled returns the schema of a part of a calculation's document.
func compiled(t *testing.T, calculation, part string) *jsonschema.Schema {
	t.Helper()
	b, err := schema.Of(calculation)
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("calculation:"+calculation, v); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("calculation:" + calculation + "#/$defs/" + part)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func valid(s *jsonschema.Schema, doc []byte) error {
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(doc))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

// TestSchemas checks that the input and output of every calculation fit its schema, and that both
// refuse an unknown field.
func TestSchemas(t *testing.T) {
	const each = 100
	for _, s := range calc.Samples() {
		t.Run(s.Calculation, func(t *testing.T) {
			in, out := compiled(t, s.Calculation, "input"), compiled(t, s.Calculation, "output")
			checked := 0
			for seed := range uint64(each) {
				doc := s.Make(seed + 1)
				reply := calc.Call(s.Calculation, doc)
				if err := valid(in, doc); err != nil {
					t.Fatalf("seed %d takes %.2000s: %v", seed+1, doc, err)
				}
				if bytes.HasPrefix(reply, []byte(`{"error":`)) {
					continue
				}
				checked++
				if err := valid(out, reply); err != nil {
					t.Fatalf("seed %d takes %.2000s\nand gives %.2000s: %v", seed+1, doc, reply, err)
				}
			}
			if checked < each*9/10 {
				t.Errorf("only %d outputs of %d were checked", checked, each)
			}
			odd := append([]byte(`{"surplus":1,`), s.Make(1)[1:]...)
			if valid(in, odd) == nil {
				t.Error("the schema takes a field that is not known")
			}
			if reply := calc.Call(s.Calculation, odd); !bytes.Contains(reply, []byte(`"code":"unknown_field"`)) {
				t.Errorf("the calculation takes a field that is not known: %.500s", reply)
			}
			if valid(out, []byte(`{"calc":"1.0.0"}`)) == nil {
				t.Error("the schema takes an output with nothing in it")
			}
		})
	}
	if err := valid(compiled(t, "gauge", "output"), calc.Call("gauge", wholeGauge())); err != nil {
		t.Error(err)
	}
}

// TestEveryCalculationHasSchemaAndSamples also checks that no schema is left over.
func TestEveryCalculationHasSchemaAndSamples(t *testing.T) {
	files, err := os.ReadDir("schema/calculations")
	if err != nil {
		t.Fatal(err)
	}
	left, sampled := map[string]bool{}, map[string]bool{}
	for _, f := range files {
		left[strings.TrimSuffix(f.Name(), ".json")] = true
	}
	for _, s := range calc.Samples() {
		sampled[s.Calculation] = true
	}
	if len(left) < 20 {
		t.Fatalf("only %d schemas", len(left))
	}
	for _, d := range calc.Calculations() {
		if !left[d.Name] || !sampled[d.Name] {
			t.Errorf("calculation %s: schema %v, samples %v", d.Name, left[d.Name], sampled[d.Name])
		}
		delete(left, d.Name)
	}
	for name := range left {
		t.Errorf("schema %s is of no calculation", name)
	}
}
