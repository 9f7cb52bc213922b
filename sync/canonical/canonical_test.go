package canonical_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gaugewright/sync/canonical"
)

// TestVectors checks the form against the test data of github.com/cyberphone/json-canonicalization,
// the reference implementation of RFC 8785.
func TestVectors(t *testing.T) {
	const dir = "../../testdata/published/jcs"
	files, err := filepath.Glob(dir + "/input/*.json")
	if err != nil || len(files) != 6 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, in := range files {
		b, err := os.ReadFile(in)
		if err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(dir + "/output/" + filepath.Base(in))
		if err != nil {
			t.Fatal(err)
		}
		got, err := canonical.JSON(b)
		if err != nil || string(got) != string(want) {
			t.Errorf("%s: %s, want %s, %v", filepath.Base(in), got, want, err)
		}
		again, err := canonical.JSON(got)
		if err != nil || string(again) != string(got) {
			t.Errorf("%s: once more: %s, %v", filepath.Base(in), again, err)
		}
	}
}

// TestNumbers checks numbers against RFC 8785 appendix B.
func TestNumbers(t *testing.T) {
	for bits, want := range map[uint64]string{
		0x0000000000000000: "0", 0x8000000000000000: "0", 0x0000000000000001: "5e-324", 0x8000000000000001: "-5e-324",
		0x7fefffffffffffff: "1.7976931348623157e+308", 0xffefffffffffffff: "-1.7976931348623157e+308",
		0x4340000000000000: "9007199254740992", 0xc340000000000000: "-9007199254740992", 0x4430000000000000: "295147905179352830000",
		0x44b52d02c7e14af5: "9.999999999999997e+22", 0x44b52d02c7e14af6: "1e+23", 0x44b52d02c7e14af7: "1.0000000000000001e+23",
		0x444b1ae4d6e2ef4e: "999999999999999700000", 0x444b1ae4d6e2ef4f: "999999999999999900000", 0x444b1ae4d6e2ef50: "1e+21",
		0x3eb0c6f7a0b5ed8c: "9.999999999999997e-7", 0x3eb0c6f7a0b5ed8d: "0.000001", 0x41b3de4355555553: "333333333.3333332",
		0x41b3de4355555554: "333333333.33333325", 0x41b3de4355555555: "333333333.3333333", 0x41b3de4355555556: "333333333.3333334",
		0x41b3de4355555557: "333333333.33333343", 0xbecbf647612f3696: "-0.0000033333333333333333", 0x43143ff3c1cb0959: "1424953923781206.2",
	} {
		got, err := canonical.JSON([]byte(strconv.FormatFloat(math.Float64frombits(bits), 'e', -1, 64)))
		if err != nil || string(got) != want {
			t.Errorf("%016x: %s, want %s, %v", bits, got, want, err)
		}
	}
}

func TestRefused(t *testing.T) {
	for _, doc := range []string{"", "{", `{"a":1,"a":2}`, "1e400", "NaN", "\"\xff\"", `"\ud800"`, "[1,]", `{"a":[1e999]}`} {
		if got, err := canonical.JSON([]byte(doc)); err == nil {
			t.Errorf("%q is taken: %s", doc, got)
		}
	}
}

// FuzzJSON: the canonical form is a fixed point and has the same meaning as its input.
func FuzzJSON(f *testing.F) {
	for _, s := range []string{`{"b":[1.50,-0,1e21],"a":{"\u20ac":"\r","1":null}}`, `"😀"`, `[[],{},true]`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, doc string) {
		got, err := canonical.JSON([]byte(doc))
		if err != nil {
			return
		}
		again, err := canonical.JSON(got)
		if err != nil || string(again) != string(got) {
			t.Fatalf("%s becomes %s, %v", got, again, err)
		}
		var a, b any
		if json.Unmarshal([]byte(doc), &a) != nil || json.Unmarshal(got, &b) != nil {
			return
		}
		x, _ := json.Marshal(a)
		y, _ := json.Marshal(b)
		if strings.ReplaceAll(string(x), "-0", "0") != strings.ReplaceAll(string(y), "-0", "0") {
			t.Fatalf("%s says %s, was %s", got, y, x)
		}
	})
}
