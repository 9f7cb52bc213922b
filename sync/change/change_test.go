package change

import (
	"reflect"
	"strings"
	"testing"

	"gaugewright/sync/clock"
)

func made(value string, sees ...string) Change {
	return Change{ID: "c1", Device: "d1", Seq: 3, Author: "a1", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(6, 1772600767089, "d1"),
		Record: "r1", Kind: "visit", Site: "s1", Parent: "p1",
		Set: []Setting{
			{Field: "remark.x", Value: []byte(value), Sees: append([]string{}, sees...)},
			{Field: "tag", Value: []byte(`"PI-1"`), Sees: []string{}},
		}}
}

// values are canonical JSON and near misses of it.
var values = []string{`null`, `true`, `false`, `0`, `-0`, `-1.25e-7`, `12345678901234567890.5E+3`, `""`, `"text"`, `"a\"b\\c\n\r\t\b\f"`, `"µ°é漢😀"`, `"\u0001"`,
	`{}`, `[]`, `{"a":1,"b":[{"c":null},[],{}]}`, `[[[[1]]]]`, `{"a":1,"a":1}`, `{"a":1,"\u0061":1}`, `[1,]`, `[,1]`, `{"a":1,}`, `{"a"}`, `{,}`, `01`, `1.`, `.5`, `1e`, `+1`, `-`, `"\/"`,
	`"\u00e9"`, `"a`, "\"\x01\"", "\"\xff\"", "\"\xed\xa0\x80\"", `nul`, `[1 ,2]`, ` 1`, `1 `, strings.Repeat("[", 40) + strings.Repeat("]", 40), strings.Repeat("[", 70) + strings.Repeat("]", 70)}

// TestWrittenByAnotherProgram: bytes put together by hand after the description of the form are read,
// and what departs from it is refused. The wall time is what date(1) gives for it, plus 2^47.
func TestWrittenByAnotherProgram(t *testing.T) {
	read := func(stamp, value string) (Change, error) {
		return Parse([]byte(`{"v":1,"id":"c1","device":"d1","seq":3,"author":"a1","wall":"2026-03-04T05:06:07.089Z","stamp":"` + stamp +
			`","record":"r1","kind":"visit","site":"","parent":"","set":[{"field":"note","value":` + value + `,"sees":[]}]}`))
	}
	const stamp = "000000000007-819cb73d3271-d1"
	c, err := read(stamp, "1")
	if err != nil || c.Stamp != (clock.Stamp{Count: 7, Wall: 1772600767089, Device: "d1"}) {
		t.Errorf("%+v, %v", c.Stamp, err)
	}
	for _, s := range []string{strings.ToUpper(stamp), "7-819cb73d3271-d1", stamp + "x"} {
		if _, err := read(s, "1"); err == nil {
			t.Errorf("the stamp %s is read", s)
		}
	}
	for value, good := range map[string]bool{
		`{"z":1,"a":{"b":[1.50,1E2,-0]}}`: true, `"\"\\\n\r\t\b\f\u0001\u001f°"`: true,
		`{"a":1,"a":2}`: false, `{"a": 1}`: false, `"\u001F"`: false, `"\u00b0"`: false, `"\/"`: false, `"\u000a"`: false, `01`: false, `.5`: false,
	} {
		if _, err := read(stamp, value); (err == nil) != good {
			t.Errorf("%s: %v", value, err)
		}
	}
}

// TestQuickReadingIsReading: a change that is read quickly is read at length too, to the same; and
// of what people write, all is read quickly.
func TestQuickReadingIsReading(t *testing.T) {
	quickly := 0
	for _, v := range values {
		c := made(v, "x1", "x2")
		b := c.Bytes()
		slow, err := parse(b)
		fast, ok := quick(b)
		switch {
		case ok && err != nil:
			t.Errorf("%s is read quickly, at length it is refused: %v", v, err)
		case ok && !reflect.DeepEqual(fast, slow):
			t.Errorf("%s: %+v, at length %+v", v, fast, slow)
		case err == nil && string(slow.Bytes()) != string(b):
			t.Errorf("%s does not come back", v)
		case ok:
			quickly++
		}
	}
	if quickly < 14 {
		t.Errorf("only %d are read quickly", quickly)
	}
	for from, to := range map[string]string{`"v":1`: `"v":2`, `"seq":3`: `"seq":0`, `"id":"c1"`: `"id":"C1"`, `"sees":["x1","x2"]`: `"sees":["x2","x1"]`, `"field":"tag"`: `"field":"remark.x"`,
		`"stamp":"000000000007`: `"stamp":"00000000000G`, `"kind":"visit"`: `"kind":""`, `.089Z`: `.089`, `-d1"`: `-d2"`, `"seq":3,`: `"seq":03,`, `"parent":"p1"`: `"parent":"!"`, `"set":[`: `"set":[ `} {
		c := made(`1`, "x1", "x2")
		b := strings.Replace(string(c.Bytes()), from, to, 1)
		if _, ok := quick([]byte(b)); ok {
			t.Errorf("with %s it is read quickly", to)
		}
		if _, err := Parse([]byte(b)); err == nil {
			t.Errorf("with %s it is read", to)
		}
	}
}

// FuzzParse: whatever is read comes back byte for byte, and both readers agree.
func FuzzParse(f *testing.F) {
	for _, v := range values {
		c := made(v, "x1")
		f.Add(c.Bytes())
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		fast, ok := quick(b)
		c, err := parse(b)
		if ok && (err != nil || !reflect.DeepEqual(fast, c)) {
			t.Fatalf("quickly %+v, at length %+v, %v", fast, c, err)
		}
		if err == nil && string(c.Bytes()) != string(b) {
			t.Fatalf("it comes back as %s", c.Bytes())
		}
	})
}

// FuzzStamp: whatever is read as a stamp comes back, and stamps sort as their texts do.
func FuzzStamp(f *testing.F) {
	f.Add("000000000007-800000000000-d1", "000000000008-7fffffffffff-d2")
	f.Fuzz(func(t *testing.T, a, b string) {
		x, err := clock.Parse(a)
		if err != nil {
			return
		}
		if x.String() != a {
			t.Fatalf("%q comes back as %q", a, x)
		}
		if y, err := clock.Parse(b); err == nil && clock.Compare(x, y) != strings.Compare(a, b) {
			t.Fatalf("%q and %q sort differently", a, b)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	c := made(`{"text":"` + strings.Repeat("as read ", 150) + `"}`)
	bytes := c.Bytes()
	b.SetBytes(int64(len(bytes)))
	for b.Loop() {
		if _, err := Parse(bytes); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParseAtLength(b *testing.B) {
	c := made(`{"text":"` + strings.Repeat("as read ", 150) + `"}`)
	bytes := c.Bytes()
	b.SetBytes(int64(len(bytes)))
	for b.Loop() {
		if _, err := parse(bytes); err != nil {
			b.Fatal(err)
		}
	}
}
