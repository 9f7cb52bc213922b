package api

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync"

	"gaugewright/calc/document"

	"github.com/klauspost/compress/gzhttp"
	"github.com/klauspost/compress/gzip"
	"github.com/labstack/echo/v4"
)

// lightly is half as fast again as the usual level, for answers 1 % larger.
const lightly = 3

// pressing puts answers of a kilobyte and more into gzip.
var pressing = func() func(http.Handler) http.HandlerFunc {
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(1024), gzhttp.CompressionLevel(lightly), gzhttp.EnableZstd(false))
	if err != nil {
		panic(err) // of a level that does not exist
	}
	return wrap
}()

// press sends the API's answers in gzip to whoever takes it. The client's files are pressed ahead, and a backup is pressed already.
func press(api http.Handler) http.Handler {
	packed := pressing(api)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.URL.Path, "/api/") && r.URL.Path != "/api/backup" {
			packed.ServeHTTP(w, r)
			return
		}
		api.ServeHTTP(w, r)
	})
}

var unpressers = sync.Pool{New: func() any { return new(gzip.Reader) }}

// unpress takes a body in gzip, of at most so many bytes once unpacked, and tells senders that it does: Accept-Encoding of an answer is what may be
// sent. done gives back what unpacking needs.
//
// Refuses: a Fault for what is not gzip; errType for another coding.
func unpress(c echo.Context, most int64) (done func(), err error) {
	c.Response().Header().Set("Accept-Encoding", "gzip")
	r := c.Request()
	switch coding := strings.ToLower(r.Header.Get("Content-Encoding")); coding {
	case "", "identity":
		return func() {}, nil
	case "gzip":
		z := unpressers.Get().(*gzip.Reader)
		if err := z.Reset(r.Body); err != nil {
			return nil, notGzip(err)
		}
		r.Body = http.MaxBytesReader(c.Response(), unpressed{z}, most)
		return func() { unpressers.Put(z) }, nil
	}
	return nil, fmt.Errorf("%w, plain or in gzip", errType)
}

func notGzip(err error) error {
	var long *http.MaxBytesError
	if errors.As(err, &long) {
		return err
	}
	return document.Refuse(document.CodeSyntax, "", "the body is not the gzip that its header says: "+err.Error())
}

// unpressed names what is wrong with a body as such.
type unpressed struct{ *gzip.Reader }

func (u unpressed) Read(b []byte) (int, error) {
	n, err := u.Reader.Read(b)
	if err != nil && !errors.Is(err, io.EOF) {
		err = notGzip(err)
	}
	return n, err
}
