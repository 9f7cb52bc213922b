package main

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// TestTheEndWaitsForNobody: a body that never ends delays the end of the program for a bounded time
// and makes it no failure. A request that does end is answered.
func TestTheEndWaitsForNobody(t *testing.T) {
	begun := make(chan struct{}, 2)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		begun <- struct{}{}
		if _, err := io.Copy(w, r.Body); err != nil {
			return // the request was cut off
		}
	}))
	defer s.Close()
	slow, hold := io.Pipe()
	cut := make(chan error, 1)
	go func() {
		res, err := s.Client().Post(s.URL, "text/plain", slow)
		if err == nil {
			_, err = io.Copy(io.Discard, res.Body)
			res.Body.Close() // its content is known by now
		}
		cut <- err
	}()
	<-begun
	whole, rest := io.Pipe()
	answered := make(chan string, 1)
	go func() {
		res, err := s.Client().Post(s.URL, "text/plain", whole)
		if err != nil {
			answered <- err.Error()
			return
		}
		b, err := io.ReadAll(res.Body)
		if err != nil {
			answered <- err.Error()
			return
		}
		answered <- string(b)
	}()
	<-begun
	go func() {
		time.Sleep(50 * time.Millisecond)
		if _, err := rest.Write([]byte("whole")); err != nil {
			t.Error(err)
		}
		rest.Close() // never fails
	}()
	var out bytes.Buffer
	at := time.Now()
	err := endServers([]*http.Server{s.Config}, 500*time.Millisecond, &out)
	if took := time.Since(at); err != nil || took > 5*time.Second || !strings.Contains(out.String(), "cut off") {
		t.Errorf("%v after %v: %s", err, took, &out)
	}
	if got := <-answered; got != "whole" {
		t.Errorf("what came to its end: %s", got)
	}
	hold.Close() // never fails
	if err := <-cut; err == nil {
		t.Error("the slow one was not cut off")
	}
}
