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

// compressing puts answers of a kilobyte and more into gzip.
var compressing = func() func(http.Handler) http.HandlerFunc {
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(1024), gzhttp.CompressionLevel(lightly), gzhttp.EnableZstd(false))
	if err != nil {
		panic(err) // of a level that does not exist
	}
	return wrap
}()

// compress sends the API's answers in gzip to whoever takes it. The client's files are compressed ahead,
// a backup and an export are compressed already, and news go out one by one.
func compress(api http.Handler) http.Handler {
	packed := compressing(api)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if p := r.URL.Path; strings.HasPrefix(p, "/api/") && p != "/api/backup" && p != exportPath && p != "/api/news" {
			packed.ServeHTTP(w, r)
			return
		}
		api.ServeHTTP(w, r)
	})
}

var unpressers = sync.Pool{New: func() any { return new(gzip.Reader) }}

// unpress takes a body in gzip, of at most so many bytes once unpacked, and informs senders that it
// does: Accept-Encoding of an answer is what may be sent. done gives back what unpacking needs.
//
// Refuses: a Fault for what is not gzip; errType for another coding.
func unpress(c echo.Context, most int64) (done func(), err error) {
	c.Response().Header().Set("Accept-Encoding", "gzip")
	r := c.Request()
	switch coding := strings.ToLower(r.Header.Get("Content-Encoding")); coding {
	case "", "identity":
		return func() {}, nil
	case "gzip":
		z, came := unpressers.Get().(*gzip.Reader), &counted{ReadCloser: r.Body}
		if err := z.Reset(came); err != nil {
			return nil, notGzip(err)
		}
		r.Body = http.MaxBytesReader(c.Response(), &unpressed{Reader: z, came: came, most: most}, most)
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

const (
	// mostPressed is how many times as large as its gzip a body may be: the records of a long
	// programme, which repeat themselves most, come to 30.
	mostPressed = 50
	// freelyPressed is up to where nobody asks.
	freelyPressed = 1 << 20
)

// counted counts the bytes that came.
type counted struct {
	io.ReadCloser
	bytes int64
}

func (c *counted) Read(b []byte) (int, error) {
	n, err := c.ReadCloser.Read(b)
	c.bytes += int64(n)
	return n, err
}

// unpressed names what is wrong with a body as such, and ends where it becomes too many times as
// large as what came.
type unpressed struct {
	*gzip.Reader
	came  *counted
	bytes int64
	most  int64
}

func (u *unpressed) Read(b []byte) (int, error) {
	n, err := u.Reader.Read(b)
	if u.bytes += int64(n); u.bytes > freelyPressed && u.bytes > mostPressed*u.came.bytes {
		return n, &http.MaxBytesError{Limit: u.most}
	}
	if err != nil && !errors.Is(err, io.EOF) {
		err = notGzip(err)
	}
	return n, err
}
