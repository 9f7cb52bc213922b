package main

import (
	"context"
	"io"
	"net"
	"net/http"
	"testing"
	"time"
)

// TestPlainAddressSpeaksBoth: a plain address answers HTTP/1.1, and HTTP/2 without TLS to a client
// that begins with it.
func TestPlainAddressSpeaksBoth(t *testing.T) {
	socket, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := newServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.WriteString(w, r.Proto); err != nil {
			t.Error(err)
		}
	}))
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(socket) }()
	for major, want := range map[int]string{1: "HTTP/1.1", 2: "HTTP/2.0"} {
		var p http.Protocols
		p.SetHTTP1(major == 1)
		p.SetUnencryptedHTTP2(major == 2)
		c := http.Client{Transport: &http.Transport{Protocols: &p}, Timeout: 10 * time.Second}
		a, err := c.Get("http://" + socket.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(a.Body)
		if err != nil || string(b) != want || a.ProtoMajor != major {
			t.Errorf("%d: %q, %v", major, b, err)
		}
		if err := a.Body.Close(); err != nil {
			t.Error(err)
		}
		c.CloseIdleConnections()
	}
	if err := s.Shutdown(context.Background()); err != nil {
		t.Error(err)
	}
	if err := <-ended; err != http.ErrServerClosed {
		t.Error(err)
	}
}
