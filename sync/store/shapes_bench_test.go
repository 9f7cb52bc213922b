package store_test

import (
	"context"
	"crypto/rand"
	"fmt"
	"os"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// BenchmarkShapes measures the same 10,000 changes in pieces of 200, each synced before its answer:
// as new records, and as phones write them, with 100 readings on each of 100 runs, one run after
// the other, or with a reading of every run in turn, as from many phones at once.
func BenchmarkShapes(b *testing.B) {
	const changes, runs, piece = 10_000, 100, 200
	id := func() string {
		s, err := change.NewID(rand.Reader)
		if err != nil {
			b.Fatal(err)
		}
		return s
	}
	value := `{"step":"up.3","value":"2.50","unit":"bar","at":"2026-03-04T05:06:07.089Z","typed":"2.50","by":"` + id() + `"}`
	for _, shape := range []struct {
		name string
		run  func(i int) int // index of the run of a change; below 0 for a record of its own
	}{
		{"new", func(int) int { return -1 }},
		{"runs", func(i int) int { return i / (changes / runs) }},
		{"turns", func(i int) int { return i % runs }},
	} {
		b.Run(shape.name, func(b *testing.B) {
			size := 0.0
			for b.Loop() {
				b.StopTimer()
				dir := b.TempDir()
				s, err := store.Open(dir)
				if err != nil {
					b.Fatal(err)
				}
				records := make([]string, runs)
				for i := range records {
					records[i] = id()
				}
				var pieces [][]change.Change
				for i := range changes {
					if i%piece == 0 {
						pieces = append(pieces, nil)
					}
					record := id()
					if n := shape.run(i); n >= 0 {
						record = records[n]
					}
					c := made(id(), record, "run", "v1", fmt.Sprintf("capture.%05d", i), value, uint64(i+1))
					pieces[len(pieces)-1] = append(pieces[len(pieces)-1], c)
				}
				b.StartTimer()
				for _, p := range pieces {
					if r, err := s.Add(context.Background(), p); err != nil || len(r.Accepted) != len(p) {
						b.Fatal(r, err)
					}
				}
				b.StopTimer()
				info, err := os.Stat(dir + "/" + store.File)
				if err != nil {
					b.Fatal(err)
				}
				size = float64(info.Size()) / 1e6
				if err := s.Close(); err != nil {
					b.Fatal(err)
				}
				b.StartTimer()
			}
			b.ReportMetric(changes*float64(b.N)/b.Elapsed().Seconds(), "changes/s")
			b.ReportMetric(size, "MB")
		})
	}
}
