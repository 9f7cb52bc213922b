package api_test

import (
	"bytes"
	"crypto/rand"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"syscall"
	"testing"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// BenchmarkShapes measures the same 10,000 changes through the whole server, in pieces of 200 as
// phones send them, each synced before its answer, with the processor time for each: new records of
// an administrator, and a technician's readings, 100 on each of 100 runs, one run after the other
// or all runs in turn.
func BenchmarkShapes(b *testing.B) {
	const changes, runs, piece = 10_000, 100, 200
	newID := func() string {
		s, err := change.NewID(rand.Reader)
		if err != nil {
			b.Fatal(err)
		}
		return s
	}
	for _, shape := range []struct {
		name, who string
		run       func(i int) int // of a change; below 0 for a record of its own
	}{
		{"new", "administrator", func(int) int { return -1 }},
		{"runs", "technician", func(i int) int { return i / (changes / runs) }},
		{"turns", "technician", func(i int) int { return i % runs }},
	} {
		b.Run(shape.name, func(b *testing.B) {
			spent := time.Duration(0)
			for b.Loop() {
				b.StopTimer()
				p := newPlant(b)
				device, seq := newID(), uint64(0)
				made := func(record, kind, parent string, sets ...change.Setting) change.Change {
					seq++
					return change.Change{ID: newID(), Device: device, Seq: seq, Author: id(shape.who), Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(seq, 0, device),
						Record: record, Kind: kind, Parent: parent, Set: sets}
				}
				push := func(list []change.Change) {
					body := fmt.Appendf(nil, `{"store":"","epoch":"","root":"","cursor":0,"scope":"","nonce":"n%d","device":%q,"limit":1,"changes":[`, seq, device)
					for i := range list {
						if i > 0 {
							body = append(body, ',')
						}
						body = list[i].Append(body)
					}
					r := httptest.NewRequest("POST", "/api/sync", bytes.NewReader(append(body, ']', '}')))
					r.Header.Set("Authorization", "Bearer "+p.tokens[shape.who])
					r.Header.Set("Content-Type", "application/json")
					w := httptest.NewRecorder()
					p.handler.ServeHTTP(w, r)
					if w.Code != http.StatusOK || strings.Contains(w.Body.String(), `"reason"`) {
						at := max(0, strings.Index(w.Body.String(), `"reason"`))
						b.Fatal(w.Code, w.Body.String()[at:][:300])
					}
				}
				value := func(n int) []byte {
					return fmt.Appendf(nil, `{"step":"s1.up.%d","of":"indicated","value":"2.50","unit":"bar","at":"2026-03-04T05:06:07.089Z"}`, n%20)
				}
				visits, records := make([]string, runs/2), make([]string, runs)
				if shape.run(0) >= 0 {
					for i := range visits {
						visits[i] = newID()
						push([]change.Change{
							made(
								visits[i], "visit", "",
								change.Setting{Field: "person", Value: fmt.Appendf(nil, "%q", id(shape.who))},
							),
						})
					}
					for i := range records {
						records[i] = newID()
						push([]change.Change{
							made(
								records[i], "run", visits[i/2],
								change.Setting{Field: "label", Value: []byte(`"as found"`)},
							),
						})
					}
				}
				var pieces [][]change.Change
				for i := range changes {
					if i%piece == 0 {
						pieces = append(pieces, nil)
					}
					var c change.Change
					if n := shape.run(i); n >= 0 {
						c = made(
							records[n], "run", visits[n/2],
							change.Setting{Field: fmt.Sprintf("capture.%05d", i), Value: value(i)},
						)
					} else {
						c = made(newID(), "visit", "", change.Setting{Field: "note", Value: value(i)})
					}
					pieces[len(pieces)-1] = append(pieces[len(pieces)-1], c)
				}
				b.StartTimer()
				begun := processorTime()
				for _, list := range pieces {
					push(list)
				}
				spent += processorTime() - begun
			}
			b.ReportMetric(float64(spent.Microseconds())/changes/float64(b.N), "cpu-µs/change")
			b.ReportMetric(changes*float64(b.N)/b.Elapsed().Seconds(), "changes/s")
		})
	}
}

func processorTime() time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		return 0
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
