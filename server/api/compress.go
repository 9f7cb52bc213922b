package api

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync"

	"gaugewright/calc/document"
	"gaugewright/server/site"

	"github.com/andybalholm/brotli"
	"github.com/klauspost/compress/gzhttp"
	"github.com/klauspost/compress/gzip"
	"github.com/labstack/echo/v4"
)

// lightly is 1.5 times as fast as the usual level, for answers 1 % larger.
const lightly = 3

// compressing compresses answers of a kilobyte and more with gzip.
var compressing = func() func(http.Handler) http.HandlerFunc {
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(1024), gzhttp.CompressionLevel(lightly), gzhttp.EnableZstd(false))
	if err != nil {
		panic(err) // only for a level that does not exist
	}
	return wrap
}()

// compress gzips the API's answers for clients that accept it. It leaves alone the client's files,
// which are precompressed, backups and exports, which are compressed already, and news, which go
// out one by one.
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

const (
	// packFrom is from how many bytes an answer with records is compressed with brotli.
	packFrom = 4 << 10
	// packQuality and packWindow make a megabyte of visits 70 kB in 20 ms of the processor. The
	// window of gzip, 32 kB, is as long as one run, so that it does not see what the runs of an
	// instrument have in common: 155 kB.
	packQuality, packWindow = 5, 20
	// mostPacking is how many answers are compressed so at once, each with some 10 MB of memory.
	mostPacking = 4
)

// packed answers with records, which are long and much alike, compressed with brotli for clients
// that accept it. Others get gzip.
func (s *server) packed(c echo.Context, b []byte) error {
	if len(b) < packFrom || !site.Accepts(c.Request().Header.Get("Accept-Encoding"), "br") {
		return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, b)
	}
	if err := s.packing.Acquire(c.Request().Context(), 1); err != nil {
		return err
	}
	var small bytes.Buffer
	w := brotli.NewWriterOptions(&small, brotli.WriterOptions{Quality: packQuality, LGWin: packWindow})
	_, err := w.Write(b)
	err = errors.Join(err, w.Close())
	s.packing.Release(1)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Encoding", "br")
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, small.Bytes())
}

var decompressors = sync.Pool{New: func() any { return new(gzip.Reader) }}

// decompress unpacks a gzip body of at most so many bytes, and announces in the answer's
// Accept-Encoding that it does. done releases what unpacking needs.
//
// Refuses: a Fault for what is not gzip; errType for another coding.
func decompress(c echo.Context, most int64) (done func(), err error) {
	c.Response().Header().Set("Accept-Encoding", "gzip")
	r := c.Request()
	switch coding := strings.ToLower(r.Header.Get("Content-Encoding")); coding {
	case "", "identity":
		return func() {}, nil
	case "gzip":
		z, came := decompressors.Get().(*gzip.Reader), &counted{ReadCloser: r.Body}
		if err := z.Reset(came); err != nil {
			return nil, notGzip(err)
		}
		r.Body = http.MaxBytesReader(c.Response(), &decompressed{Reader: z, came: came, most: most}, most)
		return func() { decompressors.Put(z) }, nil
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
	// maxExpansion is how many times its gzip size a body may have. The records of a long programme,
	// which repeat themselves most, reach 30.
	maxExpansion = 50
	// freeExpansion is the size up to which that ratio is not checked.
	freeExpansion = 1 << 20
)

// counted counts the bytes read.
type counted struct {
	io.ReadCloser
	bytes int64
}

func (c *counted) Read(b []byte) (int, error) {
	n, err := c.ReadCloser.Read(b)
	c.bytes += int64(n)
	return n, err
}

// decompressed reports faults of the gzip itself, and stops when the body becomes too many times
// larger than its gzip.
type decompressed struct {
	*gzip.Reader
	came  *counted
	bytes int64
	most  int64
}

func (u *decompressed) Read(b []byte) (int, error) {
	n, err := u.Reader.Read(b)
	if u.bytes += int64(n); u.bytes > freeExpansion && u.bytes > maxExpansion*u.came.bytes {
		return n, &http.MaxBytesError{Limit: u.most}
	}
	if err != nil && !errors.Is(err, io.EOF) {
		err = notGzip(err)
	}
	return n, err
}
