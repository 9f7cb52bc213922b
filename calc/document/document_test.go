package document_test

import (
	"encoding/json"
	"testing"

	"gaugewright/calc/document"
)

func TestParseWrite(t *testing.T) {
	for _, s := range []string{`{"a":"2.50","b":2.50,"c":[1,-2e3,true,null],"d":{"é":"\u0001 \" \\ \n"}}`, `"😀"`, `[]`, `{}`, `0`} {
		v, err := document.Parse([]byte(s))
		if err != nil {
			t.Fatalf("%s: %v", s, err)
		}
		if got := string(document.AppendValue(nil, &v)); got != s {
			t.Errorf("got %s, want %s", got, s)
		}
	}
	for _, s := range []string{``, `{`, `{"a":1,}`, `[1 2]`, `01`, `1.`, `.5`, `+1`, `NaN`, `{"a":1,"a":2}`, "\"\x01\"", "\"\xff\"", `"\ud800"`, `"\x"`, `1 1`, `tru`} {
		if _, err := document.Parse([]byte(s)); err == nil {
			t.Errorf("%s: no error", s)
		}
	}
}

// FuzzParse compares with encoding/json, which must accept what Parse accepts, and read back the
// same tree from what we write.
func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"a":[1,2.5e-3,"x\u00e9\ud83d\ude00"],"b":null}`))
	f.Add([]byte(`[[[[[]]]]]`))
	f.Fuzz(func(t *testing.T, b []byte) {
		v, err := document.Parse(b)
		if err != nil {
			if v.Kind != document.Null || v.Items() != nil || v.Text != "" {
				t.Fatal("a value beside an error")
			}
			return
		}
		if !json.Valid(b) {
			t.Fatalf("took %q, which is not JSON", b)
		}
		once := document.AppendValue(nil, &v)
		again, err := document.Parse(once)
		if err != nil {
			t.Fatalf("own output %q: %v", once, err)
		}
		if twice := document.AppendValue(nil, &again); string(once) != string(twice) {
			t.Fatalf("%q became %q", once, twice)
		}
	})
}

func TestReader(t *testing.T) {
	tests := []struct{ name, doc, code, field string }{
		{"good", `{"x":"1.50","list":[{"y":1},{"y":"2"}]}`, "", ""},
		{"unknown", `{"x":1,"list":[{"y":1},{"y":2,"z":3}]}`, "unknown_field", "list[1].z"},
		{"missing", `{"list":[]}`, "missing", "x"},
		{"word for a number", `{"x":"abc","list":[]}`, "not_a_number", "x"},
		{"decimal comma", `{"x":"1,5","list":[]}`, "not_a_number", "x"},
		{"too large", `{"x":1e999,"list":[]}`, "not_finite", "x"},
		{"not a list", `{"x":1,"list":3}`, "shape", "list"},
		{"deep", `{"x":1,"list":[{"y":1},{"y":"q"}]}`, "not_a_number", "list[1].y"},
		{"no object", `[]`, "shape", ""},
	}
	for _, tt := range tests {
		v, err := document.Parse([]byte(tt.doc))
		if err != nil {
			t.Fatal(tt.name, err)
		}
		r := document.Open(v)
		r.Decimal("x")
		for _, item := range r.List("list") {
			item.Number("y")
		}
		err = r.Done()
		if tt.code == "" {
			if err != nil {
				t.Errorf("%s: %v", tt.name, err)
			}
			continue
		}
		if err == nil {
			t.Errorf("%s: no error", tt.name)
			continue
		}
		if f := document.AsFault(err); f.Code != tt.code || f.Field != tt.field {
			t.Errorf("%s: got %s at %q, want %s at %q", tt.name, f.Code, f.Field, tt.code, tt.field)
		}
	}
}

func TestWriterRefusesNotFinite(t *testing.T) {
	w := document.NewWriter(nil)
	w.Begin()
	zero := 0.0
	w.Number("x", 1/zero)
	w.End()
	if w.Err() == nil {
		t.Error("an infinite number left")
	}
}
