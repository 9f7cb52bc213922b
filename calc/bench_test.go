package calc_test

import (
	"bytes"
	"testing"

	"gaugewright/calc"
)

// BenchmarkCall runs each room on 50 of its sample documents in turn.
func BenchmarkCall(b *testing.B) {
	for _, s := range calc.Samples() {
		b.Run(s.Room, func(b *testing.B) {
			var docs [50][]byte
			for i := range docs {
				docs[i] = s.Make(uint64(i) + 1)
			}
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				if out := calc.Call(s.Room, docs[i%len(docs)]); bytes.HasPrefix(out, []byte(`{"error":`)) {
					b.Fatalf("%s: %s", docs[i%len(docs)], out)
				}
				i++
			}
		})
	}
}
