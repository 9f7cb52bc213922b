package document

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

// TestShort compares the quick reading of numbers with strconv, to the bit: random decimals of
// every length, and edge cases.
func TestShort(t *testing.T) {
	texts := []string{"0", "-0", "+0", "0.0", "-0.000", "9007199254740992", "9007199254740993", "-9007199254740992.0", "0.000000000000000001", "999999999999999999",
		"1234567890123456789", ".5", "5.", "+.25", "00012.50", "0.1", "1e5", "", "-", "+", ".", "-.", "1.2.3", "--1", "1-", " 1", "1 ", "1_0", "0x1", "inf", "NaN", "٣", "1e400"}
	random := rand.New(rand.NewPCG(1, 2))
	for range 1000000 {
		digits := random.IntN(20)
		b := make([]byte, 0, 24)
		if random.IntN(3) == 0 {
			b = append(b, "+-"[random.IntN(2)])
		}
		point := random.IntN(digits + 2)
		for i := range digits {
			if i == point {
				b = append(b, '.')
			}
			b = append(b, byte('0'+random.IntN(10)))
		}
		texts = append(texts, string(b))
	}
	taken := 0
	for _, s := range texts {
		x, ok := short(s)
		if !ok {
			continue
		}
		taken++
		want, err := strconv.ParseFloat(s, 64)
		if err != nil || !IsDecimal(s) || math.Float64bits(x) != math.Float64bits(want) {
			t.Fatalf("%q is read as %v, strconv says %v %v", s, x, want, err)
		}
	}
	if taken < len(texts)/2 {
		t.Errorf("only %d of %d were read quickly", taken, len(texts))
	}
}

// TestLongLists checks that a list kept as text gives the same numbers, texts and faults as a
// parsed one.
func TestLongLists(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		n := manyNumbers - 2 + random.IntN(5)
		var items, plain []string
		var want []float64
		for range n {
			text := strconv.FormatFloat(
				random.NormFloat64()*math.Pow(10, float64(random.IntN(30)-15)), 'g', 1+random.IntN(17), 64,
			)
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			plain, want = append(plain, text), append(want, x)
			items = append(items, strings.Repeat(" ", random.IntN(3))+text+[]string{"", "\n", "\t "}[random.IntN(3)])
		}
		for _, passing := range []bool{false, true} {
			v, err := parse([]byte(`{"a":[`+strings.Join(items, ",")+`],"b":[]}`), passing, nil)
			if err != nil {
				t.Fatal(err)
			}
			if kept := v.Items()[0].Text != ""; kept != (n >= manyNumbers) {
				t.Fatalf("%d numbers kept as written: %v", n, kept)
			}
			r := Open(v)
			numbers, decimals := r.Numbers("a"), r.Decimals("a")
			for i := range want {
				if math.Float64bits(numbers[i]) != math.Float64bits(want[i]) ||
					decimals[i] != (Decimal{plain[i], want[i]}) {
					t.Fatalf("%s is read as %v and %v", items[i], numbers[i], decimals[i])
				}
			}
			if len(numbers) != n || len(decimals) != n || len(r.Numbers("b")) != 0 || r.Done() != nil {
				t.Fatalf("%d and %d numbers of %d, %v", len(numbers), len(decimals), n, r.Done())
			}
			if got := AppendValue(nil, &v); string(got) != `{"a":[`+strings.Join(plain, ",")+`],"b":[]}` {
				t.Fatalf("written as %s", got)
			}
		}
	}
	many := strings.Repeat("1,", manyNumbers)
	for text, want := range map[string]string{
		`{"a":[` + many + `]}`:                         "a value is missing at byte 70",
		`{"a":[` + many + `01]}`:                       "a comma or closing bracket is missing at byte 71",
		`{"a":[` + many + `1.]}`:                       "a digit is missing after the point at byte 72",
		`{"a":[` + many + `1`:                          "a comma or closing bracket is missing at byte 71",
		strings.Repeat("[", MaxDepth+1) + many + "1]":  "nested too deep at byte 65",
		strings.Repeat("[", MaxDepth+2) + many + "1]]": "nested too deep at byte 65",
	} {
		for _, passing := range []bool{false, true} {
			if _, err := parse([]byte(text), passing, nil); err == nil || err.Error() != want {
				t.Errorf("%.20s… %v: %v, want %s", text, passing, err, want)
			}
		}
	}
	if v, err := Parse([]byte(`{"a":[` + many + `1e999]}`)); err != nil {
		t.Fatal(err)
	} else if r := Open(v); len(r.Numbers("a")) != manyNumbers+1 || r.Err() == nil ||
		AsFault(r.Err()).Field != "a[32]" || AsFault(r.Err()).Code != CodeNotFinite {
		t.Errorf("a number too large: %v", r.Err())
	}
}

// TestPassing checks that Passing gives the same values and faults as Parse.
func TestPassing(t *testing.T) {
	seeds := []string{`{"a":"1.5","b":{"c":[1,2,{"d":"x"},{"d":"y","e":null}],"\"q":true}}`, `[{"a":1},{"a":2,"b":3},{"b":4,"a":5},{"a":6,"a":7}]`,
		`{"t":"é\u00e9\\","u":"\ud83d\ude00","list":[` + strings.Repeat("1.25, ", 40) + `2]}`, `[[[]],{},"",[{"k\\":1},{"k\\":2}]]`}
	random := rand.New(rand.NewPCG(5, 6))
	for i := range 200000 {
		b := []byte(seeds[i%len(seeds)])
		for range random.IntN(4) {
			k := random.IntN(len(b))
			switch random.IntN(3) {
			case 0:
				b[k] = ` "\{}[],:01-.eEntf`[random.IntN(18)]
			case 1:
				b = append(b[:k], b[k+1:]...)
			default:
				b = append(b[:k], append([]byte{byte(random.IntN(256))}, b[k:]...)...)
			}
		}
		kept := bytes.Clone(b)
		one, err1 := parse(b, false, nil)
		two, err2 := parse(b, true, nil)
		clear(b) // neither may depend on the bytes given
		if (err1 == nil) != (err2 == nil) || err1 != nil && err1.Error() != err2.Error() {
			t.Fatalf("%s: %v and %v", kept, err1, err2)
		}
		if err1 == nil && !bytes.Equal(AppendValue(nil, &one), AppendValue(nil, &two)) {
			t.Fatalf("%s: %s and %s", kept, AppendValue(nil, &one), AppendValue(nil, &two))
		}
	}
}
