package document_test

import (
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/calc/document"
)

// TestNumbersWrittenAgain checks that a repeated number is written the same, among few different
// numbers and among many.
func TestNumbersWrittenAgain(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		few := rapid.SliceOfN(rapid.Float64(), 1, 300).Draw(rt, "numbers")
		w := document.NewWriter([]byte(`[`))
		want := []byte(`[`)
		for i := range rapid.IntRange(1, 600).Draw(rt, "count") {
			x := few[i*7%len(few)]
			w.NumberItem(x)
			if i > 0 {
				want = append(want, ',')
			}
			want = document.AppendNumber(want, x)
			if back, err := strconv.ParseFloat(string(document.AppendNumber(nil, x)), 64); err != nil || back != x {
				rt.Fatalf("%v does not come back", x)
			}
		}
		if string(w.Bytes()) != string(want) {
			rt.Fatalf("%s, want %s", w.Bytes(), want)
		}
	})
}
