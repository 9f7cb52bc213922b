package api_test

import (
	"bufio"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// oneLine is a listener with one connection that is made in memory.
type oneLine struct {
	line chan net.Conn
	over chan struct{}
}

func (l oneLine) Accept() (net.Conn, error) {
	select {
	case c := <-l.line:
		return c, nil
	case <-l.over:
		return nil, errors.New("over")
	}
}
func (l oneLine) Close() error   { return nil }
func (l oneLine) Addr() net.Addr { return &net.IPAddr{} }

// TestATrickleIsEnded checks that a body of a byte every three seconds does not hold its connection
// for ever, and that one at the speed of a bad line arrives whole.
func TestATrickleIsEnded(t *testing.T) {
	p := newPlant(t)
	handler := p.handler
	for _, tt := range []struct {
		path  string // with its method
		bytes int
		every time.Duration
		size  int
		want  string
	}{
		{"POST /api/login", 1, 3 * time.Second, 60_000, "408"},
		{"PUT /api/login", 1, 3 * time.Second, 60_000, "405"}, // nobody reads it
		{"PUT /api/blobs/" + strings.Repeat("a", 64), 1, 3 * time.Second, 60_000, "408"},
		{"PUT /api/blobs/" + strings.Repeat("a", 64), 1000, 2 * time.Second, 60_000, "400"}, // another hash, but whole
	} {
		synctest.Test(t, func(t *testing.T) {
			here, there := net.Pipe()
			l := oneLine{make(chan net.Conn, 1), make(chan struct{})}
			l.line <- there
			server := &http.Server{Handler: handler}
			go func() { _ = server.Serve(l) }() // ends with the listener
			gone := make(chan struct{})
			go func() {
				defer close(gone)
				fmt.Fprintf(here, "%s HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n", tt.path, p.tokens["technician"], tt.size)
				for sent := 0; sent < tt.size; sent += tt.bytes {
					time.Sleep(tt.every)
					if _, err := here.Write([]byte(strings.Repeat(" ", tt.bytes))); err != nil {
						return
					}
				}
			}()
			begun := time.Now()
			line, err := bufio.NewReader(here).ReadString('\n')
			took := time.Since(begun)
			if err != nil || !strings.Contains(line, tt.want) || took > 5*time.Minute {
				t.Errorf("%s: %q after %v, want %s: %v", tt.path, line, took, tt.want, err)
			}
			close(l.over)
			if err := errors.Join(here.Close(), server.Close()); err != nil {
				t.Error(err)
			}
			<-gone
		})
	}
}

// TestAnAccountFillsNoDisk checks that the announced size is counted before the bytes arrive.
func TestAnAccountFillsNoDisk(t *testing.T) {
	p := newPlant(t)
	bring := func(who string) int {
		r := httptest.NewRequest("PUT", "/api/blobs/"+strings.Repeat("a", 64), strings.NewReader("x"))
		r.ContentLength = 700 << 20
		r.Header.Set("Authorization", "Bearer "+p.tokens[who])
		return p.send(r).status
	}
	last := 0
	for range 3 {
		last = bring("technician")
	}
	if last != 429 {
		t.Errorf("2.1 GB of one account in a day: %d", last)
	}
	if got := bring("reviewer"); got != 400 {
		t.Errorf("another account: %d", got)
	}
	p.now = p.now.Add(24 * time.Hour)
	if got := p.do("administrator", "GET", "/api/version", ""); got.status != 200 {
		t.Fatal(got.status)
	}
	if got := bring("administrator"); got != 400 && got != 401 { // the log-in has expired meanwhile
		t.Errorf("the next day: %d", got)
	}
}
