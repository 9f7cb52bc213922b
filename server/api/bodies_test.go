package api_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net/http/httptest"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"strings"
	"sync"
	"testing"
	"time"
)

// peak runs work and returns by how many bytes the heap grew at most, sampled every millisecond.
func peak(work func()) (most uint64) {
	sample := []metrics.Sample{
		{Name: "/memory/classes/heap/objects:bytes"}, {Name: "/memory/classes/heap/unused:bytes"},
	}
	held := func() uint64 {
		metrics.Read(sample)
		return sample[0].Value.Uint64() + sample[1].Value.Uint64()
	}
	runtime.GC()
	debug.FreeOSMemory()
	before := held()
	done := make(chan struct{})
	go func() { defer close(done); work() }()
	for {
		select {
		case <-done:
			return most
		case <-time.After(time.Millisecond):
			if now := held(); now > before {
				most = max(most, now-before)
			}
		}
	}
}

// small is a body of 15 kB in gzip that unpacks into many values, large one of 31 MB that is
// nothing but brackets.
func small(t testing.TB) string {
	t.Helper()
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write([]byte(`{"nonce":"n1","device":"d1","changes":[],"other":[` + strings.Repeat("[],", 5<<20) + `[]]}`)); err != nil || z.Close() != nil {
		t.Fatal(err)
	}
	return packed.String()
}

func large() string { return `{"x":[` + strings.Repeat("[],", 10<<20) + `[]]}` }

// together sends a body several times at once and returns the answers.
func (p *testPlant) together(path, body string, packed bool, times int) []*httptest.ResponseRecorder {
	answers := make([]*httptest.ResponseRecorder, times)
	var all sync.WaitGroup
	for i := range times {
		all.Go(func() {
			r := httptest.NewRequest("POST", path, strings.NewReader(body))
			r.Header.Set("Content-Type", "application/json")
			r.Header.Set("Authorization", "Bearer "+p.tokens["technician"])
			if packed {
				r.Header.Set("Content-Encoding", "gzip")
			}
			answers[i] = httptest.NewRecorder()
			p.handler.ServeHTTP(answers[i], r)
		})
	}
	all.Wait()
	return answers
}

// TestSmallBodiesTakeLittle checks that few bytes that unpack into many are refused before they are
// unpacked and take no memory. Without a bound, one took 691 MB and four 2.4 GB.
func TestSmallBodiesTakeLittle(t *testing.T) {
	p := newPlant(t)
	body := small(t)
	for _, tt := range []struct {
		times int
		most  uint64
	}{{1, 16 << 20}, {4, 40 << 20}} {
		var answers []*httptest.ResponseRecorder
		most := peak(func() { answers = p.together("/api/sync", body, true, tt.times) })
		for _, w := range answers {
			if w.Code != 413 {
				t.Errorf("%d, want 413", w.Code)
			}
		}
		if most > tt.most {
			t.Errorf("%d of %d bytes took %d MB", tt.times, len(body), most>>20)
		}
	}
}

// TestLargeBodiesAreBounded checks that a body with more values than a document may have is
// refused.
func TestLargeBodiesAreBounded(t *testing.T) {
	p := newPlant(t)
	for _, w := range p.together("/api/calc/units", large(), false, 4) {
		if w.Code != 200 || !strings.Contains(w.Body.String(), "too many values") {
			t.Errorf("%d %.200s", w.Code, w.Body)
		}
	}
}

// BenchmarkLargeBodies reports the memory that four bodies of 31 MB take at once. Without bounds it
// was 4.8 GB.
func BenchmarkLargeBodies(b *testing.B) {
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(550 << 20)) // as the program sets it from the machine's memory
	p := newPlant(b)
	body := large()
	for b.Loop() {
		b.ReportMetric(float64(peak(func() { p.together("/api/calc/units", body, false, 4) })>>20), "MB")
	}
}

// TestManyPhonesSendAtOnce checks that a dozen bodies from phones, each delayed on its line, do not
// block one another.
func TestManyPhonesSendAtOnce(t *testing.T) {
	p := newPlant(t)
	var began, over sync.WaitGroup
	began.Add(12)
	answers := make(chan int, 12)
	for i := range 12 {
		over.Go(func() {
			r, w := io.Pipe()
			q := httptest.NewRequest("POST", "/api/sync", &first{Reader: r, came: began.Done})
			q.ContentLength = 100 << 10
			q.Header.Set("Content-Type", "application/json")
			q.Header.Set("Content-Encoding", "gzip")
			q.Header.Set("Authorization", "Bearer "+p.tokens["technician"])
			go func() {
				began.Wait() // until all twelve are being read
				w.CloseWithError(fmt.Errorf("line %d broke", i))
			}()
			a := httptest.NewRecorder()
			p.handler.ServeHTTP(a, q)
			answers <- a.Code
		})
	}
	over.Wait()
	for range 12 {
		if got := <-answers; got != 400 && got != 500 {
			t.Errorf("a broken body: %d", got)
		}
	}
}

// first reports the first read from it.
type first struct {
	io.Reader
	came func()
	once sync.Once
}

func (f *first) Read(b []byte) (int, error) {
	f.once.Do(f.came)
	return f.Reader.Read(b)
}
