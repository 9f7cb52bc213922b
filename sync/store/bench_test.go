package store_test

import (
	"context"
	"crypto/rand"
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// rawSyncs returns how many appends of 1.5 kB with fsync the disk takes in a second: the most that
// could be acknowledged one by one.
func rawSyncs(b *testing.B, dir string) float64 {
	b.Helper()
	f, err := os.CreateTemp(dir, "raw")
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	line := []byte(strings.Repeat("x", 1500))
	n, begun := 0, time.Now()
	for time.Since(begun) < time.Second {
		if _, err := f.Write(line); err != nil {
			b.Fatal(err)
		}
		if err := f.Sync(); err != nil {
			b.Fatal(err)
		}
		n++
	}
	return float64(n) / time.Since(begun).Seconds()
}

// bytesWritten returns how many bytes this process has given to its disks so far, as Linux counts
// them, 0 elsewhere.
func bytesWritten() float64 {
	b, err := os.ReadFile("/proc/self/io")
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(b), "\nwrite_bytes: ")
	line, _, _ := strings.Cut(rest, "\n")
	n, err := strconv.ParseFloat(line, 64)
	if err != nil {
		return 0
	}
	return n
}

// BenchmarkAcknowledged measures changes of 1.5 kB acknowledged in a second, one to a call and each
// synced before its answer, beside the raw fsyncs of the same disk in the seconds before and after.
func BenchmarkAcknowledged(b *testing.B) {
	for _, clients := range []int{1, 50} {
		b.Run(fmt.Sprintf("clients=%d", clients), func(b *testing.B) {
			dir := b.TempDir()
			s, err := store.Open(dir)
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			value := `"` + strings.Repeat("as read ", 187) + `"`
			raw, total, seconds, written := 0.0, 0.0, 0.0, 0.0
			for b.Loop() {
				before := rawSyncs(b, dir)
				wrote := bytesWritten()
				var n, id atomic.Int64
				var wait sync.WaitGroup
				begun := time.Now()
				for range clients {
					wait.Go(func() {
						for time.Since(begun) < 2*time.Second {
							k := id.Add(1)
							c := made(
								fmt.Sprintf("%dn%dc%d", clients, begun.UnixMilli(), k),
								fmt.Sprintf("%dn%dr%d", clients, begun.UnixMilli(), k), "visit", "", "f",
								value, uint64(k),
							)
							if r, err := s.Add(context.Background(), []change.Change{c}); err != nil ||
								len(r.Accepted) != 1 {
								b.Error(r, err)
								return
							}
							n.Add(1)
						}
					})
				}
				wait.Wait()
				written += bytesWritten() - wrote
				total, seconds = total+float64(n.Load()), seconds+time.Since(begun).Seconds()
				raw = (before + rawSyncs(b, dir)) / 2
			}
			b.ReportMetric(total/seconds, "acknowledged/s")
			b.ReportMetric(raw, "fsyncs/s")
			b.ReportMetric(total/seconds/raw, "ratio")
			b.ReportMetric(written/total/1000, "kB/change")
		})
	}
}

// BenchmarkBulk measures a push of 10,000 new records of 1.5 kB with random ids, in pieces of 500,
// every piece synced before its answer.
func BenchmarkBulk(b *testing.B) {
	value := `"` + strings.Repeat("as read ", 187) + `"`
	id := func() string {
		s, err := change.NewID(rand.Reader)
		if err != nil {
			b.Fatal(err)
		}
		return s
	}
	size := 0.0
	for b.Loop() {
		b.StopTimer()
		dir := b.TempDir()
		s, err := store.Open(dir)
		if err != nil {
			b.Fatal(err)
		}
		var pieces [][]change.Change
		for i := range 10_000 {
			if i%500 == 0 {
				pieces = append(pieces, nil)
			}
			c := made(id(), id(), "visit", "", "f", value, uint64(i+1))
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
	b.ReportMetric(10_000*float64(b.N)/b.Elapsed().Seconds(), "changes/s")
	b.ReportMetric(size, "MB")
}
