// Package objectstest starts a server of the S3 protocol for a test.
package objectstest

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"
)

// Server keeps objects in memory.
type Server struct {
	// Address is that of an empty bucket on it.
	Address string
	refuses atomic.Pointer[string]
}

// Start starts a server with an empty bucket, and sets the keys in the environment.
func Start(t *testing.T) *Server {
	t.Helper()
	t.Setenv("AWS_ACCESS_KEY_ID", "made-up")
	t.Setenv("AWS_SECRET_ACCESS_KEY", "made-up-too")
	objects := s3mem.New()
	if err := objects.CreateBucket("plant"); err != nil {
		t.Fatal(err)
	}
	s := &Server{}
	inner := gofakes3.New(objects).Server()
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if method := s.refuses.Load(); method != nil && r.Method == *method {
			http.Error(w, "not now", http.StatusForbidden) // an answer that is not tried again
			return
		}
		inner.ServeHTTP(w, r)
	}))
	t.Cleanup(web.Close)
	s.Address = "s3://" + strings.TrimPrefix(web.URL, "http://") + "/plant/photos?tls=no&region=us-east-1"
	return s
}

// Refuse lets requests of a method fail from now on, "" none.
func (s *Server) Refuse(method string) { s.refuses.Store(&method) }
