package calc_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/calc"
)

// TestRules checks the calculations on records. The browser's tests read the same files and call
// the phone's module. A part that is null in the file must be absent.
func TestRules(t *testing.T) {
	files, err := filepath.Glob("../testdata/rules/*.json")
	if err != nil || len(files) == 0 {
		t.Fatal("there are no cases:", err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var list []struct {
			About, Calculation string
			Ask                json.RawMessage
			Want               map[string]any
		}
		if err := json.Unmarshal(b, &list); err != nil || len(list) == 0 {
			t.Fatal(f, len(list), err)
		}
		for _, c := range list {
			t.Run(c.About, func(t *testing.T) {
				var got map[string]any
				if err := json.Unmarshal(calc.Call(c.Calculation, c.Ask), &got); err != nil {
					t.Fatal(err)
				}
				if len(c.Want) == 0 {
					t.Fatal("the case wants nothing")
				}
				for name, want := range c.Want {
					if diff := cmp.Diff(want, got[name]); diff != "" {
						t.Errorf("%s: %s\n%v", name, diff, got["error"])
					}
				}
			})
		}
	}
}
