package store_test

import (
	"context"
	"crypto/rand"
	"errors"
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

// rawSyncs returns how many appends of 1.5 kB with fsync the disk does in a second: the upper bound
// for changes acknowledged one by one.
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

// bytesWritten returns how many bytes this process has sent to its disks so far, as Linux counts
// them; 0 on other systems.
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

// BenchmarkAcknowledged measures changes of 1.5 kB acknowledged per second, one per call and each
// synced before its answer. It reports the raw fsyncs of the same disk just before and after.
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
			raw, total, seconds := 0.0, 0.0, 0.0
			for b.Loop() {
				before := rawSyncs(b, dir)
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
				total, seconds = total+float64(n.Load()), seconds+time.Since(begun).Seconds()
				raw = (before + rawSyncs(b, dir)) / 2
			}
			b.ReportMetric(total/seconds, "acknowledged/s")
			b.ReportMetric(raw, "fsyncs/s")
			b.ReportMetric(total/seconds/raw, "ratio")
		})
	}
}

// BenchmarkWear measures what is written to the disk for small changes that come one at a time,
// each synced before its answer: new records, and readings of ten runs in turn.
func BenchmarkWear(b *testing.B) {
	value := `{"step":"up.3","value":"2.50","unit":"bar","at":"2026-03-04T05:06:07.089Z","typed":"2.50"}`
	for _, shape := range []string{"new", "runs"} {
		b.Run(shape, func(b *testing.B) {
			s, err := store.Open(b.TempDir())
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			n := uint64(0)
			one := func() {
				n++
				id, err := change.NewID(rand.Reader)
				if err != nil {
					b.Fatal(err)
				}
				id = fmt.Sprintf("%010d", n) + id[10:] // as phones make their ids
				record := id
				if shape == "runs" {
					record = fmt.Sprint("r", n%10)
				}
				c := made(id, record, "run", "v1", "capture."+id, value, n)
				if r, err := s.Add(context.Background(), []change.Change{c}); err != nil || len(r.Accepted) != 1 {
					b.Fatal(r, err)
				}
			}
			for range 500 { // until the file has its free pages
				one()
			}
			before, from := bytesWritten(), n
			for b.Loop() {
				one()
			}
			b.ReportMetric((bytesWritten()-before)/float64(n-from)/1000, "kB/change")
		})
	}
}

// BenchmarkBulk measures a push of 10,000 new records of 1.5 kB with random ids, in pieces of 500,
// each synced before its answer.
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

// BenchmarkStartAfterKill measures the opening of a folder whose program was killed with a log of a
// day's small changes, one to a call.
func BenchmarkStartAfterKill(b *testing.B) {
	dir := b.TempDir()
	s := open(b, dir)
	random := func() string {
		id, err := change.NewID(rand.Reader)
		if err != nil {
			b.Fatal(err)
		}
		return id
	}
	for i := range 1500 {
		add(b, s, made(random(), random(), "visit", "", "note", `"as read"`, uint64(i+1)))
	}
	killed := b.TempDir()
	for b.Loop() {
		b.StopTimer()
		if err := errors.Join(os.RemoveAll(killed), os.CopyFS(killed, os.DirFS(dir))); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		again, err := store.Open(killed)
		b.StopTimer()
		if err != nil {
			b.Fatal(err)
		}
		if last, err := again.Last(); err != nil || last != 1500 {
			b.Fatal(last, err)
		}
		if err := again.Close(); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
	}
}
