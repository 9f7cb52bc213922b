package plant

import (
	"encoding/json"
	"os"
	"slices"
	"testing"
)

// TestBesidesTheContent checks that phone and server leave the same fields out of a signature's
// content.
func TestBesidesTheContent(t *testing.T) {
	b, err := os.ReadFile("../../testdata/statement.json")
	if err != nil {
		t.Fatal(err)
	}
	var in struct{ Besides []string }
	if err := json.Unmarshal(b, &in); err != nil {
		t.Fatal(err)
	}
	for _, field := range []string{"approval", "returned", "reopened", "check", "late"} {
		if !OfficeField(field) || !slices.Contains(in.Besides, field) {
			t.Errorf("%s is the office's, and %v is left out", field, in.Besides)
		}
	}
	if len(in.Besides) != 2+5 {
		t.Errorf("%v: the signature, the summary and what the office adds", in.Besides)
	}
	for _, field := range in.Besides {
		if !besides(field) {
			t.Errorf("%s is left out by the phone only", field)
		}
	}
}
