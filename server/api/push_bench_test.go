package api_test

import (
	"bytes"
	"compress/gzip"
	"crypto/rand"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// BenchmarkPush measures a push of 10,000 new records of 1.5 kB through the whole server, in
// compressed pieces of 500, each synced before its answer.
func BenchmarkPush(b *testing.B) {
	newID := func() string {
		s, err := change.NewID(rand.Reader)
		if err != nil {
			b.Fatal(err)
		}
		return s
	}
	for b.Loop() {
		b.StopTimer()
		p := newPlant(b)
		device := newID()
		var bodies [][]byte
		for i := 0; i < 10_000; i += 500 {
			var text bytes.Buffer
			z, err := gzip.NewWriterLevel(&text, gzip.BestSpeed)
			if err != nil {
				b.Fatal(err)
			}
			fmt.Fprintf(z, `{"store":"","epoch":"","root":"","cursor":0,"scope":"","nonce":"n%d","device":%q,"limit":1,"changes":[`, i, device)
			for k := range 500 {
				value := `{"note":"`
				for len(value) < 1490 {
					value += newID()
				}
				value += `"}`
				seq := uint64(i + k + 1)
				c := change.Change{ID: newID(), Device: device, Seq: seq, Author: id("administrator"), Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(seq, 0, device),
					Record: newID(), Kind: "visit", Set: []change.Setting{{Field: "reading", Value: []byte(value)}}}
				if _, err := z.Write(c.Bytes()); err != nil {
					b.Fatal(err)
				}
				if k < 499 {
					fmt.Fprint(z, ",")
				}
			}
			if _, err := z.Write([]byte("]}")); err != nil || z.Close() != nil {
				b.Fatal(err)
			}
			bodies = append(bodies, text.Bytes())
		}
		b.StartTimer()
		for _, body := range bodies {
			r := httptest.NewRequest("POST", "/api/sync", bytes.NewReader(body))
			r.Header.Set("Authorization", "Bearer "+p.tokens["administrator"])
			r.Header.Set("Content-Type", "application/json")
			r.Header.Set("Content-Encoding", "gzip")
			w := httptest.NewRecorder()
			p.handler.ServeHTTP(w, r)
			if w.Code != http.StatusOK || strings.Contains(w.Body.String(), `"reason"`) {
				b.Fatal(w.Code, w.Body.String()[:300])
			}
		}
	}
	b.ReportMetric(10_000*float64(b.N)/b.Elapsed().Seconds(), "changes/s")
}
