package calc_test

import (
	"bytes"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"gaugewright/calc"
	"gaugewright/calc/schema"
)

// compiled returns the schema of a part of a room's document.
func compiled(t *testing.T, room, part string) *jsonschema.Schema {
	t.Helper()
	b, err := schema.Room(room)
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("room:"+room, v); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("room:" + room + "#/$defs/" + part)
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

// TestSchemasOfGauges: what the rooms about gauges and standards take and give is what their schemas say, and a field that is not in them is refused by both.
func TestSchemasOfGauges(t *testing.T) {
	checked := 0
	for _, s := range calc.Samples() {
		switch s.Room {
		case "gauge", "evaluate", "expand", "standard", "conformity", "budget", "interval", "drift", "reverse", "methods":
		default:
			continue
		}
		in, out := compiled(t, s.Room, "input"), compiled(t, s.Room, "output")
		for seed := range uint64(100) {
			doc := s.Make(seed + 1)
			reply := calc.Call(s.Room, doc)
			if bytes.HasPrefix(reply, []byte(`{"error":`)) {
				continue
			}
			checked++
			if err := valid(in, doc); err != nil {
				t.Fatalf("%s takes %s: %v", s.Room, doc, err)
			}
			if err := valid(out, reply); err != nil {
				t.Fatalf("%s gives %s: %v", s.Room, reply, err)
			}
		}
		odd := append([]byte(`{"surplus":1,`), s.Make(1)[1:]...)
		if err := valid(in, odd); err == nil {
			t.Errorf("the schema of %s takes a field that is not known", s.Room)
		}
	}
	if checked < 500 {
		t.Errorf("only %d documents were checked", checked)
	}
	whole := calc.Call("gauge", wholeGauge())
	if err := valid(compiled(t, "gauge", "output"), whole); err != nil {
		t.Error(err)
	}
}
