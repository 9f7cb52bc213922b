package api

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"
)

// BlobArrived is the header that says how many bytes of a blob have arrived.
const BlobArrived = "Blob-Arrived"

// span is the content of a PUT's Content-Range.
type span struct{ from, total int64 }

var errRange = errors.New("the Content-Range is not one of these bytes")

// readPiece reads a Content-Range; nil if there is none.
func readPiece(header string) (*span, error) {
	if header == "" {
		return nil, nil
	}
	var from, last, total int64
	if n, err := fmt.Sscanf(header, "bytes %d-%d/%d", &from, &last, &total); err != nil || n != 3 || header != fmt.Sprintf("bytes %d-%d/%d", from, last, total) ||
		from < 0 || last < from || total <= last {
		return nil, errRange
	}
	return &span{from, total}, nil
}

// putPiece stores a piece of a blob: 204 if the blob is now whole, else 202 with what has arrived;
// 409 with that if the piece does not start there.
func (s *server) putPiece(c echo.Context, p *span) error {
	b, err := io.ReadAll(c.Request().Body)
	if err != nil {
		return err
	}
	n, whole, err := s.Store.PutPiece(c.Param("name"), p.from, p.total, b)
	c.Response().Header().Set(BlobArrived, strconv.FormatInt(n, 10))
	switch {
	case err != nil:
		return err
	case whole:
		s.arrived(c, c.Param("name"))
		return c.NoContent(http.StatusNoContent)
	}
	return c.NoContent(http.StatusAccepted)
}

// headBlob says whether a blob is here, or how much of it has arrived.
func (s *server) headBlob(c echo.Context) error {
	n, whole, err := s.Store.Arrived(c.Param("name"))
	if err != nil {
		return err
	}
	c.Response().Header().Set(BlobArrived, strconv.FormatInt(n, 10))
	if !whole {
		return c.NoContent(http.StatusNotFound)
	}
	c.Response().Header().Set(echo.HeaderContentLength, strconv.FormatInt(n, 10))
	return c.NoContent(http.StatusOK)
}
